"""Free places beside a thing, nearest first: for numbers, badges and tags that come after the layout's labels."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.shapes import Box, Point


def beside(box: Box, width: float, height: float, far: float = 4.0) -> Iterator[Box]:
    """Yield boxes of a size round another: above, right, below, left, in rings going outwards."""
    left, top, right, bottom = box
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    gap = 0.4
    while gap <= far:
        columns = (middle_x - width / 2, right - width, left, left - width, right)
        rows = (middle_y - height / 2, top, bottom - height)
        for x in columns:
            yield _at(x, top - gap - height, width, height)
        for y in rows:
            yield _at(right + gap, y, width, height)
        for x in columns:
            yield _at(x, bottom + gap, width, height)
        for y in rows:
            yield _at(left - gap - width, y, width, height)
        gap += 0.6


def at_port(point: Point, side: str, away: int, width: float, height: float) -> Iterator[Box]:
    """Yield places for a port's number: beside the stub (1M long, inwards from ``point``), then further out.

    ``side`` is N, E, S or W; ``away`` is -1 or 1, the side that lies away from the symbol's middle (up or
    left: -1).
    """
    x, y = point
    for out in (0.0, 0.6, 1.2):
        for hand in (away, -away):
            if side in "EW":
                inner = x + 1 - 0.1 - out if side == "W" else x - 1 + 0.1 + out
                left = inner - width if side == "W" else inner
                if width < 0.8 and not out:
                    left = (x + 0.5 if side == "W" else x - 0.5) - width / 2
                yield _at(left, y - 0.3 - height if hand < 0 else y + 0.3, width, height)
            else:
                upper = y + 1 - 0.05 - height - out if side == "N" else y - 1 + 0.05 + out
                yield _at(x - 0.3 - width if hand < 0 else x + 0.3, upper, width, height)


def first_free(
    places: Iterator[Box], taken: Occupied, air: float, ignore: tuple[str, ...] = ()
) -> Box | None:
    """Return the first place nothing else stands on, and take it; None if there is none."""
    for place in places:
        if taken.free(place, air, ignore):
            taken.add(place)
            return place
    return None


def clear(
    start: Point, end: Point, taken: Occupied, ignore: tuple[str, ...], skip: tuple[Box, ...] = ()
) -> bool:
    """True if a straight line touches nothing but what is ignored, and what it does inside the ``skip`` boxes."""
    steps = int(math.dist(start, end) / 0.1) + 1
    for step in range(steps + 1):
        x = start[0] + (end[0] - start[0]) * step / steps
        y = start[1] + (end[1] - start[1]) * step / steps
        inside = any(box[0] <= x <= box[2] and box[1] <= y <= box[3] for box in skip)
        if not inside and not taken.free((x - 0.05, y - 0.05, x + 0.05, y + 0.05), 0.0, ignore):
            return False
    return True


def _at(left: float, top: float, width: float, height: float) -> Box:
    return left, top, left + width, top + height
