"""A kind's strokes as shapes, in modules: one line width for everything (ISO 1219-1)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import assert_never

from pneudraw.drawing import shapes
from pneudraw.drawing.dashes import ENCLOSURE, INSIDE, broken
from pneudraw.drawing.shapes import BLACK, WHITE, Point, Shape
from pneudraw.library import model

THIN = 0.1  # M, the one line width of symbols and lines; ISO 1219-1 (from memory)
HEAD = 1.0  # M, arrow head inside a symbol
HEAD_HALF = HEAD * math.tan(math.radians(15))  # 30 degrees included

_FILL = {"none": None, "white": WHITE, "black": BLACK}


def drawn(
    strokes: Iterable[model.Stroke], filled: str | None = None, text_height: float = 0.0
) -> Iterator[Shape]:
    """Yield the shapes of some strokes.

    ``filled``: a colour for closed outlines instead of their own fill (an exhaust triangle that lets air
    out). ``text_height``: least height of letters [M].
    """
    for stroke in strokes:
        match stroke:
            case model.Polyline(closed=True):
                yield from _closed(stroke, filled)
            case model.Polyline():
                yield shapes.Strokes(_chains(stroke), THIN)
            case model.Circle():
                fill = _FILL[stroke.fill]
                width = 0.0 if fill == BLACK else THIN
                yield shapes.Circle(stroke.centre, stroke.radius, width, BLACK, fill)
            case model.Arc():
                yield shapes.Arc(stroke.centre, stroke.radius, stroke.start, stroke.end, THIN)
            case model.Arrow():
                yield from arrow(stroke.points, stroke.both)
            case model.Text():
                height = max(stroke.height, text_height)
                x, y = stroke.at
                at = (x, y + (height - stroke.height) / 2)
                yield shapes.Text(at, stroke.text, height, "middle")
            case _:
                assert_never(stroke)


def arrow(points: tuple[Point, ...], both: bool = False, width: float = THIN) -> Iterator[Shape]:
    """Yield a line with a filled head at its last point, or at both ends."""
    chain = list(points)
    heads = [head(chain[-2], chain[-1])]
    chain[-1] = _back(chain[-2], chain[-1], HEAD * 0.8)
    if both:
        heads.append(head(points[1], points[0]))
        chain[0] = _back(points[1], points[0], HEAD * 0.8)
    yield shapes.Strokes((tuple(chain),), width)
    yield from heads


def head(
    before: Point, tip: Point, length: float = HEAD, half: float = HEAD_HALF, colour: str = BLACK
) -> shapes.Polygon:
    """Return a filled arrow head that comes from ``before`` and ends at ``tip``."""
    return shapes.Polygon(triangle(before, tip, length, half), 0.0, colour, colour)


def triangle(before: Point, tip: Point, length: float, half: float) -> tuple[Point, Point, Point]:
    """Return tip and base corners of an arrow head."""
    distance = math.dist(before, tip) or 1.0
    ux, uy = (tip[0] - before[0]) / distance, (tip[1] - before[1]) / distance
    base = (tip[0] - ux * length, tip[1] - uy * length)
    return (
        tip,
        (base[0] - uy * half, base[1] + ux * half),
        (base[0] + uy * half, base[1] - ux * half),
    )


def _closed(stroke: model.Polyline, filled: str | None) -> Iterator[Shape]:
    if stroke.style != "solid":
        if stroke.fill != "none":
            yield shapes.Polygon(stroke.points, 0.0, BLACK, _FILL[stroke.fill])
        yield shapes.Strokes(_chains(stroke), THIN)
        return
    fill = filled or _FILL[stroke.fill]
    yield shapes.Polygon(stroke.points, THIN, filled or BLACK, fill)


def _chains(stroke: model.Polyline) -> tuple[tuple[Point, ...], ...]:
    if stroke.style == "dashed":
        return broken(stroke.points, INSIDE, stroke.closed)
    if stroke.style == "chain":
        return broken(stroke.points, ENCLOSURE, stroke.closed)
    return (stroke.points,)


def _back(before: Point, tip: Point, by: float) -> Point:
    distance = math.dist(before, tip)
    share = max(0.0, 1 - by / distance) if distance else 0.0
    return before[0] + (tip[0] - before[0]) * share, before[1] + (tip[1] - before[1]) * share
