"""Whether a network makes sense: numbers in range, indices that exist. Its builder must not let it be otherwise."""

from __future__ import annotations

import math

from pneudraw.flow.network import Network, Passage


def validate(network: Network) -> None:
    """Raise ValueError, naming the culprit, if the network makes no sense; its builder must not let that happen."""
    for node in network.nodes:
        if not math.isfinite(node.volume):
            raise _senseless(node.name, "volume must be finite")
        if not node.exponent >= 1.0:
            raise _senseless(node.name, "polytropic exponent must be at least 1")
        for low, high, dv in node.ramps:
            if not (high > low and dv >= 0.0):
                raise _senseless(node.name, "a ramp must widen upwards")
    count, states = len(network.nodes), len(network.nodes) + len(network.pistons)
    for passage in network.passages:
        fault = _wrong(passage, count, states)
        if fault:
            raise _senseless(passage.name, fault)
    for piston in network.pistons:
        if not (piston.friction > 0.0 and piston.length > 0.0):
            raise _senseless(piston.name, "needs friction and length")
    validate_start(network)


def validate_start(network: Network) -> None:
    """The same for what differs between the states of a circuit: where they start, and what is done."""
    for node in network.nodes:
        if not 0.0 < node.pressure0 < math.inf:
            raise _senseless(node.name, "pressure must be above 0")
    for memory in network.memories:
        if memory.start not in (0, 1):
            raise _senseless(memory.name, "starts at 0 or 1")
    for signal in network.signals:
        times = [t for t, _ in signal.points]
        if times != sorted(times):
            raise _senseless(signal.name, "points must be in order of time")


def _senseless(name: str, what: str) -> ValueError:
    return ValueError(f"`{name}`: {what}")


def _wrong(passage: Passage, nodes: int, states: int) -> str:
    """Say what is wrong with a passage, or nothing."""
    pump = passage.displacement
    if not (0 <= passage.a < nodes and 0 <= passage.b < nodes and passage.a != passage.b):
        return "has no such ends"
    if passage.combine not in ("all", "any"):
        return "combines `all` or `any`"
    if not (0.0 <= passage.low <= 1.0 and 0.0 <= passage.high <= 1.0):
        return "openings are 0 to 1"
    if not 0.0 <= passage.conductance < math.inf:
        return "bad conductance"
    if not 0.0 <= passage.ratio < 1.0:
        return "critical pressure ratio is 0 to 1"
    if not 0.2 <= passage.index <= 1.0:
        return "subsonic index is 0.2 to 1"
    if pump is not None and not pump.rate >= 0.0:
        return "bad displacement rate"
    if pump is not None and not pump.falloff >= 0.0:
        return "bad displacement falloff"
    for term in passage.terms:
        if not term.band > 0.0:
            return "a band must be above 0"
        for state, _ in term.weights:
            if not 0 <= state < states:
                return "a term names no state"
    return ""
