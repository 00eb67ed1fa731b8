"""What the flow solver is given: nodes, passages, pistons, memories and signals, and nothing about parts.

Units: bar absolute, dm3, dm3(ANR), s, dm; ANR is the reference atmosphere of ISO 8778 (1 bar, 20 C), so that a rigid
volume in dm3 is also its capacity in dm3(ANR)/bar. Every threshold is absolute.

A *state* is what a weight or an area refers to: state ``i`` is the pressure of node ``i`` [bar], and state
``len(nodes) + j`` is the position of piston ``j`` [dm].
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: smallest volume of a node [dm3]; a zero volume has no equation of its own, so one millilitre is enforced
SMALLEST_VOLUME = 1e-3

Weights = tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Node:
    """A place of one pressure.

    ``volume`` [dm3] grows by ``dv * S((p - p_lo) / (p_hi - p_lo))`` for every ramp ``(p_lo, p_hi, dv)``, with the
    smooth ramp S(z) = z*z*(3 - 2z) held at 0 and 1 outside. ``fixed``: the pressure stays at ``pressure0``
    (the atmosphere, an ideal source). ``exponent`` is the polytropic exponent of the stored air, 1 for air at
    ambient temperature; other values take the air to be at ambient at ``pressure0``.
    """

    name: str
    volume: float
    ramps: tuple[tuple[float, float, float], ...] = ()
    exponent: float = 1.0
    fixed: bool = False
    pressure0: float = 1.01325


@dataclass(frozen=True)
class Term:
    """One condition: z = (sum w*state + constant + sum w*signal + sum w*memory) / band, opening S(z)."""

    weights: Weights
    constant: float = 0.0
    signals: Weights = ()
    memories: Weights = ()
    band: float = 0.1


@dataclass(frozen=True)
class Displacement:
    """A compressor: ``q = rate * max(0, 1 - falloff * (p_b / p_a - 1))``, ``rate`` [dm3(ANR)/s] at p_b = p_a.

    Of air thinner than a hundredth of a bar it takes less, and none below 2 mbar, so that a shut intake is not
    drawn beyond a vacuum.
    """

    rate: float
    falloff: float


@dataclass(frozen=True)
class Passage:
    """A flow path between nodes ``a`` and ``b``, its flow counted positive from a to b.

    Flow by ISO 6358: sonic ``conductance`` [dm3/(s.bar)], critical pressure ``ratio``, subsonic ``index``; times the
    opening ``low + (high - low) * C``, where C is the product (``combine="all"``) or the maximum (``"any"``) of the
    terms' ramps, and 1 without terms. With a ``displacement`` the flow is that of a compressor drawing from ``a``.
    """

    name: str
    a: int
    b: int
    conductance: float = 0.0
    ratio: float = 0.3
    index: float = 0.5
    terms: tuple[Term, ...] = ()
    combine: str = "all"
    low: float = 0.0
    high: float = 1.0
    displacement: Displacement | None = None


@dataclass(frozen=True)
class Piston:
    """A massless piston with viscous friction: friction * dx/dt = sum(area * p) + load - spring * x - stop.

    ``areas`` [dm2] are signed: pressure at a positive area pushes x up, and x adds ``area * x`` to the node's volume,
    so a rod-side node's own volume is its volume at x = 0. Forces in bar.dm2 (1 kN); ``friction`` [kN.s/dm],
    ``spring`` and ``stop`` [kN/dm]; the stop acts outside 0..``length`` [dm]. ``load`` contains the force of the
    atmosphere on the rod; ``signals`` are added to it. A levelling valve's height is a piston of one area.
    """

    name: str
    areas: Weights
    length: float
    friction: float
    load: float = 0.0
    signals: Weights = ()
    spring: float = 0.0
    stop: float = 1000.0
    position0: float = 0.0


@dataclass(frozen=True)
class Trigger:
    """A linear form that fires when it is above zero."""

    weights: Weights
    constant: float = 0.0
    signals: Weights = ()
    memories: Weights = ()


@dataclass(frozen=True)
class Memory:
    """A two-state latch; any trigger of ``to_one`` (``to_zero``) sets it to 1 (0) at the instant it fires."""

    name: str
    start: int
    to_one: tuple[Trigger, ...] = ()
    to_zero: tuple[Trigger, ...] = ()


@dataclass(frozen=True)
class Signal:
    """An input over time: straight lines between ``(t, value)`` points, constant outside; two points at one
    time jump."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Command:
    """The operator sets a memory at a time; its triggers are tested straight after, so a knob may spring back."""

    time: float
    memory: int
    value: int


@dataclass(frozen=True)
class Network:
    """The whole of what is solved. Indices in passages, weights and commands are positions in these tuples."""

    nodes: tuple[Node, ...]
    passages: tuple[Passage, ...]
    memories: tuple[Memory, ...] = ()
    signals: tuple[Signal, ...] = ()
    commands: tuple[Command, ...] = ()
    pistons: tuple[Piston, ...] = ()


def ramp(z: float) -> float:
    """Return the smooth ramp S(z): 0 below 0, z*z*(3 - 2z), 1 above 1."""
    if z <= 0.0:
        return 0.0
    return 1.0 if z >= 1.0 else z * z * (3.0 - 2.0 * z)


def argument(
    term: Term, states: Sequence[float], signals: Sequence[float], latches: Sequence[float]
) -> float:
    """Return z of a term, from the values of all states, signals and memories."""
    total = term.constant
    for values, weights in ((states, term.weights), (signals, term.signals), (latches, term.memories)):
        for index, weight in weights:
            total += weight * values[index]
    return total / term.band


def opening(
    passage: Passage, states: Sequence[float], signals: Sequence[float], latches: Sequence[float]
) -> float:
    """Return the opening of a passage, 0..1, from the values of all states, signals and memories."""
    ramps = [ramp(argument(term, states, signals, latches)) for term in passage.terms]
    if not ramps:
        return passage.high
    combined = max(ramps) if passage.combine == "any" else math.prod(ramps)
    return passage.low + (passage.high - passage.low) * combined


def signal_at(signal: Signal, time: float, after: bool = True) -> tuple[float, float]:
    """Return value and slope [1/s] of a signal at a time, on the later (``after``) or earlier side of a corner.

    Points must be in order of time; a signal without points is 0.
    """
    points = signal.points
    if not points:
        return 0.0, 0.0
    place = 0
    for place, (t, _) in enumerate(points):  # noqa: B007 - the place is wanted
        if t > time or (not after and t >= time):
            break
    else:
        return points[-1][1], 0.0
    if place == 0:
        return points[0][1], 0.0
    (t0, v0), (t1, v1) = points[place - 1], points[place]
    slope = (v1 - v0) / (t1 - t0) if t1 > t0 else 0.0
    return v0 + slope * (time - t0), slope


def corners(network: Network) -> tuple[float, ...]:
    """Return the times above 0 at which a signal has a point or a command is given, sorted, each once."""
    times = [t for signal in network.signals for t, _ in signal.points]
    times += [command.time for command in network.commands]
    return tuple(sorted({float(t) for t in times if t > 0.0}))
