"""What the flow solver gives back, and questions asked of it.

Units as in :mod:`pneudraw.flow.network`: bar absolute, dm3(ANR), s. Rows are the integrator's steps; where an
input has
a corner or a memory flips there are two rows of one time, before and after.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pneudraw.flow import laws
from pneudraw.flow.flatten import model_of
from pneudraw.flow.network import Network, Passage, Term, argument

Array = npt.NDArray[np.float64]
#: bar that a cubic may swing beyond its two ends, on top of what a monotone cubic may; see `pressure_at`
SWING = 0.05


@dataclass(frozen=True)
class Flip:
    """A memory that changed: when, which, and to what. The time is interpolated to the crossing of its threshold."""

    time: float
    memory: int
    value: int


@dataclass(frozen=True)
class Counters:
    """How hard the solver worked."""

    steps: int
    rejected: int
    iterations: int
    factorisations: int
    compiled: bool


@dataclass(frozen=True, eq=False)
class Solution:
    """A run.

    Attributes
    ----------
    times : (rows,) [s], not falling
    pressures, rates : (rows, nodes) [bar abs], [bar/s]
    positions, speeds : (rows, pistons) [dm], [dm/s]
    signals : (rows, signals) value of each input
    latches : (rows, memories) 0 or 1
    net, forward, backward : (passages,) air that went through [dm3 ANR]: net = forward - backward, a to b positive,
        summed with the integrator's own weights, so that it balances the stored air
    flow_end : (passages,) flow in the last step [dm3(ANR)/s], before a flip that ended the run
    memories : final value of each memory; ``flips`` their history
    status : ``equilibrium`` (nothing moved for a while), ``horizon`` (time ran out), ``event`` (the memory to stop at
        flipped), ``stalled`` (gave up; ``message`` names where)
    """

    times: Array
    pressures: Array
    rates: Array
    positions: Array
    speeds: Array
    signals: Array
    latches: npt.NDArray[np.int64]
    net: Array
    forward: Array
    backward: Array
    flow_end: Array
    memories: tuple[int, ...]
    flips: tuple[Flip, ...]
    status: str
    message: str
    counters: Counters


@dataclass(frozen=True)
class Change:
    """The first time one term of a passage moved: ``opened`` (left 0), ``closed`` (left 1) or ``moved`` (from
    between)."""

    time: float
    passage: int
    term: int
    kind: str


def _row(solution: Solution, time: float) -> int:
    """Return the row that starts the step containing ``time``; of two rows of one time, the later."""
    row = bisect.bisect_right(solution.times, time) - 1
    return max(0, min(row, len(solution.times) - 1))


def _cubic(h: float, p0: float, p1: float, m0: float, m1: float) -> tuple[float, float, float, float]:
    """Return the coefficients of s = 0..1 of the Hermite cubic, with slopes [1/s] held back from swinging out."""
    secant = (p1 - p0) / h
    low, high = min(0.0, 3.0 * secant) - SWING / h, max(0.0, 3.0 * secant) + SWING / h
    m0, m1 = h * min(max(m0, low), high), h * min(max(m1, low), high)
    return p0, m0, 3.0 * (p1 - p0) - 2.0 * m0 - m1, 2.0 * (p0 - p1) + m0 + m1


def _step_cubic(solution: Solution, row: int, node: int) -> tuple[float, tuple[float, float, float, float]]:
    h = float(solution.times[row + 1] - solution.times[row])
    p, m = solution.pressures, solution.rates
    return h, _cubic(
        h, float(p[row, node]), float(p[row + 1, node]), float(m[row, node]), float(m[row + 1, node])
    )


def pressure_at(solution: Solution, node: int, time: float) -> float:
    """Return a node's pressure [bar abs] at a time, by cubic Hermite between steps; constant outside the run.

    Straight lines between the adaptive steps would be wrong by up to 0.1 bar. Where a slope would make the
    cubic leave the
    range of its two ends by more than a little it is held back: some 1 mL nodes' slopes are ill-determined.
    """
    row = _row(solution, time)
    if time <= solution.times[0] or row + 1 >= len(solution.times):
        return float(solution.pressures[0 if time <= solution.times[0] else -1, node])
    h, (c0, c1, c2, c3) = _step_cubic(solution, row, node)
    s = (time - float(solution.times[row])) / h
    return c0 + s * (c1 + s * (c2 + s * c3))


def first_crossing(solution: Solution, node: int, level: float, after: float = 0.0) -> float | None:
    """Return the first time from ``after`` on that a node's pressure passes ``level`` [bar abs], either way;
    None if never."""
    start = pressure_at(solution, node, after)
    below = start < level
    for row in range(_row(solution, after), len(solution.times) - 1):
        t0, t1 = float(solution.times[row]), float(solution.times[row + 1])
        if t1 <= t0 or t1 <= after:
            continue
        end = float(solution.pressures[row + 1, node])
        if end != level and (end < level) == below:
            continue
        h, (c0, c1, c2, c3) = _step_cubic(solution, row, node)
        low, high = max(0.0, (after - t0) / h), 1.0
        for _ in range(50):
            s = 0.5 * (low + high)
            value = c0 + s * (c1 + s * (c2 + s * c3))
            low, high = (s, high) if value != level and (value < level) == below else (low, s)
        return t0 + high * h
    return None


def first_time(solution: Solution, node: int, delta: float) -> float | None:
    """Return when a node's pressure was first more than ``delta`` [bar] away from its start: the arrival of air.

    Steps are looked at by their ends: an excursion past the level that is over before a step ends is not seen. The
    step control resolves whatever moves a pressure by more than its tolerance, so such a one is hardly above the level.
    """
    start = float(solution.pressures[0, node])
    found = [first_crossing(solution, node, start + sign * delta) for sign in (1.0, -1.0)]
    times = [t for t in found if t is not None]
    return min(times) if times else None


def stored_air(network: Network, pressures: Any, positions: Any = ()) -> tuple[float, ...]:
    """Return the stored air of each node [dm3 ANR] at given pressures [bar abs] and piston positions [dm]."""
    model = model_of(network)
    y = [*(float(p) for p in pressures), *(float(x) for x in positions)]
    mass, capacity, volume = ([0.0] * len(y) for _ in range(3))
    laws.store(model, y, mass, capacity, volume)
    return tuple(mass[: len(network.nodes)])


def mass_balance(network: Network, solution: Solution) -> float:
    """Return the largest miss of any node, stored air gained less net inflow [dm3 ANR], over the air that moved.

    What moved is the stored air or the air that went through the node, whichever is more, and at least 1 dm3.
    """
    first = stored_air(network, solution.pressures[0], solution.positions[0])
    last = stored_air(network, solution.pressures[-1], solution.positions[-1])
    gain = [b - a for a, b in zip(first, last, strict=True)]
    size = [max(1.0, a, b) for a, b in zip(first, last, strict=True)]
    for k, passage in enumerate(network.passages):
        gain[passage.b] -= float(solution.net[k])
        gain[passage.a] += float(solution.net[k])
    for k, passage in enumerate(network.passages):
        through = float(solution.forward[k] + solution.backward[k])
        for end in (passage.a, passage.b):
            size[end] = max(size[end], through)
    free = [i for i, node in enumerate(network.nodes) if not node.fixed]
    return max((abs(gain[i]) / size[i] for i in free), default=0.0)


def term_values(solution: Solution, term: Term) -> Array:
    """Return a term's ramp S(z), 0..1, at every row: shape (rows,)."""
    z = np.full(len(solution.times), term.constant)
    states = np.concatenate([solution.pressures, solution.positions], axis=1)
    for table, weights in (
        (states, term.weights),
        (solution.signals, term.signals),
        (solution.latches, term.memories),
    ):
        for index, weight in weights:
            z = z + weight * table[:, index]
    z = np.clip(z / term.band, 0.0, 1.0)
    return np.asarray(z * z * (3.0 - 2.0 * z), dtype=np.float64)


def opening_values(solution: Solution, passage: Passage) -> Array:
    """Return a passage's opening, 0..1, at every row: shape (rows,)."""
    rows = len(solution.times)
    if not passage.terms:
        return np.full(rows, passage.high)
    values = np.stack([term_values(solution, term) for term in passage.terms])
    combined = values.max(axis=0) if passage.combine == "any" else values.prod(axis=0)
    return np.asarray(passage.low + (passage.high - passage.low) * combined, dtype=np.float64)


def first_changes(network: Network, solution: Solution, least: float = 1e-6) -> tuple[Change, ...]:
    """Return, in order of time, the first time each term of each passage left where it stood by more than ``least``.

    The time is that of crossing, on a straight line between two steps, which is as fine as the steps are at an
    opening.
    """
    out: list[Change] = []
    for k, passage in enumerate(network.passages):
        for j, term in enumerate(passage.terms):
            values = term_values(solution, term)
            moved = np.nonzero(np.abs(values - values[0]) > least)[0]
            if len(moved) == 0:
                continue
            row = int(moved[0])
            kind = "opened" if values[0] <= least else "closed" if values[0] >= 1.0 - least else "moved"
            out.append(Change(_leaving(solution, term, row), k, j, kind))
    return tuple(sorted(out, key=lambda change: (change.time, change.passage, change.term)))


def _leaving(solution: Solution, term: Term, row: int) -> float:
    """When z left its start side on the way to ``row``: S is flat at its ends, so the line is drawn through z."""

    def z(at: int) -> float:
        states = [*solution.pressures[at].tolist(), *solution.positions[at].tolist()]
        return argument(term, states, solution.signals[at].tolist(), solution.latches[at].tolist())

    t0, t1 = float(solution.times[row - 1]), float(solution.times[row])
    z0, z1 = z(row - 1), z(row)
    edge = 0.0 if z0 <= 0.0 else 1.0 if z0 >= 1.0 else z0
    return t0 + (t1 - t0) * min(1.0, max(0.0, (edge - z0) / (z1 - z0))) if z1 != z0 else t1
