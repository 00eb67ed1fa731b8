"""The display list: what a sheet consists of, as frozen shapes in mm. x to the right, y down.

Nothing here knows SVG; :mod:`pneudraw.drawing.svg` writes it, and anything else that can draw lines and
letters may.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import assert_never

from pneudraw.lettering import DESCENT, text_width

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom

BLACK = "#000000"
WHITE = "#ffffff"


@dataclass(frozen=True)
class Strokes:
    """One or more chains of straight lines, drawn alike; a dashed line is one such shape."""

    chains: tuple[tuple[Point, ...], ...]
    width: float
    colour: str = BLACK


@dataclass(frozen=True)
class Polygon:
    """A closed chain. ``fill`` is a colour or None; a ``width`` of 0 draws no outline."""

    points: tuple[Point, ...]
    width: float
    colour: str = BLACK
    fill: str | None = None


@dataclass(frozen=True)
class Circle:
    """A circle; ``fill`` and ``width`` as for a polygon."""

    centre: Point
    radius: float
    width: float
    colour: str = BLACK
    fill: str | None = None


@dataclass(frozen=True)
class Arc:
    """A circular arc, angles in degrees clockwise on the page, 0 = right, 90 = down."""

    centre: Point
    radius: float
    start: float
    end: float
    width: float
    colour: str = BLACK


@dataclass(frozen=True)
class Text:
    """One line of lettering. ``at`` is on the baseline at its ``anchor``: start, middle or end.

    ``height`` is that of the capitals. Read from the bottom of the sheet; ``upward`` text from its right
    edge.
    """

    at: Point
    text: str
    height: float
    anchor: str = "start"
    bold: bool = False
    colour: str = BLACK
    upward: bool = False


@dataclass(frozen=True)
class Moving:
    """The way air goes in a moving picture; a still one does not show it.

    ``order``: when it begins to, 1 first; None from the start. ``size``: diameter of what moves, ``pitch`` the
    distance from one to the next.
    """

    points: tuple[Point, ...]
    size: float
    pitch: float
    colour: str
    order: int | None


@dataclass(frozen=True)
class Group:
    """Shapes that belong to one thing. ``role`` says to what sort (part, line, label, frame, ...), ``name``
    to which.

    ``title`` and ``desc`` are for those who cannot see the picture, and for a pointer resting on it.
    """

    role: str
    name: str
    items: tuple[Shape, ...]
    title: str = ""
    desc: str = ""


Leaf = Strokes | Polygon | Circle | Arc | Text | Moving
Shape = Leaf | Group


@dataclass(frozen=True)
class Sheet:
    """A finished sheet: size [mm], shapes, the module M in mm, and what had to be decided (``messages``).

    ``frame`` is the box of the drawing frame, None on a bare picture; ``paper`` the name of the size.
    """

    name: str
    title: str
    desc: str
    width: float
    height: float
    module: float
    paper: str
    shapes: tuple[Shape, ...]
    frame: Box | None = None
    messages: tuple[str, ...] = ()


def moved(shape: Shape, scale: float, dx: float, dy: float) -> Shape:
    """Return the shape scaled about the origin, then shifted; line widths and letters scale too."""

    def to(point: Point) -> Point:
        return point[0] * scale + dx, point[1] * scale + dy

    match shape:
        case Strokes():
            chains = tuple(tuple(to(p) for p in chain) for chain in shape.chains)
            return replace(shape, chains=chains, width=shape.width * scale)
        case Polygon():
            return replace(shape, points=tuple(to(p) for p in shape.points), width=shape.width * scale)
        case Circle() | Arc():
            return replace(
                shape, centre=to(shape.centre), radius=shape.radius * scale, width=shape.width * scale
            )
        case Text():
            return replace(shape, at=to(shape.at), height=shape.height * scale)
        case Moving():
            points = tuple(to(p) for p in shape.points)
            return replace(shape, points=points, size=shape.size * scale, pitch=shape.pitch * scale)
        case Group():
            return replace(shape, items=tuple(moved(item, scale, dx, dy) for item in shape.items))
        case _:
            assert_never(shape)


def leaves(shapes: Iterable[Shape]) -> Iterable[Leaf]:
    """Yield all shapes in drawing order, groups opened."""
    for shape in shapes:
        if isinstance(shape, Group):
            yield from leaves(shape.items)
        else:
            yield shape


def text_box(text: Text) -> Box:
    """Return the box of a text, tails included."""
    width = text_width(text.text, text.height, text.bold)
    x, y = text.at
    shift = {"start": 0.0, "middle": width / 2, "end": width}[text.anchor]
    if text.upward:
        return x - text.height, y + shift - width, x + text.height * DESCENT, y + shift
    return x - shift, y - text.height, x - shift + width, y + text.height * DESCENT


def box_of(shape: Shape) -> Box | None:
    """Return the box round a shape, line width not counted (an arc counts as its circle); None if there is nothing."""
    match shape:
        case Strokes():
            return _round(p for chain in shape.chains for p in chain)
        case Polygon() | Moving():
            return _round(shape.points)
        case Circle(centre=(x, y), radius=r) | Arc(centre=(x, y), radius=r):
            return x - r, y - r, x + r, y + r
        case Text():
            return text_box(shape)
        case Group():
            return union(box_of(item) for item in shape.items)
        case _:
            assert_never(shape)


def union(boxes: Iterable[Box | None]) -> Box | None:
    """Return the box round some boxes; None for none."""
    found = [box for box in boxes if box is not None]
    if not found:
        return None
    return (
        min(b[0] for b in found),
        min(b[1] for b in found),
        max(b[2] for b in found),
        max(b[3] for b in found),
    )


def rectangle(box: Box, width: float, colour: str = BLACK, fill: str | None = None) -> Polygon:
    """Return the outline of a box."""
    left, top, right, bottom = box
    return Polygon(((left, top), (right, top), (right, bottom), (left, bottom)), width, colour, fill)


def line(start: Point, end: Point, width: float, colour: str = BLACK) -> Strokes:
    """Return one straight line."""
    return Strokes(((start, end),), width, colour)


def _round(points: Iterable[Point]) -> Box | None:
    found = tuple(points)
    if not found:
        return None
    xs, ys = [p[0] for p in found], [p[1] for p in found]
    return min(xs), min(ys), max(xs), max(ys)
