"""A push rod's force in a trace and on a chart is that of the brake as it is, faults included."""

from __future__ import annotations

import pytest

from pneudraw import api
from pneudraw.circuit.course import circuits_folder
from pneudraw.circuit.model import Circuit
from pneudraw.flow.history import forces
from pneudraw.flow.trace import trace
from pneudraw.units import LBF


def truck(states: str) -> Circuit:
    text = (circuits_folder() / "two-axle-truck.pneu").read_text("utf-8")
    circuit = api.read_text(f"{text}\nstates\n{states}\n").circuit
    assert circuit is not None
    return circuit


def test_a_broken_spring_does_not_park_its_wheel_and_the_other_does() -> None:
    circuit = truck("  broken from cut-out: fault lr.spring-broken")
    run = api.runs(circuit, ["broken"])["broken"]
    brakes = {brake.part: brake for brake in trace(run).brakes}
    assert brakes["lr"].applied_by == "none"
    assert brakes["lr"].spring_force == 0
    assert brakes["rr"].applied_by == "spring"
    # a 1800 lbf spring behind a type 30: TM 5-2330-305-14
    assert brakes["rr"].spring_force / LBF == pytest.approx(1800)


def test_the_chart_of_a_broken_spring_shows_no_force_either() -> None:
    circuit = truck("  broken from cut-out: fault lr.spring-broken")
    run = api.runs(circuit, ["broken"])["broken"]
    last = len(run.solution.times) - 1
    end = [(float(run.solution.times[last]), last, 0.0)]
    shown = {}
    for tag in ("lr", "rr"):
        part = circuit.part(tag)
        assert part is not None
        shown[tag] = dict(forces(run, part, end))["spring"]
    assert shown["lr"] == [0.0]
    assert shown["rr"][0] / LBF == pytest.approx(1800)
