"""Drawing words to strokes: ``"line 0,3 1,3"`` -> :class:`~pneudraw.library.model.Polyline`.

The words are listed in ``format.md`` beside this file. ``element`` and ``symbol`` bring in strokes drawn
elsewhere; they are asked for through two functions, so that this module reads no files.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable

from pneudraw.library.model import Arc, Arrow, Circle, Point, Polyline, Stroke, Text
from pneudraw.units import NUMBER

Matrix = tuple[int, int, int, int]
Lookup = Callable[[str], "tuple[Stroke, ...] | None"]

#: x' = a x + b y, y' = c x + d y; y points down, so r90 is a quarter turn clockwise
MATRICES: dict[str, Matrix] = {
    "r0": (1, 0, 0, 1),
    "r90": (0, -1, 1, 0),
    "r180": (-1, 0, 0, -1),
    "r270": (0, 1, -1, 0),
    "mx": (-1, 0, 0, 1),
    "my": (1, 0, 0, -1),
}
NODE = 0.25  # radius of a junction dot inside a symbol, M; ISO 1219-1 (from memory)
HEAD = 1.0  # length of an arrow head, M
MOST_STROKES = 400

_POINT = re.compile(rf"({NUMBER}),({NUMBER})\Z")
_SIZE = re.compile(rf"({NUMBER})x({NUMBER})\Z")
_NUMBER = re.compile(rf"{NUMBER}\Z")
_DIRECTIONS: dict[str, Point] = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


class StrokeError(ValueError):
    """A text that is no stroke; ``word`` is the piece of it to point at."""

    def __init__(self, message: str, word: str = "") -> None:
        super().__init__(message)
        self.word = word


def parse(text: str, element: Lookup, symbol: Lookup) -> tuple[Stroke, ...]:
    """Return the strokes one drawing text stands for.

    Raises
    ------
    StrokeError
        If the text is not one of the drawing words with its numbers.
    """
    words = text.split()
    if not words:
        raise StrokeError("an empty drawing text")
    word, rest = words[0], words[1:]
    match word:
        case "line":
            return (Polyline(_points(rest, 2)),)
        case "dashed":
            return (Polyline(_points(rest, 2), style="dashed"),)
        case "shape":
            return (Polyline(_points(rest, 3), closed=True, fill="white"),)
        case "solid":
            return (Polyline(_points(rest, 3), closed=True, fill="black"),)
        case "chain" | "rect":
            corner, size = _take(rest, 2, word)
            points = _box(_point(corner), _size(size))
            return (Polyline(points, style="chain" if word == "chain" else "solid", closed=True),)
        case "circle" | "disc":
            centre, radius = _take(rest, 2, word)
            return (Circle(_point(centre), _length(radius), "black" if word == "disc" else "none"),)
        case "dot":
            (centre,) = _take(rest, 1, word)
            return (Circle(_point(centre), NODE, "black"),)
        case "arc":
            centre, radius, start, end = _take(rest, 4, word)
            return (Arc(_point(centre), _length(radius), _number(start), _number(end)),)
        case "arrow":
            return (Arrow(_points(rest, 2)),)
        case "arrows":
            return (Arrow(_points(rest, 2), both=True),)
        case "upright":
            return (Arrow(_points(rest, 2), upright=True),)
        case "blocked":
            return _blocked(rest)
        case "rod":
            return _rod(rest)
        case "text":
            return (_text(rest),)
        case "element":
            return _placed(rest, element, "drawing element")
        case "symbol":
            return _placed(rest, symbol, "symbol")
    raise StrokeError(f"unknown drawing word `{word}`", word)


def moved(stroke: Stroke, matrix: Matrix, by: Point) -> Stroke:
    """Return the stroke turned or mirrored about the origin, then shifted.

    Text and upright arrows keep their own direction: only their middle is turned.
    """
    a, b, c, d = matrix

    def to(point: Point) -> Point:
        x, y = point
        return _round(a * x + b * y + by[0]), _round(c * x + d * y + by[1])

    match stroke:
        case Polyline():
            points = tuple(to(p) for p in stroke.points)
            return Polyline(points, stroke.style, stroke.closed, stroke.fill)
        case Circle():
            return Circle(to(stroke.centre), stroke.radius, stroke.fill)
        case Arc():
            turn = math.degrees(math.atan2(c, a))
            start, end = turn + stroke.start, turn + stroke.end
            if a * d - b * c < 0:
                start, end = turn - stroke.end, turn - stroke.start
            return Arc(to(stroke.centre), stroke.radius, start, end)
        case Arrow(upright=True):
            middle = _middle(stroke.points)
            centre = to(middle)
            dx, dy = centre[0] - middle[0], centre[1] - middle[1]
            points = tuple((_round(x + dx), _round(y + dy)) for x, y in stroke.points)
            return Arrow(points, stroke.both, upright=True)
        case Arrow():
            return Arrow(tuple(to(p) for p in stroke.points), stroke.both)
        case Text():  # turn the middle of the letters, not their baseline
            x, y = to((stroke.at[0], stroke.at[1] - stroke.height * 0.35))
            return Text((x, _round(y + stroke.height * 0.35)), stroke.text, stroke.height)


def bounds(strokes: Iterable[Stroke]) -> tuple[float, float, float, float] | None:
    """Return the box (left, top, right, bottom) round some strokes, line width not counted; None for none.

    A text counts with 0.6 of its height for each character.
    """
    xs: list[float] = []
    ys: list[float] = []
    for stroke in strokes:
        for x, y in _extremes(stroke):
            xs.append(x)
            ys.append(y)
    return (min(xs), min(ys), max(xs), max(ys)) if xs else None


def _extremes(stroke: Stroke) -> Iterable[Point]:
    match stroke:
        case Polyline() | Arrow():
            return stroke.points
        case Circle(centre=(x, y), radius=r):
            return ((x - r, y - r), (x + r, y + r))
        case Arc(centre=(x, y), radius=r):
            first, last = sorted((stroke.start, stroke.end))
            angles = [first, last]
            angles += [90.0 * k for k in range(math.ceil(first / 90), math.floor(last / 90) + 1)]
            return [
                (_round(x + r * math.cos(math.radians(angle))), _round(y + r * math.sin(math.radians(angle))))
                for angle in angles
            ]
        case Text(at=(x, y)):
            half = 0.3 * stroke.height * len(stroke.text)
            return ((x - half, y - 0.75 * stroke.height), (x + half, y))


def _middle(points: tuple[Point, ...]) -> Point:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def _round(value: float) -> float:
    return round(value, 4) + 0.0


def _take(words: list[str], count: int, word: str) -> list[str]:
    if len(words) != count:
        raise StrokeError(f"`{word}` wants {count} arguments, here are {len(words)}", word)
    return words


def _number(word: str) -> float:
    if not _NUMBER.match(word) or abs(float(word)) > 1000:
        raise StrokeError(f"`{word}` is no number of a drawing", word)
    return float(word)


def _length(word: str) -> float:
    number = _number(word)
    if number <= 0:
        raise StrokeError(f"`{word}` must be more than 0", word)
    return number


def _point(word: str) -> Point:
    match = _POINT.match(word)
    if match is None or max(abs(float(match[1])), abs(float(match[2]))) > 1000:
        raise StrokeError(f"`{word}` is no point; write x,y", word)
    return float(match[1]), float(match[2])


def _points(words: list[str], least: int) -> tuple[Point, ...]:
    points = tuple(_point(word) for word in words)
    if len(points) < least:
        raise StrokeError(f"at least {least} points are needed")
    return points


def _size(word: str) -> Point:
    match = _SIZE.match(word)
    if match is None or not (0 < float(match[1]) <= 1000 and 0 < float(match[2]) <= 1000):
        raise StrokeError(f"`{word}` is no size; write WIDTHxHEIGHT", word)
    return float(match[1]), float(match[2])


def _box(corner: Point, size: Point) -> tuple[Point, ...]:
    (x, y), (w, h) = corner, size
    return (x, y), (x + w, y), (x + w, y + h), (x, y + h)


def _blocked(words: list[str]) -> tuple[Stroke, ...]:
    """A blocked port: 1M from the outline into the box, with a bar of 1M across its end."""
    at, way = _take(words, 2, "blocked")
    if way not in _DIRECTIONS:
        raise StrokeError(f"`{way}` is no direction; left, right, up or down", way)
    (x, y), (dx, dy) = _point(at), _DIRECTIONS[way]
    end = (x + dx, y + dy)
    bar = ((end[0] - dy / 2, end[1] - dx / 2), (end[0] + dy / 2, end[1] + dx / 2))
    return Polyline(((x, y), end)), Polyline(bar)


def _rod(words: list[str]) -> tuple[Stroke, ...]:
    """A mechanical connection: two lines so far apart about an axis."""
    first, last, apart = _take(words, 3, "rod")
    (x0, y0), (x1, y1) = _point(first), _point(last)
    length = math.hypot(x1 - x0, y1 - y0)
    if length == 0:
        raise StrokeError("a rod of no length", last)
    half = _length(apart) / 2 / length
    nx, ny = (y1 - y0) * half, (x0 - x1) * half
    return tuple(
        Polyline(tuple((_round(x + s * nx), _round(y + s * ny)) for x, y in ((x0, y0), (x1, y1))))
        for s in (-1, 1)
    )


def _text(words: list[str]) -> Text:
    if len(words) < 2:
        raise StrokeError("`text` wants a point and the text", "text")
    height = 1.0
    if len(words) > 2 and words[1].startswith("height="):
        height = _length(words[1].removeprefix("height="))
        words = [words[0], *words[2:]]
    return Text(_point(words[0]), " ".join(words[1:])[:40], height)


def _placed(words: list[str], lookup: Lookup, what: str) -> tuple[Stroke, ...]:
    """Strokes drawn elsewhere: a name, where its origin goes, and how it is turned, in that order."""
    if len(words) < 2:
        raise StrokeError(f"a {what} wants a name and a point", words[0] if words else "")
    name, at, turns = words[0], _point(words[1]), words[2:]
    strokes = lookup(name)
    if strokes is None:
        raise StrokeError(f"unknown {what} `{name}`", name)
    for turn in turns:
        if turn not in _TURNS:
            raise StrokeError(f"unknown turn `{turn}`; {', '.join(_TURNS)}", turn)
        strokes = tuple(moved(stroke, MATRICES[_TURNS[turn]], (0, 0)) for stroke in strokes)
    return tuple(moved(stroke, MATRICES["r0"], at) for stroke in strokes)


_TURNS = {"flip": "mx", "turn90": "r90", "turn180": "r180", "turn270": "r270"}
