"""Why a pressure rose or fell no further, or was not lost: the closed passages round what a place is joined to.

Those that closed in this state are told with what closed them; those that were closed already, and behind which
the pressure was lost meanwhile, are told as what kept the air.
"""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.flow.causes import Kept
from pneudraw.flow.chain import (
    EMPTY,
    PRESSURE,
    AboutMovement,
    Question,
    Step,
    Telling,
    input_name,
)
from pneudraw.flow.evidence import EARLIER, SHUT, Movement, Opening, pressures_of
from pneudraw.flow.openings import tell_turn
from pneudraw.flow.shutways import blocking, needs_of, stand_of_input

SOME_AIR = 0.02  # dm3: less did not fill or empty anything
SHARE = 0.2  # of the most that went in or out anywhere
MOST = 2 / 3  # of a pressure that must be left for it to count as kept
MOST_KEPT = 2  # closed passages told that kept a pressure
DEEPEST = 4  # passages that balance, one behind the other


@dataclass(frozen=True)
class _Edge:
    """A closed passage at the rim of what is joined: ``inner`` belongs to it, ``net`` [dm3 ANR] went in through it.

    Of an open way to the atmosphere only what went through counts.
    """

    passage: int
    inner: int
    outer: int
    closed: Opening | None
    net: float


def tell_limits(telling: Telling, node: int) -> Question | None:
    """Tell what ended the last movement of a node, or else what kept its air; nothing if nothing closed."""
    evidence = telling.evidence
    moved = evidence.movement(node, evidence.end)
    edges = _rim(telling, node)
    question = None if moved is None else _tell_end(telling, node, edges, moved, 0)
    if telling.causes or (moved is not None and moved.rising):
        return question
    now, then = (telling.gauge(evidence.pressure(node, t)) for t in (evidence.end, 0.0))
    kept = _kept(telling, node, edges) if now > MOST * then else []
    return _tell_kept(telling, kept) if kept else None


def _rim(telling: Telling, node: int) -> list[_Edge]:
    """The closed passages round what is joined to a node by open ones at the end, the nearest first."""
    evidence, end = telling.evidence, telling.evidence.end
    joined, queue = {node}, [node]
    closed: dict[int, int] = {}
    while queue:
        at = queue.pop(0)
        for k in evidence.at.get(at, ()):
            passage = evidence.network.passages[k]
            other = passage.b if passage.a == at else passage.a
            if evidence.opening(k)[-1] <= SHUT or not other:
                closed.setdefault(k, at)
            elif other not in joined:
                joined.add(other)
                queue.append(other)
    edges = []
    for k, inner in closed.items():
        passage = evidence.network.passages[k]
        outer = passage.b if passage.a == inner else passage.a
        if outer in joined:
            continue
        net = evidence.net(k, 0.0, end) * (1.0 if passage.b == inner else -1.0)
        edges.append(_Edge(k, inner, outer, evidence.closed(k, end), net))
    return edges


# --- kept -------------------------------------------------------------------------------------------


def _kept(telling: Telling, node: int, edges: list[_Edge]) -> list[_Edge]:
    """The closed passages behind which a pressure was lost that had been much the same as here; the nearest."""
    evidence = telling.evidence
    here, began = (evidence.pressure(node, t) for t in (evidence.end, 0.0))
    out: list[_Edge] = []
    for edge in edges:
        if edge.outer == 0 or telling.gauge(here) <= EMPTY or _signals(telling, edge.outer):
            continue
        then, now = (evidence.pressure(edge.outer, t) for t in (0.0, evidence.end))
        lost = abs(then - began) < PRESSURE and then - now > PRESSURE and here - now > PRESSURE
        if lost and all(edge.outer != other.outer for other in out):
            out.append(edge)
    return out[:MOST_KEPT]


def _signals(telling: Telling, node: int) -> bool:
    """Whether a node belongs to a control line: its little air is spent and given anew, which is no loss."""
    place = telling.places[node]
    line = telling.run.circuit.line_at(place.tag, place.name) if place.sort == "port" else None
    return line is not None and line.control


def _tell_kept(telling: Telling, kept: list[_Edge]) -> Question | None:
    evidence, end = telling.evidence, telling.evidence.end
    for edge in kept:
        term = blocking(telling, edge.passage)
        needs, level = ((), 0.0) if term is None else needs_of(telling, edge.passage, term, end)
        beyond = (telling.reading(edge.outer, 0.0), telling.reading(edge.outer, end))
        time = None if edge.closed is None else edge.closed.time
        passage = evidence.network.passages[edge.passage]
        way = telling.way(Step(edge.passage, passage.a, passage.b))
        telling.causes.append(Kept(way, time, beyond, needs, level))
    lost = evidence.movement(kept[0].outer, end)
    return None if lost is None else AboutMovement(lost)


# --- no further -------------------------------------------------------------------------------------


def _tell_end(
    telling: Telling, node: int, edges: list[_Edge], moved: Movement, depth: int
) -> Question | None:
    """Tell the passage that closed last of those which had filled a place (or emptied it), and what closed it."""
    evidence, end = telling.evidence, telling.evidence.end
    here = evidence.pressure(node, end)
    least = max(SOME_AIR, SHARE * max((abs(edge.net) for edge in edges), default=0.0))
    found: list[tuple[float, int, _Edge, Opening, str]] = []
    for edge in edges:
        if edge.closed is None or edge.closed.time < moved.begin - EARLIER:
            continue
        if evidence.helper(edge.closed, closing=True) is None:
            continue
        pump = evidence.network.passages[edge.passage].displacement is not None
        far = evidence.pressure(edge.outer, end)
        if edge.net > (SOME_AIR if pump else least) and (pump or far > here + PRESSURE):
            found.append((edge.closed.time, -edge.passage, edge, edge.closed, "no-more-in"))
        elif edge.net < -least and not moved.rising and far < here - PRESSURE:
            found.append((edge.closed.time, -edge.passage, edge, edge.closed, "no-more-out"))
    if not found:
        return None
    _, _, edge, closed, effect = max(found, key=lambda one: one[:2])
    pump = evidence.network.passages[edge.passage].displacement is not None
    ends = (edge.outer, edge.inner) if effect == "no-more-in" else (edge.inner, edge.outer)
    helper = evidence.helper(closed, closing=True)
    assert helper is not None
    beyond = None if pump else telling.reading(edge.outer, end)
    question = tell_turn(telling, Step(edge.passage, *ends), closed, effect, beyond)
    if helper.sort != "pressure" or helper.index != edge.inner or depth >= DEEPEST:
        return question
    return _against(telling, edge, closed, depth)


def _against(telling: Telling, edge: _Edge, closed: Opening, depth: int) -> Question | None:
    """Where the place itself closed the passage, as at lap: go on with what it is balanced against."""
    evidence = telling.evidence
    term = evidence.network.passages[edge.passage].terms[closed.term]
    tag = telling.run.plumbing.origins[edge.passage].owner
    for signal, _ in term.signals:
        stand_of_input(telling, tag, input_name(telling, tag, signal))
        return None
    for node, _ in pressures_of(evidence.network, term):
        moved = evidence.movement(node, evidence.end)
        if node in (edge.inner, edge.outer) or moved is None:
            continue
        before = len(telling.causes)
        question = _tell_end(telling, node, _rim(telling, node), moved, depth + 1)
        return question if len(telling.causes) > before else AboutMovement(moved)
    return None
