"""Chains of causes: the parts an instructor would name, in the order of cause and effect."""

from __future__ import annotations

from itertools import pairwise

import pytest

from pneudraw import api
from pneudraw.flow.causes import (
    Cause,
    FaultActs,
    Flipped,
    Holds,
    InputBecause,
    InputSet,
    InputStands,
    MemoryBecause,
    MemoryStands,
    Moved,
    NoPressure,
    Opened,
    PressureBecause,
    Shut,
    Stands,
    Vented,
)
from pneudraw.flow.places import find, places_of
from pneudraw.flow.why import DEEPEST, why
from tests.flow.states import ANTILOCK, P, causes, circuit, runs

ENDS = (InputSet, InputStands, MemoryStands, FaultActs, Stands, Holds)


def link(cause: Cause) -> str:
    """A cause in a few signs: ``relay 1-2 < relay.4 up``."""
    match cause:
        case Moved(place=place, rising=rising):
            return f"{place} {'up' if rising else 'down'}"
        case Opened(way=way, because=PressureBecause(place=place, rising=rising)):
            return f"{way.part} {way.start}-{way.end} < {place} {'up' if rising else 'down'}"
        case Opened(way=way, because=InputBecause(input=name)):
            return f"{way.part} {way.start}-{way.end} < {name}"
        case Opened(way=way, because=MemoryBecause(memory=name, value=value)):
            return f"{way.part} {way.start}-{way.end} < {name}={value}"
        case InputSet(part=part, input=name, value=value):
            return f"{part}.{name} set {value:g}"
        case InputStands(part=part, input=name, value=value):
            return f"{part}.{name} is {value:g}"
        case MemoryStands(part=part, memory=name, value=value):
            return f"{part}.{name} is {value}"
        case Flipped(part=part, memory=name, value=value):
            return f"{part}.{name} flips {value}"
        case FaultActs(target=target, fault=fault):
            return f"fault {target} {fault}"
        case Shut(way=way):
            return f"shut {way.part} {way.start}-{way.end}"
        case NoPressure(nearest=nearest):
            return f"nothing before {nearest}"
        case Vented(place=place):
            return f"{place} vents"
        case Stands(place=place) | Holds(place=place):
            return f"{place} stands"
        case _:
            return "cut"


def chain(states: str, port: str, text: str | None = None) -> list[str]:
    found = causes(states, port) if text is None else causes(states, port, text)
    return [link(cause) for cause in found]


# The chains are what the manuals say of each valve (the relay repeats the signal of the foot valve; the quick release
# and the modulator let out when the line before them falls); the order is common practice, no source.


def test_service_apply_the_relay_opens_because_the_signal_rises_because_of_the_pedal() -> None:
    assert chain("service-apply", "lr.11") == [
        "lr.11 up",
        "relay 1-2 < relay.4 up",
        "relay.4 up",
        "foot 11-21 < pedal",
        "foot.pedal set 1",
    ]


def test_service_apply_the_secondary_follows_the_primary() -> None:
    assert chain("service-apply", "lf/service") == [
        "lf/service up",
        "foot 12-22 < foot.21 up",
        "foot.21 up",
        "foot 11-21 < pedal",
        "foot.pedal set 1",
    ]


def test_service_release_the_relay_lets_out_because_the_foot_valve_does() -> None:
    assert chain("service-release", "lr/service") == [
        "lr/service down",
        "relay 2-3 < relay.4 down",
        "relay.4 down",
        "foot 21-31 < pedal",
        "foot.pedal set 0",
    ]
    assert chain("service-release", "relay.3")[0] == "relay.3 vents"
    assert chain("service-release", "relay.3")[1:] == chain("service-release", "lr/service")[1:]


def test_park_apply_three_valves_one_after_the_other() -> None:
    assert chain("park-apply", "lr/spring") == [
        "lr/spring down",
        "qrp under-3 < qrp.1 down",
        "qrp.1 down",
        "mod 2-3 < mod.4 down",
        "mod.4 down",
        "park 2-3 < pushed=0",
        "park.knob set 0",
    ]


def test_park_release_the_modulator_opens_because_the_park_signal_rises() -> None:
    assert chain("park-release", "lr/spring") == [
        "lr/spring up",
        "mod 1-2 < mod.4 up",
        "mod.4 up",
        "park 1-2 < pushed=1",
        "park.knob set 1",
    ]


def test_charging_begins_at_the_engine() -> None:
    for port in ("prim", "sec", "wet", "dash.11"):
        found = chain("charging", port)
        assert found[1:] == ["comp 0-head < engine", "comp.engine set 1"]
    (first, *_) = causes("charging", "prim")
    assert isinstance(first, Moved)
    parts = list(dict.fromkeys(way.part for way in first.ways))
    assert parts == ["fil", "comp", "dry", "wet", "cv1", "prim"]


def test_cut_out_the_dryer_purges_because_the_governor_has_cut_out() -> None:
    assert chain("cut-out", "dry.3") == [
        "dry.3 vents",
        "dry wet-3 < dry.4 up",
        "dry.4 up",
        "gov.unloading is 1",
    ]


def test_the_governor_cuts_in_because_its_reservoir_fell() -> None:
    found = causes("cycles", "gov.2")
    links = [link(cause) for cause in found]
    assert links[:4] == ["gov.2 up", "gov 1-2 < unloading=1", "gov.unloading flips 1", "gov.1 up"]
    flip = found[2]
    assert isinstance(flip, Flipped)
    assert flip.level is not None
    assert flip.level / P == pytest.approx(125)
    assert "gov.unloading flips 0" in links
    assert links[-1] == "dwet.cock set 1"


def test_emergency_the_springs_come_on_because_only_one_circuit_answers_the_pedal() -> None:
    # the modulator: Driving Commercial Vehicles (British Columbia) p. 178
    found = causes("emergency", "lr/spring")
    assert [link(cause) for cause in found] == [
        "lr/spring down",
        "qrp under-3 < qrp.1 down",
        "qrp.1 down",
        "mod 2-3 < mod.42 up",
        "mod.42 up",
        "foot 12-22 < pedal",
        "foot.pedal set 1",
    ]
    opened = found[3]
    assert isinstance(opened, Opened)
    others = {r.place: r.pressure / P for r in opened.others}
    assert others["mod.41"] < 5  # the dead circuit's signal stayed away


def test_emergency_the_rear_service_side_is_empty_because_a_line_broke() -> None:
    assert chain("emergency", "lr/service") == [
        "nothing before prim/body",
        "prim/body down",
        "fault feed1 broken",
    ]


# --- why not ----------------------------------------------------------------------------------------


def test_why_not_the_closed_seats_are_named_up_to_the_pedal() -> None:
    assert chain("ready", "lr/service") == ["shut relay 1-2", "shut foot 11-21", "foot.pedal is 0"]
    shut = causes("ready", "lr/service")[0]
    assert isinstance(shut, Shut)
    assert shut.source.place == "relay.1"
    assert shut.source.pressure / P > 100
    # relays crack at 1.5 to 5 psi over the delivery: common practice, no source
    assert shut.level / P == pytest.approx(4)
    assert [(need.name, need.weight) for need in shut.needs] == [("relay.4", 1.0), ("relay.2", -1.0)]


def test_why_not_the_springs_while_parked() -> None:
    assert chain("cut-out", "lr/spring") == ["shut mod 1-2", "shut park 1-2", "park.pushed is 0"]


def test_a_pressure_that_stands_is_held_by_closed_ways() -> None:
    (holds,) = causes("ready", "lr/spring")
    assert isinstance(holds, Holds)
    assert [(way.part, way.end) for way in holds.shut] == [("qrp", "3")]


def test_an_exhaust_that_stays_quiet_is_said_to() -> None:
    assert causes("service-apply", "relay.3") == (Vented("relay.3", 0.0, (), "relay.3"),)


# --- faults -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "port", "expected"),
    [
        ("seat", "relay.3", ["relay.3 vents", "fault relay inlet-leaks"]),
        ("seat", "prim", ["prim/body down", "fault relay inlet-leaks"]),
        ("stuck", "lr/service", ["shut relay 1-2", "fault relay stuck-shut"]),
        (
            "kinked",
            "lr/service",
            ["shut relay 1-2", "shut service1 foot.21-relay.4", "fault service1 blocked"],
        ),
    ],
)
def test_a_chain_ends_at_the_fault(state: str, port: str, expected: list[str]) -> None:
    assert chain(state, port) == expected


# --- sequences of inputs ----------------------------------------------------------------------------


def test_the_last_of_many_movements_is_explained() -> None:
    found = causes("cycling", "lf/service", ANTILOCK)
    assert [link(cause) for cause in found] == ["lf/service up", "mod 1-2 < hold", "mod.hold set 0"]
    assert isinstance(found[-1], InputSet)
    assert found[-1].time == pytest.approx(1.7)
    last = causes("fan-down", "lr/service")[-1]
    assert isinstance(last, InputSet)
    assert (last.input, last.value, last.time) == ("pedal", 0.0, 59.0)


# --- all places -------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", [s.name for s in circuit().states])
def test_every_chain_ends_where_causes_begin_and_no_effect_comes_before_its_cause(state: str) -> None:
    (run,) = runs(state)
    for place in dict.fromkeys(places_of(run.plumbing).values()):
        if place.sort == "outside":
            continue
        told = why(run, place)
        assert 0 < len(told.causes) <= DEEPEST + 1
        assert isinstance(told.causes[-1], (*ENDS, NoPressure)), (place, told.causes)
        openings = [c.time for c in told.causes if isinstance(c, Opened | Flipped)]
        steps = (
            1.0 if state in ("fan-down", "drained", "cycles") else 0.02
        )  # s: what a step of the solver hides
        for effect, cause in pairwise(openings):
            assert cause <= effect + steps, (place, told.causes)


def test_the_same_question_has_the_same_answer() -> None:
    (run,) = runs("emergency")
    (place,) = find(circuit(), "lr/spring")
    assert why(run, place) == why(run, place)


@pytest.mark.parametrize("state", ["charging", "ready", "out"])
def test_parts_with_pistons_can_be_asked_too(state: str) -> None:
    text = """circuit "A cylinder and an air spring"
parts
  s  air-source
  v  valve-5-2-lever
  c  cylinder-cushioned
  b  levelled-air-spring
lines
  s.2 -> v.1, b.1
  v.4 -> c.1
  v.2 -> c.2
states
  out from ready: v on
"""
    reading = api.read_text(text)
    assert reading.circuit is not None
    for port in ("c.1", "c.2", "b.1"):
        assert all(told.causes for told in api.why(reading.circuit, state, port))
