"""A run in the making: its memories, and what it tells the kernel at the start of each stretch.

A stretch is a time in which inputs are straight lines and memories stand still.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from pneudraw.flow import kernel
from pneudraw.flow.arrays import Model, Work
from pneudraw.flow.network import Network, Trigger, Weights, signal_at
from pneudraw.flow.prepared import Fixed
from pneudraw.flow.solution import Flip

SAME_INSTANT = 4  # flips of one memory at one time before it is called chatter
RAPID_FLIPS, RAPID_TIME = 100, 30.0  # flips of one memory within so many seconds: it will not stop by itself
MOST_FLIPS = 400  # flips of one memory in a run: what there is to see has been seen
NEAR = 1e-9  # s, times closer than this are one


@dataclass
class Stretch:
    """Where a stretch's rows start, and what inputs and memories were in it."""

    row: int
    origin: float
    memories: tuple[int, ...]
    signals: tuple[tuple[float, float], ...]


@dataclass
class Running:
    """What changes while a network is run."""

    network: Network
    fixed: Fixed
    model: Model
    work: Work
    advance: Callable[[], int]
    compiled: bool
    memories: list[int]
    corners: tuple[float, ...]
    flips: list[Flip] = field(default_factory=list)
    stretches: list[Stretch] = field(default_factory=list)
    rows: int = 0
    out: list[tuple[Any, Any, Any]] = field(default_factory=list)
    given: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        base = self.fixed.term_base
        self.work.term_base[:] = np.array(base) if self.compiled else list(base)

    @property
    def time(self) -> float:
        """The time reached [s]."""
        return float(self.work.real[kernel.TIME])


def drain(run: Running) -> None:
    """Put the rows of output by, and let the kernel start filling anew."""
    work, rows = run.work, int(run.work.tally[kernel.ROW])
    cells = rows * len(work.y0)
    run.out.append(
        (np.array(work.out_time[:rows]), np.array(work.out_state[:cells]), np.array(work.out_rate[:cells]))
    )
    run.rows += rows
    work.tally[kernel.ROW] = 0


def command(run: Running) -> None:
    """Give the commands that are due."""
    for index, order in enumerate(run.network.commands):
        if index not in run.given and order.time <= run.time + NEAR:
            run.given.add(index)
            if run.memories[order.memory] != order.value:
                _flip(run, run.time, order.memory)


def settle(run: Running) -> str | None:
    """Flip memories whose triggers are above zero as things stand; say which one never comes to rest."""
    here = [0] * len(run.memories)
    while True:
        fired = next((index for index, trigger in _armed(run) if _value(run, trigger) > 0.0), None)
        if fired is None:
            return None
        here[fired] += 1
        if here[fired] > SAME_INSTANT:
            name = run.network.memories[fired].name
            return f"memory `{name}` keeps changing at {run.time:.3f} s"
        _flip(run, run.time, fired)


def restless(run: Running) -> str | None:
    """Say which memory has changed so often, or so fast, that more of it would tell nothing new."""
    if len(run.flips) < RAPID_FLIPS:
        return None
    last = run.flips[-1].memory
    times = [flip.time for flip in run.flips if flip.memory == last]
    count = RAPID_FLIPS if len(times) < MOST_FLIPS else MOST_FLIPS
    if len(times) < count or (count == RAPID_FLIPS and times[-1] - times[-count] > RAPID_TIME):
        return None
    name = run.network.memories[last].name
    return f"memory `{name}` keeps changing: {count} times in the {times[-1] - times[-count]:.3g} s to {run.time:.3f} s"


def stopped(run: Running, wanted: Sequence[tuple[int, int]]) -> bool:
    """Tell whether a memory has taken the value the run is to stop at."""
    return any(
        run.memories[memory] == value and any((f.memory, f.value) == (memory, value) for f in run.flips)
        for memory, value in wanted
    )


def fire(run: Running) -> None:
    """Flip the memories whose triggers the last step passed, each at the time its trigger crossed zero."""
    work = run.work
    begin, end = work.real[kernel.BEFORE], run.time
    done: set[int] = set()
    for place, (index, trigger) in enumerate(_armed(run)):
        value = work.trigger0[place]
        if value <= 0.0 or index in done:
            continue
        done.add(index)
        slope = work.trigger_slope[place] + _weighed(trigger.weights, work.rate)
        time = end - value / slope if slope > 0.0 else end
        _flip(run, float(min(max(time, begin), end)), index)


def begin_stretch(run: Running) -> None:
    """Tell the kernel what holds from now on: constants of terms, loads and triggers, and how they move."""
    network, work, now = run.network, run.work, run.time
    signals = tuple(signal_at(signal, now) for signal in network.signals)
    run.stretches.append(Stretch(run.rows + int(work.tally[kernel.ROW]), now, tuple(run.memories), signals))
    values, slopes = [value for value, _ in signals], [slope for _, slope in signals]
    moving = 0
    for (
        i,
        constant,
        band,
        driven,
        latched,
    ) in run.fixed.moving_terms:  # some twenty: calls would take most of the time
        value = slope = held = 0.0
        for s, w in driven:
            value += w * values[s]
            slope += w * slopes[s]
        for m, w in latched:
            held += w * run.memories[m]
        work.term_base[i] = (constant + value + held) / band
        work.term_slope[i] = slope / band
        if slope != 0.0:
            work.moving[moving] = i
            moving += 1
    for j, piston in enumerate(network.pistons):
        work.load_base[j] = piston.load + _weighed(piston.signals, values)
        work.load_slope[j] = _weighed(piston.signals, slopes)
    place = weights = 0
    for _, trigger in _armed(run):
        base = trigger.constant + _weighed(trigger.signals, values)
        work.trigger_base[place] = base + _weighed(trigger.memories, run.memories)
        work.trigger_slope[place] = _weighed(trigger.signals, slopes)
        for state, weight in trigger.weights:
            work.trigger_state[weights] = state
            work.trigger_weight[weights] = weight
            weights += 1
        place += 1
        work.trigger_start[place] = weights
    work.lengths[0], work.lengths[1] = moving, place
    work.real[kernel.ORIGIN] = now
    work.tally[kernel.FRESH] = 1


def _flip(run: Running, time: float, memory: int) -> None:
    run.memories[memory] = 1 - run.memories[memory]
    run.flips.append(Flip(time, memory, run.memories[memory]))


def _armed(run: Running) -> list[tuple[int, Trigger]]:
    """The triggers that would change their memory, with it."""
    out = []
    for index, memory in enumerate(run.network.memories):
        triggers = memory.to_zero if run.memories[index] else memory.to_one
        out += [(index, trigger) for trigger in triggers]
    return out


def _value(run: Running, trigger: Trigger) -> float:
    total = trigger.constant + _weighed(trigger.weights, run.work.y0)
    if trigger.signals:
        values = [signal_at(signal, run.time)[0] for signal in run.network.signals]
        total += _weighed(trigger.signals, values)
    return total + _weighed(trigger.memories, run.memories)


def _weighed(weights: Weights, values: Sequence[float]) -> float:
    total = 0.0
    for index, weight in weights:
        total += weight * values[index]
    return total
