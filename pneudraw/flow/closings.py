"""Ways beside the air's own that closed: then a place rises that lost its air, or falls that lived on what came."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.flow.chain import EMPTY, Step, Telling
from pneudraw.flow.evidence import Helper, Movement, Opening

AROUND = 0.5  # s before and after it closed in which flows are looked at
EARLIER, STILL = 5.0, 0.05  # s, before the movement began; bar, that the place may have moved meanwhile
SHARE = 0.8  # of the flow that makes the movement, which must have gone the other way before: it turned the balance
NOTHING = 1e-9


@dataclass(frozen=True)
class Closing:
    """A passage that closed, by ``helper``: ``step`` leads the way its air went, ``beyond`` is its far end's node."""

    found: Opening
    helper: Helper
    step: Step
    beyond: int


def shut_off(telling: Telling, moved: Movement, steps: list[Step], by: float) -> Closing | None:
    """Return the closing that turned the balance: air left the way of a rise there (came there, of a fall) before.

    The last one before ``by``; None if none carried enough. What its own air closed, as that of a check valve does
    once both sides are equal, is none.
    """
    evidence = telling.evidence
    if not steps:
        return None
    best: Closing | None = None
    for k, inner in _beside(telling, moved, steps):
        found = evidence.closed(k, by)
        if found is None or found.time >= by or not _near(telling, moved, found.time):
            continue
        if best is not None and found.time <= best.found.time + NOTHING:
            continue
        passage = evidence.network.passages[k]
        outer = passage.b if passage.a == inner else passage.a
        helper = evidence.helper(found, closing=True)
        if helper is None or (helper.sort == "pressure" and helper.index in (inner, outer)):
            continue
        if not _weighty(telling, moved, steps, found, inner, by):
            continue
        step = Step(k, inner, outer) if moved.rising else Step(k, outer, inner)
        best = Closing(found, helper, step, outer)
    return best


def _near(telling: Telling, moved: Movement, time: float) -> bool:
    """Whether a time belongs to a movement: within it, or shortly before it showed."""
    if time >= moved.begin:
        return True
    drift = abs(telling.evidence.pressure(moved.node, time) - moved.before)
    return time > moved.begin - EARLIER and drift < STILL


def _beside(telling: Telling, moved: Movement, steps: list[Step]) -> list[tuple[int, int]]:
    """The passages that can close beside the way, each with its node nearer to it; what is always open leads on."""
    evidence = telling.evidence
    ends = [step.start if moved.rising else step.end for step in steps]
    reached = list(dict.fromkeys(n for n in (moved.node, *ends[:-1]) if n))
    seen, own = {0, *reached}, {step.passage for step in steps}
    out: list[tuple[int, int]] = []
    while reached:
        node = reached.pop(0)
        for k in evidence.at.get(node, ()):
            passage = evidence.network.passages[k]
            if k in own:
                continue
            if passage.terms:
                out.append((k, node))
                continue
            other = passage.b if passage.a == node else passage.a
            if other not in seen:
                seen.add(other)
                reached.append(other)
    return out


def _weighty(
    telling: Telling, moved: Movement, steps: list[Step], found: Opening, inner: int, by: float
) -> bool:
    """Whether enough air went through before it closed, the other way than the movement."""
    evidence = telling.evidence
    passage = evidence.network.passages[found.passage]
    outward = 1.0 if passage.a == inner else -1.0
    away = outward if moved.rising else -outward
    if found.time <= NOTHING:  # closed as the state began: what it carried is seen from the pressures then
        ahead, behind = (evidence.pressure(n, 0.0) for n in (passage.a, passage.b))
        return away * (ahead - behind) > EMPTY
    last = min(found.time, max(moved.begin, NOTHING))  # it may have closed slowly: before that began to tell
    start = max(0.0, last - AROUND)
    first = max(found.time, moved.begin)
    stop = min(by, first + AROUND)
    before = away * evidence.net(found.passage, start, last) / (last - start)
    after = max(abs(evidence.net(step.passage, first, stop)) for step in steps) / (stop - first)
    return before > SHARE * after
