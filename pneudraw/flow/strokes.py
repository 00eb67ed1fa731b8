"""Where the pistons of a machine stand in one run, how fast they got there, and the words for it.

=========  =============================================================================================
position   ``out`` (at the far end of its stroke, or as good as), ``in`` (at the near end), ``between``
speed      ``usual``, ``late`` (it takes half as long again, or more), ``fast`` (less than two thirds)
=========  =============================================================================================

All thresholds are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pneudraw.flow.run import Run
from pneudraw.flow.solution import Array
from pneudraw.flow.working import cylinders

POSITION, SPEED = "position", "speed"
AT_END = 0.05  # share of the stroke
ARRIVED = 0.95  # share of its way that its time is read at
MOVED = 0.05  # share of the stroke that is a movement
LATE, FAST = 1.5, 1 / 1.5  # times the sound machine's time
NOTICED = 0.3  # s that two times must differ by


@dataclass(frozen=True)
class Stroke:
    """A piston: its place in shares of the stroke at the start and at the end, the stroke [m], and when it had done
    95 % of its way [s] (None: it did not move by more than a twentieth)."""

    place: str
    start: float
    end: float
    length: float
    time: float | None


def strokes(run: Run) -> tuple[Stroke, ...]:
    """Return the strokes of a run's cylinders, in the order of the netlist."""
    wanted = cylinders(run.circuit)
    out: list[Stroke] = []
    for index, (tag, _) in enumerate(run.plumbing.pistons):
        if tag not in wanted or any(stroke.place == tag for stroke in out):
            continue
        length = run.plumbing.network.pistons[index].length  # dm
        course = np.clip(run.solution.positions[:, index] / length, 0.0, 1.0)
        time = arrival(run.solution.times, course)
        out.append(Stroke(tag, float(course[0]), float(course[-1]), length / 10, time))
    return tuple(out)


def arrival(times: Array, course: Array) -> float | None:
    """Return when a course had done 95 % of its way, and went no further back; None if it hardly moved."""
    change = float(course[-1] - course[0])
    if abs(change) < MOVED:
        return None
    done = (course - course[0]) / change
    row = int(np.nonzero(done < ARRIVED)[0][-1]) + 1
    d0, d1 = float(done[row - 1]), float(done[row])
    t0, t1 = float(times[row - 1]), float(times[row])
    return t0 + (t1 - t0) * ((ARRIVED - d0) / (d1 - d0) if d1 > d0 else 1.0)


def stand(share: float) -> str:
    """Return ``out``, ``in`` or ``between``."""
    if share >= 1.0 - AT_END:
        return "out"
    return "in" if share <= AT_END else "between"


def speed(stroke: Stroke, usual: Stroke) -> str | None:
    """Return ``late``, ``fast`` or ``usual``; None if it did not go where the sound machine's goes."""
    if stroke.time is None or usual.time is None or stand(stroke.end) != stand(usual.end):
        return None
    if stroke.time > max(LATE * usual.time, usual.time + NOTICED):
        return "late"
    return "fast" if stroke.time < min(FAST * usual.time, usual.time - NOTICED) else "usual"
