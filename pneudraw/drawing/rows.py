"""Text and samples under one another, flowed into columns: the words beside a drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pneudraw.drawing.shapes import Shape, Text, moved
from pneudraw.lettering import text_width, wrap

TEXT = 2.5  # mm, the smallest lettering on a sheet
PITCH = 4.0  # mm from line to line of it
COLUMN_GAP = 5.0  # mm
ORPHAN = 3  # letters that are no line of their own


@dataclass(frozen=True)
class Row:
    """A strip of a column, mm; shapes relative to its upper left corner.

    ``keep``: never the last of a column. ``air``: that much at its top is not needed at the top of a column.
    """

    height: float
    items: tuple[Shape, ...]
    keep: bool = False
    heading: bool = False
    air: float = 0.0


def heading(text: str, first: bool = False) -> Row:
    """Return a heading, with some air above unless it is the ``first``."""
    top = 0.0 if first else 2.0
    return Row(top + PITCH + 0.6, (Text((0, top + TEXT + 0.4), text, TEXT, bold=True),), True, True, top)


def paragraph(text: str, width: float, indent: float = 0.0, mark: str = "") -> tuple[Row, ...]:
    """Return the lines of a paragraph, all ``indent`` mm in, with a ``mark`` before the first."""
    rows = []
    lines = _no_orphan(wrap(text, width - indent, TEXT))
    for number, line in enumerate(lines):
        items: tuple[Shape, ...] = (Text((indent, TEXT + 0.4), line, TEXT),)
        if mark and number == 0:
            items = (Text((0, TEXT + 0.4), mark, TEXT, bold=True), *items)
        rows.append(Row(PITCH, items, keep=number < len(lines) - 1 and number in (0, len(lines) - 2)))
    return tuple(rows)


def _no_orphan(lines: Sequence[str]) -> tuple[str, ...]:
    """The lines, but a last one of a letter or two takes a word of the line before along (``lf 1``)."""
    if len(lines) > 1 and len(lines[-1]) <= ORPHAN and " " in lines[-2]:
        rest, _, word = lines[-2].rpartition(" ")
        return (*lines[:-2], rest, f"{word} {lines[-1]}")
    return tuple(lines)


def numbered(texts: Sequence[str], width: float, numbers: Sequence[int] = ()) -> tuple[Row, ...]:
    """Return numbered paragraphs; with 1, 2, 3 unless other ``numbers`` are given."""
    numbers = numbers or range(1, len(texts) + 1)
    indent = max((text_width(f"{number}.", TEXT, bold=True) for number in numbers), default=0.0) + 1.5
    return tuple(
        row
        for number, text in zip(numbers, texts, strict=True)
        for row in paragraph(text, width, indent, f"{number}.")
    )


def height_for(rows: Sequence[Row], columns: int) -> float:
    """Return the height [mm] of the rows in so many columns: see :func:`flow`."""
    return max((sum(row.height for row in column) for column in _columns(rows, columns)), default=0.0)


def flow(
    rows: Sequence[Row], width: float, columns: int, left: float, top: float, room: float = math.inf
) -> tuple[Shape, ...]:
    """Return the rows' shapes in columns side by side, as even as they get.

    A column begins with a heading if that makes them less than twice as high, and no higher than ``room`` [mm].
    """
    step = column_width(width, columns) + COLUMN_GAP
    out: list[Shape] = []
    for number, column in enumerate(_columns(rows, columns, room)):
        y = top - column[0].air
        for row in column:
            out += [moved(item, 1.0, left + number * step, y) for item in row.items]
            y += row.height
    return tuple(out)


def column_width(width: float, columns: int) -> float:
    """Return the width [mm] of one of so many columns."""
    return (width - (columns - 1) * COLUMN_GAP) / columns


def _columns(rows: Sequence[Row], count: int, room: float = math.inf) -> list[list[Row]]:
    least = _least(rows, count, whole=False)
    whole = _least(rows, count, whole=True)
    return _split(rows, whole, True) if whole <= min(least * 1.75, room) else _split(rows, least, False)


def _least(rows: Sequence[Row], count: int, whole: bool) -> float:
    low = max((row.height for row in rows), default=0.0)
    high = sum(row.height for row in rows)
    while high - low > 0.25:
        middle = (low + high) / 2
        columns = _split(rows, middle, whole)
        fits = all(sum(row.height for row in column) <= middle for column in columns)
        if fits and len(columns) <= count:
            high = middle
        else:
            low = middle
    return high


def _split(rows: Sequence[Row], height: float, whole: bool) -> list[list[Row]]:
    """Fill columns up to a height; ``whole`` blocks (a heading and what follows) go into one column."""
    columns: list[list[Row]] = []
    used = 0.0
    for piece in _pieces(rows, whole):
        need = sum(row.height for row in piece)
        if columns and used + need <= height + 1e-9:
            columns[-1] += piece
            used += need
        else:
            columns.append(list(piece))
            used = need
    return columns


def _pieces(rows: Sequence[Row], whole: bool) -> list[list[Row]]:
    """Rows that stay together."""
    out: list[list[Row]] = []
    joined = False
    for row in rows:
        if joined or (whole and out and not row.heading):
            out[-1].append(row)
        else:
            out.append([row])
        joined = row.keep
    return out
