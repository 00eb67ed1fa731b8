"""The printed catalogue as a whole."""

from __future__ import annotations

import pytest

from pneudraw.drawing import catalogue
from pneudraw.drawing.plate import plate
from pneudraw.drawing.plate_sheets import PAPERS
from pneudraw.drawing.shapes import Group, Sheet, Text, box_of, leaves
from pneudraw.library.model import Basis, Kind
from pneudraw.library.reader import load
from tests.drawing.measure import inside, overlapping_texts

LIBRARY, _ = load()
KINDS = tuple(LIBRARY.kinds.values())
DRAWINGS = LIBRARY.drawings()


@pytest.fixture(scope="module", params=sorted(PAPERS))
def sheets(request: pytest.FixtureRequest) -> tuple[Sheet, ...]:
    return catalogue(KINDS, DRAWINGS, request.param)


def plates_of(sheet: Sheet) -> list[Group]:
    return [shape for shape in sheet.shapes if isinstance(shape, Group) and shape.role == "plate"]


def test_every_symbol_is_shown_once(sheets: tuple[Sheet, ...]) -> None:
    shown = sorted(group.name for sheet in sheets for group in plates_of(sheet))
    assert shown == sorted([kind.name for kind in KINDS] + [drawing.name for drawing in DRAWINGS])


def test_everything_stays_inside_the_frame_and_no_words_overlap(sheets: tuple[Sheet, ...]) -> None:
    for sheet in sheets:
        assert sheet.frame is not None
        assert overlapping_texts(sheet) == []
        for group in plates_of(sheet):
            box = box_of(group)
            assert box is not None
            assert inside(box, sheet.frame)


def test_plates_do_not_touch_each_other(sheets: tuple[Sheet, ...]) -> None:
    for sheet in sheets:
        boxes = [box for group in plates_of(sheet) if (box := box_of(group))]
        for number, (left, top, right, bottom) in enumerate(boxes):
            for other in boxes[:number]:
                assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top


def test_sheets_are_counted_and_of_the_size_they_say(sheets: tuple[Sheet, ...]) -> None:
    for number, sheet in enumerate(sheets, start=1):
        assert (sheet.width, sheet.height) == PAPERS[sheet.paper]
        words = [item.text for item in leaves(sheet.shapes) if isinstance(item, Text)]
        assert f"{number} of {len(sheets)}, {sheet.paper}, en" in words


def test_pages_are_well_filled(sheets: tuple[Sheet, ...]) -> None:
    """The lowest plate of every page but the last reaches below three fifths of its height."""
    for sheet in sheets[:-1]:
        assert sheet.frame is not None
        lowest = max(box[3] for group in plates_of(sheet) if (box := box_of(group)))
        assert lowest > sheet.frame[1] + 0.6 * (sheet.frame[3] - sheet.frame[1])


def test_a_chapter_that_goes_on_says_so(sheets: tuple[Sheet, ...]) -> None:
    """Every page begins with a heading; a chapter's own heading stands once."""
    headings = []
    for sheet in sheets:
        texts = [shape for shape in sheet.shapes if isinstance(shape, Text)]
        assert texts
        headings += [text.text for text in texts]
    own = [text for text in headings if not text.endswith(", continued")]
    assert len(own) == len(set(own))
    assert {text.removesuffix(", continued") for text in headings} == set(own)


def test_the_four_marks_differ_and_every_plate_has_one() -> None:
    from pneudraw.drawing.plate import basis_mark

    marks = {basis: basis_mark(basis, 0, 0) for basis in Basis}
    assert len(set(marks.values())) == 4
    for item in (*KINDS, *DRAWINGS):
        kinds_of_mark = {type(shape).__name__ for shape in marks[item.basis]}
        assert kinds_of_mark <= {type(shape).__name__ for shape in leaves((plate(item),))}
        assert isinstance(item, Kind) or item.text


def test_the_same_kinds_give_the_same_sheets() -> None:
    assert catalogue(KINDS, DRAWINGS) == catalogue(KINDS, DRAWINGS)


def test_a_paper_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="no paper `A7`"):
        catalogue(KINDS, DRAWINGS, "A7")
