"""The sheet's frame, centring marks and grid fields: ISO 5457 (borders and marks from memory)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from pneudraw.drawing.shapes import Box, Group, Shape, Text, line, rectangle

FILING, BORDER = 20.0, 10.0  # mm: left for filing, the other sides
SLIDE_BORDER = 8.0
STRIP = 5.0  # width of the fields' strip, outside the frame
FIELD = 50.0  # length of a field, counted from the centring marks
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # no I, no O
FRAME_LINE, FIELD_LINE = 0.7, 0.35
INTO = 2.0  # the centring marks reach so far into the frame, at the top and the sides


def frame_box(paper: str, width: float, height: float) -> Box:
    """Return the drawing frame of a sheet."""
    if paper == "slide":
        return SLIDE_BORDER, SLIDE_BORDER, width - SLIDE_BORDER, height - SLIDE_BORDER
    return FILING, BORDER, width - BORDER, height - BORDER


def frame(paper: str, width: float, height: float) -> Group:
    """Return frame, marks and fields; a slide has the frame alone, A4 and letter fields at the top and right only."""
    box = frame_box(paper, width, height)
    items: list[Shape] = []
    if paper != "slide":
        small = paper in ("A4", "letter")
        items += _fields(box, width, height, small)
        items += _marks(box, width, height)
    items.append(rectangle(box, FRAME_LINE))
    return Group("frame", "", tuple(items), "Frame and grid fields")


def _marks(box: Box, width: float, height: float) -> Iterator[Shape]:
    left, top, right, bottom = box
    x, y = width / 2, height / 2
    yield line((x, top - STRIP), (x, top + INTO), FRAME_LINE)
    yield line((x, bottom + STRIP), (x, bottom), FRAME_LINE)
    yield line((left - STRIP, y), (left + INTO, y), FRAME_LINE)
    yield line((right + STRIP, y), (right - INTO, y), FRAME_LINE)


def _fields(box: Box, width: float, height: float, small: bool) -> Iterator[Shape]:
    left, top, right, bottom = box
    outer = (left - STRIP, top - STRIP, right + STRIP, bottom + STRIP)
    yield rectangle(outer, FIELD_LINE)
    across, down = _cuts(left, right, width / 2), _cuts(top, bottom, height / 2)
    for x in across[1:-1]:
        yield line((x, outer[1]), (x, top), FIELD_LINE)
        if not small:
            yield line((x, outer[3]), (x, bottom), FIELD_LINE)
    for y in down[1:-1]:
        yield line((outer[2], y), (right, y), FIELD_LINE)
        if not small:
            yield line((outer[0], y), (left, y), FIELD_LINE)
    for number, (a, b) in enumerate(pairwise(across), start=1):
        yield Text(((a + b) / 2, top - STRIP / 2 + 1.75), str(number), 3.5, "middle")
        if not small:
            yield Text(((a + b) / 2, bottom + STRIP / 2 + 1.75), str(number), 3.5, "middle")
    for letter, a, b in zip(LETTERS, down, down[1:], strict=False):
        yield Text((right + STRIP / 2, (a + b) / 2 + 1.75), letter, 3.5, "middle")
        if not small:
            yield Text((left - STRIP / 2, (a + b) / 2 + 1.75), letter, 3.5, "middle")


def _cuts(low: float, high: float, middle: float) -> tuple[float, ...]:
    """Ends of the fields along one side: 50 mm steps from the middle, the rest (if long enough) at the ends."""
    inner = [middle]
    while inner[0] - FIELD > low + 8:
        inner.insert(0, inner[0] - FIELD)
    while inner[-1] + FIELD < high - 8:
        inner.append(inner[-1] + FIELD)
    return (low, *inner, high)


def field_at(paper: str, width: float, height: float, point: tuple[float, float]) -> str:
    """Return the grid field of a point of the sheet [mm], letter and number (``"B3"``); a slide has none."""
    if paper == "slide":
        return ""
    left, top, right, bottom = frame_box(paper, width, height)
    column = sum(point[0] >= x for x in _cuts(left, right, width / 2)[1:-1])
    row = sum(point[1] >= y for y in _cuts(top, bottom, height / 2)[1:-1])
    return f"{LETTERS[row]}{column + 1}"
