"""Symbols that are no parts: lines, marks, position boxes, elements, lamps."""

from __future__ import annotations

import pytest

from pneudraw.library import strokes
from pneudraw.library.model import Basis, Drawing, Group, Polyline
from tests.library.laws import KINDS, LIBRARY

DRAWINGS = LIBRARY.drawings()
each_drawing = pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda drawing: drawing.name)


def test_they_are_there_and_without_mistakes() -> None:
    assert not LIBRARY.mistakes()
    assert len(DRAWINGS) >= 40
    assert not {drawing.name for drawing in DRAWINGS} & {kind.name for kind in KINDS}


@each_drawing
def test_a_drawing_stays_in_its_box_and_says_what_it_means(drawing: Drawing) -> None:
    drawn = [*drawing.strokes, *(s for port in drawing.ports for s in port.joined + port.unjoined)]
    box = strokes.bounds(drawn)
    assert box is not None
    assert box[0] >= 0
    assert box[1] >= 0
    assert box[2] <= drawing.size[0]
    assert box[3] <= drawing.size[1]
    assert drawing.text.endswith(".")
    assert drawing.title


@each_drawing
def test_what_is_from_memory_is_marked(drawing: Drawing) -> None:
    assert any(word in drawing.standard for word in ("from memory", "our own"))


def test_every_element_of_the_list_is_shown_and_every_box_form() -> None:
    shown = [drawing for drawing in DRAWINGS if drawing.group is Group.ELEMENTS]
    used = {
        word.split()[0]
        for k in KINDS
        for v in k.valves
        for end in v.left + v.right
        for word in end.split("+")
    }
    names = {drawing.name.removeprefix("element-") for drawing in shown}
    assert used - {"pilot-tip"} <= names
    assert len([d for d in DRAWINGS if d.group is Group.BOXES]) == 9


def test_a_filled_triangle_is_shown_once_as_the_sign_that_is_wrong_for_air() -> None:
    """ISO 1219-1: filled for liquid, open for air. An arrow's filled head is a filled triangle too, for rotation."""
    filled = [
        drawing.name
        for drawing in DRAWINGS
        for stroke in drawing.strokes
        if isinstance(stroke, Polyline) and stroke.fill == "black" and len(stroke.points) == 3
    ]
    assert filled == ["air-triangle"]


def test_own_forms_are_called_own() -> None:
    """A kind whose text claims a form of our own carries the mark for it, or is a composition."""
    for kind in KINDS:
        if kind.basis is Basis.CONFIRMED:
            assert "our own" not in kind.standard.split(":")[0], kind.name
        if kind.basis is Basis.OWN:
            assert "our own" in kind.standard, kind.name


WANTED = """
air-source compressor reservoir silencer intake-filter air-filter water-separator water-separator-auto
filter-separator dryer-cartridge air-dryer air-dryer-detailed lubricator service-unit service-unit-detailed
drain-valve drain-auto shut-off-cock shut-off-cock-vented gauge gauge-dual pressure-switch low-pressure-switch
low-pressure-warning pressure-sensor pressure-indicator flow-meter flow-indicator test-point check-valve
check-valve-spring check-valve-piloted double-check-valve dual-pressure-valve quick-exhaust-valve quick-release
restrictor orifice throttle-valve one-way-restrictor one-way-flow-control safety-valve pressure-reducer
pressure-regulator sequence-valve pressure-protection-valve pressure-protection-valve-return governor relay-valve
foot-valve foot-valve-single hand-valve park-valve park-valve-detent inversion-valve spring-brake-modulator
load-sensing-valve levelling-valve tractor-protection-valve trailer-relay-emergency-valve trailer-control-valve
abs-modulator abs-modulator-detailed four-circuit-protection-valve four-circuit-protection-valve-detailed
cylinder-single-acting cylinder-double-acting cylinder-cushioned rotary-actuator air-motor vacuum-pump ejector
suction-cup service-chamber spring-brake air-bag levelled-air-spring quick-coupling quick-coupling-apart
quick-coupling-check quick-coupling-check-apart gladhand-supply gladhand-service flexible-hose coil-hose plug
off-page-reference
"""
WANTED_DRAWINGS = """
rotation electric-motor engine exhaust-direct exhaust-piped lamp buzzer slack-adjuster junction crossing
line-working line-control line-enclosure line-mechanical
"""


def test_the_symbols_a_course_needs_are_there() -> None:
    """What ISO 1219-1:2012 lists in clauses 7.1 to 7.4, and a truck's brake plan (from memory)."""
    assert not set(WANTED.split()) - {kind.name for kind in KINDS}
    assert not set(WANTED_DRAWINGS.split()) - {drawing.name for drawing in DRAWINGS}


def test_directional_valves_come_with_every_usual_actuation() -> None:
    """ISO 1219-1:2012 8.5 and 9.2: by hand, foot, machine, spring, coil, air, and both of the last in one."""
    elements = {
        element
        for kind in KINDS
        if kind.group is Group.DIRECTIONAL
        for valve in kind.valves
        for end in valve.left + valve.right
        for element in end.split()[0].split("+")
    }
    hands = {"button", "lever", "knob", "pedal", "detent", "detent-three"}
    assert elements >= hands | {"plunger", "roller", "spring", "solenoid", "pilot", "solenoid-pilot"}
