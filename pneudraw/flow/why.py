"""Why a pressure is what it is: causes followed backwards to an operator's input, a fault or a standing pressure.

The air is followed first: where it came from, or where it went. Of what opened on its way, or closed beside it, the
last is the cause; what turned it is a pressure (followed in its turn), a memory or an input. Where no air came, the
closed passage between the place and the nearest pressure is looked for, and what it waits for. Then the limits: what
closed (or stayed closed) so that it went no further.

No kind is known here: only passages, conditions, memories, inputs and faults.
"""

from __future__ import annotations

from typing import assert_never

from pneudraw.flow.airways import upstream, ways_of
from pneudraw.flow.causes import Vented, Why
from pneudraw.flow.chain import (
    EMPTY,
    AboutEmptiness,
    AboutMemory,
    AboutMovement,
    AboutPressure,
    Question,
    Step,
    Telling,
)
from pneudraw.flow.evidence import Evidence, Movement
from pneudraw.flow.limits import tell_limits
from pneudraw.flow.openings import cause_of_way, tell_memory, tell_movement, tell_turn
from pneudraw.flow.places import Place, node_of, places_of
from pneudraw.flow.run import Run
from pneudraw.flow.shutways import tell_empty, tell_holding

VENT = 0.02  # dm3 that make an exhaust worth explaining


def why(run: Run, place: Place) -> Why:
    """Return the causes of the pressure at a place at the end of a run; for an open port, of the air that left."""
    evidence, places = Evidence(run), places_of(run.plumbing)
    node, end = node_of(run.plumbing, place), evidence.end
    telling, limits = Telling(evidence, places), Telling(evidence, places)
    if node == 0:
        _follow(telling, _open_port(telling, place))
    else:
        _follow(telling, AboutPressure(node, end))
        _follow(limits, tell_limits(limits, node))
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
        tuple(limits.causes),
        run.doubts,
        run.unsure,
    )


def _follow(telling: Telling, question: Question | None) -> None:
    """Answer a question, and those that its answers raise."""
    while question is not None:
        match question:
            case AboutPressure(node, time):
                question = _pressure(telling, node, time)
            case AboutMovement(moved):
                question = tell_movement(telling, moved)
            case AboutEmptiness(node, time):
                question = tell_empty(telling, node, time)
            case AboutMemory(memory, by):
                question = tell_memory(telling, memory, by)
            case _:
                assert_never(question)


def _pressure(telling: Telling, node: int, time: float) -> Question | None:
    """Explain a node at a time: it moved, it holds, or it is empty."""
    moved = telling.evidence.movement(node, time)
    if moved is not None:
        return AboutMovement(moved)
    if telling.gauge(telling.evidence.pressure(node, time)) > EMPTY:
        tell_holding(telling, node, time)
        return None
    return AboutEmptiness(node, time)


def _open_port(telling: Telling, place: Place) -> Question | None:
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
        return None
    evidence = telling.evidence
    whole = Movement(
        inner, 0.0, evidence.end, evidence.pressure(inner, 0.0), evidence.pressure(inner, evidence.end)
    )
    steps = [Step(-k, inner, 0), *upstream(telling, whole)]
    telling.causes.append(Vented(str(place), litres, ways_of(telling, steps), telling.name(steps[-1].start)))
    opening = evidence.opened(-k, evidence.end)
    if opening is not None and evidence.helper(opening) is not None:
        return tell_turn(telling, steps[0], opening)
    return cause_of_way(telling, whole, steps, evidence.end, rising=True)
