"""A whole netlist becomes a circuit, or all that is wrong with it is said; whatever the text, nothing is raised."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw import api
from pneudraw.circuit.build import build
from pneudraw.circuit.course import circuits_folder
from pneudraw.diagnostics import render_text
from pneudraw.language.parser import parse
from pneudraw.source import Source
from pneudraw.units import CUBIC_INCH, PSI
from tests.circuit.marks import built, check

TRUCK = """
    circuit "Two-axle truck, dual service circuits"
      pressure psi              # unit shown; values may carry any unit
      rules    us               # rule set for `check`: us, un or none

    parts
      comp    compressor        "Compressor"
      dry     air-dryer
      gov     governor          cut_in=100psi cut_out=125psi
      wet     reservoir         "Supply reservoir"     volume=1200in3
      cv1     check-valve
      cv2     check-valve
      prim    reservoir         "Primary reservoir"    volume=1600in3
      sec     reservoir         "Secondary reservoir"  volume=1600in3
      foot    foot-valve
      relay   relay-valve       crack=4psi
      lf, rf  service-chamber   type=20
      lr, rr  spring-brake      type=30

    lines
      comp -> dry -> wet                        # through a part: in at its inlet, out at its delivery
      wet.2 -> cv1 -> prim.1
      wet.2 -> cv2 -> sec.1                     # the same port again: a branch of the same line
      gov.2 -> comp.4, dry.4                    # a tee; control lines are known from the ports
      service: relay.2 -> lr.11, rr.11   length=3m bore=9.5mm

    states
      half-apply  "Half service application"  from ready:  foot 30%

    layout                                      # optional; everything has a good automatic answer
      group "Rear axle": relay lr rr
    """


def test_a_parts_list_and_a_pipe_list_make_a_truck() -> None:
    circuit = built(TRUCK)
    assert circuit.title == "Two-axle truck, dual service circuits"
    assert (circuit.unit, circuit.rules) == ("psi", "us")
    assert len(circuit.parts) == 14
    assert {line.tag: tuple(end.name for end in line.ends) for line in circuit.lines} == {
        "L1": ("comp.2", "dry.1"),
        "L2": ("dry.2", "wet.1"),
        "L3": ("wet.2", "cv1.1", "cv2.1"),
        "L4": ("cv1.2", "prim.1"),
        "L5": ("cv2.2", "sec.1"),
        "L6": ("gov.2", "comp.4", "dry.4"),
        "service": ("relay.2", "lr.11", "rr.11"),
    }
    assert [line.tag for line in circuit.lines if line.control] == ["L6"]
    wet, relay = circuit.part("wet"), circuit.part("relay")
    assert wet is not None
    assert relay is not None
    assert wet.values["volume"].value == pytest.approx(1200 * CUBIC_INCH)
    assert relay.values["crack"].value == pytest.approx(4 * PSI)
    half = circuit.state("half-apply")
    assert half is not None
    assert [(s.part, s.input, s.value) for s in half.settings] == [("foot", "pedal", 0.3)]
    assert [(hint.word, hint.name, hint.parts) for hint in circuit.hints] == [
        ("group", "Rear axle", ("relay", "lr", "rr"))
    ]


@pytest.mark.parametrize("path", sorted(circuits_folder().glob("*.pneu")), ids=lambda path: path.stem)
def test_the_circuits_of_the_course_have_no_mistakes(path: Path) -> None:
    reading = api.read(path)
    assert reading.diagnostics == (), "\n\n".join(render_text(d) for d in reading.diagnostics)


def test_a_circuit_without_a_title_has_its_files_name_and_kilopascals_and_no_rules() -> None:
    circuit = built("parts\n  t  reservoir\n", name="/some/where/truck-7.pneu")
    assert (circuit.title, circuit.name, circuit.unit, circuit.rules) == ("truck-7", "truck-7", "kPa", "none")


def test_a_files_name_brings_no_control_characters_into_a_title() -> None:
    assert built("parts\n  t  reservoir\n", name="a\x1b[2J<b>.pneu").title == "a_[2J<b>"


def test_everything_wrong_in_every_section_is_said_at_once() -> None:
    check("""
        circuit "A"
          presure psi
        # ^^^^^^^ unknown-setting: did you mean `pressure`?
        parts
          wet   resrvoir
        #       ^^^^^^^^ unknown-kind
          foot  foot-valve-single  lap=3
        #                              ^ bad-value
          lf    service-chamber
        lines
          wet.2 -> foot.4
        #               ^ unknown-port
          foot.2 -> lff
        #           ^^^ unknown-part
        states
          a from redy: foot 30
        #        ^^^^ unknown-state
        #                   ^^ bad-value
        layout
          group "Front": lf foott
        #                   ^^^^^ unknown-part: did you mean `foot`?
          near fot: lf
        #      ^^^ unknown-part: did you mean `foot`?
        """)


def test_a_part_with_a_wrong_value_is_still_a_part() -> None:
    check("""
        circuit "A"
        parts
          tank  reservoir          volume=3
        #                                 ^ bad-value
          foot  foot-valve-single
        lines
          tank -> foot.9
        #              ^ unknown-port
        """)


def test_the_order_of_the_sections_does_not_matter() -> None:
    circuit = built("""
        layout
          order: a b
        states
          s from ready
        lines
          a -> b
        parts
          a, b  reservoir
        circuit "Upside down"
        """)
    assert len(circuit.lines) == 1


def test_building_from_a_tree_with_errors_gives_no_circuit_but_its_own_messages_only() -> None:
    library, _ = api.library()
    document, messages = parse(Source("a", "parts\n  t reservoir volume=\n  u resrvoir\n"))
    assert [m.code for m in messages] == ["missing-value"]
    circuit, more = build(document, library)
    assert circuit is None
    assert [m.code for m in more] == ["unknown-kind"]


WORDS = (
    'circuit parts lines states layout use assembly -> -- : , . = % " "A" a b a.1 a.2 b.1 reservoir gauge compressor',
    "foot-valve-single volume=3L volume=3 type=20 from ready empty 30% at 1s fault line leaks 3mm order group near as",
    "hose length=3m # é 名 1e99 -3psi",
)
PIECES = st.sampled_from(
    [*(word for row in WORDS for word in row.split()), "\n", "\n  ", "\n    ", "\t", "\x1b[2J", "\u202e"]
)


@settings(max_examples=300, deadline=None)
@given(st.lists(PIECES, max_size=40).map(" ".join))
def test_any_text_gives_a_circuit_or_messages(text: str) -> None:
    reading = api.read_text(text)
    assert reading.circuit is not None or reading.diagnostics
    for found in reading.diagnostics:
        printed = render_text(found)
        assert all(char.isprintable() or char == "\t" for line in printed.split("\n") for char in line)
    places = [(d.at.span.start, d.code, d.message) for d in reading.diagnostics]
    assert places == sorted(places)
    assert len(places) == len(set(places))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(TRUCK.strip().split("\n")), max_size=40))
def test_lines_of_a_good_netlist_in_any_number_and_order_raise_nothing(lines: list[str]) -> None:
    reading = api.read_text("\n".join(line[4:] for line in lines))
    assert reading.circuit is not None or reading.diagnostics
