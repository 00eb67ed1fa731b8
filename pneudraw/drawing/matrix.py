"""A matrix on a sheet of its own: rows and columns with names, a sign or a word in each cell. Black on white.

Knows nothing of faults or air. The sheet is as large as the matrix needs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from pneudraw.drawing.shapes import (
    BLACK,
    Circle,
    Group,
    Polygon,
    Shape,
    Sheet,
    Strokes,
    Text,
    line,
    rectangle,
)
from pneudraw.lettering import text_width, wrap

TEXT = 2.5  # mm, the smallest lettering
PITCH = 4.0
MARGIN = 12.0
ROW, COLUMN = 4.4, 4.4  # mm, least height and width of a cell
GRID = "#bdbdbd"
LARGEST = 1189.0  # mm: the long side of A0
NAME_MOST = 120.0

#: signs that a cell can show besides words
SIGNS = ("disc", "ring", "dot", "cross", "down", "DOWN", "up", "square", "half", "SQUARE", "bar")


@dataclass(frozen=True)
class Cell:
    """What stands in a cell: a sign (one of :data:`SIGNS`) or a short text, told in full by ``title``."""

    sign: str = ""
    text: str = ""
    title: str = ""


@dataclass(frozen=True)
class Column:
    """A column: its name, and the group it stands in (columns of a group are neighbours)."""

    name: str
    group: str


@dataclass(frozen=True)
class Matrix:
    """All of it. ``cells`` has a tuple for each row. ``legend``: signs and texts with what they mean."""

    name: str
    title: str
    subtitle: str
    desc: str
    rows: tuple[str, ...]
    columns: tuple[Column, ...]
    cells: tuple[tuple[Cell, ...], ...]
    legend: tuple[tuple[Cell, str], ...] = ()
    notes: tuple[str, ...] = ()


def draw_matrix(matrix: Matrix) -> Sheet:
    """Return the sheet of a matrix; ``messages`` says so if it is larger than A0."""
    names = max((text_width(row, TEXT) for row in matrix.rows), default=0.0)
    names = min(NAME_MOST, max(names, 30.0)) + 4.0
    widths = [
        max([COLUMN, *(text_width(row[c].text, TEXT) + 2.0 for row in matrix.cells if row[c].text)])
        for c in range(len(matrix.columns))
    ]
    head = max((text_width(column.name, TEXT) for column in matrix.columns), default=0.0) + 4.0
    left = MARGIN + names
    lefts = [left]
    for wide in widths:
        lefts.append(lefts[-1] + wide)
    width = max(lefts[-1] + MARGIN, 190.0)
    top = MARGIN + 14.0 + PITCH + head
    bottom = top + ROW * len(matrix.rows)
    shapes: list[Shape] = [
        Group(
            "heading",
            "",
            (
                Text((MARGIN, MARGIN + 5.0), matrix.title, 5.0, bold=True),
                Text((MARGIN, MARGIN + 11.0), matrix.subtitle, 3.5),
            ),
        ),
        Group("grid", "", tuple(_grid(matrix, lefts, top, bottom))),
        Group("names", "", tuple(_names(matrix, lefts, top, head))),
        Group("cells", "", tuple(_cells(matrix, lefts, top))),
    ]
    words, height = _words(matrix, width - 2 * MARGIN, bottom + 8.0)
    shapes.append(Group("words", "", words, "Legend and notes"))
    messages: tuple[str, ...] = ()
    if max(width, height) > LARGEST:
        messages = (
            f"the sheet is {width:.0f} by {height:.0f} mm, larger than A0; choose fewer rows or columns",
        )
    return Sheet(
        matrix.name,
        matrix.title,
        matrix.desc,
        width,
        height + MARGIN,
        TEXT,
        "bare",
        tuple(shapes),
        None,
        messages,
    )


def _grid(matrix: Matrix, lefts: list[float], top: float, bottom: float) -> Iterator[Shape]:
    for number in range(len(matrix.rows) + 1):
        y = top + number * ROW
        yield line((MARGIN, y), (lefts[-1], y), 0.13, GRID if number % 5 else BLACK)
    for x in lefts:
        yield line((x, top), (x, bottom), 0.13, GRID)
    column = 0
    for _, group in groupby(c.group for c in matrix.columns):
        yield line((lefts[column], top - 2.0), (lefts[column], bottom), 0.35)
        column += len(list(group))
    yield line((lefts[-1], top - 2.0), (lefts[-1], bottom), 0.35)


def _names(matrix: Matrix, lefts: list[float], top: float, head: float) -> Iterator[Shape]:
    for number, row in enumerate(matrix.rows):
        y = top + number * ROW + (ROW + TEXT) / 2
        yield Text((lefts[0] - 2.0, y), _short(row, NAME_MOST), TEXT, "end")
    for number, column in enumerate(matrix.columns):
        x = (lefts[number] + lefts[number + 1] + TEXT) / 2
        yield Text((x, top - 2.0), column.name, TEXT, upward=True)
    first = 0
    for group, found in groupby(c.group for c in matrix.columns):
        yield Text((lefts[first] + 0.8, top - head - 1.0), group, 3.5, bold=True)
        first += len(list(found))


def _short(text: str, width: float) -> str:
    from pneudraw.lettering import shorten

    return shorten(text, width, TEXT)


def _cells(matrix: Matrix, lefts: list[float], top: float) -> Iterator[Shape]:
    for r, row in enumerate(matrix.cells):
        items: list[Shape] = []
        for c, cell in enumerate(row):
            middle = ((lefts[c] + lefts[c + 1]) / 2, top + (r + 0.5) * ROW)
            items += _cell(cell, *middle)
        if items:
            yield Group("row", matrix.rows[r], tuple(items), matrix.rows[r])


def _cell(cell: Cell, x: float, y: float) -> Iterator[Shape]:
    r = 1.3
    match cell.sign:
        case "disc":
            yield Circle((x, y), r, 0.25, BLACK, BLACK)
        case "ring":
            yield Circle((x, y), r, 0.35)
        case "dot":
            yield Circle((x, y), 0.5, 0.0, BLACK, BLACK)
        case "cross":
            yield Strokes((((x - r, y - r), (x + r, y + r)), ((x - r, y + r), (x + r, y - r))), 0.35)
        case "down" | "DOWN":
            corners = ((x - r, y - r), (x + r, y - r), (x, y + r))
            yield Polygon(corners, 0.3, BLACK, BLACK if cell.sign == "DOWN" else None)
        case "up":
            yield Polygon(((x - r, y + r), (x + r, y + r), (x, y - r)), 0.3)
        case "square" | "SQUARE" | "half":
            box = (x - r, y - r, x + r, y + r)
            yield rectangle(box, 0.3, BLACK, BLACK if cell.sign == "SQUARE" else None)
            if cell.sign == "half":
                yield rectangle((x - r, y, x + r, y + r), 0.0, BLACK, BLACK)
        case "bar":
            yield line((x - r, y), (x + r, y), 0.5)
    if cell.text:
        yield Text((x, y + TEXT / 2), cell.text, TEXT, "middle")


def _words(matrix: Matrix, width: float, top: float) -> tuple[tuple[Shape, ...], float]:
    items: list[Shape] = []
    y = top
    x = MARGIN
    for cell, words in matrix.legend:
        own = max(COLUMN, text_width(cell.text, TEXT) + 1.0) + 1.0
        wide = own + text_width(words, TEXT) + 6.0
        if x + wide > MARGIN + width and x > MARGIN:
            x, y = MARGIN, y + PITCH + 0.6
        items += _cell(cell, x + own / 2 - 0.5, y + TEXT / 2)
        items.append(Text((x + own, y + TEXT), words, TEXT))
        x += wide
    y += PITCH + 2.0
    for note in matrix.notes:
        for text in wrap(note, width, TEXT):
            items.append(Text((MARGIN, y + TEXT), text, TEXT))
            y += PITCH
    return tuple(items), y
