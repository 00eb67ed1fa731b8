"""What the conditions of a part's passages say about where air could go."""

from __future__ import annotations

import pytest

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.rules.study import Study
from pneudraw.rules.ways import Ways
from tests.rules.circuits import TRACTOR_AND_TRAILER, TRUCK
from tests.rules.helpers import circuit_of

KINDS, _ = api.library()


def inner(kind: str, port: str) -> set[str]:
    """The ports and chambers that air from a port gets to inside a part."""
    circuit = circuit_of(f'circuit "One part"\nparts\n  x {kind}\n')
    part = circuit.parts[0]
    return set(Ways(circuit).inner(part, port))


@pytest.mark.parametrize(
    ("kind", "port", "reached"),
    [
        ("check-valve", "1", {"2"}),
        ("check-valve", "2", set()),
        ("double-check-valve", "11", {"2", "12"}),  # at equal pressures both sides are half open
        ("relay-valve", "1", {"2", "3"}),
        ("relay-valve", "4", set()),
        ("foot-valve", "11", {"21", "31"}),
        ("foot-valve", "12", {"22", "32"}),
        ("safety-valve", "1", {"3"}),
        ("reservoir", "2", {"1", "body", "a", "b", "c", "d", "e", "f"}),
        ("air-dryer", "2", set()),  # its outlet check
        ("compressor", "4", set()),
    ],
)
def test_where_air_goes_inside_a_part(kind: str, port: str, reached: set[str]) -> None:
    assert inner(kind, port) == reached


def study(text: str) -> Study:
    """A circuit under study, nothing computed."""
    circuit: Circuit = circuit_of(text)
    return Study(circuit, Ways(circuit), None)


def test_a_compressor_makes_air_and_its_intake_filter_does_not() -> None:
    text = 'circuit "Intake"\nparts\n  f intake-filter\n  c compressor\nlines\n  f.2 -> c.0\n'
    assert [part.tag for part in study(text).sources] == ["c"]


def test_reservoirs_are_told_apart_by_what_they_feed() -> None:
    rig = study(TRACTOR_AND_TRAILER)
    assert [part.tag for part in rig.service_stores] == ["prim", "sec"]
    assert [part.tag for part in rig.brake_stores] == ["prim", "sec", "ttank"]
    assert [part.tag for part in rig.supply_stores] == ["wet"]


def test_an_accessory_reservoir_is_none_of_them() -> None:
    text = TRUCK.replace(
        "  foot   foot-valve\n",
        "  foot   foot-valve\n  p pressure-protection-valve\n  acc reservoir\n  h horn\n",
    )
    text += "  sec.f -> p.1\n  p.2 -> acc.1\n  acc.2 -> h.1\n"
    rig = study(text)
    assert "acc" not in {part.tag for part in (*rig.brake_stores, *rig.supply_stores)}


def test_each_section_of_the_foot_valve_knows_its_reservoir() -> None:
    feeds = [(port.id, [store.tag for store in stores]) for _, port, stores in study(TRUCK).pedal_feeds]
    assert feeds == [("11", ["prim"]), ("12", ["sec"])]


@pytest.mark.parametrize(
    ("at", "spoilt"), [(("relay", "4"), {"lr", "rr"}), (("dry", "4"), set()), (("comp", "4"), set())]
)
def test_a_missing_signal_stops_only_what_needs_it(at: tuple[str, str], spoilt: set[str]) -> None:
    """A relay delivers nothing without its signal; a compressor without one pumps on, a dryer lets air by."""
    ways = study(TRUCK).ways
    behind = ways.downstream(ways.outlets(at, "needed"), signals="needed")
    assert {tag for tag, _ in behind} == spoilt
