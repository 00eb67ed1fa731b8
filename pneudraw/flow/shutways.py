"""What holds, what is empty: the closed passages round a pressure, or before one that never came."""

from __future__ import annotations

import heapq

from pneudraw.flow.causes import FaultActs, Holds, InputSet, InputStands, Need, NoPressure, Shut, Stands
from pneudraw.flow.chain import (
    EMPTY,
    PRESSURE,
    AboutEmptiness,
    AboutMemory,
    AboutMovement,
    AboutPressure,
    Question,
    Step,
    Telling,
    input_name,
)
from pneudraw.flow.evidence import SHUT, pressures_of
from pneudraw.flow.marks import inputs_moved
from pneudraw.flow.network import Term
from pneudraw.library import model as lib

LOST = 0.5  # bar: a place that had so much and is empty lost it; another never got it
MOST_SHUT = 6  # closed ways told of a pressure that holds


def tell_holding(telling: Telling, node: int, time: float) -> None:
    """Tell a pressure that stands, and the closed ways round it."""
    evidence = telling.evidence
    here = evidence.pressure(node, time)
    region, shut, queue = {node}, [], [node]
    while queue:
        at = queue.pop(0)
        for k in evidence.at.get(at, ()):
            passage = evidence.network.passages[k]
            other = passage.b if passage.a == at else passage.a
            if evidence.opening(k)[-1] > SHUT:
                if other and other not in region:
                    region.add(other)
                    queue.append(other)
            elif passage.a == at and evidence.pressure(other, time) < here - PRESSURE:
                shut.append(telling.way(Step(k, at, other)))
    telling.causes.append(
        Holds(telling.name(node), telling.gauge(here), tuple(dict.fromkeys(shut))[:MOST_SHUT])
    )


def tell_empty(telling: Telling, node: int, time: float) -> Question | None:
    """Tell why no air came: the closed passage that stands before the nearest pressure."""
    evidence = telling.evidence
    if not telling.new(node, "empty", time):
        return None
    found = _nearest(telling, node, time)
    if found is None:
        return _nothing(telling, node, time)
    steps, source = found
    shut = [s for s in steps if evidence.opening(s.passage)[-1] <= SHUT]
    waiting = [s for s in shut if not _only_waits(telling, s, time)]
    step = next(iter(waiting or shut), None)
    if step is None:  # an open way: it is on its way, or leaks off as fast as it comes
        telling.causes.append(Stands(telling.name(source), telling.gauge(evidence.pressure(source, time))))
        return None
    passage = evidence.network.passages[step.passage]
    reading = telling.reading(source, time)
    way = telling.way(step)
    here = telling.gauge(evidence.pressure(node, time))
    closed = evidence.closed(step.passage, time)
    since = None if closed is None else closed.time
    term = blocking(telling, step.passage)
    if passage.high <= 0.0 or term is None:
        telling.causes.append(Shut(telling.name(node), here, way, reading, (), 0.0, since))
        fault = _blocked_by(telling, step)
        if fault is not None:
            telling.causes.append(fault)
        return None
    needs, level = needs_of(telling, step.passage, term, time)
    telling.causes.append(Shut(telling.name(node), here, way, reading, needs, level, since))
    return _missing(telling, step, term, time)


def _only_waits(telling: Telling, step: Step, time: float) -> bool:
    """Whether a closed passage would open by itself as soon as air came to it, like a check valve."""
    term = blocking(telling, step.passage)
    if term is None or term.signals or term.memories:
        return False
    up = [node for node, weight in pressures_of(telling.run.plumbing.network, term) if weight > 0]
    empty = telling.gauge(telling.evidence.pressure(step.start, time)) <= EMPTY
    return up == [step.start] and empty


def _missing(telling: Telling, step: Step, term: Term, time: float) -> Question | None:
    """Go on with what a closed passage waits for: a memory, an input, or a pressure too low or too high."""
    evidence = telling.evidence
    tag = telling.run.plumbing.origins[step.passage].owner
    for memory, _ in term.memories:
        return AboutMemory(memory, time)
    low = [n for n, w in pressures_of(telling.run.plumbing.network, term) if w > 0 and n != step.start]
    for signal, _ in term.signals:
        if not low:
            stand_of_input(telling, tag, input_name(telling, tag, signal))
            return None
    low = low or [n for n, w in pressures_of(telling.run.plumbing.network, term) if w > 0]
    weak = [n for n in low if telling.gauge(evidence.pressure(n, time)) <= EMPTY]
    high = [
        n
        for n, w in pressures_of(telling.run.plumbing.network, term)
        if w < 0 and telling.gauge(evidence.pressure(n, time)) > EMPTY
    ]
    if weak:
        return _weak(telling, weak[0], time)
    return AboutPressure(high[0], time) if high else None


def _weak(telling: Telling, node: int, time: float) -> Question:
    """Explain a pressure that is missing: it was lost, or it never came."""
    moved = telling.evidence.movement(node, time)
    if moved is not None and not moved.rising and moved.before - moved.after > LOST:
        return AboutMovement(moved)
    return AboutEmptiness(node, time)


def _nothing(telling: Telling, node: int, time: float) -> Question | None:
    """Tell that there is no pressure to come, and why the nearest reservoir has none."""
    nearest = _nearest(telling, node, time, stores=True)
    telling.causes.append(NoPressure(telling.name(node), "" if nearest is None else telling.name(nearest[1])))
    if nearest is None or nearest[1] == node:
        return None
    moved = telling.evidence.movement(nearest[1], time)
    return None if moved is None else AboutMovement(moved)


def _nearest(telling: Telling, node: int, time: float, stores: bool = False) -> tuple[list[Step], int] | None:
    """The way back from a node to the nearest pressure (or reservoir): fewest closed passages, then fewest in all."""
    evidence = telling.evidence
    here = evidence.pressure(node, time)
    best: dict[int, tuple[int, int]] = {node: (0, 0)}
    came: dict[int, Step] = {}
    queue: list[tuple[int, int, int]] = [(0, 0, node)]
    while queue:
        shut, hops, at = heapq.heappop(queue)
        if (shut, hops) > best[at]:
            continue
        if at != node and (
            _is_store(telling, at) if stores else evidence.pressure(at, time) > here + PRESSURE
        ):
            steps = []
            back = at
            while back != node:
                steps.append(came[back])
                back = came[back].end
            return list(reversed(steps)), at
        for k in evidence.at.get(at, ()):
            passage = evidence.network.passages[k]
            other = passage.b if passage.a == at else passage.a
            closed = bool(evidence.opening(k)[-1] <= SHUT)
            if other == 0 or (closed and passage.b != at):
                continue
            cost = (shut + closed, hops + 1)
            if other not in best or cost < best[other]:
                best[other] = cost
                came[other] = Step(k, other, at)
                heapq.heappush(queue, (*cost, other))
    return None


def _is_store(telling: Telling, node: int) -> bool:
    place = telling.places[node]
    part = telling.run.circuit.part(place.tag)
    return part is not None and part.kind.place is lib.Place.STORAGE and place.sort == "chamber"


def blocking(telling: Telling, k: int) -> Term | None:
    """The term that keeps a passage closed at the end: the first shut one; of alternatives the nearest to open."""
    evidence = telling.evidence
    passage = evidence.network.passages[k]
    shut = [term for term in passage.terms if evidence.z_end(term) <= SHUT]
    if not shut:
        return None
    if passage.combine == "any":
        return max(shut, key=lambda term: evidence.z_end(term) * term.band)
    return shut[0]


def needs_of(telling: Telling, k: int, term: Term, time: float) -> tuple[tuple[Need, ...], float]:
    """What a term depends on, with the level its weighted sum must pass; pressures gauge."""
    evidence = telling.evidence
    run = telling.run
    out = []
    level = -term.constant
    for node, weight in pressures_of(telling.run.plumbing.network, term):
        gauge = telling.gauge(evidence.pressure(node, time))
        out.append(Need("pressure", telling.name(node), weight, gauge))
        level -= weight * run.plumbing.atmosphere
    for signal, weight in term.signals:
        tag = run.plumbing.origins[k].owner
        name = input_name(telling, tag, signal)
        out.append(Need("input", name, weight, run.plumbing.inputs[tag, name]))
    for memory, weight in term.memories:
        out.append(
            Need("memory", run.plumbing.memories[memory][1], weight, float(run.solution.memories[memory]))
        )
    return tuple(out), level


def _blocked_by(telling: Telling, step: Step) -> FaultActs | None:
    origin = telling.run.plumbing.origins[step.passage]
    put_in = [f for f in telling.run.plumbing.faults if f.target == origin.owner]
    part = telling.run.circuit.part(origin.owner)
    for setting in put_in:
        if part is None:
            return FaultActs(origin.owner, setting.fault)
        for fault in part.kind.faults:
            if fault.name == setting.fault and origin.name in (*fault.passages, *fault.closes):
                return FaultActs(origin.owner, fault.name)
    return None


def stand_of_input(telling: Telling, tag: str, name: str) -> None:
    """Tell where an input stands at the end, and since when."""
    moves = [m for m in inputs_moved(telling.run) if (m.part, m.input) == (tag, name)]
    if moves:
        telling.causes.append(InputSet(tag, name, moves[-1].values[1], moves[-1].time))
    else:
        telling.causes.append(InputStands(tag, name, telling.run.plumbing.inputs[tag, name]))
