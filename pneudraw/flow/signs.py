"""What a person can hear, read and see in one run: exhausts, needles, brakes, warnings, knobs, the governor,
pistons.

Numbers only; the words for them, and the comparison with the sound vehicle, are in :mod:`pneudraw.flow.symptoms`.
Units: bar gauge, dm3(ANR)/s, s, N.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pneudraw.circuit.model import Circuit
from pneudraw.flow.conditions import Condition
from pneudraw.flow.gauges import gauge_places
from pneudraw.flow.history import flow_values
from pneudraw.flow.plumbing import ATMOSPHERE, Origin, Plumbing
from pneudraw.flow.pushrod import push_rod_force, sides
from pneudraw.flow.run import Run
from pneudraw.flow.solution import Array
from pneudraw.flow.strokes import Stroke, strokes

#: dm3/s: less cannot be heard beside a stopped engine (3 L/min; soap shows a tenth of it): common practice, no source
HEARD = 0.05
SOAP = HEARD / 10
FORCE = 0.6  # share of the change of a brake's force that its time is read at


@dataclass(frozen=True)
class Air:
    """Air at one outlet: ``place`` is a port (``relay.3``), a chamber (``lr/service``) or a break (``line:hold``).

    ``litres``: all that came. ``heard`` [s]: how long it could be heard. ``rate`` [dm3/s]: at the end of the watch.
    ``most`` [dm3/s]: the greatest flow.
    """

    place: str
    owner: str
    litres: float
    heard: float
    rate: float
    most: float


@dataclass(frozen=True)
class Needle:
    """The pressure a reservoir or a gauge's port has: at the start, at both ends of the watch, and how fast it falls.

    ``fall`` [bar/s] is the mean over the watch; ``reached`` [s]: when it first stood at 85 % of its greatest pressure.
    """

    place: str
    start: float
    settled: float
    read: float
    fall: float
    times: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True)
class Push:
    """One side of a brake (``service`` or ``spring``): its force [N] at the start, soon (the watch's begin) and at the
    end, and when it had done 60 % of its change [s] (None: it did not change by more than a twentieth of ``full``)."""

    place: str
    side: str
    start: float
    soon: float
    end: float
    time: float | None
    pressure: float


@dataclass(frozen=True)
class Latch:
    """A memory: what it was and is, when it last flipped by itself [s], and at which pressure of the highest reservoir.

    ``sort`` is ``knob``, or the memory's purpose. ``level`` is the pressure at the place it looks at, if it is one.
    """

    place: str
    name: str
    sort: str
    start: int
    end: int
    time: float | None
    level: float | None


@dataclass(frozen=True)
class Signs:
    """All of it, of one run. ``message`` is not empty if the run could not be followed to its end."""

    letter: str
    air: tuple[Air, ...]
    needles: tuple[Needle, ...]
    pushes: tuple[Push, ...]
    latches: tuple[Latch, ...]
    message: str
    strokes: tuple[Stroke, ...] = ()


def signs(run: Run, condition: Condition) -> Signs:
    """Return what can be observed in a run of a condition."""
    status = run.solution.status
    return Signs(
        condition.letter,
        tuple(_airs(run)),
        tuple(_needles(run, condition)),
        tuple(_pushes(run, condition)),
        tuple(_latches(run)),
        run.solution.message if status == "stalled" else "",
        strokes(run),
    )


# --- air --------------------------------------------------------------------------------------------


def _airs(run: Run) -> Iterator[Air]:
    solution, network = run.solution, run.plumbing.network
    ways: dict[str, list[tuple[int, float, str]]] = {}
    for k, (passage, origin) in enumerate(zip(network.passages, run.plumbing.origins, strict=True)):
        if 0 not in (passage.a, passage.b):
            continue
        out = float(solution.forward[k] if passage.b == 0 else solution.backward[k])
        if out > SOAP:
            place = outlet(run.circuit, origin, passage.b == 0)
            ways.setdefault(place, []).append((k, 1.0 if passage.b == 0 else -1.0, origin.owner))
    times = solution.times
    for place, found in ways.items():
        flow = np.zeros(len(times))
        litres = 0.0
        for k, sign, _ in found:
            flow += sign * flow_values(solution, network.passages[k])
            litres += sign * float(solution.net[k])
        rate = sum(sign * float(solution.flow_end[k]) for k, sign, _ in found)
        if litres > SOAP:
            yield Air(place, found[0][2], litres, _audible(times, flow), rate, float(flow.max()))


def _audible(times: Array, flow: Array) -> float:
    """How long a flow was above what can be heard: straight lines between the steps."""
    dt = np.diff(times)
    a, b = flow[:-1] - HEARD, flow[1:] - HEARD
    both = (a > 0) & (b > 0)
    crossing = (a > 0) != (b > 0)
    span = np.where(crossing, np.maximum(a, b) / np.maximum(np.abs(a - b), 1e-12), 0.0)
    return float(np.sum(dt * np.where(both, 1.0, span)))


def outlet(circuit: Circuit, origin: Origin, forward: bool) -> str:
    """Name where a passage lets air out: an exhaust port, the port or chamber next to the open air, a line."""
    if origin.sort == "break":
        return f"line:{origin.owner}"
    outer, inner = (origin.end, origin.start) if forward else (origin.start, origin.end)
    end = inner if outer == ATMOSPHERE else outer
    part = circuit.part(origin.owner)
    chamber = part is not None and any(c.name == end for c in part.kind.chambers)
    return f"{origin.owner}{'/' if chamber else '.'}{end}"


# --- needles ----------------------------------------------------------------------------------------


def _node(plumbing: Plumbing, tag: str, name: str) -> int:
    found = plumbing.chamber_node.get((tag, name))
    return plumbing.port_node[tag, name] if found is None else found


def _needles(run: Run, condition: Condition) -> Iterator[Needle]:
    times = run.solution.times
    marks = np.array([0.0, condition.settle, condition.read])
    for name, tag, end in gauge_places(run.circuit):
        course = run.solution.pressures[:, _node(run.plumbing, tag, end)] - run.plumbing.atmosphere
        start, settled, read = (float(p) for p in np.interp(marks, times, course))
        fall = (settled - read) / (condition.read - condition.settle)
        rising = condition.letter == "B"  # only then is the course itself asked for
        yield Needle(
            name,
            start,
            settled,
            read,
            fall,
            tuple(times.tolist()) if rising else (),
            tuple(course.tolist()) if rising else (),
        )


# --- brakes -----------------------------------------------------------------------------------------


def _pushes(run: Run, condition: Condition) -> Iterator[Push]:
    times = run.solution.times
    for part in run.circuit.parts:
        if part.kind.brake is None:
            continue
        known = run.plumbing.numbers(part)
        for side, chamber in sides(part.kind.brake):
            pressure = (
                run.solution.pressures[:, run.plumbing.chamber_node[part.tag, chamber]]
                - run.plumbing.atmosphere
            )
            force = push_rod_force(part.kind.brake, side, known, pressure)
            start, end = float(force[0]), float(force[-1])
            soon = float(np.interp(condition.settle, times, force))
            yield Push(part.tag, side, start, soon, end, _when(times, force), float(pressure[-1]))


def _when(times: Array, force: Array) -> float | None:
    """When a force had done 60 % of its change."""
    change = float(force[-1] - force[0])
    if abs(change) < 1.0:
        return None
    done = (force - force[0]) / change
    row = int(np.argmax(done >= FORCE))
    if row == 0:
        return float(times[0])
    d0, d1 = float(done[row - 1]), float(done[row])
    t0, t1 = float(times[row - 1]), float(times[row])
    return t0 + (t1 - t0) * ((FORCE - d0) / (d1 - d0) if d1 > d0 else 1.0)


# --- memories ---------------------------------------------------------------------------------------


def _latches(run: Run) -> Iterator[Latch]:
    from pneudraw.flow.marks import commanded, threshold

    plumbing, solution = run.plumbing, run.solution
    stores = [_node(plumbing, tag, end) for name, tag, end in gauge_places(run.circuit) if name == tag]
    for index, (tag, name) in enumerate(plumbing.memories):
        part = run.circuit.part(tag)
        assert part is not None
        memory = next(m for m in part.kind.memories if m.name == name)
        own = [flip for flip in solution.flips if flip.memory == index and not commanded(run, flip)]
        time = level = None
        if own:
            time = own[-1].time
            _, level = threshold(run, own[-1])
            if level is None and stores:
                level = (
                    max(_at(solution.times, solution.pressures[:, n], time) for n in stores)
                    - plumbing.atmosphere
                )
        sort = "knob" if memory.input is not None else memory.purpose
        if sort:
            start, end = int(solution.latches[0, index]), int(solution.memories[index])
            yield Latch(tag, name, sort, start, end, time, level)


def _at(times: Array, values: Sequence[float] | Array, time: float) -> float:
    return float(np.interp(time, times, values))
