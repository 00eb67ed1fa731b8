"""The way of the air in a movement: backwards to where it came from, onwards to where it went."""

from __future__ import annotations

from pneudraw.flow.causes import Way
from pneudraw.flow.chain import Step, Telling
from pneudraw.flow.evidence import Movement

OWN_STORE = 0.3  # share of what a chamber gave that must be its own air for the way to begin there
SOME_AIR = 1e-4  # dm3: less does not show a way


def ways_of(telling: Telling, steps: list[Step]) -> tuple[Way, ...]:
    """Return the passages of steps that were collected backwards, in the order of the air; pipes left out."""
    origins = telling.run.plumbing.origins
    return tuple(telling.way(step) for step in reversed(steps) if origins[step.passage].sort != "tube")


def upstream(telling: Telling, moved: Movement) -> list[Step]:
    """Return the way of the air that filled a node, backwards: always the strongest inflow, to a chamber that gave
    its own."""
    return _along(telling, moved, inward=True)


def downstream(telling: Telling, moved: Movement) -> list[Step]:
    """Return the way of the air that left a node: always the strongest outflow, to the open or to a chamber that kept
    it."""
    return _along(telling, moved, inward=False)


def _along(telling: Telling, moved: Movement, inward: bool) -> list[Step]:
    """The strongest flow from node to node, against the air (``inward``) or with it, until the open or a chamber whose
    own air it is."""
    sign, ends = (1.0, _gave_own) if inward else (-1.0, _kept)
    steps: list[Step] = []
    node, seen = moved.node, {moved.node}
    while True:
        flows = [(sign * g, -k, other) for g, k, other in _flows(telling, node, moved) if other not in seen]
        strength, k, other = max(flows, default=(0.0, 0, 0))
        if strength <= SOME_AIR:
            return steps
        steps.append(Step(-k, other, node) if inward else Step(-k, node, other))
        if other == 0 or ends(telling, other, moved):
            return steps
        seen.add(other)
        node = other


def _flows(telling: Telling, node: int, moved: Movement) -> list[tuple[float, int, int]]:
    """Air into a node (positive) during a movement, by passage, with the node at its other end."""
    evidence = telling.evidence
    out = []
    for k in evidence.at.get(node, ()):
        passage = evidence.network.passages[k]
        net = evidence.net(k, moved.begin, moved.end)
        out.append((net, k, passage.a) if passage.b == node else (-net, k, passage.b))
    return out


def _gave_own(telling: Telling, node: int, moved: Movement) -> bool:
    flows = [g for g, _, _ in _flows(telling, node, moved)]
    given, lost = -sum(g for g in flows if g < 0), -sum(flows)
    return _is_chamber(telling, node) and lost > OWN_STORE * given and given > 0


def _kept(telling: Telling, node: int, moved: Movement) -> bool:
    flows = [g for g, _, _ in _flows(telling, node, moved)]
    taken, won = sum(g for g in flows if g > 0), sum(flows)
    return _is_chamber(telling, node) and won > OWN_STORE * taken and taken > 0


def _is_chamber(telling: Telling, node: int) -> bool:
    return telling.places[node].sort == "chamber"
