"""Whether a network makes sense: numbers in range, indices that exist. Its builder must not let it be otherwise."""

from __future__ import annotations

import math

from pneudraw.flow.network import Network


def validate(network: Network) -> None:
    """Raise ValueError, naming the culprit, if the network makes no sense; its builder must not let that happen."""
    states = len(network.nodes) + len(network.pistons)

    def need(good: bool, name: str, what: str) -> None:
        if not good:
            raise ValueError(f"`{name}`: {what}")

    for node in network.nodes:
        need(node.pressure0 > 0.0 and math.isfinite(node.pressure0), node.name, "pressure must be above 0")
        need(math.isfinite(node.volume), node.name, "volume must be finite")
        need(node.exponent >= 1.0, node.name, "polytropic exponent must be at least 1")
        for low, high, dv in node.ramps:
            need(high > low and dv >= 0.0, node.name, "a ramp must widen upwards")
    for passage in network.passages:
        name = passage.name
        ends = (passage.a, passage.b)
        need(
            all(0 <= end < len(network.nodes) for end in ends) and passage.a != passage.b,
            name,
            "has no such ends",
        )
        need(passage.combine in ("all", "any"), name, "combines `all` or `any`")
        need(0.0 <= passage.low <= 1.0 and 0.0 <= passage.high <= 1.0, name, "openings are 0 to 1")
        need(passage.conductance >= 0.0 and math.isfinite(passage.conductance), name, "bad conductance")
        need(0.0 <= passage.ratio < 1.0, name, "critical pressure ratio is 0 to 1")
        need(0.2 <= passage.index <= 1.0, name, "subsonic index is 0.2 to 1")
        if passage.displacement is not None:
            need(passage.displacement.rate >= 0.0, name, "bad displacement rate")
            need(passage.displacement.falloff >= 0.0, name, "bad displacement falloff")
        for term in passage.terms:
            need(term.band > 0.0, name, "a band must be above 0")
            need(all(0 <= state < states for state, _ in term.weights), name, "a term names no state")
    for memory in network.memories:
        need(memory.start in (0, 1), memory.name, "starts at 0 or 1")
    for signal in network.signals:
        times = [t for t, _ in signal.points]
        need(times == sorted(times), signal.name, "points must be in order of time")
    for piston in network.pistons:
        need(piston.friction > 0.0 and piston.length > 0.0, piston.name, "needs friction and length")
