"""What the parser makes of right netlists."""

from __future__ import annotations

import pytest

from pneudraw.diagnostics import render_text
from pneudraw.language.parser import parse
from pneudraw.language.tree import (
    Document,
    HintDecl,
    InputSetting,
    LineDecl,
    LineFault,
    Measure,
    PartDecl,
    PartFault,
    Quoted,
    StateDecl,
    Word,
)
from pneudraw.source import Source
from pneudraw.units import CUBIC_INCH, PSI


def read(text: str) -> Document:
    document, messages = parse(Source("text", text))
    assert messages == (), "\n".join(map(render_text, messages))
    return document


def part(text: str) -> PartDecl:
    (found,) = read(f"parts\n  {text}\n").parts
    return found


def line(text: str) -> LineDecl:
    (found,) = read(f"lines\n  {text}\n").lines
    return found


def state(text: str) -> StateDecl:
    (found,) = read(f"states\n  {text}\n").states
    return found


def hint(text: str) -> HintDecl:
    (found,) = read(f"layout\n  {text}\n").hints
    return found


# --- the circuit ---------------------------------------------------------------------------------------


def test_the_circuit_has_a_title_and_settings() -> None:
    document = read('circuit "Two-axle truck"\n  pressure bar\n  rules un\n')
    assert document.circuit is not None
    assert str(document.circuit.title) == "Two-axle truck"
    assert str(document.setting("pressure").value) == "bar"  # type: ignore[union-attr]
    assert str(document.setting("rules").value) == "un"  # type: ignore[union-attr]


def test_an_empty_text_is_an_empty_netlist() -> None:
    for text in ("", "\n\n", "# nothing yet\n", "   \n\t\n"):
        document = read(text)
        assert document.blocks == ()
        assert document.circuit is None
        assert document.setting("pressure") is None


def test_a_quoted_text_may_hold_quotes_and_a_comment_sign() -> None:
    (block,) = read(r'circuit "The \"wet\" tank, \\ and #1"  # real comment' + "\n").blocks
    assert str(block.title) == r'The "wet" tank, \ and #1'  # type: ignore[union-attr]
    assert block.notes.after == "# real comment"


def test_sections_come_in_any_order_and_more_than_once() -> None:
    document = read("lines\n  a -> b\nparts\n  a valve\nlines\n  c -> d\nparts\n  b valve\n")
    assert [p.tags[0].text for p in document.parts] == ["a", "b"]
    assert [str(item.groups[0].ends[0]) for item in document.lines] == ["a", "c"]


# --- parts ---------------------------------------------------------------------------------------------


def test_a_part_is_a_tag_and_a_kind() -> None:
    found = part("comp compressor")
    assert [str(tag) for tag in found.tags] == ["comp"]
    assert str(found.kind) == "compressor"
    assert found.caption is None
    assert found.options == ()


def test_several_tags_are_several_parts_of_one_kind() -> None:
    for text in ("lf, rf service-chamber", "lf,rf  service-chamber", "lf ,rf service-chamber"):
        assert [str(tag) for tag in part(text).tags] == ["lf", "rf"]


def test_caption_and_values_come_in_any_order() -> None:
    first = part('gov governor "Governor" cut_in=100psi cut_out=125psi')
    for text in (
        'gov governor cut_in=100psi "Governor" cut_out=125psi',
        'gov governor cut_in=100psi cut_out=125psi "Governor"',
    ):
        assert part(text) == first


def test_names_have_letters_digits_hyphens_and_underscores() -> None:
    assert [str(tag) for tag in part("a, A1, left-rear_2, x-1 relay-valve-2").tags] == [
        "a",
        "A1",
        "left-rear_2",
        "x-1",
    ]


# --- values --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value", "dimension"),
    [
        ("100psi", 100 * PSI, "pressure"),
        ("100 psi", 100 * PSI, "pressure"),
        ("8.5bar", 8.5e5, "pressure"),
        ("-20kPa", -2e4, "pressure"),
        ("1200in3", 1200 * CUBIC_INCH, "volume"),
        ("20 L", 0.02, "volume"),
        ("9.5mm", 0.0095, "length"),
        ("3 in", 0.0762, "length"),
        (".5m", 0.5, "length"),
        ("30%", 0.3, "ratio"),
        ("30 %", 0.3, "ratio"),
        ("2 min", 120.0, "time"),
        ("12 L/(s.bar)", 12e-8, "conductance"),
        ("1e3", 1000.0, "number"),
        ("24", 24.0, "number"),
    ],
)
def test_values_are_quantities_in_si(text: str, value: float, dimension: str) -> None:
    option = part(f"a valve x={text} y=1").option("x")
    assert option is not None
    assert isinstance(option.value, Measure)
    assert option.value.quantity.value == pytest.approx(value, rel=1e-12)
    assert option.value.quantity.dimension == dimension
    assert option.value.span.text == text


def test_a_pressure_is_absolute_only_if_it_says_so() -> None:
    for text, absolute in (("8 bar abs", True), ("8bar abs", True), ("8bar", False)):
        value = part(f"a valve x={text} y=2").options[0].value
        assert isinstance(value, Measure)
        assert value.quantity.absolute is absolute
        assert value.quantity.text == ("8bar abs" if absolute else "8bar")


def test_spaces_around_the_equals_sign_are_allowed() -> None:
    assert part("a valve x = 4 psi y= 2") == part("a valve x=4psi y=2")


def test_a_word_behind_a_bare_number_is_its_unit_only_if_it_is_one() -> None:
    options = part("a valve x=3 in=4 abs=5").options
    assert [(str(option.key), str(option.value)) for option in options] == [
        ("x", "3"),
        ("in", "4"),
        ("abs", "5"),
    ]
    assert line("a -> b length=3 m hose").flag("hose")


def test_a_value_may_be_a_word_or_a_text() -> None:
    word, text = part('a valve x=type y="4 to 5"').options
    assert isinstance(word.value, Word)
    assert isinstance(text.value, Quoted)


# --- lines ---------------------------------------------------------------------------------------------


def test_a_chain_goes_through_parts() -> None:
    found = line("comp -> dry -> wet.1")
    assert [[str(end) for end in group.ends] for group in found.groups] == [["comp"], ["dry"], ["wet.1"]]
    assert [separator.directed for separator in found.separators] == [True, True]


def test_a_double_hyphen_joins_without_direction() -> None:
    assert [separator.directed for separator in line("a.1 -- b.1 -> c").separators] == [False, True]


def test_no_space_is_needed_around_a_separator() -> None:
    assert line("left-rear.2->b-c--d.1") == line("left-rear.2 -> b-c -- d.1")


def test_several_ends_may_stand_at_either_end_of_a_chain() -> None:
    found = line("a.2, b.2 -> c -> d.1,e.1")
    assert [[str(end) for end in group.ends] for group in found.groups] == [
        ["a.2", "b.2"],
        ["c"],
        ["d.1", "e.1"],
    ]


def test_a_line_may_have_a_tag_options_and_a_flag() -> None:
    found = line("service: relay.2 -> lr.11, rr.11 length=3m hose bore=9.5mm")
    assert str(found.tag) == "service"
    assert [str(option.key) for option in found.options] == ["length", "bore"]
    assert found.flag("hose")
    assert not line("a -> b").flag("hose")


def test_an_end_knows_its_port_and_what_stands_before_it() -> None:
    (end,) = line("tl.relay.2 -> b").groups[0].ends
    assert (end.text, end.stem, str(end.last)) == ("tl.relay.2", "tl.relay", "2")
    (alone,) = line("comp -> b").groups[0].ends
    assert (alone.text, alone.stem) == ("comp", "")


# --- states --------------------------------------------------------------------------------------------


def test_a_state_starts_from_another_and_sets_inputs() -> None:
    found = state('half "Half" from ready: foot 30%, park.knob out, comp running at 1.5 s')
    assert (str(found.name), str(found.title), str(found.start)) == ("half", "Half", "ready")
    foot, park, comp = found.settings
    assert isinstance(foot, InputSetting)
    assert isinstance(park, InputSetting)
    assert isinstance(comp, InputSetting)
    assert isinstance(foot.value, Measure)
    assert foot.value.quantity.value == pytest.approx(0.3)
    assert foot.at is None
    assert (park.target.text, str(park.value)) == ("park.knob", "out")
    assert comp.at is not None
    assert comp.at.quantity.value == 1.5


def test_a_state_may_be_followed_for_a_time() -> None:
    for text in ('later "Later" from ready for 30 s: foot 30%', "later from ready for 30s"):
        horizon = state(text).horizon
        assert horizon is not None
        assert horizon.quantity.value == 30


def test_a_state_goes_on_behind_a_comma() -> None:
    text = 'pump "Pump" from ready: foot 80%,  # down\n    # and up\n\n    foot 0% at 2s\n  next from pump'
    first, second = read(f"states\n  {text}\n").states
    assert len(first.settings) == 2
    assert [(item.comma, item.comment, item.lines) for item in first.notes.breaks] == [
        (0, "# down", ("# and up",))
    ]
    assert str(second.start) == "pump"


def test_faults_are_put_into_parts_and_lines() -> None:
    settings = state(
        "bad from ready: fault tl.relay.inlet-leaks 2mm, fault line tl.s leaks 3 mm, fault line f broken"
    ).settings
    inside, leak, broken = settings
    assert isinstance(inside, PartFault)
    assert (inside.target.text, str(inside.fault), str(inside.size)) == ("tl.relay", "inlet-leaks", "2mm")
    assert isinstance(leak, LineFault)
    assert (leak.target.text, str(leak.fault), str(leak.size)) == ("tl.s", "leaks", "3mm")
    assert isinstance(broken, LineFault)
    assert broken.size is None


def test_parts_called_fault_or_from_are_still_parts() -> None:
    found = state("from from from: fault 30%, from 40%")
    assert [str(s.target) for s in found.settings] == ["fault", "from"]
    assert str(part("use, from as").kind) == "as"


# --- layout, use, assembly -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ('group "Rear axle": lr rr', "Rear axle"),
        ("order: lr rr", None),
        ("column 3: lr rr", "3"),
        ("side left: lr rr", "left"),
        ("mirror: lr, rr", None),
        ("near tl.foot: lr rr", "tl.foot"),
    ],
)
def test_wishes_about_the_drawing_name_parts(text: str, value: str | None) -> None:
    found = hint(text)
    assert str(found.word) == text.split()[0].rstrip(":")
    assert (None if found.value is None else str(found.value)) == value
    assert [p.text for p in found.parts] == ["lr", "rr"]


def test_another_circuit_is_used_under_a_tag() -> None:
    (use,) = read('use "trailers/semi.pneu" as tl\n').uses
    assert (str(use.file), str(use.tag)) == ("trailers/semi.pneu", "tl")


def test_an_assembly_has_parameters_and_sections_of_its_own() -> None:
    document = read(
        "assembly wheel-end type=24 hose=1m\n"
        "  parts\n    ch spring-brake type=type\n"
        "  lines\n    ch.11 -> x\n"
        "  layout\n    order: ch\n"
        "  parts\n    q quick-release\n"
        "parts\n  lr wheel-end type=30\n"
    )
    (assembly,) = document.assemblies
    assert str(assembly.name) == "wheel-end"
    assert [(str(p.key), str(p.value)) for p in assembly.parameters] == [("type", "24"), ("hose", "1m")]
    assert [str(p.tags[0]) for p in assembly.parts] == ["ch", "q"]
    assert len(assembly.lines) == len(assembly.hints) == 1
    assert [str(p.tags[0]) for p in document.parts] == ["lr"]


# --- places --------------------------------------------------------------------------------------------


def test_everything_knows_its_place() -> None:
    text = (
        'parts\n  lf, rf  valve  "Front"  crack = 4 psi\n'
        "lines\n  s: tl.relay.2 -> rf.11\n"
        'states\n  a "T" from b: foot 30% at 2 s\n'
    )
    document = read(text)
    (p,) = document.parts
    assert [tag.span.text for tag in p.tags] == ["lf", "rf"]
    assert p.kind is not None
    assert p.kind.span.text == "valve"
    assert p.caption is not None
    assert p.caption.span.text == '"Front"'
    assert p.options[0].key.span.text == "crack"
    assert p.options[0].value.span.text == "4 psi"
    assert p.options[0].span.text == "crack = 4 psi"
    assert p.span.text == 'lf, rf  valve  "Front"  crack = 4 psi'
    (item,) = document.lines
    assert item.tag is not None
    assert item.tag.span.text == "s"
    end = item.groups[0].ends[0]
    assert end.span.text == "tl.relay.2"
    assert [word.span.text for word in end.words] == ["tl", "relay", "2"]
    assert [word.span.column for word in end.words] == [6, 9, 15]
    assert item.separators[0].span.text == "->"
    setting = document.states[0].settings[0]
    assert setting.span.text == "foot 30% at 2 s"
    assert (document.blocks[1].head.span.line, document.blocks[1].head.span.column) == (3, 1)


def test_trees_are_equal_if_the_texts_say_the_same() -> None:
    assert read("parts\n  a valve x=3psi") == read("parts\n\n      a     valve    x = 3 psi\n")
    assert read("parts\n  a valve x=3psi") != read("parts\n  a valve x=4psi")
    assert read("parts\n  a valve # c") != read("parts\n  a valve # d")
