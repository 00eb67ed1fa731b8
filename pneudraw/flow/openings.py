"""What moved, and what let it: a passage that opened or closed, and what made it; a fault; or what stood so from the
beginning."""

from __future__ import annotations

from collections.abc import Callable

from pneudraw.flow.airways import downstream, upstream, ways_of
from pneudraw.flow.causes import (
    Because,
    Closed,
    Cut,
    FaultActs,
    Flipped,
    InputBecause,
    InputSet,
    InputStands,
    MemoryBecause,
    MemoryStands,
    Moved,
    Opened,
    PressureBecause,
    Reading,
    Stands,
)
from pneudraw.flow.chain import (
    AboutMemory,
    AboutMovement,
    Question,
    Step,
    Telling,
    input_name,
    memory_of,
    standing_input,
)
from pneudraw.flow.closings import Closing, shut_off
from pneudraw.flow.evidence import Helper, Movement, Opening, pressures_of
from pneudraw.flow.marks import commanded, inputs_moved, threshold, trigger_of

TURNED = 0.05  # bar; what has moved by more did not stand so from the beginning


def tell_movement(telling: Telling, moved: Movement) -> Question | None:
    """Tell a movement: the way of its air, then what opened that way, or shut another."""
    evidence = telling.evidence
    if not telling.new(moved.node, "rise" if moved.rising else "fall", moved.begin):
        return None
    felt = evidence.felt(moved)
    steps = upstream(telling, moved) if moved.rising else downstream(telling, moved)
    far = (steps[-1].start if moved.rising else steps[-1].end) if steps else moved.node
    ways = ways_of(telling, steps if moved.rising else list(reversed(steps)))
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
    return cause_of_way(telling, moved, steps, half, moved.rising)


def cause_of_way(
    telling: Telling, moved: Movement, steps: list[Step], by: float, rising: bool
) -> Question | None:
    """Tell what let the air go this way: what opened or closed last before ``by``, a fault, or what stood so.

    ``rising``: the steps lead back to where the air came from, not on to where it went.
    """
    evidence = telling.evidence
    best: tuple[Step, Opening, Helper] | None = None
    for step in steps:
        opening = evidence.opened(step.passage, by)
        if opening is None:
            continue
        helper = evidence.helper(opening)
        if helper is None or _pressed_open(helper, step, moved, rising):
            continue
        if best is None or opening.time > best[1].time + 1e-9:
            best = step, opening, helper
    fault = next((f for f in (_fault(telling, step) for step in steps) if f is not None), None)
    other = shut_off(telling, moved, steps, by) if fault is None else None
    if other is not None and (best is None or _later(other, best[1], best[2])):
        effect = "filled" if moved.rising else "drained"
        return tell_turn(telling, other.step, other.found, effect, telling.reading(other.beyond, by))
    if best is not None:
        return tell_turn(telling, best[0], best[1])
    if fault is not None:
        telling.causes.append(fault)
        return None
    _standing(telling, moved, steps, rising)
    return None


def _later(other: Closing, opening: Opening, helper: Helper) -> bool:
    """Whether a closing came after an opening, and not by the same hand: then the opening is what counts."""
    same = (other.helper.sort, other.helper.index) == (helper.sort, helper.index)
    return other.found.time > opening.time + 1e-9 and not same


def _pressed_open(helper: Helper, step: Step, moved: Movement, rising: bool) -> bool:
    """Whether the air itself opened the passage on its way, as it does a check valve: its source matters, not this."""
    if helper.sort != "pressure":
        return False
    if helper.index == step.end and not helper.rising:
        return True  # lower pressure beyond it: the way goes on there
    return helper.index == step.start and helper.rising and (rising or step.start != moved.node)


def _fault(telling: Telling, step: Step) -> FaultActs | None:
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


def _standing(telling: Telling, moved: Movement, steps: list[Step], rising: bool) -> None:
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
                name = input_name(telling, origin.owner, signal)
                telling.causes.append(
                    InputStands(origin.owner, name, standing_input(telling, origin.owner, name))
                )
                return
    source = steps[-1].start if steps and rising else moved.node
    pressure = evidence.pressure(source, moved.begin) if source else telling.run.plumbing.atmosphere
    turned = bool(source) and abs(pressure - evidence.pressure(source, 0.0)) > TURNED
    telling.causes.append(
        Stands(telling.name(source), telling.gauge(pressure), moved.begin if turned else 0.0)
    )


def tell_turn(
    telling: Telling, step: Step, found: Opening, effect: str = "", beyond: Reading | None = None
) -> Question | None:
    """Tell that a passage opened, or closed with some ``effect``, and what brought it about; that is explained next.

    What brought it about must be known (`Evidence.helper`).
    """
    evidence = telling.evidence
    helper = evidence.helper(found, closing=bool(effect))
    assert helper is not None
    term = evidence.network.passages[found.passage].terms[found.term]
    others = tuple(
        telling.reading(node, found.time)
        for node, _ in pressures_of(telling.run.plumbing.network, term)
        if not (helper.sort == "pressure" and node == helper.index)
    )
    way = telling.way(step)

    def turned(because: Because) -> Opened | Closed:
        if effect:
            return Closed(way, found.time, because, others, effect, beyond)
        return Opened(way, found.time, because, others)

    match helper.sort:
        case "pressure":
            after = evidence.pressure(helper.index, found.time)
            because = PressureBecause(
                telling.name(helper.index), helper.rising, telling.gauge(helper.before), telling.gauge(after)
            )
            telling.causes.append(turned(because))
            row_time = float(evidence.times[found.row])
            return AboutMovement(evidence.since(helper.index, row_time, helper.rising))
        case "signal":
            tag = telling.run.plumbing.origins[found.passage].owner
            _input(telling, tag, input_name(telling, tag, helper.index), found.time, turned)
            return None
        case _:
            tag, memory = telling.run.plumbing.memories[helper.index]
            telling.causes.append(turned(MemoryBecause(tag, memory, round(helper.after))))
            return AboutMemory(helper.index, found.time)


def _input(
    telling: Telling, tag: str, name: str, time: float, turned: Callable[[Because], Opened | Closed]
) -> None:
    """Tell what an input brought about, and when that was set."""
    moves = [
        m for m in inputs_moved(telling.run) if (m.part, m.input) == (tag, name) and m.time <= time + 1e-6
    ]
    if not moves:
        telling.causes.append(InputStands(tag, name, standing_input(telling, tag, name)))
        return
    last = moves[-1]
    telling.causes.append(turned(InputBecause(tag, name, *last.values)))
    telling.causes.append(InputSet(tag, name, last.values[1], last.time))


def tell_memory(telling: Telling, memory: int, by: float) -> Question | None:
    """Tell why a memory flipped last: by hand, or because a pressure passed its level."""
    evidence = telling.evidence
    place = evidence.latest_flip(memory, by)
    tag, name = telling.run.plumbing.memories[memory]
    if place is None:
        telling.causes.append(MemoryStands(tag, name, evidence.network.memories[memory].start))
        return None
    flip = telling.run.solution.flips[place]
    if commanded(telling.run, flip):
        knob = memory_of(telling, tag, name).input
        assert knob is not None
        telling.causes.append(InputSet(tag, knob, float(flip.value), flip.time))
        return None
    node, level = threshold(telling.run, flip)
    at = "" if node is None else telling.name(node)
    flipped = Flipped(tag, name, flip.value, flip.time, at, level)
    told = [c for c in telling.causes if isinstance(c, Flipped)]
    if any((c.part, c.memory, c.value) == (tag, name, flip.value) for c in told):
        telling.causes.append(Cut("again"))
        return None
    telling.causes.append(flipped)
    trigger = trigger_of(telling.run, flip)
    if trigger is None:
        return None
    inputs = {(tag, input_name(telling, tag, signal)) for signal, _ in trigger.signals}
    hands = [
        m for m in inputs_moved(telling.run) if (m.part, m.input) in inputs and m.time <= flip.time + 1e-6
    ]
    if hands:
        telling.causes.append(InputSet(tag, hands[-1].input, hands[-1].values[1], hands[-1].time))
        return None
    if not trigger.weights:
        return None
    moves = [
        (abs(w) * abs(m.after - m.before), -i, m)
        for i, (n, w) in enumerate(pressures_of(telling.run.plumbing.network, trigger))
        for m in (evidence.since(n, flip.time, w > 0),)
    ]
    return AboutMovement(max(moves, key=lambda one: one[:2])[2])
