"""What can be wrong in a parts list, each mistake said once, where it is, with what was probably meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.library.locate import shipped
from pneudraw.units import PSI
from tests.circuit.marks import built, check


def test_a_misspelt_kind_is_reported_with_the_kind_that_was_meant() -> None:
    check("""
        circuit "A"
        parts
          wet    resrvoir   volume=3L
        #        ^^^^^^^^ unknown-kind: did you mean `reservoir`?
          relay  Relay-Valve
        #        ^^^^^^^^^^^ unknown-kind: did you mean `relay-valve`?
          x      zzz
        #        ^^^ unknown-kind: `pneudraw catalogue` lists the kinds
        """)


def test_lines_states_and_hints_say_nothing_more_about_a_part_whose_statement_was_wrong() -> None:
    check("""
        circuit "A"
        parts
          air    air-source
          wet    resrvoir
        #        ^^^^^^^^ unknown-kind
          foot   foot-valve-singel
        #        ^^^^^^^^^^^^^^^^^ unknown-kind
          cv
        # ^^ missing-kind
          lf rf  service-chamber
        #        ^^^^^^^^^^^^^^^ unexpected: one word too many
        lines
          air -> wet.2 -> cv -> foot.9
          feed: wet.a -> foot.1
          foot.2 -> lf, rf
        states
          half from ready: foot 30%, fault wet.leaks, fault line feed broken, fault line L1 blocked
        layout
          order: air wet cv foot lf
          near foot: wet
        """)


def test_a_state_that_a_misspelt_part_would_make_possible_is_not_missed() -> None:
    check("""
        circuit "A"
        parts
          air   air-source
          foot  foot-valve-singel
        #       ^^^^^^^^^^^^^^^^^ unknown-kind
        states
          again from service-apply: foot 30%
          never from sevice-apply: foot 30%
        #            ^^^^^^^^^^^^ unknown-state
        """)


def test_a_kind_misspelt_for_several_parts_of_one_statement_is_reported_once() -> None:
    check("""
        circuit "A"
        parts
          lf, rf, lr  service-chambr  type=20
        #             ^^^^^^^^^^^^^^ unknown-kind: did you mean `service-chamber`?
        """)


def test_a_misspelt_parameter_is_reported_with_those_there_are() -> None:
    check("""
        circuit "A"
        parts
          wet   reservoir   volme=3L
        #                   ^^^^^ unknown-parameter: did you mean `volume`?
          gov   governor    cutin=100psi
        #                   ^^^^^ unknown-parameter: did you mean `cut_in`?
          air   air-source  colour=3
        #                   ^^^^^^ unknown-parameter: an air-source has no parameter `colour`
        """)


def test_values_without_unit_or_of_another_dimension_say_what_units_there_are() -> None:
    check("""
        circuit "A"
        parts
          a  reservoir        volume=1200
        #                            ^^^^ bad-value: write the unit: m3, L, mL, cm3, in3
          b  reservoir        volume=100psi
        #                            ^^^^^^ bad-value: `volume` is a volume, not a pressure
          c  service-chamber  type=20psi
        #                          ^^^^^ bad-value: `type` is a pure number, without a unit
          d  service-chamber  area=20in
        #                          ^^^^ bad-value: `area` is an area, not a length
          e  reservoir        volume="large"
        #                            ^^^^^^^ bad-value: `volume` needs a number
          f  reservoir        volume=large
        #                            ^^^^^ bad-value: `volume` needs a number, not `large`
          g  reservoir        volume=3psia
        #                             ^^^^ unknown-unit: did you mean `psi abs`?
        """)


def test_values_out_of_range_say_the_range() -> None:
    check("""
        circuit "A"
        parts
          a  relay-valve      crack=400psi
        #                           ^^^^^^ out-of-range: too large
          b  reservoir        volume=-3L
        #                            ^^^ out-of-range: too small
          c  service-chamber  type=21
        #                          ^^ bad-value: it can be: 9, 12, 14, 16, 18, 20, 24, 30, 36
          d  governor         cut_out=30psi abs
        #                             ^^^^^^^^^ out-of-range: too small
        """)


def test_a_tag_used_twice_shows_both_places() -> None:
    found = check("""
        circuit "A"
        parts
          wet     reservoir
          lf, wet service-chamber
        #     ^^^ duplicate-tag: tag `wet` is used twice
          wet     governor
        # ^^^ duplicate-tag
        """)
    assert [(d.related[0].span.line, d.related[0].text) for d in found] == [(4, "first here")] * 2


def test_names_with_dots_or_other_letters_are_no_tags() -> None:
    check("""
        circuit "A"
        parts
          tl.relay  relay-valve
        # ^^^^^^^^ bad-name
          1st       relay-valve
        # ^^^ bad-name
          kühler    relay-valve
        # ^^^^^^ bad-name
        """)


def test_a_circuit_without_parts_is_told_so_at_its_beginning() -> None:
    from pneudraw import api

    for text in ("", "\n\n# nothing\n", 'circuit "A"\n', "parts\n", 'circuit "A"\nparts\nlines\nstates\n'):
        reading = api.read_text(text)
        assert [(d.code, d.at.span.line, d.at.span.column) for d in reading.diagnostics] == [
            ("no-parts", 1, 1)
        ]
        assert reading.circuit is None


def test_parts_carry_their_values_and_where_they_stand() -> None:
    circuit = built("""
        circuit "A"
        parts
          lf, rf  service-chamber  "Front"  type=30
          gov     governor         cut_in=95psi
        """)
    assert [part.tag for part in circuit.parts] == ["lf", "rf", "gov"]
    lf, _, gov = circuit.parts
    assert (lf.name, lf.span.line, lf.span.column, lf.span.text) == ("Front", 4, 3, "lf")
    assert lf.given == ("type",)
    assert (
        lf.values["rated"].text == "89 in3"
    )  # follows the type; 49 CFR 571.121 table V, type 30, 2.5 in stroke
    assert gov.values["cut_in"].value == pytest.approx(95 * PSI)
    assert gov.values["cut_out"] == gov.kind.parameter("cut_out").default  # type: ignore[union-attr]


def test_a_value_that_follows_another_can_still_be_set() -> None:
    circuit = built('circuit "A"\nparts\n  lf  service-chamber  type=30 rated=75in3\n')
    assert circuit.parts[0].values["rated"].text == "75in3"


def test_every_number_a_netlist_may_set_is_bounded_on_both_sides_or_chosen_from_a_list() -> None:
    from pneudraw import api

    library, _ = api.library()
    for kind in library.kinds.values():
        for parameter in kind.parameters:
            bounded = parameter.least is not None and parameter.most is not None
            assert bounded or parameter.choices, f"{kind.name}.{parameter.name}"


def test_settings_that_are_each_allowed_can_be_impossible_together() -> None:
    check("""
        circuit "A"
        parts
          thin    cylinder-double-acting  bore=6mm  drag=20N
        #                                      ^^^ impossible-part: no room is left in its rod side
          thick   cylinder-double-acting  drag=20N  rod=100mm
        #                                               ^^^^^ impossible-part: bore=63mm, rod=100mm
          spring  cylinder-single-acting  preload=200N
        #                                         ^^^^ impossible-part: the spring
          sound   cylinder-double-acting  rod=50mm
        """)


def test_a_kind_file_of_ones_own_that_makes_no_sense_is_said_at_the_part(tmp_path: Path) -> None:
    text = (shipped() / "check-valve.toml").read_text("utf-8")
    assert 'band = "0.05 bar"' in text
    (tmp_path / "check-valve.toml").write_text(text.replace('band = "0.05 bar"', 'band = "0 bar"'), "utf-8")
    netlist = 'circuit "A"\nparts\n  cv check-valve\n  a reservoir\nlines\n  cv -> a\n'
    reading = api.read_text(netlist, symbols=[tmp_path])
    assert [(d.code, d.at.span.text) for d in reading.diagnostics] == [("impossible-part", "cv")]
    assert "no band" in reading.diagnostics[0].message
