"""A matrix on a sheet of its own: rows and columns with names, a sign or a word in each cell. Black on white.

Knows nothing of faults or air. The sheet is the smallest A size on which the matrix finds room, whichever way it lies;
what finds room on none is as large as it needs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from pneudraw.drawing.options import PAPERS
from pneudraw.drawing.shapes import (
    BLACK,
    WHITE,
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
GONE = "#d2d2d2"
SIZES = ("A4", "A3", "A2", "A1", "A0")
NAME_MOST = 95.0
TOP = MARGIN + 14.0 + PITCH  # of the columns' names, below title and groups

#: signs that a cell can show besides words
SIGNS = (
    *("disc", "ring", "dot", "cross", "down", "DOWN", "up", "square", "half", "SQUARE", "bar"),
    *("left", "right", "both"),
)


@dataclass(frozen=True)
class Cell:
    """What stands in a cell: a sign (one of :data:`SIGNS`) or a short text, told in full by ``title``.

    ``shade``: ``gone`` (grey, the text bold) or ``bad`` (white on black).
    """

    sign: str = ""
    text: str = ""
    title: str = ""
    shade: str = ""


@dataclass(frozen=True)
class Column:
    """A column: its name, and the group it stands in (columns of a group are neighbours).

    ``about``: more of the group's name, put beside it where there is room.
    """

    name: str
    group: str
    about: str = ""


@dataclass(frozen=True)
class Matrix:
    """All of it. ``cells`` has a tuple for each row. ``legend``: signs and texts with what they mean.

    ``footer`` stands below the notes, on every page.
    """

    name: str
    title: str
    subtitle: str
    desc: str
    rows: tuple[str, ...]
    columns: tuple[Column, ...]
    cells: tuple[tuple[Cell, ...], ...]
    legend: tuple[tuple[Cell, str], ...] = ()
    notes: tuple[str, ...] = ()
    footer: tuple[str, ...] = ()


def draw_matrix(matrix: Matrix, sheet: tuple[float, float] | None = None) -> Sheet:
    """Return the sheet of a matrix; ``messages`` says so if it needs more than A0.

    ``sheet``: width and height [mm], if it is to be one size and no other.
    """
    head = head_height(matrix)
    lefts = [MARGIN + names_width(matrix)]
    for wide in column_widths(matrix):
        lefts.append(lefts[-1] + wide)
    width = max(lefts[-1] + MARGIN, PAPERS["A4"][0])
    top = TOP + head
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
    words, height = _words(matrix, (width if sheet is None else sheet[0]) - 2 * MARGIN, bottom + 8.0)
    shapes.append(Group("words", "", words, "Legend and notes"))
    paper = sheet or sheet_for(width, height + MARGIN)
    messages: tuple[str, ...] = ()
    if paper is None:
        messages = (
            f"the sheet is {width:.0f} by {height:.0f} mm, larger than A0; choose fewer rows or columns",
        )
    return Sheet(
        matrix.name,
        matrix.title,
        matrix.desc,
        *(paper or (width, height + MARGIN)),
        TEXT,
        "bare",
        tuple(shapes),
        None,
        messages,
    )


def names_width(matrix: Matrix) -> float:
    """Return the room left of the first column for the rows' names [mm]."""
    names = max((text_width(row, TEXT) for row in matrix.rows), default=0.0)
    return min(NAME_MOST, max(names, 30.0)) + 4.0


def head_height(matrix: Matrix) -> float:
    """Return the room above the first row for the columns' names [mm]."""
    return max((text_width(column.name, TEXT) for column in matrix.columns), default=0.0) + 4.0


def column_widths(matrix: Matrix) -> list[float]:
    """Return the width of each column [mm]."""
    out = [COLUMN] * len(matrix.columns)
    for row in matrix.cells:
        for c, cell in enumerate(row):
            if cell.text:
                out[c] = max(out[c], text_width(cell.text, TEXT, bold=bool(cell.shade)) + 2.0)
    return out


def words_height(matrix: Matrix, width: float) -> float:
    """Return the room that legend and notes need below the last row [mm]."""
    return _words(matrix, width, 8.0)[1]


def sheet_for(width: float, height: float) -> tuple[float, float] | None:
    """Return the smallest A size [mm] with room for so much, lying either way; None if A0 is too small."""
    for name in SIZES:
        short, long = PAPERS[name]
        if width <= short and height <= long:
            return short, long
        if width <= long and height <= short:
            return long, short
    return None


def _grid(matrix: Matrix, lefts: list[float], top: float, bottom: float) -> Iterator[Shape]:
    if not matrix.rows:
        return
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
        count = len(list(found))
        at = lefts[first] + 0.8
        yield Text((at, top - head - 1.0), group, 3.5, bold=True)
        about = matrix.columns[first].about
        at += text_width(group, 3.5, bold=True) + 2.0
        if about and at + text_width(about, TEXT) < lefts[first + count]:
            yield Text((at, top - head - 1.0), about, TEXT)
        first += count


def _short(text: str, width: float) -> str:
    from pneudraw.lettering import shorten

    return shorten(text, width, TEXT)


def _cells(matrix: Matrix, lefts: list[float], top: float) -> Iterator[Shape]:
    for r, row in enumerate(matrix.cells):
        items: list[Shape] = []
        for c, cell in enumerate(row):
            middle = ((lefts[c] + lefts[c + 1]) / 2, top + (r + 0.5) * ROW)
            if cell.shade:
                box = (lefts[c] + 0.2, top + r * ROW + 0.2, lefts[c + 1] - 0.2, top + (r + 1) * ROW - 0.2)
                items.append(rectangle(box, 0.0, WHITE, BLACK if cell.shade == "bad" else GONE))
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
        case "left" | "right" | "both":
            yield line((x - r, y), (x + r, y), 0.35)
            for side in (-1, 1) if cell.sign == "both" else (-1 if cell.sign == "left" else 1,):
                tip = x + side * r
                yield Strokes((((tip - side * 0.9, y - 0.8), (tip, y), (tip - side * 0.9, y + 0.8)),), 0.35)
        case "bar":
            yield line((x - r, y), (x + r, y), 0.5)
    if cell.text:
        ink = WHITE if cell.shade == "bad" else BLACK
        yield Text((x, y + TEXT / 2), cell.text, TEXT, "middle", bold=bool(cell.shade), colour=ink)


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
    for note in (*matrix.notes, *matrix.footer):
        for text in wrap(note, width, TEXT):
            items.append(Text((MARGIN, y + TEXT), text, TEXT))
            y += PITCH
    return tuple(items), y
