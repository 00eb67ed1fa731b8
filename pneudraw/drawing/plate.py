"""One symbol of the catalogue: on the module grid, every port numbered, its name and what it rests on beneath."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import accumulate

from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.parts import Spot, port_numbers, take_outlines
from pneudraw.drawing.shapes import (
    BLACK,
    Box,
    Circle,
    Group,
    Polygon,
    Shape,
    Sheet,
    Strokes,
    Text,
    moved,
    rectangle,
)
from pneudraw.drawing.symbols import drawn
from pneudraw.lettering import LINE_PITCH, shorten, text_width, wrap
from pneudraw.library.model import Basis, Drawing, Kind, Role, Side

Item = Kind | Drawing

MODULE = 2.5  # mm
MARGIN = 10.0  # mm round a bare plate
AROUND = 1  # M of grid round a symbol's box
TEXT = 2.5  # mm
PITCH = TEXT * LINE_PITCH
GAP = 4.0  # mm between cells
UNDER = 2.0  # mm from the grid to the words
GRID_INK, BOX_INK = "#c8c8c8", "#8c8c8c"
SIDES = {Side.LEFT: "W", Side.RIGHT: "E", Side.UP: "N", Side.DOWN: "S"}
TITLE_LINES = 2
NUMBERS = 0.75  # M that a port number may stand outside its cell; less than half of the gap between cells
WORDS_WIDTH = 42.0  # mm, of the words under a symbol that is no part


def plates(kinds: Iterable[Kind], width: float = 190.0, height: float = 277.0) -> tuple[Sheet, ...]:
    """Return some kinds on bare sheets no larger than ``width`` x ``height`` [mm], in the order given.

    A kind too large for a sheet gets one of its own, as large as it needs.
    """
    sheets: list[Sheet] = []
    for number, page in enumerate(_pages(tuple(kinds), width - 2 * MARGIN, height - 2 * MARGIN), start=1):
        items: list[Shape] = []
        y, widest = MARGIN, 0.0
        for row in page:
            x, grid, tall = MARGIN, max(grid_height(kind) for kind in row), row_height(row)
            for kind in row:
                wide, _ = cell_size(kind)
                items.append(moved(plate(kind), 1.0, x, y + grid - grid_height(kind)))
                x += wide + GAP
            widest = max(widest, x - GAP - MARGIN)
            y += tall + GAP
        names = ", ".join(kind.title for row in page for kind in row)
        size = (max(width, widest + 2 * MARGIN), y - GAP + MARGIN)
        sheets.append(Sheet(f"symbols-{number}", "Symbols", names, *size, MODULE, "plate", tuple(items)))
    return tuple(sheets)


def plate(item: Item) -> Group:
    """Return one symbol in mm, from (0, 0), in a cell of :func:`cell_size`, its grid in the middle."""
    wide, high = item.size
    cell_width, _ = cell_size(item)
    left = (cell_width / MODULE - wide) / 2
    strokes = list(item.strokes)
    spots: list[Spot] = []
    for port in item.ports:
        strokes += port.unjoined if port.role is Role.EXHAUST and port.unjoined else port.joined
        spots.append((port.id, port.at, SIDES[port.faces]))
    shapes: list[Shape] = [*_grid(wide, high), *drawn(strokes)]
    reach = left + NUMBERS
    taken = Occupied((-reach, -AROUND - NUMBERS, wide + reach, high + AROUND + NUMBERS))
    take_outlines(tuple(strokes), taken)
    shapes += port_numbers(tuple(spots), (0, 0, wide, high), 1.0, taken)
    items = [moved(shape, MODULE, left * MODULE, AROUND * MODULE) for shape in shapes]
    y = grid_height(item) + UNDER
    middle = cell_width / 2
    if isinstance(item, Drawing):  # it has no name in a netlist to stand before
        first = text_width(_title(item)[0], TEXT, True)
        items += basis_mark(item.basis, middle - first / 2 - 2.2, y + TEXT / 2)
    for line in _title(item):
        items.append(Text((middle, y + TEXT), line, TEXT, "middle", True))
        y += PITCH
    if isinstance(item, Kind):
        start = middle - _name_width(item) / 2
        items += basis_mark(item.basis, start + 0.9, y + TEXT / 2)
        items.append(Text((start + 3.0, y + TEXT), shorten(item.name, 85, TEXT), TEXT))
        y += PITCH
    for line in _words(item):
        items.append(Text((middle, y + TEXT), line, TEXT, "middle"))
        y += PITCH
    text = item.summary if isinstance(item, Kind) else item.text
    return Group("plate", item.name, tuple(items), item.title, text)


def cell_size(item: Item) -> tuple[float, float]:
    """Return width and height [mm] of a symbol's cell: the grid round it, and the words under it."""
    lines = _title(item)
    marked = 6.0 if isinstance(item, Drawing) else 0.0
    words = [text_width(line, TEXT, True) + marked for line in lines]
    words += [text_width(line, TEXT) for line in _words(item)]
    width = max(*words, _name_width(item), (item.size[0] + 2 * AROUND + 1) * MODULE)
    count = len(lines) + len(_words(item)) + (1 if isinstance(item, Kind) else 0)
    return width, grid_height(item) + UNDER + count * PITCH


def grid_height(item: Item) -> float:
    """Return the height [mm] of the grid in a symbol's cell; the words stand below it."""
    return (item.size[1] + 2 * AROUND) * MODULE


def row_height(row: Iterable[Item]) -> float:
    """Return the height [mm] of a row of cells whose grids stand on one line."""
    cells = tuple(row)
    grid = max(grid_height(item) for item in cells)
    return grid + max(cell_size(item)[1] - grid_height(item) for item in cells)


def basis_mark(basis: Basis, x: float, y: float) -> tuple[Shape, ...]:
    """Return the mark of what a drawing rests on, its middle at (x, y): disc, half disc, circle or square."""
    r, width = 0.9, 0.2
    match basis:
        case Basis.CONFIRMED:
            return (Circle((x, y), r, 0.0, BLACK, BLACK),)
        case Basis.MEMORY:
            turns = (math.radians(90 + step * 15) for step in range(13))
            half = tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for turn in turns)
            return Polygon(half, 0.0, BLACK, BLACK), Circle((x, y), r, width)
        case Basis.COMPOSED:
            return (Circle((x, y), r, width),)
        case Basis.OWN:
            return (rectangle((x - r, y - r, x + r, y + r), width),)


def _grid(wide: int, high: int) -> Iterator[Shape]:
    box: Box = (-AROUND, -AROUND, wide + AROUND, high + AROUND)
    columns = tuple(((x, box[1]), (x, box[3])) for x in range(-AROUND, wide + AROUND + 1))
    rows = tuple(((box[0], y), (box[2], y)) for y in range(-AROUND, high + AROUND + 1))
    yield Strokes((*columns, *rows), 0.04, GRID_INK)
    yield rectangle((0, 0, wide, high), 0.04, BOX_INK)


def _title(item: Item) -> tuple[str, ...]:
    """The title in one line or two of about the same width."""
    whole = text_width(item.title, TEXT, True)
    longest = max(text_width(word, TEXT, True) for word in item.title.split())
    beneath = _name_width(item) if isinstance(item, Kind) else WORDS_WIDTH - 6.0
    room = max((item.size[0] + 2 * AROUND) * MODULE, beneath, longest)
    if whole <= room:
        return (item.title,)
    room = max(room, whole * 0.5)
    while len(wrap(item.title, room, TEXT, True)) > TITLE_LINES:
        room += 1.0
    return wrap(item.title, room, TEXT, True)


def _name_width(item: Item) -> float:
    """Of the word of the netlist and the mark before it; a symbol that is no part has no name."""
    return 3.0 + text_width(item.name, TEXT) if isinstance(item, Kind) else 0.0


def _words(item: Item) -> tuple[str, ...]:
    """What a symbol means that is no part and has no page of its own."""
    if isinstance(item, Kind):
        return ()
    return wrap(item.text, max(WORDS_WIDTH, (item.size[0] + 2 * AROUND) * MODULE), TEXT)


def rows_of(items: tuple[Item, ...], width: float, even: bool = False) -> list[list[Item]]:
    """Return the items in rows no wider than ``width`` [mm], in order; one that is wider has a row of its own.

    ``even``: the rows are about as long as each other, and no more than they have to be.
    """
    rows = _greedy(items, width)
    if not even or len(rows) < 2:
        return rows
    narrow, wide = 0.0, width
    for _ in range(12):
        middle = (narrow + wide) / 2
        if len(_greedy(items, middle)) <= len(rows):
            wide = middle
        else:
            narrow = middle
    return _greedy(items, wide)


def _greedy(items: tuple[Item, ...], width: float) -> list[list[Item]]:
    rows: list[list[Item]] = []
    used = 0.0
    for item in items:
        cell = cell_size(item)[0]
        if not rows or used + cell > width:
            rows.append([])
            used = 0.0
        rows[-1].append(item)
        used += cell + GAP
    return rows


def _pages(kinds: tuple[Kind, ...], width: float, height: float) -> list[list[list[Item]]]:
    pages: list[list[list[Item]]] = []
    rows = rows_of(kinds, width)
    heights = [row_height(row) + GAP for row in rows]
    start = 0.0
    for row, bottom in zip(rows, accumulate(heights), strict=True):
        if not pages or bottom - GAP - start > height:
            pages.append([])
            start = bottom - (row_height(row) + GAP)
        pages[-1].append(row)
    return pages
