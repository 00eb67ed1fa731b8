"""A matrix too large for a wall: cut into A3 pages, each with only the rows and columns that say something there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from pneudraw.drawing.matrix import (
    MARGIN,
    ROW,
    TOP,
    Cell,
    Matrix,
    column_widths,
    draw_matrix,
    head_height,
    names_width,
    words_height,
)
from pneudraw.drawing.options import PAPERS
from pneudraw.drawing.shapes import Sheet

LARGEST = PAPERS["A2"][1]  # mm: what needs more is cut
HEIGHT, WIDTH = PAPERS["A3"]


def draw_matrices(matrix: Matrix) -> tuple[Sheet, ...]:
    """Return the sheets of a matrix: one up to A2; else pages of A3, lying.

    Notes that begin with the name of a group stand on that group's pages, the others on a last page.
    """
    whole = draw_matrix(matrix)
    if not whole.messages and max(whole.width, whole.height) <= LARGEST:
        return (whole,)
    pages = tuple(_pages(matrix))
    count = len(pages)
    return tuple(
        draw_matrix(replace(page, subtitle=f"{page.subtitle}, page {number} of {count}"), (WIDTH, HEIGHT))
        for number, page in enumerate(pages, start=1)
    )


def _pages(matrix: Matrix) -> Iterator[Matrix]:
    groups = tuple(dict.fromkeys(column.group for column in matrix.columns))
    for chosen in _packed(matrix):
        kept = [r for r, row in enumerate(matrix.cells) if any(row[c] != Cell() for c in chosen)]
        here = {matrix.columns[c].group for c in chosen}
        notes = tuple(note for note in matrix.notes if note.partition(":")[0] in here)
        page = _part(matrix, kept, chosen, notes)
        fixed = TOP + head_height(page) + words_height(page, WIDTH - 2 * MARGIN) + MARGIN
        most = max(1, int((HEIGHT - fixed) / ROW))
        for first in range(0, len(kept), most):
            yield _part(matrix, kept[first : first + most], chosen, notes)
    rest = tuple(note for note in matrix.notes if note.partition(":")[0] not in groups)
    if rest:
        yield replace(matrix, rows=(), columns=(), cells=(), legend=(), notes=rest)


def _packed(matrix: Matrix) -> Iterator[list[int]]:
    """Columns that find room side by side: whole groups as long as they do."""
    widths = column_widths(matrix)
    room = WIDTH - 2 * MARGIN - names_width(matrix)
    page: list[int] = []
    for _, found in groupby(range(len(widths)), key=lambda c: matrix.columns[c].group):
        group = list(found)
        if page and sum(widths[c] for c in (*page, *group)) > room:
            yield page
            page = []
        for c in group:
            if page and sum(widths[i] for i in (*page, c)) > room:
                yield page
                page = []
            page.append(c)
    if page:
        yield page


def _part(matrix: Matrix, rows: Sequence[int], columns: Sequence[int], notes: tuple[str, ...]) -> Matrix:
    shown = {(cell.sign, cell.text) for r in rows for cell in matrix.cells[r]}
    used = [c for c in columns if any(matrix.cells[r][c] != Cell() for r in rows)]
    return replace(
        matrix,
        rows=tuple(matrix.rows[r] for r in rows),
        columns=tuple(matrix.columns[c] for c in used),
        cells=tuple(tuple(matrix.cells[r][c] for c in used) for r in rows),
        legend=tuple(one for one in matrix.legend if (one[0].sign, one[0].text) in shown),
        notes=notes,
    )
