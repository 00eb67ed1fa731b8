"""Matrices: on A sizes, shaded so that a grey copy shows it, cut into pages where no wall would hold them."""

from __future__ import annotations

from itertools import product

import pytest

from pneudraw.drawing.matrix import GONE, SIGNS, Cell, Column, Matrix, draw_matrix, sheet_for
from pneudraw.drawing.matrix_pages import draw_matrices
from pneudraw.drawing.options import PAPERS
from pneudraw.drawing.shapes import BLACK, WHITE, Group, Polygon, Shape, Sheet, Text, box_of


def matrix(rows: int, groups: int, columns: int) -> Matrix:
    """A matrix in which every row says something in every third column."""
    names = tuple(
        Column(f"place {g}.{c}", f"G{g}", f"Group {g}") for g, c in product(range(groups), range(columns))
    )
    return Matrix(
        "m",
        "A matrix",
        "of numbers",
        "A matrix.",
        tuple(f"row {r}" for r in range(rows)),
        names,
        tuple(
            tuple(Cell("disc") if (r + c) % 3 == 0 else Cell() for c in range(len(names)))
            for r in range(rows)
        ),
        ((Cell("disc"), "disc"), (Cell("ring"), "never used")),
        (*(f"G{g}: what is done in group {g}." for g in range(groups)), "A note on all."),
        ("Caution.",),
    )


def items(shape: Shape) -> list[Shape]:
    return [i for item in shape.items for i in items(item)] if isinstance(shape, Group) else [shape]


def texts(sheet: Sheet) -> list[Text]:
    return [item for group in sheet.shapes for item in items(group) if isinstance(item, Text)]


def test_a_sheet_is_the_smallest_a_size_lying_or_standing() -> None:
    assert sheet_for(200, 100) == PAPERS["A4"]
    assert sheet_for(290, 200) == tuple(reversed(PAPERS["A4"]))
    assert sheet_for(290, 300) == PAPERS["A3"]
    assert sheet_for(2000, 100) is None


def test_a_small_matrix_is_one_sheet() -> None:
    (sheet,) = draw_matrices(matrix(10, 2, 5))
    assert (sheet.width, sheet.height) == PAPERS["A4"]


def test_what_needs_more_than_a2_is_cut_into_a3_pages_that_hold_all_of_it() -> None:
    large = matrix(150, 6, 40)
    pages = draw_matrices(large)
    assert len(pages) > 6
    assert {(page.width, page.height) for page in pages} == {tuple(reversed(PAPERS["A3"]))}
    seen: set[str] = set()
    for page in pages:
        for group in page.shapes:
            for item in items(group):
                left, top, right, bottom = box_of(item)
                assert 0 <= left <= right <= page.width
                assert 0 <= top <= bottom <= page.height
        words = [text.text for text in texts(page)]
        assert "Caution." in words  # on every page
        assert "never used" not in words
        seen |= set(words)
    assert {f"row {r}" for r in range(150)} <= seen
    assert {column.name for column in large.columns} <= seen
    assert "A note on all." in seen
    discs = sum(1 for row in large.cells for cell in row if cell.sign)
    drawn = sum(
        1
        for page in pages
        for group in page.shapes
        if isinstance(group, Group)
        for row in group.items
        if isinstance(row, Group) and row.title
        for item in row.items
        if type(item).__name__ == "Circle"
    )
    assert drawn == discs


def test_what_is_gone_is_grey_and_what_is_dangerous_white_on_black() -> None:
    cells = ((Cell(text="-", shade="gone"), Cell(text="BAD", shade="bad"), Cell(text="100")),)
    sheet = draw_matrix(
        Matrix("m", "t", "s", "d", ("row",), (Column("a", "G"), Column("b", "G"), Column("c", "G")), cells)
    )
    fills = {i.fill for g in sheet.shapes for i in items(g) if isinstance(i, Polygon)}
    assert fills >= {GONE, BLACK}
    looks = {text.text: (text.colour, text.bold) for text in texts(sheet)}
    assert looks["-"] == (BLACK, True)
    assert looks["BAD"] == (WHITE, True)
    assert looks["100"] == (BLACK, False)


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_is_drawn_within_its_cell(sign: str) -> None:
    sheet = draw_matrix(Matrix("m", "t", "s", "d", ("row",), (Column("a", "G"),), ((Cell(sign),),)))
    (row,) = (
        g for group in sheet.shapes if isinstance(group, Group) for g in group.items if isinstance(g, Group)
    )
    boxes = [box_of(item) for item in row.items]
    assert boxes
    assert all(right - left <= 4.4 and bottom - top <= 4.4 for left, top, right, bottom in boxes)
