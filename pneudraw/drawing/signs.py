"""The second signs of a trace along a line, in modules: arrow heads, ticks, the number in the order of arrival."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pneudraw.drawing.nearby import beside, clear
from pneudraw.drawing.occupied import ALL_LINES, Occupied
from pneudraw.drawing.palette import Look, look
from pneudraw.drawing.runs import Flowing
from pneudraw.drawing.shapes import WHITE, Box, Circle, Point, Polygon, Shape, Strokes, Text
from pneudraw.drawing.symbols import triangle
from pneudraw.drawing.tints import MOVING

HEAD, HEAD_HALF = 1.5, 0.55  # of a trace's arrow head
SLIM = 0.36  # half width of a head where a label or a number stands close to the line
SMALL = 1.1  # length of a head in a run that has no room for more
LONG_RUN = 4.0  # a straight run this long gets its own arrow head
TICK = 1.0
TICK_EVERY = 6.0
BALLOON = 1.1  # radius of the circle round an order number, in heights of its digits
LEADER = 0.1

Run = tuple[Point, Point]


def signs(
    flow: tuple[Flowing, ...],
    colour: bool,
    order: int | None,
    taken: Occupied,
    owner: str,
    letters: float = 1.0,
) -> tuple[Shape, ...]:
    """Return heads, ticks and the number: the number on the line if that costs no arrow, else after the arrows.

    ``letters``: height of the number [M].
    """
    if order is None:
        return tuple(_marks(flow, colour, taken, owner))
    before = taken.count()
    most = len(tuple(_marks(flow, colour, taken, owner)))
    taken.undo(before)
    number = tuple(_balloon(order, flow, taken, owner, colour, letters))
    marks = tuple(_marks(flow, colour, taken, owner))
    if len(marks) >= most:
        return (*number, *marks)
    taken.undo(before)
    return (*_marks(flow, colour, taken, owner), *_balloon(order, flow, taken, owner, colour, letters))


def along(start: Point, end: Point, margin: float, first: float = 0.5) -> Iterator[Point]:
    """Points of a run, from the share ``first`` of it outwards, none nearer to its ends than ``margin``."""
    length = math.dist(start, end)
    if length < 2 * margin or length == 0:
        return
    steps = max(1, int(length / 0.5))
    shares = sorted((s / steps for s in range(steps + 1)), key=lambda s: (abs(s - first), s))
    for share in (first, *shares):
        if margin <= share * length <= length - margin:
            yield start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def square(centre: Point, half: float) -> Box:
    """The box round a point."""
    return centre[0] - half, centre[1] - half, centre[0] + half, centre[1] + half


def _marks(flow: tuple[Flowing, ...], colour: bool, taken: Occupied, owner: str) -> Iterator[Shape]:
    for item in flow:
        seen = look(item.style, colour)
        if item.way and seen.sign in ("filled", "open"):
            yield from _heads(item, seen, taken, owner)
        elif seen.sign == "ticks":
            yield from _ticks(item, seen, taken, owner)


def _heads(item: Flowing, seen: Look, taken: Occupied, owner: str) -> Iterator[Shape]:
    """One head in each long run, or one in the longest; slim where something stands close by."""
    runs = item.piece.runs() if item.way > 0 else tuple((b, a) for a, b in reversed(item.piece.runs()))
    longest = max(math.dist(*run) for run in runs)
    wanted = [run for run in runs if math.dist(*run) >= LONG_RUN]
    if not wanted and longest >= SMALL + 0.4:
        wanted = [next(run for run in runs if math.dist(*run) == longest)]
    for start, end in wanted:
        length = HEAD if math.dist(start, end) >= HEAD + 1.2 else SMALL
        for half, ignore in ((HEAD_HALF, (owner,)), (SLIM, (owner,)), (SLIM, (owner, "label"))):
            spots = along(start, end, length / 2 + 0.2)
            boxes = ((spot, _lying(start, end, spot, length, half)) for spot in spots)
            found = next(((spot, box) for spot, box in boxes if taken.free(box, 0.05, ignore)), None)
            if found is not None:
                taken.add(found[1])
                yield _arrow_head(start, end, found[0], length, half, seen)
                break


def _lying(start: Point, end: Point, centre: Point, length: float, half: float) -> Box:
    """The box of an arrow head that lies along a run."""
    x, y = centre
    wide, high = (length / 2, half) if start[1] == end[1] else (half, length / 2)
    return x - wide, y - high, x + wide, y + high


def _arrow_head(start: Point, end: Point, centre: Point, length: float, half: float, seen: Look) -> Polygon:
    distance = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / distance, (end[1] - start[1]) / distance
    tip = (centre[0] + ux * length / 2, centre[1] + uy * length / 2)
    corners = triangle(start, tip, length, half)
    if seen.sign == "filled":
        return Polygon(corners, 0.1, seen.colour, seen.colour)
    return Polygon(corners, 0.2, seen.colour, WHITE)


def _ticks(item: Flowing, seen: Look, taken: Occupied, owner: str) -> Iterator[Shape]:
    runs = item.piece.runs()
    longest = max(runs, key=lambda run: math.dist(*run))
    for run in runs:
        start, end = run
        length = math.dist(start, end)
        count = int(length // TICK_EVERY) or int(run == longest and length >= 1)
        for number in range(count):
            middle = length / 2 + (number - (count - 1) / 2) * TICK_EVERY
            for shift in (0.0, 0.75, -0.75, 1.5, -1.5):
                if not 0.4 <= middle + shift <= length - 0.4:
                    continue
                share = (middle + shift) / length
                x, y = start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
                box = square((x, y), TICK / 2)
                if taken.free(box, 0.0, (owner,)):
                    taken.add(box)
                    across = (0.0, TICK / 2) if start[1] == end[1] else (TICK / 2, 0.0)
                    ends = ((x - across[0], y - across[1]), (x + across[0], y + across[1]))
                    yield Strokes((ends,), seen.width, seen.colour)
                    break


def _balloon(
    order: int | None,
    flow: tuple[Flowing, ...],
    taken: Occupied,
    owner: str,
    colour: bool,
    letters: float,
) -> Iterator[Shape]:
    """A line's number in a circle on its most important run, else beside it with a leader, else nowhere."""
    moving = [item for item in flow if item.style in MOVING]
    runs = [(item, run) for item in moving for run in item.piece.runs()]
    if order is None or not runs:
        return
    radius = BALLOON * letters
    runs.sort(key=lambda r: (-(math.dist(*r[1]) >= 2 * radius + HEAD + 0.5), -r[0].flow, -math.dist(*r[1])))
    ink = look(moving[0].style, colour).colour
    place = next(_on_line(runs, taken, owner, radius), None)
    if place is None:
        found = next(_off_line(runs, taken, owner, radius), None)
        if found is None:
            return
        place, foot = found
        yield Strokes(((foot, place),), LEADER, ink)
    taken.add(square(place, radius))
    yield Circle(place, radius, 0.12, ink, WHITE)
    yield Text((place[0], place[1] + letters / 2), str(order), letters, "middle", bold=True)


def _on_line(runs: list[tuple[Flowing, Run]], taken: Occupied, owner: str, radius: float) -> Iterator[Point]:
    for margin in (radius + 1.2, radius + 0.2):
        for item, (start, end) in runs:
            towards = (start, end) if item.way >= 0 else (end, start)
            for spot in along(*towards, margin, first=0.3):
                if taken.free(square(spot, radius), 0.1, (owner,)):
                    yield spot


def _off_line(
    runs: list[tuple[Flowing, Run]], taken: Occupied, owner: str, radius: float
) -> Iterator[tuple[Point, Point]]:
    """Places beside a run, nearest first, each with the foot of its leader on the run."""
    for far, ignore in ((2.0, (owner,)), (6.0, (owner,)), (6.0, (ALL_LINES,))):
        for _, (start, end) in runs:
            for foot in along(start, end, 0.3):
                for box in beside(square(foot, 0.2), 2 * radius, 2 * radius, far):
                    centre = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
                    if taken.free(box, 0.1) and clear(foot, centre, taken, ignore):
                        yield centre, foot
