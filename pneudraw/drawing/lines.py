"""Lines as shapes, in modules: working and control lines, tees, hoses, and the signs of a trace along them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pneudraw.drawing.dashes import broken
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.palette import Look, look
from pneudraw.drawing.runs import Flowing
from pneudraw.drawing.shapes import Circle, Moving, Point, Shape, Strokes
from pneudraw.drawing.signs import along, signs, square
from pneudraw.drawing.tints import Style

TEE = 0.375  # radius of a tee's dot, M; ISO 1219-1: diameter 0.75M (from memory)
BEAD, BEADS = 0.9, 4.0  # M, what runs along a line in a moving picture, and the distance between two
CHORD, SAG = 4.0, 1.0  # a hose's arc

Run = tuple[Point, Point]


@dataclass(frozen=True)
class DrawnLine:
    """The shapes of one line: the heavy ones are laid over the others."""

    strokes: tuple[Shape, ...]
    signs: tuple[Shape, ...]


@dataclass(frozen=True)
class Bow:
    """The arc that makes a line a hose: in which piece and run, where it leaves the run and comes back."""

    piece: int
    run: int
    ends: Run
    arc: tuple[Point, ...]


def draw_line(
    flow: tuple[Flowing, ...],
    tees: tuple[Point, ...],
    control: bool,
    bow: Bow | None,
    colour: bool,
    order: int | None,
    taken: Occupied,
    owner: str,
    letters: float = 1.0,
) -> DrawnLine:
    """Return a line's shapes and mark its signs as taken (its bow already is)."""
    strokes: list[tuple[float, Shape]] = []
    dots: list[Shape] = []
    ways: list[Shape] = []
    for number, item in enumerate(flow):
        seen = look(item.style, colour)
        here = bow if bow is not None and bow.piece == number else None
        strokes.append((seen.width, _stroke(item, seen, control, here)))
        if item.way:
            ways.append(_way(item, seen, here, order))
        if here is not None:
            dots += [Circle(point, 0.25, 0.0, seen.colour, seen.colour) for point in here.ends]
    for tee in tees:
        seen = _strongest(flow, tee, colour)
        dots.append(Circle(tee, TEE, 0.0, seen.colour, seen.colour))
        taken.add(square(tee, TEE))
    strokes.sort(key=lambda pair: pair[0])
    return DrawnLine(
        tuple(shape for _, shape in strokes),
        (*dots, *ways, *signs(flow, colour, order, taken, owner, letters)),
    )


def hose_bow(flow: tuple[Flowing, ...], taken: Occupied, owner: str) -> Bow | None:
    """Put the arc of a hose into the longest straight run that has room for it beside it, and take its place."""
    runs = [
        (math.dist(*run), number, index)
        for number, item in enumerate(flow)
        for index, run in enumerate(item.piece.runs())
    ]
    for length, number, index in sorted(runs, key=lambda run: -run[0]):
        if length < CHORD + 1:
            break
        start, end = flow[number].piece.runs()[index]
        ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        for middle in along(start, end, CHORD / 2 + 0.5):
            a = (middle[0] - ux * CHORD / 2, middle[1] - uy * CHORD / 2)
            b = (middle[0] + ux * CHORD / 2, middle[1] + uy * CHORD / 2)
            for side in (1, -1):
                arc = _arc(a, b, side)
                xs, ys = [p[0] for p in arc], [p[1] for p in arc]
                box = (min(xs) - 0.25, min(ys) - 0.25, max(xs) + 0.25, max(ys) + 0.25)
                if taken.free(box, 0.1, (owner,)):
                    taken.add(box)
                    return Bow(number, index, (a, b), arc)
    return None


def _way(item: Flowing, seen: Look, bow: Bow | None, order: int | None) -> Moving:
    points = item.piece.points
    if bow is not None:
        points = (*points[: bow.run + 1], *bow.arc, *points[bow.run + 1 :])
    return Moving(points if item.way > 0 else points[::-1], BEAD, BEADS, seen.colour, order)


def _stroke(item: Flowing, seen: Look, control: bool, bow: Bow | None) -> Strokes:
    parts: list[tuple[Point, ...]] = [item.piece.points]
    if bow is not None:
        points, cut = item.piece.points, bow.run
        parts = [(*points[: cut + 1], bow.ends[0]), bow.arc, (bow.ends[1], *points[cut + 1 :])]
    chains: list[tuple[Point, ...]] = []
    for part in parts:
        if control and (bow is None or part is not bow.arc):
            chains += broken(part, seen.dashes)
        else:
            chains.append(part)
    return Strokes(tuple(chains), seen.width, seen.colour)


def _arc(a: Point, b: Point, side: int) -> tuple[Point, ...]:
    """A flat arc from ``a`` to ``b`` as a chain fine enough to look round."""
    radius = (CHORD * CHORD / 4 + SAG * SAG) / (2 * SAG)
    ux, uy = (b[0] - a[0]) / CHORD, (b[1] - a[1]) / CHORD
    nx, ny = -uy * side, ux * side
    half = math.asin(CHORD / 2 / radius)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    out: list[Point] = []
    for step in range(17):
        angle = half * (step / 8 - 1)
        along, out_by = radius * math.sin(angle), radius * math.cos(angle) - (radius - SAG)
        out.append((middle[0] + ux * along + nx * out_by, middle[1] + uy * along + ny * out_by))
    return (a, *out[1:-1], b)


def _strongest(flow: tuple[Flowing, ...], point: Point, colour: bool) -> Look:
    styles = [f.style for f in flow if point in (f.piece.start, f.piece.end)] or [Style.PLAIN]
    return max((look(style, colour) for style in styles), key=lambda seen: seen.width)
