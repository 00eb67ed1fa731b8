"""What a pipe list makes: ends, tees, tags, lengths; and all that can be wrong in one."""

from __future__ import annotations

from textwrap import dedent, indent

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.circuit.lines import inlets, outlets
from pneudraw.library.model import Role
from tests.circuit.marks import built, check, topology

RIG = """
    circuit "Rig"
    parts
      air    air-source
      wet    reservoir
      cv     check-valve
      relay  relay-valve
      foot   foot-valve
      lf     service-chamber
      rf     service-chamber
      lr     spring-brake
      g      gauge
    """


def rig(lines: str) -> str:
    """Return the rig with these lines, which may be marked."""
    lines = dedent(lines).strip("\n")
    return dedent(RIG) + "lines\n" + (lines if "\n#" in lines else indent(lines, "  ")) + "\n"


# --- what is joined ---------------------------------------------------------------------------------


def test_a_chain_through_parts_goes_in_at_the_inlet_and_out_at_the_delivery() -> None:
    circuit = built(rig("air -> wet -> cv -> relay -> lf"))
    assert [tuple(end.name for end in line.ends) for line in circuit.lines] == [
        ("air.2", "wet.1"),
        ("wet.2", "cv.1"),
        ("cv.2", "relay.1"),
        ("relay.2", "lf.1"),
    ]


def test_one_end_to_several_is_a_tee_and_so_are_several_to_one() -> None:
    assert topology(built(rig("relay.2 -> lf.1, rf.1"))) == {frozenset({"relay.2", "lf.1", "rf.1"})}
    assert topology(built(rig("wet.2, cv.2 -> relay.1"))) == {frozenset({"wet.2", "cv.2", "relay.1"})}


def test_a_port_named_again_makes_a_branch_of_the_same_line() -> None:
    circuit = built(rig("wet.2 -> cv.1\nwet.2 -> relay.1\nfoot.21 -> relay.4"))
    assert [tuple(end.name for end in line.ends) for line in circuit.lines] == [
        ("wet.2", "cv.1", "relay.1"),
        ("foot.21", "relay.4"),
    ]


def test_ends_that_meet_only_later_become_one_line() -> None:
    circuit = built(rig("wet.2 -> cv.1\nrelay.1 -> foot.11\ncv.1 -- relay.1"))
    assert topology(circuit) == {frozenset({"wet.2", "cv.1", "relay.1", "foot.11"})}


def test_an_arrow_directs_and_two_dashes_do_not() -> None:
    circuit = built(rig("wet.2 -> cv.1\ncv.2 -- relay.1"))
    assert [[join.directed for join in line.joins] for line in circuit.lines] == [[True], [False]]


def test_lines_without_a_tag_are_numbered_in_order_of_first_mention() -> None:
    circuit = built(
        rig("wet.2 -> cv.1\nsupply: cv.2 -> relay.1\nrelay.2 -> lf.1\nL2: wet.a -> g\nfoot.21 -> relay.4")
    )
    assert [line.tag for line in circuit.lines] == ["L1", "supply", "L3", "L2", "L4"]


def test_a_number_that_is_the_tag_of_a_part_is_left_out() -> None:
    circuit = built('circuit "A"\nparts\n  L1 reservoir\n  b reservoir\nlines\n  L1.2 -> b.1\n')
    assert [line.tag for line in circuit.lines] == ["L2"]


def test_a_tag_may_be_given_again_with_another_branch_of_its_line() -> None:
    circuit = built(rig("service: relay.2 -> lf.1\nservice: relay.2 -> rf.1"))
    assert [(line.tag, len(line.ends)) for line in circuit.lines] == [("service", 3)]


def test_length_bore_and_hose_belong_to_the_line() -> None:
    line = built(rig("relay.2 -> lf.1, rf.1  length=3m bore=9.5mm hose")).lines[0]
    assert line.length is not None
    assert line.bore is not None
    assert (line.length.value, line.bore.value, line.hose) == (3.0, pytest.approx(0.0095), True)


def test_a_line_from_delivery_to_control_only_carries_a_signal() -> None:
    circuit = built(rig("foot.21 -> relay.4\nwet.2 -> relay.1\nwet.a -> g"))
    assert [line.control for line in circuit.lines] == [True, False, False]


def test_every_port_of_a_line_knows_its_line() -> None:
    circuit = built(rig("wet.2 -> cv.1, relay.1"))
    assert circuit.line_at("relay", "1") is circuit.lines[0]
    assert circuit.line_at("relay", "2") is None


def test_a_chain_may_name_the_ports_it_passes() -> None:
    assert topology(built(rig("wet.2 -> relay.1 -> cv.1"))) == {frozenset({"wet.2", "relay.1", "cv.1"})}


def test_every_kind_has_ports_for_a_line_that_names_only_the_part() -> None:
    from pneudraw import api

    library, _ = api.library()
    for kind in library.kinds.values():
        assert inlets(kind), kind.name
        assert outlets(kind), kind.name
        assert not {port.role for port in inlets(kind)} & {Role.EXHAUST}, kind.name


# --- what is wrong ----------------------------------------------------------------------------------


def test_a_part_that_does_not_exist_is_reported_with_the_nearest_tag() -> None:
    check(
        rig("""
      wet.2 -> rely.1
    #          ^^^^ unknown-part: did you mean `relay`?
      Wet.2 -> cv.1
    # ^^^ unknown-part: did you mean `wet`?
      wet.a -> quartz
    #          ^^^^^^ unknown-part: every part stands in the parts list""")
    )


def test_a_port_that_does_not_exist_is_reported_with_the_ports_there_are() -> None:
    found = check(
        rig("""
      wet.2 -> relay.5
    #                ^ unknown-port: ports: 1 (supply), 2 (delivery), 3 (exhaust), 4 (control)
      foot.2 -> lf
    #      ^ unknown-port: did you mean `21` or `22`?
      relay.delivery -> rf
    #       ^^^^^^^^ unknown-port: did you mean `2`?""")
    )
    assert found[0].related[0].text == "`relay` is made here"
    assert found[0].related[0].span.text == "relay"


def test_a_part_with_several_inlets_or_outlets_must_be_told_which() -> None:
    check(
        rig("""
      wet -> foot
    #        ^^^^ which-port: say which: foot.11 (primary supply), foot.12 (secondary supply)
      foot -> relay.4
    # ^^^^ which-port: foot.21 (primary delivery)
      wet -> lr
    #        ^^ which-port: lr.11 (service), lr.12""")
    )


def test_nothing_goes_through_a_part_with_one_port() -> None:
    check(
        rig("""
      wet -> g -> relay.1
    #        ^ cannot-pass: end a line at `g.1`""")
    )


def test_a_port_joined_to_itself_is_no_line() -> None:
    check(
        rig("""
      wet.2 -> wet.2
    #          ^^^^^ joined-to-itself: `wet.2` is joined to itself
      lf -> lf
    #       ^^ joined-to-itself: `lf.1` is joined to itself""")
    )


def test_two_tags_that_meet_at_a_port_are_the_same_line() -> None:
    found = check(
        rig("""
      feed: wet.2 -> cv.1
      other: wet.2 -> relay.1
    # ^^^^^ two-tags: `other` and `feed` are the same line""")
    )
    assert found[0].related[0].span.text == "feed"


def test_two_lines_with_one_tag_are_reported_with_both_places() -> None:
    found = check(
        rig("""
      feed: wet.2 -> cv.1
      feed: cv.2 -> relay.1
    # ^^^^ duplicate-tag: two lines have the tag `feed`""")
    )
    assert (found[0].related[0].span.line, found[0].related[0].text) == (14, "first here")


def test_a_line_cannot_have_the_tag_of_a_part() -> None:
    found = check(
        rig("""
      relay: wet.2 -> cv.1
    # ^^^^^ duplicate-tag: `relay` is the tag of a part already""")
    )
    assert found[0].related[0].span.line == 7


def test_a_tag_on_a_chain_that_makes_several_lines_is_refused_and_not_missed_elsewhere() -> None:
    check(
        rig("""
      feed: wet -> cv -> relay
    # ^^^^ tag-for-several: a chain that makes several lines
    states
      a from ready: fault line feed broken""")
    )


def test_lengths_and_bores_are_checked() -> None:
    check(
        rig("""
      wet.2 -> cv.1     length=3
    #                          ^ bad-value: `length` needs a length, not `3`
      cv.2 -> relay.1   bore=3psi
    #                        ^^^^ bad-value: for example bore=9.5mm
      relay.2 -> lf.1   length=3km
    #                           ^^ unknown-unit
      foot.21 -> rf.1   length=300m
    #                          ^^^^ out-of-range: too large
      foot.22 -> lr.11  bore=0.1mm
    #                        ^^^^^ out-of-range: too small
      wet.a -> g        lenght=3m
    #                   ^^^^^^ unknown-option: did you mean `length`?""")
    )


def test_one_line_has_one_length() -> None:
    check(
        rig("""
      wet.2 -> cv.1     length=3m
      wet.2 -> relay.1  length=4m
    # ^^^^^^^^^^^^^^^^^^^^^^^^^^^ two-values: two values for `length`: 3m and 4m""")
    )


def test_separators_that_are_none_are_reported_with_the_right_ones() -> None:
    check(
        rig("""
      wet.2 => cv.1
    #       ^^ wrong-separator: `->` joins in the direction of flow
      cv.2 <- relay.2
    #      ^^ wrong-separator: the other way round
      relay.2 lf.1
    #         ^^^^ missing-separator: write `relay.2 -> lf.1`""")
    )


def test_all_mistakes_are_reported_at_once_each_once_and_in_order() -> None:
    check(
        rig("""
      air -> wet.9
    #            ^ unknown-port
      wet.2 -> cvv -> relay.7
    #          ^^^ unknown-part: did you mean `cv`?
    #                       ^ unknown-port
      relay.2 -> lf.1, rff.1  length=3psi
    #                  ^^^ unknown-part: did you mean `rf`?
    #                                ^^^^ bad-value""")
    )


# --- order and names do not matter ------------------------------------------------------------------

STATEMENTS = (
    "air -> wet.1",
    "wet.2 -> cv -> relay.1",
    "foot.21 -> relay.4",
    "relay.2 -> lf, rf",
    "wet.a -> g",
    "wet.b -> foot.11",
    "wet.b -> foot.12",
    "foot.22 -- lr.11",
)
PARTS = tuple(line.strip() for line in RIG.strip().split("\n")[2:])
WHOLE = topology(built(rig("\n".join(STATEMENTS))))


@settings(max_examples=40, deadline=None)
@given(st.permutations(PARTS), st.permutations(STATEMENTS), st.booleans())
def test_the_order_of_statements_and_sections_changes_nothing_that_is_joined(
    parts: list[str], lines: list[str], lines_first: bool
) -> None:
    blocks = ["\n  ".join(["parts", *parts]), "\n  ".join(["lines", *lines])]
    if lines_first:
        blocks.reverse()
    assert topology(built("\n".join(['circuit "Rig"', *blocks]) + "\n")) == WHOLE


WORDS = st.from_regex(r"[A-Za-z][A-Za-z0-9_]{0,6}(-[a-z0-9]{1,3})?", fullmatch=True).filter(
    lambda word: word not in ("circuit", "parts", "lines", "states", "layout", "use", "assembly")
)


@settings(max_examples=40, deadline=None)
@given(st.lists(WORDS, min_size=len(PARTS), max_size=len(PARTS), unique=True))
def test_other_tags_join_the_same_ports(tags: list[str]) -> None:
    old = [part.split()[0] for part in PARTS]
    new = dict(zip(old, tags, strict=True))
    parts = [f"{new[part.split()[0]]} {part.split()[1]}" for part in PARTS]
    lines = []
    for line in STATEMENTS:
        words = [
            new.get(word.split(".")[0].rstrip(","), word.split(".")[0]) + _rest(word) for word in line.split()
        ]
        lines.append(" ".join(words))
    circuit = built(
        "\n  ".join(['circuit "Rig"\nparts', *parts]) + "\n" + "\n  ".join(["lines", *lines]) + "\n"
    )
    back = {new[name]: name for name in old}
    renamed = {
        frozenset(f"{back[name.split('.')[0]]}.{name.split('.')[1]}" for name in line)
        for line in topology(circuit)
    }
    assert renamed == WHOLE


def _rest(word: str) -> str:
    """What follows the tag in a word of a line: its port, a comma."""
    stem = word.split(".")[0].rstrip(",")
    return word[len(stem) :] if stem not in ("->", "--") else ""
