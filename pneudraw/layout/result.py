"""What the layout engine answers: places, routes, tees and label boxes, in grid units."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[int, int]


@dataclass(frozen=True)
class PlacedSymbol:
    """Top left corner, and the size after ``transform`` (a turn by 90 degrees exchanges width and height)."""

    id: str
    x: int
    y: int
    width: int
    height: int
    transform: str


@dataclass(frozen=True)
class PlacedPort:
    """A port in the drawing: place and the side of its symbol after the transform."""

    symbol: str
    port: str
    x: int
    y: int
    side: str


@dataclass(frozen=True)
class Route:
    """The lines of one net as polylines that meet only at tees. A net drawn by no line has none."""

    net: str
    lines: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class PlacedLabel:
    """Box of a symbol's text. ``anchor`` says where the symbol is: "start" if to the left of the box, "end" if to
    the right, else "middle"; the text is set flush that way."""

    symbol: str
    x: float
    y: float
    width: float
    height: float
    anchor: str


@dataclass(frozen=True)
class Layout:
    """A finished layout. ``tees`` are the points that get a dot. ``faults`` says what is wrong in words: empty unless
    the problem has no solution (a port in two nets)."""

    symbols: tuple[PlacedSymbol, ...]
    ports: tuple[PlacedPort, ...]
    routes: tuple[Route, ...]
    tees: tuple[tuple[str, Point], ...]
    labels: tuple[PlacedLabel, ...]
    width: int
    height: int
    faults: tuple[str, ...] = ()
    crossings: int = 0
    corners: int = 0
