"""Questions asked of a run: who moved when, which way the air went meanwhile, when and by what a passage opened or
closed.

Bar absolute inside; nodes, passages and terms by index as in the network.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pneudraw.flow.history import flow_values
from pneudraw.flow.network import Network, Term, Trigger, Weights, argument, opening
from pneudraw.flow.run import Run
from pneudraw.flow.solution import Array, opening_values, pressure_at

LEAST_MOVE = 0.1  # bar: less is no movement worth telling
TURN_SHARE = 0.15  # or this share of the movement, if that is more
SHUT = 1e-3  # opening: less does not show in any pressure
NEARLY = 0.02  # argument of a term below which it is as good as shut
OFF_SEAT = 1e-6  # opening: less is closed for certain
LITTLE = 1e-5  # dm3 of air
EARLIER = 1e-6  # s
PAUSE = 0.2  # s: a term that rested so long before it rose was not opened by what came earlier


def pressures_of(network: Network, term: Term | Trigger) -> Weights:
    """The pressures a term depends on, by node; the positions of pistons, numbered behind them, are left out."""
    return tuple((state, weight) for state, weight in term.weights if state < len(network.nodes))


@dataclass(frozen=True)
class Movement:
    """A node went one way from ``begin`` to ``end`` [s], from ``before`` to ``after`` [bar abs]."""

    node: int
    begin: float
    end: float
    before: float
    after: float

    @property
    def rising(self) -> bool:
        """True if it rose."""
        return self.after > self.before


@dataclass(frozen=True)
class Opening:
    """A passage left its seat at a time, or came back to it; ``term`` decided, ``row`` is the first after that."""

    passage: int
    time: float
    term: int
    row: int


@dataclass(frozen=True)
class Helper:
    """What opened a term, or closed it: a ``pressure``, a ``signal`` or a ``memory``, by index, and how much it did."""

    sort: str
    index: int
    rising: bool
    gain: float
    before: float
    after: float


class Evidence:
    """A run and what is worked out of it, each once."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self.network = run.plumbing.network
        self.times: Array = run.solution.times
        self.pressures: Array = run.solution.pressures
        self._openings: dict[int, Array] = {}
        self._flows: dict[int, Array] = {}
        self.at: dict[int, list[int]] = {}
        for k, passage in enumerate(self.network.passages):
            self.at.setdefault(passage.a, []).append(k)
            self.at.setdefault(passage.b, []).append(k)

    @property
    def end(self) -> float:
        return float(self.times[-1])

    def pressure(self, node: int, time: float) -> float:
        """Pressure of a node [bar abs]."""
        return pressure_at(self.run.solution, node, time)

    def opening(self, k: int) -> Array:
        """Opening of a passage at every row."""
        if k not in self._openings:
            self._openings[k] = opening_values(self.run.solution, self.network.passages[k])
        return self._openings[k]

    def net(self, k: int, begin: float, end: float) -> float:
        """Air that went through a passage between two times [dm3 ANR], a to b positive, by trapezes."""
        if k not in self._flows:
            q = flow_values(self.run.solution, self.network.passages[k])
            steps = np.diff(self.times) * (q[1:] + q[:-1]) / 2
            self._flows[k] = np.concatenate([[0.0], np.cumsum(steps)])
        total = self._flows[k]
        return float(np.interp(end, self.times, total) - np.interp(begin, self.times, total))

    # --- movements ----------------------------------------------------------------------------------

    def movement(self, node: int, time: float) -> Movement | None:
        """Return the last movement of a node of more than 0.1 bar until a time, None if there was none."""
        now = self.pressure(node, time)
        for row in range(self._before(time), -1, -1):
            change = now - float(self.pressures[row, node])
            if abs(change) > LEAST_MOVE:
                # what came after the movement's own end (a slow drift) is not part of it
                return self.since(node, time, change > 0, LEAST_MOVE)
        return None

    def since(self, node: int, time: float, rising: bool, turn: float = 0.02) -> Movement:
        """Follow a movement of known direction back from a time to where it began."""
        sign = 1.0 if rising else -1.0
        now = sign * self.pressure(node, time)
        low, last = now, self._before(time)
        row = last
        while row >= 0:
            value = sign * float(self.pressures[row, node])
            if value > low + max(turn, TURN_SHARE * (now - low)):
                break
            low = min(low, value)
            row -= 1
        near = low + min(0.02, 0.05 * (now - low))
        rows = [r for r in range(row + 1, last + 1) if sign * float(self.pressures[r, node]) <= near]
        begin = float(self.times[rows[-1]]) if rows else time
        return Movement(node, begin, time, sign * low, sign * now)

    def _before(self, time: float) -> int:
        """The last row that is not later than a time."""
        return int(np.searchsorted(self.times, time + 1e-12, side="right")) - 1

    def felt(self, moved: Movement) -> float:
        """When a movement had gone 0.1 bar, or half its way if it is smaller."""
        return self.gone(moved, min(LEAST_MOVE, abs(moved.after - moved.before) / 2))

    def gone(self, moved: Movement, distance: float) -> float:
        """When a movement had gone so far [bar], read off the cubic."""
        target = moved.before + (distance if moved.rising else -distance)
        low, high = moved.begin, moved.end
        for row in range(self._before(low), len(self.times)):
            value = float(self.pressures[row, moved.node])
            if self.times[row] > moved.begin and ((value >= target) if moved.rising else (value <= target)):
                high = min(high, float(self.times[row]))
                low = max(low, float(self.times[row - 1]))
                break
        for _ in range(40):
            middle = (low + high) / 2
            if (self.pressure(moved.node, middle) >= target) is moved.rising:
                high = middle
            else:
                low = middle
        return high

    # --- openings -----------------------------------------------------------------------------------

    def opened(self, k: int, by: float) -> Opening | None:
        """Return when a passage last left its seat before a time; None if it was open from the beginning.

        A memory that was flipped, or an input that jumped, at the very beginning counts as an opening at 0.
        """
        passage = self.network.passages[k]
        values = self.opening(k)
        last = min(self._before(by) + 1, len(self.times) - 1)  # a step that spans ``by`` may have opened it
        for row in range(last, 0, -1):
            if values[row] > OFF_SEAT and values[row - 1] <= OFF_SEAT and self.times[row - 1] <= by:
                time, term = self._crossing(k, row)
                return Opening(k, time, term, row)
        if passage.terms and values[0] > OFF_SEAT and self.at_start(k) <= OFF_SEAT:
            term = min(
                range(len(passage.terms)),
                key=lambda j: (
                    (self._z_start(passage.terms[j]), j)
                    if passage.combine != "any"
                    else (-self._z(passage.terms[j], 0), j)
                ),
            )
            return Opening(k, 0.0, term, 0)
        return None

    def at_start(self, k: int) -> float:
        """Opening before anything was commanded: memories and inputs as they stood."""
        state, signals, memories = self._standing()
        return opening(self.network.passages[k], state, signals, memories)

    def _standing(self) -> tuple[list[float], list[float], list[int]]:
        state = [*self.pressures[0].tolist(), *self.run.solution.positions[0].tolist()]
        signals = [signal.points[0][1] if signal.points else 0.0 for signal in self.network.signals]
        return state, signals, [memory.start for memory in self.network.memories]

    def _z_start(self, term: Term) -> float:
        return argument(term, *self._standing())

    def _z(self, term: Term, row: int) -> float:
        solution = self.run.solution
        state = [*solution.pressures[row].tolist(), *solution.positions[row].tolist()]
        return argument(term, state, solution.signals[row].tolist(), solution.latches[row].tolist())

    def z_end(self, term: Term) -> float:
        """A term's argument at the end of the run: shut at 0, fully open at 1."""
        return self._z(term, len(self.times) - 1)

    def _crossing(self, k: int, row: int) -> tuple[float, int]:
        """When, between two rows, a passage opened, and which of its terms decided."""
        passage = self.network.passages[k]
        t0, t1 = float(self.times[row - 1]), float(self.times[row])
        found: list[tuple[float, int]] = []
        for j, term in enumerate(passage.terms):
            z0, z1 = self._z(term, row - 1), self._z(term, row)
            if z1 > 0.0 and (z0 <= 0.0 or passage.combine != "any"):
                share = 0.0 if z0 >= 1.0 or z1 <= z0 else min(1.0, max(0.0, -z0 / (z1 - z0)))
                found.append((t0 + (t1 - t0) * share if z0 < SHUT else t0 - 1.0, j))
        if not found:
            return t1, 0
        if passage.combine == "any":
            time, j = min(found)
        else:
            time, j = max(found, key=lambda pair: (pair[0], -pair[1]))
        return max(t0, time), j

    def closed(self, k: int, by: float) -> Opening | None:
        """Return when a passage that is closed at a time last closed; None if it is open, or was never so until then.

        What a command or an input that jumped closed at the very beginning counts as closed at 0.
        """
        passage = self.network.passages[k]
        values = self.opening(k)
        last = self._before(by)
        if values[last] > SHUT or not passage.terms:
            return None
        for row in range(last, 0, -1):
            if values[row - 1] > SHUT:
                return Opening(k, *self._shutting(k, row), row)
        if self.at_start(k) > SHUT:
            falls = [self._z_start(term) - self._z(term, 0) for term in passage.terms]
            return Opening(k, 0.0, falls.index(max(falls)), 0)
        return None

    def _shutting(self, k: int, row: int) -> tuple[float, int]:
        """When, between two rows, a passage closed, and which of its terms decided."""
        passage = self.network.passages[k]
        t0, t1 = float(self.times[row - 1]), float(self.times[row])
        found: list[tuple[float, int]] = []
        for j, term in enumerate(passage.terms):
            z0, z1 = self._z(term, row - 1), self._z(term, row)
            if z1 < z0 and z1 < NEARLY:
                found.append((t0 + (t1 - t0) * min(1.0, max(0.0, z0 / (z0 - z1))), j))
        if not found:
            return t1, 0
        return max(found) if passage.combine == "any" else min(found)

    def helper(self, found: Opening, closing: bool = False) -> Helper | None:
        """Return what did most to open (or close) the deciding term; None if nothing it depends on moved.

        What each pressure, input and memory added to the term is counted from where the term began to rise (fall).
        """
        term = self.network.passages[found.passage].terms[found.term]
        sign = -1.0 if closing else 1.0
        first = self._turn_of(term, found.row, sign)
        solution = self.run.solution
        state, signals, latches = self._standing()
        helpers: list[Helper] = []
        for sort, table, weights, standing in (
            ("pressure", solution.pressures, pressures_of(self.network, term), state),
            ("signal", solution.signals, term.signals, signals),
            ("memory", solution.latches, term.memories, latches),
        ):
            for index, weight in weights:
                before = float(standing[index] if first < 0 else table[first, index])
                after = float(table[found.row, index])
                gain = sign * weight * (after - before)
                helpers.append(Helper(sort, index, after > before, gain, before, after))
        best = max(helpers, key=lambda one: one.gain, default=None)
        return best if best is not None and best.gain > 1e-6 else None

    def _turn_of(self, term: Term, row: int, sign: float) -> int:
        """The row at which a term began to rise (``sign`` -1: fall) to where it is at ``row``; -1: before the run."""
        now = sign * self._z(term, row)
        low, place = now, row
        for r in range(row - 1, -2, -1):
            z = sign * (self._z_start(term) if r < 0 else self._z(term, r))
            rose = float(self.times[row] - self.times[max(place, 0)])
            idle = float(self.times[max(place, 0)] - self.times[max(r, 0)])
            rested = r < place - 1 and idle > PAUSE + rose
            if rested or z > low + max(0.02 / term.band, TURN_SHARE * (now - low)):
                break
            if z < low - 0.02 * (now - z) - 1e-12:
                low, place = z, r
        return place

    def latest_flip(self, memory: int, by: float) -> int | None:
        """The place in the solution's flips of a memory's last one until a time."""
        places = [
            i for i, f in enumerate(self.run.solution.flips) if f.memory == memory and f.time <= by + EARLIER
        ]
        return places[-1] if places else None
