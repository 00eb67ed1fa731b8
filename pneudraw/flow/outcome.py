"""What a run has come to: its rows put together, and where it got stuck if it did."""

from __future__ import annotations

import numpy as np

from pneudraw.flow import kernel
from pneudraw.flow.running import Running, drain
from pneudraw.flow.solution import Counters, Solution

LOOKED_AT = 2000  # rows from the end in which swings are looked for
SWING = 0.05  # bar, and dm of a piston: less is not a swing
MANY = 10  # swings there and back, before the last rows are called swinging


def complaint(run: Running, code: int) -> str:
    """Say why the kernel came no further, and where: a place that swings without end, or where steps kept failing."""
    names = [node.name for node in run.network.nodes] + [piston.name for piston in run.network.pistons]
    steps = int(run.work.tally[kernel.STEPS])
    begin = f"gave up after {steps} steps" if code == kernel.TOO_MANY else "no step possible"
    begin += f" at {run.time:.3f} s"
    drain(run)
    times = np.concatenate([rows[0] for rows in run.out])[-LOOKED_AT:]
    states = np.concatenate([rows[1] for rows in run.out]).reshape(-1, len(names))[-LOOKED_AT:]
    counts = [turns(states[:, i].tolist()) // 2 for i in range(len(names))]
    if max(counts) >= MANY and code == kernel.TOO_MANY:
        width = (states.max(axis=0) - states.min(axis=0)).tolist()
        most = sorted((i for i in range(len(names)) if counts[i] >= MANY), key=lambda i: (-width[i], i))[:3]
        often = f"{counts[most[0]]} times in the last {times[-1] - times[0]:.3g} s"
        return f"{begin}; pressures keep swinging at {_listed(names, most)}, {often}"
    blame = [int(b) for b in run.work.blame]
    worst = sorted((i for i in range(len(names)) if blame[i] > 0), key=lambda i: (-blame[i], i))[:3]
    return f"{begin}; pressures chatter at {_listed(names, worst)}" if worst else begin


def _listed(names: list[str], chosen: list[int]) -> str:
    return ", ".join(f"`{names[i]}`" for i in chosen)


def turns(values: list[float], least: float = SWING) -> int:
    """Return how often a course turned round, counting only ways of at least ``least``.

    >>> turns([0.0, 1.0, 0.99, 2.0, 0.5, 3.0])
    2
    """
    low = high = values[0]
    way = count = 0
    for value in values:
        if way >= 0 and value > high:
            high = value
        if way <= 0 and value < low:
            low = value
        if way >= 0 and high - value >= least:
            count += way > 0
            way, low = -1, value
        elif way <= 0 and value - low >= least:
            count += way < 0
            way, high = 1, value
    return count


def solution_of(run: Running, status: str, message: str) -> Solution:
    """Return what a run has come to."""
    drain(run)
    network, work = run.network, run.work
    n, states = len(network.nodes), len(run.work.y0)
    times = np.concatenate([rows[0] for rows in run.out])
    state = np.concatenate([rows[1] for rows in run.out]).reshape(-1, states)
    rate = np.concatenate([rows[2] for rows in run.out]).reshape(-1, states)
    begun = [stretch.row for stretch in run.stretches]
    long = np.diff([*begun, len(times)])
    courses = np.array([stretch.signals for stretch in run.stretches], dtype=float)
    courses = np.repeat(courses.reshape(len(begun), len(network.signals), 2), long, axis=0)
    since = times - np.repeat([stretch.origin for stretch in run.stretches], long)
    signals = courses[:, :, 0] + courses[:, :, 1] * since[:, np.newaxis]
    memories = [stretch.memories for stretch in run.stretches]
    latches = np.repeat(np.array(memories, dtype=np.int64), long, axis=0)
    count = work.tally
    net, forward = np.array(work.net), np.array(work.forward)
    return Solution(
        times,
        state[:, :n],
        rate[:, :n],
        state[:, n:],
        rate[:, n:],
        signals,
        latches,
        net,
        forward,
        forward - net,
        np.array(work.q0),
        tuple(run.memories),
        tuple(run.flips),
        status,
        message,
        Counters(
            int(count[kernel.STEPS]),
            int(count[kernel.REJECTED]),
            int(count[kernel.ITERATIONS]),
            int(count[kernel.FACTORS]),
            run.compiled,
        ),
    )
