"""The decision tree as a sheet: all of it, on an A size, open questions repeated where a column begins within it."""

from __future__ import annotations

from functools import cache

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import CAUTIONS, PAPERS
from pneudraw.drawing.shapes import BLACK, Group, Sheet, Text, text_box
from pneudraw.flow.diagnosis import Table, tree
from pneudraw.teach.finding_sheet import GREY, draw_tree
from tests.flow.test_machines import circuit, table


@cache
def drawn() -> tuple[Circuit, Table, Sheet]:
    return circuit(), table(), draw_tree(circuit(), table(), tree(table()))


def texts(sheet: Sheet) -> list[Text]:
    return [
        t for group in sheet.shapes if isinstance(group, Group) for t in group.items if isinstance(t, Text)
    ]


def of(sheet: Sheet, name: str) -> list[str]:
    """The texts of one group of the sheet."""
    return [
        item.text
        for group in sheet.shapes
        if isinstance(group, Group) and group.role == name
        for item in group.items
        if isinstance(item, Text)
    ]


def test_every_fault_that_shows_is_a_leaf_of_the_tree() -> None:
    _, found, sheet = drawn()
    bold = " ".join(t.text for t in texts(sheet) if t.bold)
    for row in found.rows:
        if row.wrong:
            assert row.fault.name in bold


def test_the_sheet_is_an_a_size_and_nothing_leaves_it_or_overlaps() -> None:
    _, _, sheet = drawn()
    sizes = {size for name, size in PAPERS.items() if name.startswith("A")}
    assert {(sheet.width, sheet.height), (sheet.height, sheet.width)} & sizes
    boxes = [text_box(t) for t in texts(sheet)]
    for left, top, right, bottom in boxes:
        assert 0 < left < right < sheet.width
        assert 0 < top < bottom < sheet.height
    for number, one in enumerate(boxes):
        for two in boxes[number + 1 :]:
            apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
            assert apart, (one, two)


def test_only_the_conditions_asked_about_are_explained_and_the_cautions_stand_below() -> None:
    _, found, sheet = drawn()
    asked, told = ("\n".join(of(sheet, name)) for name in ("tree", "words"))
    for condition in found.conditions:
        begins = f"\n{condition.letter}: "
        assert (begins in f"\n{told}") is (begins in f"\n{asked}"), condition.letter
    for caution in CAUTIONS:
        assert caution in told.replace("\n", " ")


def test_a_column_that_begins_within_the_tree_repeats_the_open_questions_in_grey() -> None:
    _, _, sheet = drawn()
    grey = [t for t in texts(sheet) if t.colour == GREY]
    assert grey
    assert min(t.at[0] for t in grey) > sheet.width / 4
    black = {t.text for t in texts(sheet) if t.colour == BLACK}
    assert all(t.text in black for t in grey if t.text not in ("yes", "no"))
