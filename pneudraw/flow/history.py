"""Pressure, flow and force over time: curves sampled from the dense solution, for charts and tables.

Units: s, bar gauge, dm3(ANR)/s, N. States that follow one another stand on one time axis.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pneudraw.circuit.model import Circuit, Part
from pneudraw.flow.arrays import LAMINAR, THIN, VOID, laminar
from pneudraw.flow.marks import Happening, happenings
from pneudraw.flow.network import Passage
from pneudraw.flow.places import Place, node_of
from pneudraw.flow.pushrod import push_rod_force, sides
from pneudraw.flow.run import Run
from pneudraw.flow.solution import Array, Solution, opening_values, pressure_at
from pneudraw.library import model as lib

QUANTITIES = ("pressure", "flow", "force")
MOVED = 0.3  # bar a brake chamber must have moved for a state to be one of braking
SAMPLES = 300  # at least so many over a state; a step of the solution gives four or more
MOST_ROWS = 4000  # of a solution, up to which each step gives several samples


@dataclass(frozen=True)
class Curve:
    """One quantity over the times of a :class:`History`.

    ``side``: of a flow, which way counts as positive (``in``: into the part or chamber, ``out``: out of it); of a
    force, what pushes (``service`` or ``spring``). ``place`` of a force is the tag of the brake.
    """

    quantity: str
    place: str
    side: str
    values: tuple[float, ...]


@dataclass(frozen=True)
class Stretch:
    """One state on the axis: from ``begin`` to ``end`` [s], which are ``times[first]`` and ``times[last]``.

    ``doubts`` and ``unsure`` as in :class:`pneudraw.flow.run.Run`.
    """

    state: str
    title: str
    start: str
    begin: float
    end: float
    first: int
    last: int
    status: str
    doubts: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()


@dataclass(frozen=True)
class History:
    """Curves over common ``times`` [s], the states they come from, and what happened meanwhile."""

    times: tuple[float, ...]
    curves: tuple[Curve, ...]
    stretches: tuple[Stretch, ...]
    happenings: tuple[Happening, ...]


def history(
    runs: Sequence[Run], places: Sequence[Place], quantities: Sequence[str] = ("pressure",)
) -> History:
    """Return the curves of some places over states that follow one another.

    Flows are those of the places; forces those of the brakes among the places' parts, of all brakes if none is.
    """
    times: list[float] = []
    stretches: list[Stretch] = []
    happened: list[Happening] = []
    columns: dict[tuple[str, str, str], list[float]] = {}
    offset = 0.0
    for index, run in enumerate(runs):
        grid = tuple(_grid(run.solution, keep_jumps="flow" in quantities))
        first = len(times)
        times += [offset + t for t, _, _ in grid]
        for key, values in _curves(run, grid, places, quantities):
            columns.setdefault(key, []).extend(values)
        end = offset + float(run.solution.times[-1])
        state = run.state
        stretches.append(
            Stretch(
                state.name,
                state.title,
                state.start,
                offset,
                end,
                first,
                len(times) - 1,
                run.solution.status,
                run.doubts,
                run.unsure,
            )
        )
        happened += happenings(run, places, index, offset)
        offset = end
    curves = tuple(Curve(*key, tuple(values)) for key, values in columns.items())
    return History(tuple(times), curves, tuple(stretches), tuple(happened))


def usual_places(circuit: Circuit, runs: Sequence[Run]) -> tuple[Place, ...]:
    """Return what an instructor wants to see: reservoirs, and those chambers of the brakes that move."""
    out = [
        Place(part.tag, chamber.name, "chamber")
        for part in circuit.parts
        if part.kind.place is lib.Place.STORAGE
        for chamber in part.kind.chambers
    ]
    for wanted in ("service", "spring"):
        for part in circuit.parts:
            if part.kind.brake is None:
                continue
            side = getattr(part.kind.brake, wanted)
            if side is not None and any(_range(run, part.tag, side.chamber) > MOVED for run in runs):
                out.append(Place(part.tag, side.chamber, "chamber"))
    return tuple(out) or tuple(
        Place(end.part.tag, end.port.id, "port") for line in circuit.lines[:4] for end in line.ends[:1]
    )


def flow_values(solution: Solution, passage: Passage) -> Array:
    """Return a passage's flow [dm3(ANR)/s], a to b positive, at every row: shape (rows,). Air at ambient temperature.

    The law is the kernel's: ISO 6358 with the laminar cut, times the opening; a compressor by its displacement.
    """
    pa, pb = solution.pressures[:, passage.a], solution.pressures[:, passage.b]
    opening = opening_values(solution, passage)
    if passage.displacement is not None:
        thin = np.clip((pa - VOID) / (THIN - VOID), 0.0, 1.0)
        share = (
            np.maximum(0.0, 1.0 - passage.displacement.falloff * (pb / pa - 1.0))
            * thin
            * thin
            * (3.0 - 2.0 * thin)
        )
        return np.asarray(opening * passage.displacement.rate * share)
    high, low = np.maximum(pa, pb), np.minimum(pa, pb)
    ratio = min(passage.ratio, 0.99)
    r = low / high
    x = np.clip((r - ratio) / (1.0 - ratio), 0.0, 1.0)
    a1, a3 = laminar(ratio, passage.index)
    drop = 1.0 - r
    phi = np.where(r < LAMINAR, (1.0 - x * x) ** passage.index, (a1 + a3 * drop * drop) * drop)
    return np.asarray(opening * passage.conductance * high * phi * np.where(pa >= pb, 1.0, -1.0))


def flow_at(run: Run, place: Place) -> tuple[Array, str]:
    """Return the flow at a place [dm3(ANR)/s] at every row, and which way is positive (``in`` or ``out``).

    At a port: between the line (or the open air) and the part; into the part, but out of it at deliveries and exhausts.
    At a chamber: what it gains.
    """
    plumbing = run.plumbing
    total = np.zeros(len(run.solution.times))
    for passage, origin in zip(plumbing.network.passages, plumbing.origins, strict=True):
        if origin.owner != place.tag or origin.sort not in ("passage", "leak"):
            continue
        sign = (origin.end == place.name) - (origin.start == place.name)
        if sign:
            total += sign * flow_values(run.solution, passage)
    if place.sort == "chamber":
        return total, "in"
    part = run.circuit.part(place.tag)
    port = part.kind.port(place.name) if part is not None else None
    outward = port is not None and port.role in (lib.Role.DELIVERY, lib.Role.EXHAUST)
    return (total, "out") if outward else (-total, "in")


def _range(run: Run, tag: str, chamber: str) -> float:
    column = run.solution.pressures[:, run.plumbing.chamber_node[tag, chamber]]
    return float(column.max() - column.min())


def _grid(solution: Solution, keep_jumps: bool) -> Iterator[tuple[float, int, float]]:
    """Times of the samples, each with its row and the share of the step after it."""
    times = [float(t) for t in solution.times]
    span = max(times[-1], 1e-9)
    for row in range(len(times) - 1):
        h = times[row + 1] - times[row]
        if h <= 0.0:
            if keep_jumps:
                yield times[row], row, 0.0
            continue
        count = 1 if len(times) > MOST_ROWS else max(4, math.ceil(h / span * SAMPLES))
        for piece in range(count):
            yield times[row] + h * piece / count, row, piece / count
    yield times[-1], len(times) - 1, 0.0


def _curves(
    run: Run, grid: Sequence[tuple[float, int, float]], places: Sequence[Place], quantities: Sequence[str]
) -> Iterator[tuple[tuple[str, str, str], list[float]]]:
    for quantity in quantities:
        if quantity == "pressure":
            for place in places:
                yield (quantity, str(place), ""), _pressures(run, node_of(run.plumbing, place), grid)
        elif quantity == "flow":
            for place in places:
                flow, side = flow_at(run, place)
                yield (quantity, str(place), side), [_between(flow, row, share) for _, row, share in grid]
        else:
            for part in brakes(run.circuit, places):
                for side, force in forces(run, part, grid):
                    yield (quantity, part.tag, side), force


def brakes(circuit: Circuit, places: Sequence[Place]) -> tuple[Part, ...]:
    """Return the brakes among the parts of some places; all brakes if there is none."""
    all_brakes = [part for part in circuit.parts if part.kind.brake is not None]
    tags = {place.tag for place in places}
    return tuple(part for part in all_brakes if part.tag in tags) or tuple(all_brakes)


def forces(
    run: Run, part: Part, grid: Sequence[tuple[float, int, float]]
) -> Iterator[tuple[str, list[float]]]:
    """Yield the push-rod forces [N] of a brake at the samples: from service air, and from its spring."""
    brake = part.kind.brake
    assert brake is not None
    known = run.plumbing.numbers(part)
    for side, chamber in sides(brake):
        pressures = _pressures(run, run.plumbing.chamber_node[part.tag, chamber], grid)
        yield side, push_rod_force(brake, side, known, np.array(pressures)).tolist()


def _pressures(run: Run, node: int, grid: Sequence[tuple[float, int, float]]) -> list[float]:
    return [pressure_at(run.solution, node, t) - run.plumbing.atmosphere for t, _, _ in grid]


def _between(values: Array, row: int, share: float) -> float:
    """A flow between two rows, on a straight line: the solver knows flows at its steps only."""
    if share == 0.0:
        return float(values[row])
    return float(values[row] + (values[row + 1] - values[row]) * share)
