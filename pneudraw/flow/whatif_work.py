"""What if, of a machine: which cylinders still move after a failure.

The supply stays on. A minute after the failure the operators are worked, half a minute later they are let go, and half
a minute after that one looks. A cylinder is watched while all operators are worked together; if that does not move it
on the sound machine, while the first one is that does alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pneudraw.circuit.model import FaultSetting
from pneudraw.flow.conditions import MINUTE, Condition, Sound, watch
from pneudraw.flow.run import Options, Run
from pneudraw.flow.solution import pressure_at
from pneudraw.flow.strokes import AT_END, MOVED, stand, strokes
from pneudraw.flow.working import STROKE, cylinders, later, worked

ENOUGH = 0.5  # share of the sound machine's push


@dataclass(frozen=True)
class Moves:
    """What a cylinder does after a failure.

    ``word``: ``moves`` (as on the sound machine), ``weak`` (so, but pushes with less than half the force), ``still``
    (not at all), ``stays`` (it goes and does not come back) or ``partly`` (none of these). ``alone``: it moved before
    anybody worked it. Places in shares of its stroke: before it was worked, worked, let go; ``force``: the share of the
    sound machine's push while it is worked.
    """

    part: str
    word: str
    alone: bool
    before: float
    worked: float
    after: float
    force: float


@dataclass(frozen=True)
class _Course:
    """Where a cylinder stands before it is worked, worked, and let go, in shares of its stroke; its push [kN]."""

    before: float
    worked: float
    after: float
    push: float


@dataclass(frozen=True)
class Works:
    """How the cylinders of a sound machine are watched: which condition moves which of them, and how far."""

    conditions: tuple[tuple[Condition, tuple[str, ...]], ...]
    sound: Mapping[str, _Course]


def works(vehicle: Sound, options: Options | None = None) -> Works:
    """Find out, on the sound machine, who moves each cylinder; those that nobody moves are left out."""
    left = list(cylinders(vehicle.circuit))
    chosen: list[tuple[Condition, tuple[str, ...]]] = []
    sound: dict[str, _Course] = {}
    for one in worked(vehicle.circuit):
        if not left:
            break
        settings = (*later(one.on, MINUTE), *later(one.off, MINUTE + STROKE))
        end = MINUTE + 2 * STROKE
        condition = Condition(
            f"W{one.tag}", "After the failure", "", "ready", settings, MINUTE, MINUTE, end, 0
        )
        seen = _courses(watch(vehicle, condition, (), options))
        moved = tuple(tag for tag in left if abs(seen[tag].worked - seen[tag].before) > MOVED)
        if moved:
            chosen.append((condition, moved))
            sound |= {tag: seen[tag] for tag in moved}
            left = [tag for tag in left if tag not in moved]
    return Works(tuple(chosen), sound)


def moves(
    vehicle: Sound, found: Works, faults: tuple[FaultSetting, ...], options: Options | None = None
) -> tuple[Moves, ...]:
    """Return what each cylinder does after a failure, in the order of the netlist."""
    out: dict[str, Moves] = {}
    for condition, tags in found.conditions:
        seen = _courses(watch(vehicle, condition, faults, options))
        out |= {tag: _moves(tag, seen[tag], found.sound[tag]) for tag in tags}
    return tuple(out[tag] for tag in cylinders(vehicle.circuit) if tag in out)


def _courses(run: Run) -> dict[str, _Course]:
    times = np.array([MINUTE - 0.1, MINUTE + STROKE - 0.1, MINUTE + 2 * STROKE])
    out = {}
    for stroke in strokes(run):
        index = next(i for i, (tag, _) in enumerate(run.plumbing.pistons) if tag == stroke.place)
        piston = run.plumbing.network.pistons[index]
        course = run.solution.positions[:, index] / piston.length
        before, then, after = np.interp(times, run.solution.times, course).tolist()
        push = sum(
            area * (pressure_at(run.solution, node, float(times[1])) - run.plumbing.atmosphere)
            for node, area in piston.areas
        )
        out[stroke.place] = _Course(before, then, after, push)
    return out


def _moves(tag: str, now: _Course, sound: _Course) -> Moves:
    force = now.push / sound.push if sound.push else 1.0
    as_before, as_worked, as_after = (
        stand(a) == stand(b)
        for a, b in (
            (now.before, sound.before),
            (now.worked, sound.worked),
            (now.after, sound.after),
        )
    )
    places = (now.before, now.worked, now.after)
    if as_before and as_worked and as_after:
        word = "moves" if force >= ENOUGH else "weak"
    elif max(places) - min(places) < MOVED:
        word = "still"
    elif as_worked and abs(now.after - now.worked) < MOVED:
        word = "stays"
    else:
        word = "partly"
    return Moves(tag, word, abs(now.before - sound.before) > AT_END, *places, force)
