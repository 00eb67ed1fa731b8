"""General-purpose integrators on the networks of the flow solver, for the comparison in `tests.bench.flow_speed`.

They are given the analytic matrix, and their flows and matrix either from numpy, all passages at once, as one would
write them for scipy, or from the very functions of the kernel, compiled. They get one stretch of straight inputs after
the other, no memory flips, and no pistons.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp

from pneudraw.flow import compile as kernels
from pneudraw.flow import kernel, running
from pneudraw.flow.arrays import LAMINAR
from pneudraw.flow.elimination import eliminate
from pneudraw.flow.flatten import work_of
from pneudraw.flow.network import Network, corners
from pneudraw.flow.prepared import Fixed, prepare

Array = npt.NDArray[np.float64]
DH = 1.0  # the kernel's matrix is dM/dy - DH dF/dy
EPS = 1e-6  # bar, for the bend of a chamber's capacity


@dataclass(frozen=True)
class Equations:
    """``rates(p)`` and ``matrix(p)`` of all nodes in the stretch that was begun last with ``begin(t)``; ``at(t)`` sets
    the inputs to a time within it."""

    begin: Callable[[float], None]
    rates: Callable[[float, Array], Array]
    matrix: Callable[[float, Array], Array]


def compiled_equations(network: Network) -> Equations:
    """Return the equations by the kernel's own functions, compiled."""
    scope = kernels.compiled_functions()
    work_out = kernels.entry(_work_out, "void(int64, int64, float64, float64)", scope)
    fixed = prepare(network).fixed
    tables = fixed.arrays, work_of(network, fixed.shape, arrays=True)
    places = [int(table.addresses.ctypes.data) for table in tables]
    work: Any = tables[1].fields

    def compute(t: float, dh: float, kept: object = tables) -> None:  # the arrays live as long as this does
        work_out(places[0], places[1], t, dh)

    begin = _stretches(network, fixed, work)
    free = np.array([not node.fixed for node in network.nodes])
    rows, columns, slots = _slots(network)

    def rates(t: float, p: Array) -> Array:
        work.y1[:] = p
        compute(t, 0.0)
        return np.where(free, np.array(work.f1) / np.array(work.capacity), 0.0)

    def matrix(t: float, p: Array) -> Array:
        work.y1[:] = p + EPS
        compute(t, 0.0)
        bend = np.array(work.capacity)
        work.y1[:] = p
        compute(t, DH)
        capacity = np.array(work.capacity)
        out = np.zeros((len(p), len(p)))
        out[rows, columns] = -np.array(work.a)[slots] / DH / capacity[rows]
        out[np.diag_indices(len(p))] -= np.array(work.f1) * (bend - capacity) / EPS / capacity**2
        out[~free] = 0.0
        return out

    return Equations(begin, rates, matrix)


def _work_out(model: int, work: int, time: float, dh: float) -> None:
    """Compiled: flows and capacities at y1."""
    m = model_at(model)  # type: ignore[name-defined]  # noqa: F821
    w = work_at(work)  # type: ignore[name-defined]  # noqa: F821
    line(w.constants, w.term_base, w.term_slope, w.moving, w.lengths[0], time - w.real[3])  # type: ignore[name-defined]  # noqa: F821
    flows(m, w, w.y1, w.constants, dh, w.q1, w.f1, w.a)  # type: ignore[name-defined]  # noqa: F821
    store(m, w.y1, w.mass1, w.capacity, w.volume)  # type: ignore[name-defined]  # noqa: F821


assert kernel.ORIGIN == 3


def _stretches(network: Network, fixed: Fixed, work: Any) -> Callable[[float], None]:
    memories = [memory.start for memory in network.memories]
    run = running.Running(
        network, fixed, fixed.arrays.fields, work, lambda: 0, True, memories, corners(network)
    )

    def begin(t: float) -> None:
        work.real[kernel.TIME] = t
        running.command(run)
        running.begin_stretch(run)
        work.constants[:] = work.term_base

    return begin


def _slots(network: Network) -> tuple[Any, Any, Any]:
    """The places of the kernel's matrix in a full one."""
    free = [not node.fixed for node in network.nodes]
    entries: dict[tuple[int, int], None] = {}
    for passage in network.passages:
        for row in (passage.a, passage.b):
            for column in (passage.a, passage.b, *(s for term in passage.terms for s, _ in term.weights)):
                if free[row] and free[column]:
                    entries[row, column] = None
    plan = eliminate(tuple(i for i, f in enumerate(free) if f), tuple(entries))
    pairs = np.array(list(plan.slot))
    return pairs[:, 0], pairs[:, 1], np.array(list(plan.slot.values()))


def numpy_equations(network: Network) -> Equations:
    """Return the equations in numpy, all passages at once; isothermal, index 0.5."""
    fixed = prepare(network).fixed
    model, work = fixed.arrays.fields, work_of(network, fixed.shape, arrays=True).fields
    begin = _stretches(network, fixed, work)
    n, m = len(network.nodes), len(network.passages)
    most = max((len(p.terms) for p in network.passages), default=0)
    weights, place = np.zeros((most, m, n)), np.full((most, m), -1)
    at = 0
    for k, passage in enumerate(network.passages):
        for i, term in enumerate(passage.terms):
            place[i, k] = at
            at += 1
            for state, weight in term.weights:
                weights[i, k, state] += weight / term.band
    any_of = np.array([p.combine == "any" for p in network.passages])
    a, b = np.array(model.end_a), np.array(model.end_b)
    pump, ratio = np.array(model.pump) == 1, np.array(model.ratio)
    size, low, high = np.array(model.conductance), np.array(model.low), np.array(model.high)
    one, three = np.array(model.laminar1), np.array(model.laminar3)
    free = np.array([not node.fixed for node in network.nodes])
    into = np.zeros((n, m))
    into[a, np.arange(m)] -= 1.0
    into[b, np.arange(m)] += 1.0
    count = [len(node.ramps) for node in network.nodes]
    owner = np.repeat(np.arange(n), count)
    p0, p1, dv = np.array(model.ramp_low), np.array(model.ramp_high), np.array(model.ramp_dv)
    volume = np.array(model.volume)
    base, slope_of = work.term_base, work.term_slope
    none = place < 0

    def openings(t: float, p: Array) -> tuple[Array, Array]:
        """Opening (m,), and its slope for each term (most, m)."""
        since = t - work.real[kernel.ORIGIN]
        z = weights @ p + (base + slope_of * since)[place]
        z = np.clip(z, 0.0, 1.0)
        s, ds = z * z * (3.0 - 2.0 * z), 6.0 * z * (1.0 - z)
        s = np.where(none, np.where(any_of, -1.0, 1.0), s)
        ds = np.where(none, 0.0, ds)
        product, largest = s.prod(axis=0), s.max(axis=0)
        best = s.argmax(axis=0)
        others = np.stack([np.delete(s, i, axis=0).prod(axis=0) for i in range(most)])
        first = np.arange(most)[:, None] == best
        gain = np.where(any_of, np.where(first, ds, 0.0), ds * others)
        total = np.where(any_of, largest, product)
        return low + (high - low) * total, (high - low) * gain

    def flow(p: Array) -> tuple[Array, Array, Array]:
        """Flow at full opening (m,), and its slopes."""
        pa, pb = p[a], p[b]
        forward = pa >= pb
        up, down = np.where(forward, pa, pb), np.where(forward, pb, pa)
        r = down / up
        x = np.clip((r - ratio) / (1.0 - np.minimum(ratio, 0.99)), 0.0, 1.0 - 1e-12)
        phi = np.sqrt(1.0 - x * x)
        slope = -x / (phi * (1.0 - np.minimum(ratio, 0.99)))
        drop = 1.0 - r
        near = r >= LAMINAR
        phi = np.where(near, (one + three * drop * drop) * drop, phi)
        slope = np.where(near, -(one + 3.0 * three * drop * drop), slope)
        q = size * up * phi
        qu, qd = size * (phi - r * slope), size * slope
        eta = 1.0 - ratio * (pb / pa - 1.0)
        pumping = size * np.maximum(eta, 0.0)
        on = pump & (eta > 0.0)
        return (
            np.where(pump, pumping, np.where(forward, q, -q)),
            np.where(pump, on * size * ratio * pb / (pa * pa), np.where(forward, qu, -qd)),
            np.where(pump, -(on * size * ratio / pa), np.where(forward, qd, -qu)),
        )

    def capacity(p: Array) -> Array:
        z = np.clip((p[owner] - p0) / (p1 - p0), 0.0, 1.0)
        v = volume + np.bincount(owner, dv * z * z * (3.0 - 2.0 * z), n)
        return np.asarray(v + p * np.bincount(owner, dv * 6.0 * z * (1.0 - z) / (p1 - p0), n))

    def rates(t: float, p: Array) -> Array:
        s, _ = openings(t, p)
        return np.where(free, into @ (s * flow(p)[0]) / capacity(p), 0.0)

    def matrix(t: float, p: Array) -> Array:
        s, gain = openings(t, p)
        q, qa, qb = flow(p)
        slopes = np.einsum("ik,ikn->kn", gain * q, weights)
        slopes[np.arange(m), a] += s * qa
        slopes[np.arange(m), b] += s * qb
        c = capacity(p)
        out = (into @ slopes) / c[:, None]
        out[np.diag_indices(n)] -= into @ (s * q) * (capacity(p + EPS) - c) / EPS / c**2
        out[~free] = 0.0
        return np.asarray(out)

    return Equations(begin, rates, matrix)


def integrate(
    network: Network, equations: Equations, method: str, tolerance: float, horizon: float, at: Array
) -> Array:
    """Return the pressures [bar] at the times ``at``: (times, nodes)."""
    p = np.array([node.pressure0 for node in network.nodes])
    stops = [t for t in corners(network) if t < horizon] + [horizon]
    out = np.zeros((len(at), len(p)))
    begin = 0.0
    for stop in stops:
        equations.begin(begin)
        run = solve_ivp(
            equations.rates,
            (begin, stop),
            p,
            method,
            jac=equations.matrix,
            rtol=tolerance,
            atol=tolerance,
            dense_output=True,
        )
        assert run.success, run.message
        inside = (at >= begin) & (at <= stop)
        if inside.any():
            out[inside] = run.sol(at[inside]).T
        begin, p = stop, run.y[:, -1]
    return out
