"""What ``trace --format json`` prints: the documented shape, and masses of air that add up."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import pneudraw

ROOM = 101.325  # kPa; standard atmosphere, ISO 2533

#: every line with its length and bore, so that its volume can be told by hand
TRUCK = """\
circuit "Truck with two brakes"
  pressure kPa

parts
  comp    compressor
  gov     governor
  prim    reservoir            volume=20L
  foot    foot-valve-single
  relay   relay-valve
  park    park-valve
  lr, rr  spring-brake

lines
  comp.2 -> prim               length=2m bore=12mm
  sense:    prim.a -> gov.1    length=2m bore=6mm
  unload:   gov.2 -> comp.4    length=2m bore=6mm
  feed:     prim.2 -> foot.1   length=3m bore=9mm
  signal:   foot.2 -> relay.4  length=4m bore=6mm
  supply:   prim.b -> relay.1  length=3m bore=12mm
  service:  relay.2 -> lr.11, rr.11  length=2m bore=9mm
  prim.c -> park               length=3m bore=9mm
  hold:     park.2 -> lr.12, rr.12   length=5m bore=9mm

states
  leak "Service line leaks" from ready: foot 50%, fault line service leaks 2mm
"""
#: m and mm
LENGTHS = {
    "L1": (2, 12),
    "sense": (2, 6),
    "unload": (2, 6),
    "feed": (3, 9),
    "signal": (4, 6),
    "supply": (3, 12),
    "service": (2, 9),
    "L2": (3, 9),
    "hold": (5, 9),
}
STATES = (
    *("charging", "cut-out", "park-release", "ready", "service-apply"),
    *("service-release", "park-apply", "emergency", "leak"),
)


@cache
def traced() -> dict[str, Any]:
    """The JSON of every state."""
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "truck.pneu").write_text(TRUCK)
        done = pneudraw("trace", f"{name}/truck.pneu", "all", "--format", "json", "-o", f"{name}/out")
        assert done.status == 0, done.err
        return {s: json.loads((Path(name) / f"out/truck.{s}.json").read_text("utf-8")) for s in STATES}


def number(value: object) -> bool:
    return isinstance(value, float | int) and not isinstance(value, bool) and math.isfinite(value)


@pytest.mark.parametrize("state", STATES)
def test_a_trace_has_the_documented_shape(state: str) -> None:
    trace = traced()[state]
    assert list(trace) == [
        "circuit", "state", "from", "ended", "duration_s", "lines", "passages", "exhausts", "brakes", "paths",
    ]  # fmt: skip
    assert (trace["circuit"], trace["state"]) == ("Truck with two brakes", state)
    assert trace["from"] in ("empty", *STATES)
    assert trace["ended"] in ("equilibrium", "horizon", "event")
    assert number(trace["duration_s"])
    assert [line["tag"] for line in trace["lines"]] == list(LENGTHS)
    for line in trace["lines"]:
        assert list(line) == [
            "tag", "ports", "start_kpa", "end_kpa", "arrival_s", "order", "fate", "branches",
        ]  # fmt: skip
        assert number(line["start_kpa"])
        assert number(line["end_kpa"])
        assert line["arrival_s"] is None or 0 <= line["arrival_s"] <= trace["duration_s"] + 1e-3
        assert line["order"] is None or (isinstance(line["order"], int) and line["arrival_s"] is not None)
        assert line["fate"] in ("filled", "emptied", "raised", "lowered", "held", "empty", "flowing")
        assert [branch["port"] for branch in line["branches"]] == line["ports"]
        assert all(
            list(branch) == ["port", "litres"] and number(branch["litres"]) for branch in line["branches"]
        )
    for passage in trace["passages"]:
        assert list(passage) == ["part", "from", "to", "litres", "carries"]
        assert isinstance(passage["carries"], bool)
        assert number(passage["litres"])
    for exhaust in trace["exhausts"]:
        assert list(exhaust) == ["part", "port", "litres", "still_flowing"]
        assert exhaust["litres"] > 0
        assert isinstance(exhaust["still_flowing"], bool)
    assert [brake["part"] for brake in trace["brakes"]] == ["lr", "rr"]
    for brake in trace["brakes"]:
        assert list(brake) == [
            "part", "service_kpa", "service_force_n", "spring_kpa", "spring_force_n", "applied_by",
        ]  # fmt: skip
        assert brake["applied_by"] in ("service", "spring", "both", "none")
    for path in trace["paths"]:
        assert len(path) >= 2
        assert all(isinstance(port, str) and "." in port for port in path)


@pytest.mark.parametrize("state", STATES)
def test_what_went_through_the_branches_of_a_line_is_what_the_line_lost(state: str) -> None:
    """Air is neither made nor lost: at 20 C a volume V whose pressure changes by dp takes V dp / 100 kPa of free air.

    Free air at 100 kPa and 20 C as in ISO 8778 (ANR); Boyle's law for the rest.
    """
    for line in traced()[state]["lines"]:
        if any(exhaust["part"] == line["tag"] for exhaust in traced()[state]["exhausts"]):
            continue  # a hole in the line is one more way out; the next test
        length, bore = LENGTHS[line["tag"]]
        tubes = len(line["ports"]) - 1
        volume = tubes * length * math.pi / 4 * bore**2 / 1000  # L
        stored = volume * (line["end_kpa"] - line["start_kpa"]) / 100
        gone = sum(branch["litres"] for branch in line["branches"])
        fittings = (
            0.005 * abs(line["end_kpa"] - line["start_kpa"]) / 100 * len(line["ports"])
        )  # 5 mL each at most
        assert gone == pytest.approx(-stored, abs=fittings + 0.03 * abs(stored) + 0.01), line["tag"]


def test_what_leaks_out_of_a_line_is_missing_at_its_ends() -> None:
    for state in ("leak", "emergency"):
        trace = traced()[state]
        holes = {e["part"]: e["litres"] for e in trace["exhausts"] if e["port"] == "break"}
        assert len(holes) == 1, state
        for line in trace["lines"]:
            if line["tag"] in holes:
                length, bore = LENGTHS[line["tag"]]
                volume = (len(line["ports"]) - 1) * length * math.pi / 4 * bore**2 / 1000
                stored = volume * (line["end_kpa"] - line["start_kpa"]) / 100
                gone = sum(branch["litres"] for branch in line["branches"])
                assert gone + holes[line["tag"]] == pytest.approx(-stored, rel=0.02, abs=0.05), state


def test_each_state_starts_with_the_pressures_the_one_before_ended_with() -> None:
    traces = traced()
    for state, trace in traces.items():
        if trace["from"] == "empty":
            assert all(abs(line["start_kpa"]) < 0.1 for line in trace["lines"])
            continue
        ends = {line["tag"]: line["end_kpa"] for line in traces[trace["from"]]["lines"]}
        for line in trace["lines"]:
            assert line["start_kpa"] == pytest.approx(ends[line["tag"]], abs=0.5), (state, line["tag"])


def test_the_brakes_do_what_a_driver_expects() -> None:
    def brakes(state: str) -> set[str]:
        return {brake["applied_by"] for brake in traced()[state]["brakes"]}

    assert brakes("charging") == brakes("cut-out") == brakes("park-apply") == {"spring"}
    assert brakes("park-release") == brakes("ready") == brakes("service-release") == {"none"}
    assert brakes("service-apply") == {"service"}


def test_charging_ends_when_the_governor_cuts_out() -> None:
    assert traced()["charging"]["ended"] == "event"
    sense = next(line for line in traced()["charging"]["lines"] if line["tag"] == "sense")
    assert sense["end_kpa"] == pytest.approx(
        125 * 6.894757, rel=0.02
    )  # cut-out 125 psi: the default, common practice


def test_a_release_vents_at_the_relay_and_at_the_foot_valve() -> None:
    exhausts = {(e["part"], e["port"]) for e in traced()["service-release"]["exhausts"]}
    assert exhausts == {("relay", "3"), ("foot", "3")}
    fates = {line["tag"]: line["fate"] for line in traced()["service-release"]["lines"]}
    assert (fates["service"], fates["signal"]) == ("emptied", "emptied")
    orders = {line["tag"]: line["order"] for line in traced()["service-release"]["lines"]}
    assert orders["signal"] < orders["service"]


def test_no_pressure_is_below_the_atmospheres() -> None:
    for state, trace in traced().items():
        for line in trace["lines"]:
            assert line["end_kpa"] > -0.5, (state, line["tag"])
            assert line["end_kpa"] < 20 * ROOM
