"""What the air did in a state: the solution told in terms of lines, passages, exhausts, brakes and paths.

The rules for what counts are those of the project's flow model: a passage *carries* when air went through it and a
fair share of some real receiver's air came that way; small sympathetic flows (a supply line breathing as its
reservoir droops) are in the numbers but not in the picture.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from pneudraw.circuit.model import Line, Part
from pneudraw.flow.air_paths import air_paths
from pneudraw.flow.carried import LEAST_FLOW, LEAST_VENT, PRESSURISED, Flows, outlet
from pneudraw.flow.pushrod import push_rod_force, sides
from pneudraw.flow.run import Run
from pneudraw.flow.solution import first_time
from pneudraw.flow.strokes import Stroke, strokes

STANDING = 0.01  # dm3/s that still flow at the end
STEADY = 0.02  # bar/s: a line changing faster is being filled or emptied, a leak is slower


@dataclass(frozen=True)
class Branch:
    """A line's end: ``litres`` of free air (ANR) went from the line into the port; negative: came out of it.

    ``toward`` is what flowed along the pipe toward this end, filling the pipe itself included; ``carries``
    says whether it belongs in the picture.
    """

    port: str
    litres: float
    toward: float
    carries: bool


@dataclass(frozen=True)
class LineTrace:
    """One line: gauge pressures [bar], arrival [s] and what became of it.

    ``vents``: the air that moved in it was on its way out.
    """

    tag: str
    ports: tuple[str, ...]
    start: float
    end: float
    arrival: float | None
    order: int | None
    fate: str
    vents: bool
    branches: tuple[Branch, ...]


@dataclass(frozen=True)
class PassageTrace:
    """Net free air [dm3 ANR] through a part from ``start`` to ``end`` (port ids, chambers, ``atmosphere``)."""

    part: str
    start: str
    end: str
    litres: float
    carries: bool


@dataclass(frozen=True)
class Exhaust:
    """Air that went to atmosphere at a port (or at a break of a line, port ``break``)."""

    part: str
    port: str
    litres: float
    rate: float

    @property
    def still_flowing(self) -> bool:
        """True if more than 0.01 dm3/s leaves at the end."""
        return self.rate > STANDING


@dataclass(frozen=True)
class BrakeTrace:
    """A wheel's brake at the end: gauge pressures [bar] and push-rod forces [N]; None: there is no such side."""

    part: str
    service: float | None
    service_force: float
    spring: float | None
    spring_force: float

    @property
    def applied_by(self) -> str:
        """``service``, ``spring``, ``both`` or ``none``."""
        service, spring = self.service_force > 1.0, self.spring_force > 1.0
        return {(True, True): "both", (True, False): "service", (False, True): "spring"}.get(
            (service, spring), "none"
        )


@dataclass(frozen=True)
class Trace:
    """The trace of a state. ``ended`` is equilibrium, horizon or event (or stalled); times in s, air in dm3 ANR.

    ``doubts``: ports and chambers whose pressure at the end hangs on a knife edge, if that was looked into;
    ``unsure``: the states before it whose end does. ``strokes``: what a machine's pistons did.
    """

    circuit: str
    state: str
    title: str
    start: str
    ended: str
    duration: float
    lines: tuple[LineTrace, ...]
    passages: tuple[PassageTrace, ...]
    exhausts: tuple[Exhaust, ...]
    brakes: tuple[BrakeTrace, ...]
    paths: tuple[tuple[str, ...], ...]
    message: str
    doubts: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()
    strokes: tuple[Stroke, ...] = ()


def trace(run: Run) -> Trace:
    """Return the trace of a state that was run."""
    flows = Flows(run)
    lines = _numbered(tuple(_line(run, flows, line) for line in run.circuit.lines))
    return Trace(
        circuit=run.circuit.title,
        state=run.state.name,
        title=run.state.title,
        start=run.state.start,
        ended=run.solution.status,
        duration=float(run.solution.times[-1]),
        lines=lines,
        passages=_passages(run, flows),
        exhausts=_exhausts(run),
        brakes=tuple(_brake(run, part) for part in run.circuit.parts if part.kind.brake is not None),
        paths=air_paths(run, flows),
        message=run.solution.message,
        doubts=run.doubts,
        unsure=run.unsure,
        strokes=strokes(run),
    )


def _line(run: Run, flows: Flows, line: Line) -> LineTrace:
    plumbing, solution = run.plumbing, run.solution
    nodes = [plumbing.port_node[end.part.tag, end.port.id] for end in line.ends]
    index_of = {plumbing.network.nodes[n].name: position for position, n in enumerate(nodes)}
    into_port = [0.0] * len(nodes)
    toward = [0.0] * len(nodes)
    carries = [False] * len(nodes)
    own = flows.of.get(line.tag, [])
    for k in own:
        position = index_of.get(plumbing.origins[k].end) if plumbing.origins[k].sort == "tube" else None
        if position is not None:
            toward[position] += flows.net[k]
            toward[0] -= flows.net[k]
            carries[position] = carries[position] or flows.carries[k]
    for position, node in enumerate(nodes):
        for k in flows.at[node]:
            # air lost at a break of this very line went into no port
            if plumbing.origins[k].owner != line.tag:
                leaves = plumbing.network.passages[k].a == node
                into_port[position] += flows.net[k] if leaves else -flows.net[k]
    carries[0] = any(carries[1:])
    out = [flows.vents[k] for k in own if flows.carries[k]]
    first, last = solution.pressures[0], solution.pressures[-1]
    start = float(first[nodes[0]]) - plumbing.atmosphere
    end = float(last[nodes[0]]) - plumbing.atmosphere
    arrivals = [t for t in (first_time(solution, n, PRESSURISED) for n in nodes) if t is not None]
    standing = _standing_flow(run, line, own)
    branches = tuple(
        Branch(e.name, into_port[i], toward[i], carries[i] and abs(toward[i]) > LEAST_FLOW)
        for i, e in enumerate(line.ends)
    )
    return LineTrace(
        tag=line.tag,
        ports=tuple(e.name for e in line.ends),
        start=start,
        end=end,
        arrival=min(arrivals) if arrivals else None,
        order=None,
        fate=_fate(start, end, standing),
        vents=any(out) and (end < start or max(start, end) <= PRESSURISED),
        branches=branches,
    )


def _standing_flow(run: Run, line: Line, own: list[int]) -> bool:
    """Whether air still runs through the line at the end although its pressure stands (a leak, a bleed).

    A line that is still being filled or emptied when the run ends does not count.
    """
    times, nodes = run.solution.times, run.plumbing.line_nodes[line.tag]
    row = (
        -2 if len(times) > 1 and times[-2] == times[-1] else -1
    )  # an event's own row follows the one that met it
    if any(abs(float(run.solution.rates[row][node])) > STEADY for node in nodes):
        return False
    ends = [
        abs(float(run.solution.flow_end[k])) for k in own if run.plumbing.origins[k].sort in ("tube", "break")
    ]
    return max(ends, default=0.0) > STANDING


def _fate(start: float, end: float, standing: bool) -> str:
    if standing:
        return "flowing"
    was, holds = start > PRESSURISED, end > PRESSURISED
    if not was:
        return "filled" if holds else "empty"
    if not holds:
        return "emptied"
    if end - start > PRESSURISED:
        return "raised"
    return "lowered" if start - end > PRESSURISED else "held"


def _numbered(lines: tuple[LineTrace, ...]) -> tuple[LineTrace, ...]:
    """Give the lines that carried air and changed their number in order of arrival."""
    moving = [line for line in lines if line.arrival is not None and any(b.carries for b in line.branches)]
    moving.sort(key=lambda line: (line.arrival, line.tag))
    rank = {line.tag: number for number, line in enumerate(moving, start=1)}
    return tuple(replace(line, order=rank.get(line.tag)) for line in lines)


def _passages(run: Run, flows: Flows) -> tuple[PassageTrace, ...]:
    sums: dict[tuple[str, str, str], tuple[float, bool]] = {}
    for k, origin in enumerate(run.plumbing.origins):
        if origin.sort not in ("passage", "leak"):
            continue
        key, sign = (origin.owner, origin.start, origin.end), 1.0
        if (
            origin.owner,
            origin.end,
            origin.start,
        ) in sums:  # a reverse passage: count it with its forward one
            key, sign = (origin.owner, origin.end, origin.start), -1.0
        litres, carries = sums.get(key, (0.0, False))
        sums[key] = (litres + sign * flows.net[k], carries or flows.carries[k])
    return tuple(PassageTrace(*key, litres, carries) for key, (litres, carries) in sums.items())


def _exhausts(run: Run) -> tuple[Exhaust, ...]:
    out: dict[tuple[str, str], tuple[float, float]] = {}
    for k, (passage, origin) in enumerate(
        zip(run.plumbing.network.passages, run.plumbing.origins, strict=True)
    ):
        if 0 not in (passage.a, passage.b):
            continue
        sign = 1.0 if passage.b == 0 else -1.0
        key = (origin.owner, outlet(origin, passage.b == 0))
        litres, rate = out.get(key, (0.0, 0.0))
        out[key] = (
            litres + sign * float(run.solution.net[k]),
            rate + sign * float(run.solution.flow_end[k]),
        )
    return tuple(
        Exhaust(part, port, litres, rate)
        for (part, port), (litres, rate) in out.items()
        if litres > LEAST_VENT
    )


def _brake(run: Run, part: Part) -> BrakeTrace:
    brake = part.kind.brake
    assert brake is not None
    plumbing = run.plumbing
    known = plumbing.numbers(part)
    pressures: dict[str, float] = {}
    forces: dict[str, float] = {}
    for side, chamber in sides(brake):
        node = plumbing.chamber_node[part.tag, chamber]
        gauge = run.solution.pressures[-1:, node] - plumbing.atmosphere
        pressures[side] = float(gauge[0])
        forces[side] = float(push_rod_force(brake, side, known, gauge)[0])
    return BrakeTrace(
        part.tag,
        pressures.get("service"),
        forces.get("service", 0.0),
        pressures.get("spring"),
        forces.get("spring", 0.0),
    )


# --- as plain data ----------------------------------------------------------------------------------


def to_dict(result: Trace) -> dict[str, Any]:
    """Return the trace as plain data: kPa gauge, litres of free air, seconds, newtons.

    A machine's pistons stand under ``strokes``: places in shares of the stroke, and when 95 % of the way was done
    (null: it did not move). Only where something is in doubt, and that was asked for (`Options.doubts`), it also
    holds ``doubts``, the ports and chambers whose pressure at the end hangs on a knife edge, or ``doubts_before``,
    the states before this one that end so.
    """
    doubts = {"doubts": list(result.doubts), "doubts_before": list(result.unsure)}
    return {
        "circuit": result.circuit,
        "state": result.state,
        "from": result.start,
        "ended": result.ended,
        "duration_s": _round(result.duration, 3),
        "lines": [_line_dict(line) for line in result.lines],
        "passages": [
            {
                "part": p.part,
                "from": p.start,
                "to": p.end,
                "litres": _round(p.litres, 4),
                "carries": p.carries,
            }
            for p in result.passages
        ],
        "exhausts": [
            {
                "part": e.part,
                "port": e.port,
                "litres": _round(e.litres, 4),
                "still_flowing": e.still_flowing,
            }
            for e in result.exhausts
        ],
        "brakes": [_brake_dict(b) for b in result.brakes],
        "paths": [list(path) for path in result.paths],
        **({"strokes": [_stroke_dict(s) for s in result.strokes]} if result.strokes else {}),
        **{name: found for name, found in doubts.items() if found},
    }


def _stroke_dict(stroke: Stroke) -> dict[str, Any]:
    return {
        "part": stroke.place,
        "from": _round(stroke.start, 4),
        "to": _round(stroke.end, 4),
        "stroke_mm": _round(stroke.length * 1e3, 3),
        "time_s": None if stroke.time is None else _round(stroke.time, 3),
    }


def _line_dict(line: LineTrace) -> dict[str, Any]:
    return {
        "tag": line.tag,
        "ports": list(line.ports),
        "start_kpa": _round(line.start * 100, 2),
        "end_kpa": _round(line.end * 100, 2),
        "arrival_s": None if line.arrival is None else _round(line.arrival, 4),
        "order": line.order,
        "fate": line.fate,
        "branches": [{"port": b.port, "litres": _round(b.litres, 4)} for b in line.branches],
    }


def _brake_dict(brake: BrakeTrace) -> dict[str, Any]:
    return {
        "part": brake.part,
        "service_kpa": None if brake.service is None else _round(brake.service * 100, 2),
        "service_force_n": _round(brake.service_force, 1),
        "spring_kpa": None if brake.spring is None else _round(brake.spring * 100, 2),
        "spring_force_n": _round(brake.spring_force, 1),
        "applied_by": brake.applied_by,
    }


def _round(value: float, digits: int) -> float:
    return round(value, digits) + 0.0  # no minus zero
