"""Curves that are told apart without colour: a dash pattern and a marker each. All measures in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from pneudraw.drawing.palette import look
from pneudraw.drawing.shapes import BLACK, WHITE, Circle, Point, Polygon, Shape
from pneudraw.drawing.tints import Style

HEAVY, LIGHT = 0.6, 0.4  # widths of a curve
MARKER = 1.15  # half width of a marker
MARKER_EVERY = 42.0  # along a curve
FINE = 0.02  # how far a simplified curve may lie off the true one


@dataclass(frozen=True)
class CurveLook:
    """``dashes``: lengths of dash and gap in turn, empty for a full line. ``filled``: the marker."""

    style: Style
    dashes: tuple[float, ...]
    marker: str
    filled: bool
    width: float


SOLID, DASHED, CHAIN, DOTTED = (), (4.0, 1.5), (6.0, 1.3, 0.9, 1.3), (1.1, 1.1)

#: in the order they are given out; no two have both the dashes and the marker in common
LOOKS = (
    CurveLook(Style.CARRIES, SOLID, "circle", True, HEAVY),
    CurveLook(Style.HOLDS, DASHED, "square", False, HEAVY),
    CurveLook(Style.VENTS, CHAIN, "triangle", True, HEAVY),
    CurveLook(Style.PLAIN, DOTTED, "diamond", False, HEAVY),
    CurveLook(Style.HOLDS, SOLID, "square", True, LIGHT),
    CurveLook(Style.CARRIES, DASHED, "triangle", False, LIGHT),
    CurveLook(Style.PLAIN, CHAIN, "circle", False, LIGHT),
    CurveLook(Style.VENTS, DOTTED, "diamond", True, LIGHT),
)


def look_of(index: int) -> CurveLook:
    """Return the look of a panel's curve; after eight they come round again, told apart by their labels alone."""
    return LOOKS[index % len(LOOKS)]


def ink(which: CurveLook, colour: bool) -> str:
    """Return the colour of a curve; without ``colour`` all are black."""
    return look(which.style, colour).colour if colour else BLACK


def simplified(points: Sequence[Point], tolerance: float = FINE) -> tuple[Point, ...]:
    """Return the points a chain needs to stay within ``tolerance`` of itself, ends included.

    The usual halving at the farthest point; worked off a stack, so that a long chain is no deep recursion.
    """
    if len(points) < 3:
        return tuple(points)
    keep = {0, len(points) - 1}
    stack = [(0, len(points) - 1)]
    while stack:
        first, last = stack.pop()
        far, place = tolerance, None
        for i in range(first + 1, last):
            d = _distance(points[i], points[first], points[last])
            if d > far:
                far, place = d, i
        if place is not None:
            keep.add(place)
            stack += [(first, place), (place, last)]
    return tuple(points[i] for i in sorted(keep))


def _distance(p: Point, a: Point, b: Point) -> float:
    """Distance of a point from the stretch between two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = dx * dx + dy * dy
    if length == 0.0:
        return math.dist(p, a)
    share = min(1.0, max(0.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length))
    return math.dist(p, (a[0] + share * dx, a[1] + share * dy))


def dashed(points: Sequence[Point], dashes: Sequence[float]) -> tuple[tuple[Point, ...], ...]:
    """Return the dashes along a chain, measured along it, each a chain itself; the chain whole without ``dashes``."""
    if not dashes or len(points) < 2:
        return (tuple(points),) if len(points) > 1 else ()
    out: list[list[Point]] = []
    place, left, drawing = 0, dashes[0], True
    current: list[Point] = [points[0]]
    for a, b in pairwise(points):
        here, rest = a, math.dist(a, b)
        while rest > left:
            share = left / rest
            here = (here[0] + (b[0] - here[0]) * share, here[1] + (b[1] - here[1]) * share)
            rest -= left
            if drawing:
                out.append([*current, here])
            drawing, place = not drawing, (place + 1) % len(dashes)
            left = dashes[place]
            current = [here]
        left -= rest
        current.append(b)
    if drawing and len(current) > 1:
        out.append(current)
    return tuple(tuple(chain) for chain in out)


def along(points: Sequence[Point], first: float, every: float) -> tuple[Point, ...]:
    """Return points on a chain at the distances ``first``, ``first + every``, ... measured along it."""
    out: list[Point] = []
    target, done = first, 0.0
    for a, b in pairwise(points):
        length = math.dist(a, b)
        while length > 0 and target <= done + length:
            share = (target - done) / length
            out.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
            target += every
        done += length
    return tuple(out)


def marker(which: CurveLook, centre: Point, colour: str) -> Shape:
    """Return a curve's marker at a place."""
    fill = colour if which.filled else WHITE
    x, y = centre
    r = MARKER
    if which.marker == "circle":
        return Circle(centre, r, 0.3, colour, fill)
    shapes = {
        "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
        "triangle": ((0.0, -1.2), (1.1, 0.8), (-1.1, 0.8)),
        "diamond": ((0.0, -1.25), (1.25, 0.0), (0.0, 1.25), (-1.25, 0.0)),
    }
    points = tuple((x + dx * r, y + dy * r) for dx, dy in shapes[which.marker])
    return Polygon(points, 0.3, colour, fill)


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> tuple[float, ...]:
    """Return middles for things of some ``sizes`` on a line, as near as may be to those wanted, not overlapping.

    Kept between ``low`` and ``high`` as long as there is room. The order of the wanted places is kept; ties stay in
    the order given.
    """
    order = sorted(range(len(wanted)), key=lambda i: (wanted[i], i))
    blocks: list[tuple[float, float, list[int]]] = []  # middle wanted (mean), size, members
    for i in order:
        blocks.append((wanted[i], sizes[i], [i]))
        while True:
            blocks[-1] = _held(blocks[-1], low, high)
            if len(blocks) < 2 or _top(blocks[-2]) <= blocks[-1][0] - blocks[-1][1] / 2 + SLACK:
                break
            second, first = blocks.pop(), blocks.pop()
            count = len(first[2]) + len(second[2])
            middle = (first[0] * len(first[2]) + second[0] * len(second[2])) / count
            blocks.append((middle, first[1] + second[1], first[2] + second[2]))
    out = [0.0] * len(wanted)
    for middle, size, members in blocks:
        y = middle - size / 2
        for i in members:
            out[i] = y + sizes[i] / 2
            y += sizes[i]
    return tuple(out)


SLACK = 1e-9


def _top(block: tuple[float, float, list[int]]) -> float:
    return block[0] + block[1] / 2


def _held(block: tuple[float, float, list[int]], low: float, high: float) -> tuple[float, float, list[int]]:
    middle, size, members = block
    return max(low + size / 2, min(high - size / 2, middle)), size, members
