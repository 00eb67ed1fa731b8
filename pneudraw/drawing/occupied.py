"""Where something is already drawn: so that what is added later (numbers, arrows, badges) finds a free place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from pneudraw.drawing.shapes import Box, Point

CELL = 4.0
#: among the owners to ignore: every line
ALL_LINES = "lines"


class Occupied:
    """Boxes on a grid of cells. Each has an owner; a search may ignore what belongs to one of them."""

    def __init__(self, limits: Box) -> None:
        self.limits = limits
        self._cells: dict[tuple[int, int], list[tuple[Box, str]]] = {}
        self._log: list[Box] = []

    def add(self, box: Box, owner: str = "") -> None:
        """Mark a box as taken."""
        self._log.append(box)
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append((box, owner))

    def count(self) -> int:
        """How many boxes there are: a point to come back to with :meth:`undo`."""
        return len(self._log)

    def undo(self, count: int) -> None:
        """Take away what was added since there were ``count`` boxes."""
        while len(self._log) > count:
            for cell in _cells(self._log.pop()):
                self._cells[cell].pop()

    def add_chain(self, points: Iterable[Point], owner: str = "", width: float = 0.1) -> None:
        """Mark straight lines as taken; slanting ones with the box round them."""
        chain = tuple(points)
        half = width / 2
        for (x0, y0), (x1, y1) in pairwise(chain):
            box = (min(x0, x1) - half, min(y0, y1) - half, max(x0, x1) + half, max(y0, y1) + half)
            self.add(box, owner)

    def free(self, box: Box, air: float = 0.0, ignore: tuple[str, ...] = ()) -> bool:
        """True if the box, with ``air`` round it, lies inside the limits and on nothing (of other owners)."""
        left, top, right, bottom = box
        if left < self.limits[0] or top < self.limits[1] or right > self.limits[2] or bottom > self.limits[3]:
            return False
        wide = (left - air, top - air, right + air, bottom + air)
        for cell in _cells(wide):
            for other, owner in self._cells.get(cell, ()):
                if owner in ignore or (ALL_LINES in ignore and owner.startswith("line ")):
                    continue
                if _overlap(wide, other):
                    return False
        return True


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for column in range(int(box[0] // CELL), int(box[2] // CELL) + 1):
        for row in range(int(box[1] // CELL), int(box[3] // CELL) + 1):
            yield column, row


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
