"""What the air did in a state: the solution told in terms of lines, passages, exhausts, brakes and paths.

The rules for what counts are those of the project's flow model: a passage *carries* when air went through it and a
fair share of some real receiver's air came that way; small sympathetic flows (a supply line breathing as its
reservoir droops) are in the numbers but not in the picture.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from pneudraw.circuit.model import Line, Part
from pneudraw.flow.plumbing import ATMOSPHERE, Origin
from pneudraw.flow.pushrod import push_rod_force, sides
from pneudraw.flow.run import Run
from pneudraw.flow.solution import first_time
from pneudraw.library.model import Place

PRESSURISED = 0.1  # bar above atmosphere, and the change that counts as arrival or raising
LEAST_FLOW = 1e-3  # dm3: less went through than can be told from nothing
LEAST_VENT = 0.02  # dm3 for an exhaust to be worth telling
LEAST_GAIN = 0.01  # dm3 a receiver must have gained
RECEIVED = 0.3  # bar a receiver must have risen
IMPORTANT = 0.05  # share of a receiver's air
STANDING = 0.01  # dm3/s that still flow at the end
STEADY = 0.02  # bar/s: a line changing faster is being filled or emptied, a leak is slower
OWN_STORE = 0.3  # share of what a reservoir gave that must be its own air for a path to begin there


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

    ``doubts``: ports and chambers whose pressure at the end hangs on a knife edge, if that was looked into.
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


def trace(run: Run) -> Trace:
    """Return the trace of a state that was run."""
    flows = _Flows(run)
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
        paths=_paths(run, flows),
        message=run.solution.message,
        doubts=run.doubts,
    )


class _Flows:
    """Which passages carry, by the importance rule; worked out once per trace."""

    def __init__(self, run: Run) -> None:
        network = run.plumbing.network
        net = [float(g) for g in run.solution.net]
        first, last = run.solution.pressures[0], run.solution.pressures[-1]
        self.net = net
        ends = [
            (p.a, p.b, g) if g >= 0 else (p.b, p.a, -g) for p, g in zip(network.passages, net, strict=True)
        ]
        inflow = [0.0] * len(network.nodes)
        gain = [0.0] * len(network.nodes)
        for a, b, g in ends:
            inflow[b] += g
            gain[b] += g
            gain[a] -= g
        received = [0.0] * len(network.nodes)
        for j in range(1, len(network.nodes)):
            rise = float(last[j] - first[j])
            received[j] = 1.0 if rise > RECEIVED and gain[j] > LEAST_GAIN else 0.0
        # what a receiver passed on may have come from its own store: measure against the larger of both
        total = [max(taken, taken - won) for taken, won in zip(inflow, gain, strict=True)]
        filling, weight = _importance(ends, received, total, 0.0)
        venting, _ = _importance(ends, [0.0] * len(received), total, 1.0)
        share = [max(pair) for pair in zip(filling, venting, strict=True)]
        self.ends = ends
        self.weight = weight
        self.vents = [v >= IMPORTANT and v > f for f, v in zip(filling, venting, strict=True)]
        self.gain = gain
        self.inflow = inflow
        self.carries = [s >= IMPORTANT for s in share]


def _importance(
    ends: list[tuple[int, int, float]], sinks: list[float], total: list[float], outside: float
) -> tuple[list[float], list[float]]:
    """Which share of some sink's air came through each passage, and the greatest such share past each node.

    ``sinks`` are the nodes' own weights, ``outside`` that of air let out to the atmosphere. Shares only grow and are
    bounded, so the relaxation ends.
    """
    weight, share = list(sinks), [0.0] * len(ends)
    for _ in range(len(weight)):
        changed = False
        for k, (a, b, g) in enumerate(ends):
            if g <= LEAST_FLOW:
                continue
            value = (outside if g > LEAST_VENT else 0.0) if b == 0 else weight[b] * g / total[b]
            if value > share[k] + 1e-9:
                share[k], changed = value, True
                if a != 0:
                    weight[a] = max(weight[a], value)
        if not changed:
            break
    return share, weight


def _line(run: Run, flows: _Flows, line: Line) -> LineTrace:
    plumbing, solution = run.plumbing, run.solution
    nodes = [plumbing.port_node[end.part.tag, end.port.id] for end in line.ends]
    index_of = {plumbing.network.nodes[n].name: position for position, n in enumerate(nodes)}
    into_port = [0.0] * len(nodes)
    toward = [0.0] * len(nodes)
    carries = [False] * len(nodes)
    at_node = {n: position for position, n in enumerate(nodes)}
    for k, (passage, origin) in enumerate(zip(plumbing.network.passages, plumbing.origins, strict=True)):
        net = flows.net[k]
        if origin.sort == "tube":
            if origin.owner != line.tag:
                continue
            position = index_of.get(origin.end)
            if position is not None:
                toward[position] += net
                toward[0] -= net
                carries[position] = carries[position] or flows.carries[k]
        elif origin.owner != line.tag:  # air lost at a break of this very line went into no port
            if passage.a in at_node:
                into_port[at_node[passage.a]] += net
            if passage.b in at_node:
                into_port[at_node[passage.b]] -= net
    carries[0] = any(carries[1:])
    out = [flows.vents[k] for k, o in enumerate(plumbing.origins) if o.owner == line.tag and flows.carries[k]]
    first, last = solution.pressures[0], solution.pressures[-1]
    start = float(first[nodes[0]]) - plumbing.atmosphere
    end = float(last[nodes[0]]) - plumbing.atmosphere
    arrivals = [t for t in (first_time(solution, n, PRESSURISED) for n in nodes) if t is not None]
    standing = _standing_flow(run, line)
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
        vents=any(out) and end < start,
        branches=branches,
    )


def _standing_flow(run: Run, line: Line) -> bool:
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
        abs(float(run.solution.flow_end[k]))
        for k, origin in enumerate(run.plumbing.origins)
        if origin.owner == line.tag and origin.sort in ("tube", "break")
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


def _passages(run: Run, flows: _Flows) -> tuple[PassageTrace, ...]:
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
        key = (origin.owner, _outlet(origin, passage.b == 0))
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


def _outlet(origin: Origin, forward: bool) -> str:
    """The port a person would point at: the exhaust port itself, or the port next to the open atmosphere."""
    if origin.sort == "break":
        return "break"
    outer, inner = (origin.end, origin.start) if forward else (origin.start, origin.end)
    return inner if outer == ATMOSPHERE else outer


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


def _paths(run: Run, flows: _Flows) -> tuple[tuple[str, ...], ...]:
    """One path to each place that received or vented air: backwards along the strongest flow, told forwards.

    A path begins at a reservoir that gave air of its own, else at the compressor. Such a reservoir is in turn the
    end of another path if it was refilled meanwhile.
    """
    plumbing = run.plumbing
    into: dict[int, list[tuple[float, int, int]]] = {}
    leaves: set[int] = set()
    for k, (a, b, g) in enumerate(flows.ends):
        if flows.carries[k]:
            into.setdefault(b, []).append((g, a, k))
            leaves.add(a)
    names = _names_of(run)
    stores = {
        plumbing.chamber_node[part.tag, chamber.name]
        for part in run.circuit.parts
        if part.kind.place is Place.STORAGE
        for chamber in part.kind.chambers
    }
    givers = {
        n
        for n in plumbing.chamber_node.values()
        if flows.gain[n] < -LEAST_GAIN and -flows.gain[n] > OWN_STORE * (flows.inflow[n] - flows.gain[n])
    }
    goals: list[tuple[float, int, int | None]] = []
    for node in range(1, len(plumbing.network.nodes)):
        received = node in stores and (flows.weight[node] >= 1.0 or node in givers)
        if node in into and (node not in leaves or received):
            goals.append((_when(run, node), node, None))
    goals += [(_when(run, a), 0, k) for _, a, k in into.get(0, ())]
    found: list[tuple[str, ...]] = []
    for _, node, via in sorted(goals, key=lambda goal: (goal[0], goal[1], goal[2] or 0)):
        path = _back(node, via, into, flows, names, plumbing.origins, givers)
        if len(path) > 1 and path not in found:
            found.append(path)
    told = {path[0].rpartition(".")[0] for path in found}
    for node in sorted(givers, key=lambda n: (_when(run, n), n)):
        path = _forth(node, flows, names, plumbing.origins)
        if len(path) > 1 and path[0].rpartition(".")[0] not in told:
            found.append(path)
    return tuple(found)


def _forth(
    node: int, flows: _Flows, names: Mapping[int, str], origins: tuple[Origin, ...]
) -> tuple[str, ...]:
    """The way of a chamber's own air along the strongest flow, until it stays or leaves."""
    path: list[str] = []
    seen = {node}
    while True:
        steps = [
            (g, b, k)
            for k, (a, b, g) in enumerate(flows.ends)
            if a == node and flows.carries[k] and b not in seen
        ]
        if not steps:
            return tuple(path)
        _, node, k = max(steps, key=lambda step: (step[0], -step[2]))
        if node == 0:
            name = f"{origins[k].owner}.{_outlet(origins[k], flows.net[k] >= 0)}"
            return tuple(path) if path and path[-1] == name else (*path, name)
        seen.add(node)
        if node in names and names[node] != (path[-1] if path else ""):
            path.append(names[node])


def _when(run: Run, node: int) -> float:
    when = first_time(run.solution, node, PRESSURISED)
    return float(run.solution.times[-1]) if when is None else when


def _names_of(run: Run) -> Mapping[int, str]:
    """Port names by node; chambers have none, a path passes them silently."""
    return {node: f"{tag}.{port}" for (tag, port), node in run.plumbing.port_node.items() if node != 0}


def _back(
    node: int,
    via: int | None,
    into: Mapping[int, list[tuple[float, int, int]]],
    flows: _Flows,
    names: Mapping[int, str],
    origins: tuple[Origin, ...],
    givers: set[int],
) -> tuple[str, ...]:
    path: list[str] = []
    goal = node
    seen = {node}
    if via is not None:  # an exhaust: name its port, then go on from where the air came
        origin = origins[via]
        port = _outlet(origin, flows.net[via] >= 0)
        path.append(f"{origin.owner}.{port}")
        node = flows.ends[via][0]
        seen.add(node)
        if node in names and names[node] != path[-1]:
            path.append(names[node])
    elif node in names:
        path.append(names[node])
    while node not in givers or node == goal:
        steps = [step for step in into.get(node, ()) if step[1] not in seen]
        if not steps:
            break
        _, node, _k = max(steps, key=lambda step: (step[0], -step[2]))
        if node == 0:
            break
        seen.add(node)
        if node in names and names[node] != (path[-1] if path else ""):
            path.append(names[node])
    return tuple(reversed(path))


# --- as plain data ----------------------------------------------------------------------------------


def to_dict(result: Trace) -> dict[str, Any]:
    """Return the trace as plain data: kPa gauge, litres of free air, seconds, newtons."""
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
