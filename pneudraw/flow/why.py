"""Why a pressure is what it is: causes followed backwards to an operator's input, a fault or a standing pressure.

The air is followed first: where it came from, or where it went. Of the passages on its way the one that opened last
is the cause; what opened it is a pressure (followed in its turn), a memory or an input. Where no air came, the
closed passage between the place and the nearest pressure is looked for, and what it waits for.

No kind is known here: only passages, conditions, memories, inputs and faults.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field

from pneudraw.flow.causes import (
    Because,
    Cause,
    Cut,
    FaultActs,
    Flipped,
    Holds,
    InputBecause,
    InputSet,
    InputStands,
    MemoryBecause,
    MemoryStands,
    Moved,
    Need,
    NoPressure,
    Opened,
    PressureBecause,
    Reading,
    Shut,
    Stands,
    Vented,
    Way,
    Why,
)
from pneudraw.flow.evidence import SHUT, Evidence, Helper, Movement, Opening, pressures_of
from pneudraw.flow.marks import commanded, inputs_moved, threshold, trigger_of
from pneudraw.flow.network import Term
from pneudraw.flow.places import Place, node_of, places_of
from pneudraw.flow.run import Run
from pneudraw.library import model as lib

DEEPEST = 24  # causes in a chain
PRESSURE = 1.0  # bar: so much more than a place is a pressure worth letting in
LOST = 0.5  # bar: a place that had so much and is empty lost it; another never got it
EMPTY = 0.1  # bar gauge
MOST_SHUT = 6  # closed ways told of a pressure that holds
OWN_STORE = 0.3  # share of what a chamber gave that must be its own air for the way to begin there
SOME_AIR = 1e-4  # dm3: less does not show a way
VENT = 0.02  # dm3 that make an exhaust worth explaining


@dataclass(frozen=True)
class _Step:
    """A passage on the way of the air, from one node to another."""

    passage: int
    start: int
    end: int


@dataclass
class _Telling:
    """A chain in the making; lives only inside :func:`why`."""

    evidence: Evidence
    places: dict[int, Place]
    causes: list[Cause] = field(default_factory=list)
    seen: set[tuple[int, str, int]] = field(default_factory=set)

    @property
    def run(self) -> Run:
        return self.evidence.run

    def name(self, node: int) -> str:
        return str(self.places[node])

    def gauge(self, pressure: float) -> float:
        return pressure - self.run.plumbing.atmosphere

    def way(self, step: _Step) -> Way:
        origin = self.run.plumbing.origins[step.passage]
        forward = self.evidence.network.passages[step.passage].a == step.start
        ends = (origin.start, origin.end) if forward else (origin.end, origin.start)
        return Way(origin.owner, *ends)

    def new(self, node: int, what: str, time: float) -> bool:
        """Whether the telling goes on at a node; if not, it says so and ends."""
        key = (node, what, round(time * 1e3))
        if len(self.causes) >= DEEPEST:
            self.causes.append(Cut("depth"))
            return False
        if key in self.seen:
            self.causes.append(Cut("loop"))
            return False
        self.seen.add(key)
        return True


def why(run: Run, place: Place) -> Why:
    """Return the causes of the pressure at a place at the end of a run; for an open port, of the air that left."""
    telling = _Telling(Evidence(run), places_of(run.plumbing))
    node = node_of(run.plumbing, place)
    end = telling.evidence.end
    if node == 0:
        _open_port(telling, place)
    else:
        _explain(telling, node, end)
    pressures = run.solution.pressures
    return Why(
        run.circuit.title,
        run.state.name,
        run.state.start,
        str(place),
        telling.gauge(float(pressures[0][node])),
        telling.gauge(float(pressures[-1][node])),
        end,
        tuple(telling.causes),
    )


def _explain(telling: _Telling, node: int, time: float) -> None:
    """Explain a node at a time: it moved, it holds, or it is empty."""
    moved = telling.evidence.movement(node, time)
    if moved is not None:
        _moved(telling, moved)
    elif telling.gauge(telling.evidence.pressure(node, time)) > EMPTY:
        _holds(telling, node, time)
    else:
        _empty(telling, node, time)


def _open_port(telling: _Telling, place: Place) -> None:
    """Explain the air that left at an open port."""
    run = telling.run
    found = []
    for k, origin in enumerate(run.plumbing.origins):
        if origin.owner == place.tag and place.name in (origin.start, origin.end):
            passage = run.plumbing.network.passages[k]
            inner = passage.a if passage.b == 0 else passage.b
            litres = float(run.solution.net[k]) * (1 if passage.b == 0 else -1)
            found.append((litres, -k, inner))
    litres, k, inner = max(found, default=(0.0, 0, 0))
    if litres < VENT or inner == 0:
        telling.causes.append(Vented(str(place), 0.0, (), str(place)))
        return
    evidence = telling.evidence
    whole = Movement(
        inner, 0.0, evidence.end, evidence.pressure(inner, 0.0), evidence.pressure(inner, evidence.end)
    )
    steps = [_Step(-k, inner, 0), *_upstream(telling, whole)]
    telling.causes.append(Vented(str(place), litres, _ways(telling, steps), telling.name(steps[-1].start)))
    opening = evidence.opened(-k, evidence.end)
    if opening is None or not _opened(telling, steps[0], opening):
        _cause_of_way(telling, whole, steps, evidence.end, rising=True)


# --- what moved -------------------------------------------------------------------------------------


def _moved(telling: _Telling, moved: Movement) -> None:
    """Tell a movement: the way of its air, then what opened that way."""
    evidence = telling.evidence
    if not telling.new(moved.node, "rise" if moved.rising else "fall", moved.begin):
        return
    felt = evidence.felt(moved)
    steps = _upstream(telling, moved) if moved.rising else _downstream(telling, moved)
    far = (steps[-1].start if moved.rising else steps[-1].end) if steps else moved.node
    ways = _ways(telling, steps if moved.rising else list(reversed(steps)))
    telling.causes.append(
        Moved(
            telling.name(moved.node),
            moved.rising,
            telling.gauge(moved.before),
            telling.gauge(moved.after),
            moved.begin,
            felt,
            moved.end,
            ways,
            telling.name(far),
            telling.gauge(evidence.pressure(far, moved.begin)) if far else 0.0,
        )
    )
    half = evidence.gone(moved, abs(moved.after - moved.before) / 2)
    _cause_of_way(telling, moved, steps, half, moved.rising)


def _ways(telling: _Telling, steps: list[_Step]) -> tuple[Way, ...]:
    """The passages of some steps that were collected backwards, in the order of the air; pipes left out."""
    origins = telling.run.plumbing.origins
    return tuple(telling.way(step) for step in reversed(steps) if origins[step.passage].sort != "tube")


def _cause_of_way(telling: _Telling, moved: Movement, steps: list[_Step], by: float, rising: bool) -> None:
    """Tell what let the air go this way: the opening that came last before ``by``, a fault, or what stood so.

    ``rising``: the steps lead back to where the air came from, not on to where it went.
    """
    evidence = telling.evidence
    best: tuple[float, int, _Step, Opening] | None = None
    for rank, step in enumerate(steps):
        opening = evidence.opened(step.passage, by)
        if opening is None:
            continue
        helper = evidence.helper(opening)
        if helper is None or _pressed_open(helper, step, moved, rising):
            continue
        if best is None or opening.time > best[0] + 1e-9:
            best = opening.time, rank, step, opening
    if best is not None and _opened(telling, best[2], best[3]):
        return
    fault = next((f for f in (_fault(telling, step) for step in steps) if f is not None), None)
    if fault is not None:
        telling.causes.append(fault)
        return
    _standing(telling, moved, steps, rising)


def _pressed_open(helper: Helper, step: _Step, moved: Movement, rising: bool) -> bool:
    """Whether the air itself opened the passage on its way, as it does a check valve: its source matters, not this."""
    if helper.sort != "pressure":
        return False
    if helper.index == step.end and not helper.rising:
        return True  # lower pressure beyond it: the way goes on there
    return helper.index == step.start and helper.rising and (rising or step.start != moved.node)


def _upstream(telling: _Telling, moved: Movement) -> list[_Step]:
    """The way of the air that filled a node, backwards: always the strongest inflow, to a chamber that gave its own."""
    steps: list[_Step] = []
    node, seen = moved.node, {moved.node, 0}
    while True:
        inflows = [(g, -k, other) for g, k, other in _flows(telling, node, moved) if g > SOME_AIR]
        inflows = [flow for flow in inflows if flow[2] not in seen or flow[2] == 0]
        if not inflows:
            return steps
        _, k, source = max(inflows)
        steps.append(_Step(-k, source, node))
        if source == 0 or _gave_own(telling, source, moved):
            return steps
        seen.add(source)
        node = source


def _downstream(telling: _Telling, moved: Movement) -> list[_Step]:
    """The way of the air that left a node: always the strongest outflow, to the open or to a chamber that kept it."""
    steps: list[_Step] = []
    node, seen = moved.node, {moved.node}
    while True:
        outflows = [(-g, -k, other) for g, k, other in _flows(telling, node, moved) if g < -SOME_AIR]
        outflows = [flow for flow in outflows if flow[2] not in seen]
        if not outflows:
            return steps
        _, k, goal = max(outflows)
        steps.append(_Step(-k, node, goal))
        if goal == 0 or _kept(telling, goal, moved):
            return steps
        seen.add(goal)
        node = goal


def _flows(telling: _Telling, node: int, moved: Movement) -> list[tuple[float, int, int]]:
    """Air into a node (positive) during a movement, by passage, with the node at its other end."""
    evidence = telling.evidence
    out = []
    for k in evidence.at.get(node, ()):
        passage = evidence.network.passages[k]
        net = evidence.net(k, moved.begin, moved.end)
        out.append((net, k, passage.a) if passage.b == node else (-net, k, passage.b))
    return out


def _gave_own(telling: _Telling, node: int, moved: Movement) -> bool:
    flows = [g for g, _, _ in _flows(telling, node, moved)]
    given, lost = -sum(g for g in flows if g < 0), -sum(flows)
    return _is_chamber(telling, node) and lost > OWN_STORE * given and given > 0


def _kept(telling: _Telling, node: int, moved: Movement) -> bool:
    flows = [g for g, _, _ in _flows(telling, node, moved)]
    taken, won = sum(g for g in flows if g > 0), sum(flows)
    return _is_chamber(telling, node) and won > OWN_STORE * taken and taken > 0


def _is_chamber(telling: _Telling, node: int) -> bool:
    return telling.places[node].sort == "chamber"


def _standing(telling: _Telling, moved: Movement, steps: list[_Step], rising: bool) -> None:
    """Tell what stood from the beginning and let the air go: a memory, an input, else the pressure it came from."""
    evidence = telling.evidence
    for step in steps:
        origin = telling.run.plumbing.origins[step.passage]
        for term in evidence.network.passages[step.passage].terms:
            for memory, _ in term.memories:
                tag, name = telling.run.plumbing.memories[memory]
                value = evidence.network.memories[memory].start
                telling.causes.append(MemoryStands(tag, name, value))
                return
            for signal, _ in term.signals:
                name = _input_name(telling, origin.owner, signal)
                telling.causes.append(
                    InputStands(origin.owner, name, _standing_input(telling, origin.owner, name))
                )
                return
    source = steps[-1].start if steps and rising else moved.node
    pressure = evidence.pressure(source, moved.begin) if source else telling.run.plumbing.atmosphere
    telling.causes.append(Stands(telling.name(source), telling.gauge(pressure)))


# --- what opened ------------------------------------------------------------------------------------


def _opened(telling: _Telling, step: _Step, opening: Opening) -> bool:
    """Tell an opening and go on with what brought it about; False if nothing is known to have."""
    evidence = telling.evidence
    helper = evidence.helper(opening)
    if helper is None:
        return False
    term = evidence.network.passages[opening.passage].terms[opening.term]
    others = tuple(
        Reading(telling.name(node), telling.gauge(evidence.pressure(node, opening.time)))
        for node, _ in pressures_of(telling.run.plumbing.network, term)
        if not (helper.sort == "pressure" and node == helper.index)
    )
    way = telling.way(step)
    match helper.sort:
        case "pressure":
            after = evidence.pressure(helper.index, opening.time)
            because: Because = PressureBecause(
                telling.name(helper.index), helper.rising, telling.gauge(helper.before), telling.gauge(after)
            )
            telling.causes.append(Opened(way, opening.time, because, others))
            _moved(telling, evidence.since(helper.index, float(evidence.times[opening.row]), helper.rising))
        case "signal":
            tag = telling.run.plumbing.origins[opening.passage].owner
            name = _input_name(telling, tag, helper.index)
            _input(telling, way, opening, tag, name, others)
        case _:
            tag, memory = telling.run.plumbing.memories[helper.index]
            telling.causes.append(
                Opened(way, opening.time, MemoryBecause(tag, memory, round(helper.after)), others)
            )
            _memory(telling, helper.index, opening.time)
    return True


def _input(
    telling: _Telling, way: Way, opening: Opening, tag: str, name: str, others: tuple[Reading, ...]
) -> None:
    """Tell an opening brought about by an input, and when that was set."""
    moves = [
        m
        for m in inputs_moved(telling.run)
        if (m.part, m.input) == (tag, name) and m.time <= opening.time + 1e-6
    ]
    if not moves:
        telling.causes.append(InputStands(tag, name, _standing_input(telling, tag, name)))
        return
    last = moves[-1]
    telling.causes.append(Opened(way, opening.time, InputBecause(tag, name, *last.values), others))
    telling.causes.append(InputSet(tag, name, last.values[1], last.time))


def _memory(telling: _Telling, memory: int, by: float) -> None:
    """Tell why a memory flipped last: by hand, or because a pressure passed its level."""
    evidence = telling.evidence
    place = evidence.latest_flip(memory, by)
    tag, name = telling.run.plumbing.memories[memory]
    if place is None:
        telling.causes.append(MemoryStands(tag, name, evidence.network.memories[memory].start))
        return
    flip = telling.run.solution.flips[place]
    if commanded(telling.run, flip):
        input_name = _memory_of(telling, tag, name).input
        assert input_name is not None
        telling.causes.append(InputSet(tag, input_name, float(flip.value), flip.time))
        return
    node, level = threshold(telling.run, flip)
    at = "" if node is None else telling.name(node)
    telling.causes.append(Flipped(tag, name, flip.value, flip.time, at, level))
    trigger = trigger_of(telling.run, flip)
    if trigger is None or not trigger.weights:
        return
    moves = [
        (abs(w) * abs(m.after - m.before), -i, m)
        for i, (n, w) in enumerate(pressures_of(telling.run.plumbing.network, trigger))
        for m in (evidence.since(n, flip.time, w > 0),)
    ]
    _moved(telling, max(moves, key=lambda one: one[:2])[2])


def _fault(telling: _Telling, step: _Step) -> FaultActs | None:
    """The fault that made a passage, or keeps it open."""
    origin = telling.run.plumbing.origins[step.passage]
    if origin.sort in ("break", "leak"):
        return FaultActs(origin.owner, origin.name)
    part = telling.run.circuit.part(origin.owner)
    if part is None or telling.evidence.network.passages[step.passage].low <= 0.0:
        return None
    put_in = [f.fault for f in telling.run.plumbing.faults if f.target == origin.owner]
    for fault in part.kind.faults:
        if fault.name in put_in and origin.name in fault.passages:
            return FaultActs(origin.owner, fault.name)
    return None


# --- what holds, what is empty ----------------------------------------------------------------------


def _holds(telling: _Telling, node: int, time: float) -> None:
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
                shut.append(telling.way(_Step(k, at, other)))
    telling.causes.append(
        Holds(telling.name(node), telling.gauge(here), tuple(dict.fromkeys(shut))[:MOST_SHUT])
    )


def _empty(telling: _Telling, node: int, time: float) -> None:
    """Tell why no air came: the closed passage that stands before the nearest pressure."""
    evidence = telling.evidence
    if not telling.new(node, "empty", time):
        return
    found = _nearest(telling, node, time)
    if found is None:
        _nothing(telling, node, time)
        return
    steps, source = found
    shut = [s for s in steps if evidence.opening(s.passage)[-1] <= SHUT]
    waiting = [s for s in shut if not _only_waits(telling, s, time)]
    step = next(iter(waiting or shut), None)
    if step is None:  # an open way: it is on its way, or leaks off as fast as it comes
        telling.causes.append(Stands(telling.name(source), telling.gauge(evidence.pressure(source, time))))
        return
    passage = evidence.network.passages[step.passage]
    reading = Reading(telling.name(source), telling.gauge(evidence.pressure(source, time)))
    way = telling.way(step)
    here = telling.gauge(evidence.pressure(node, time))
    term = _blocking(telling, step.passage)
    if passage.high <= 0.0 or term is None:
        telling.causes.append(Shut(telling.name(node), here, way, reading, (), 0.0))
        fault = _blocked_by(telling, step)
        if fault is not None:
            telling.causes.append(fault)
        return
    needs, level = _needs(telling, step.passage, term, time)
    telling.causes.append(Shut(telling.name(node), here, way, reading, needs, level))
    _missing(telling, step, term, time)


def _only_waits(telling: _Telling, step: _Step, time: float) -> bool:
    """Whether a closed passage would open by itself as soon as air came to it, like a check valve."""
    term = _blocking(telling, step.passage)
    if term is None or term.signals or term.memories:
        return False
    up = [node for node, weight in pressures_of(telling.run.plumbing.network, term) if weight > 0]
    empty = telling.gauge(telling.evidence.pressure(step.start, time)) <= EMPTY
    return up == [step.start] and empty


def _missing(telling: _Telling, step: _Step, term: Term, time: float) -> None:
    """Go on with what a closed passage waits for: a memory, an input, or a pressure too low or too high."""
    evidence = telling.evidence
    tag = telling.run.plumbing.origins[step.passage].owner
    for memory, _ in term.memories:
        _memory(telling, memory, time)
        return
    low = [n for n, w in pressures_of(telling.run.plumbing.network, term) if w > 0 and n != step.start]
    for signal, _ in term.signals:
        if not low:
            _stand_of_input(telling, tag, _input_name(telling, tag, signal))
            return
    low = low or [n for n, w in pressures_of(telling.run.plumbing.network, term) if w > 0]
    weak = [n for n in low if telling.gauge(evidence.pressure(n, time)) <= EMPTY]
    high = [
        n
        for n, w in pressures_of(telling.run.plumbing.network, term)
        if w < 0 and telling.gauge(evidence.pressure(n, time)) > EMPTY
    ]
    if weak:
        _weak(telling, weak[0], time)
    elif high:
        _explain(telling, high[0], time)


def _weak(telling: _Telling, node: int, time: float) -> None:
    """Explain a pressure that is missing: it was lost, or it never came."""
    moved = telling.evidence.movement(node, time)
    if moved is not None and not moved.rising and moved.before - moved.after > LOST:
        _moved(telling, moved)
    else:
        _empty(telling, node, time)


def _nothing(telling: _Telling, node: int, time: float) -> None:
    """Tell that there is no pressure to come, and why the nearest reservoir has none."""
    nearest = _nearest(telling, node, time, stores=True)
    telling.causes.append(NoPressure(telling.name(node), "" if nearest is None else telling.name(nearest[1])))
    if nearest is not None and nearest[1] != node:
        moved = telling.evidence.movement(nearest[1], time)
        if moved is not None:
            _moved(telling, moved)


def _nearest(
    telling: _Telling, node: int, time: float, stores: bool = False
) -> tuple[list[_Step], int] | None:
    """The way back from a node to the nearest pressure (or reservoir): fewest closed passages, then fewest in all."""
    evidence = telling.evidence
    here = evidence.pressure(node, time)
    best: dict[int, tuple[int, int]] = {node: (0, 0)}
    came: dict[int, _Step] = {}
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
                came[other] = _Step(k, other, at)
                heapq.heappush(queue, (*cost, other))
    return None


def _is_store(telling: _Telling, node: int) -> bool:
    place = telling.places[node]
    part = telling.run.circuit.part(place.tag)
    return part is not None and part.kind.place is lib.Place.STORAGE and place.sort == "chamber"


def _blocking(telling: _Telling, k: int) -> Term | None:
    """The term that keeps a passage closed at the end: the first shut one; of alternatives the nearest to open."""
    evidence = telling.evidence
    passage = evidence.network.passages[k]
    shut = [term for term in passage.terms if evidence.z_end(term) <= SHUT]
    if not shut:
        return None
    if passage.combine == "any":
        return max(shut, key=lambda term: evidence.z_end(term) * term.band)
    return shut[0]


def _needs(telling: _Telling, k: int, term: Term, time: float) -> tuple[tuple[Need, ...], float]:
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
        name = _input_name(telling, tag, signal)
        out.append(Need("input", name, weight, run.plumbing.inputs[tag, name]))
    for memory, weight in term.memories:
        out.append(
            Need("memory", run.plumbing.memories[memory][1], weight, float(run.solution.memories[memory]))
        )
    return tuple(out), level


def _blocked_by(telling: _Telling, step: _Step) -> FaultActs | None:
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


# --- inputs -----------------------------------------------------------------------------------------


def _stand_of_input(telling: _Telling, tag: str, name: str) -> None:
    moves = [m for m in inputs_moved(telling.run) if (m.part, m.input) == (tag, name)]
    if moves:
        telling.causes.append(InputSet(tag, name, moves[-1].values[1], moves[-1].time))
    else:
        telling.causes.append(InputStands(tag, name, telling.run.plumbing.inputs[tag, name]))


def _standing_input(telling: _Telling, tag: str, name: str) -> float:
    part = telling.run.circuit.part(tag)
    assert part is not None
    rest = next(inp.rest for inp in part.kind.inputs if inp.name == name)
    return telling.run.before.inputs.get((tag, name), rest)


def _input_name(telling: _Telling, tag: str, signal: int) -> str:
    """The input behind a signal of the network, which may be a curve of one."""
    name = telling.evidence.network.signals[signal].name.removeprefix(f"{tag}.")
    part = telling.run.circuit.part(tag)
    assert part is not None
    return next((curve.input for curve in part.kind.curves if curve.name == name), name)


def _memory_of(telling: _Telling, tag: str, name: str) -> lib.Memory:
    part = telling.run.circuit.part(tag)
    assert part is not None
    return next(memory for memory in part.kind.memories if memory.name == name)
