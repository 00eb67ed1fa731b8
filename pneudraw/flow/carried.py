"""Which passages of a run carried air that mattered: the importance rule.

A passage *carries* when air went through it and a fair share of some real receiver's air came that way; small
sympathetic flows (a supply line breathing as its reservoir droops) are in the numbers but not in the picture.
"""

from __future__ import annotations

from pneudraw.flow.plumbing import ATMOSPHERE, Origin
from pneudraw.flow.run import Run

PRESSURISED = 0.1  # bar above atmosphere, and the change that counts as arrival or raising
LEAST_FLOW = 1e-3  # dm3: less went through than can be told from nothing
LEAST_VENT = 0.02  # dm3 for an exhaust to be worth telling
LEAST_GAIN = 0.01  # dm3 a receiver must have gained
RECEIVED = 0.3  # bar a receiver must have risen
IMPORTANT = 0.05  # share of a receiver's air


class Flows:
    """Which passages carry, by the importance rule, and which belong to what; worked out once per trace.

    ``of``: the passages of each part and line; ``at``: those that begin or end at each node.
    """

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
        self.of: dict[str, list[int]] = {}
        self.at: list[list[int]] = [[] for _ in network.nodes]
        for k, (passage, origin) in enumerate(zip(network.passages, run.plumbing.origins, strict=True)):
            self.of.setdefault(origin.owner, []).append(k)
            self.at[passage.a].append(k)
            self.at[passage.b].append(k)


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


def outlet(origin: Origin, forward: bool) -> str:
    """The port a person would point at: the exhaust port itself, or the port next to the open atmosphere."""
    if origin.sort == "break":
        return "break"
    outer, inner = (origin.end, origin.start) if forward else (origin.start, origin.end)
    return inner if outer == ATMOSPHERE else outer
