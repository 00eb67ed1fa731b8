"""A moving piston: what the solver says of its rooms, and what a trace says of its way."""

from __future__ import annotations

from functools import cache

import numpy as np

from pneudraw import api
from pneudraw.circuit.course import circuits_folder
from pneudraw.circuit.model import Circuit
from pneudraw.flow.run import Options, Run
from pneudraw.flow.trace import to_dict, trace
from pneudraw.teach.telling import tell
from pneudraw.teach.tinting import tints


def doors() -> Circuit:
    circuit = api.read(circuits_folder() / "bus-doors.pneu").circuit
    assert circuit is not None
    return circuit


@cache
def opening() -> Run:
    return api.runs(doors(), ("open",), Options(compiled="no"))["open"]


def test_the_slope_of_a_room_that_a_piston_squeezes_is_that_of_its_pressure() -> None:
    run = opening()
    times, found = run.solution.times, run.solution
    squeezed = [n for piston in run.plumbing.network.pistons for n, _ in piston.areas]
    assert squeezed
    steps = [r for r in range(len(times) - 1) if times[r + 1] - times[r] > 0.005 and times[r] > 0.1]
    assert len(steps) > 10
    for row in steps:
        step = times[row + 1] - times[row]
        for node in squeezed:
            if run.plumbing.network.nodes[node].fixed:
                continue
            mean = (found.pressures[row + 1, node] - found.pressures[row, node]) / step
            ends = found.rates[row : row + 2, node]
            # a curve without kinks: its mean slope lies between those at its ends, or near them
            away = max(ends.min() - mean, mean - ends.max(), 0.0)
            assert away < 0.5 + 0.1 * abs(mean), (times[row], node)


def test_the_trace_tells_how_far_a_piston_went_and_when_it_was_there() -> None:
    run = opening()
    made = trace(run)
    assert [s.place for s in made.strokes] == ["front", "rear"]
    front = to_dict(made)["strokes"][0]
    assert (front["from"], front["to"], front["stroke_mm"]) == (0.0, 1.0, 200.0)
    assert "Front leaf (front) moves out, 200 mm, and is there after" in " ".join(tell(doors(), made).split())
    assert [badge.text for badge in tints(doors(), made).badges] == ["out", "out"]
    index = next(i for i, (tag, _) in enumerate(run.plumbing.pistons) if tag == "front")
    there = float(np.interp(front["time_s"], run.solution.times, run.solution.positions[:, index]))
    assert abs(there - 0.95 * 2.0) < 0.05  # dm: 95 % of the way


def test_air_that_only_passes_a_silencer_is_on_its_way_out() -> None:
    made = trace(opening())
    silenced = next(line for line in made.lines if "s3.1" in line.ports)
    assert silenced.vents
    assert silenced.fate == "empty"
