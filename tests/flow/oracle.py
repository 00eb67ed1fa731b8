"""Another solver of the same networks: scipy's Radau on equations written afresh, without the tested package's laws.

Pressures are integrated, not stored air; the flow is the plain ellipse, linear only in the last 1e-5 below equal
pressures; memories flip at scipy's events. Rigid and swelling volumes at constant temperature, no pistons.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

from pneudraw.flow.network import Network, Term, Trigger


def _ramp(z: float) -> float:
    z = min(1.0, max(0.0, z))
    return z * z * (3.0 - 2.0 * z)


def _phi(r: float, b: float, m: float) -> float:
    if r <= b:
        return 1.0
    edge = 1.0 - 1e-5
    if r > edge:
        return (1.0 - r) / 1e-5 * _phi(edge, b, m)
    return float((1.0 - ((r - b) / (1.0 - b)) ** 2) ** m)


class Oracle:
    """A network, its memories, and what happened to them."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.memories = [memory.start for memory in network.memories]
        self.flips: list[tuple[float, int, int]] = []

    def form(self, form: Term | Trigger, t: float, p: np.ndarray) -> float:
        total = form.constant + sum(w * p[i] for i, w in form.weights)
        for s, w in form.signals:
            times, values = zip(*self.network.signals[s].points, strict=True)
            total += w * float(np.interp(t, times, values))
        return total + sum(w * self.memories[i] for i, w in form.memories)

    def flow(self, k: int, t: float, p: np.ndarray) -> float:
        passage = self.network.passages[k]
        opening = passage.high
        if passage.terms:
            ramps = [_ramp(self.form(term, t, p) / term.band) for term in passage.terms]
            share = max(ramps) if passage.combine == "any" else float(np.prod(ramps))
            opening = passage.low + (passage.high - passage.low) * share
        pa, pb = p[passage.a], p[passage.b]
        if passage.displacement is not None:
            pump = passage.displacement
            return opening * pump.rate * max(0.0, 1.0 - pump.falloff * (pb / pa - 1.0))
        p1, p2 = max(pa, pb), min(pa, pb)
        size = opening * passage.conductance * p1 * _phi(p2 / p1, passage.ratio, passage.index)
        return size if pa >= pb else -size

    def rates(self, t: float, p: np.ndarray) -> np.ndarray:
        total = np.zeros(len(p))
        for k, passage in enumerate(self.network.passages):
            q = self.flow(k, t, p)
            total[passage.a] -= q
            total[passage.b] += q
        for i, node in enumerate(self.network.nodes):
            v, slope = max(node.volume, 1e-3), 0.0
            for low, high, dv in node.ramps:
                z = min(1.0, max(0.0, (p[i] - low) / (high - low)))
                v += dv * _ramp(z)
                slope += dv * 6.0 * z * (1.0 - z) / (high - low)
            total[i] = 0.0 if node.fixed else total[i] / (v + p[i] * slope)
        return total

    def run(self, horizon: float, at: list[float]) -> np.ndarray:
        """Return pressures at the times ``at`` (times, nodes)."""
        p = np.array([node.pressure0 for node in self.network.nodes])
        stops = sorted(
            {t for s in self.network.signals for t, _ in s.points if 0.0 < t < horizon} | {horizon}
        )
        t, out = 0.0, np.zeros((len(at), len(p)))
        while t < horizon:
            armed = [
                (index, trigger)
                for index, memory in enumerate(self.network.memories)
                for trigger in (memory.to_zero if self.memories[index] else memory.to_one)
            ]
            events = []
            for _, trigger in armed:

                def event(t: float, p: np.ndarray, trigger: Trigger = trigger) -> float:
                    return self.form(trigger, t, p)

                event.terminal = True  # type: ignore[attr-defined]
                event.direction = 1.0  # type: ignore[attr-defined]
                events.append(event)
            stop = next(s for s in stops if s > t)
            run = solve_ivp(
                self.rates, (t, stop), p, "Radau", rtol=1e-8, atol=1e-9, events=events, dense_output=True
            )
            assert run.success
            for row, when in enumerate(at):
                if t <= when <= run.t[-1]:
                    out[row] = run.sol(when)
            t, p = float(run.t[-1]), run.y[:, -1]
            for (index, _), times in zip(armed, run.t_events or [], strict=True):
                if len(times):
                    self.memories[index] = 1 - self.memories[index]
                    self.flips.append((t, index, self.memories[index]))
        return out
