"""The choice of the sheet."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.drawing.fitting import Plan, plan
from pneudraw.drawing.options import PAPERS, SheetOptions
from pneudraw.drawing.rows import Row, column_width, height_for, paragraph
from pneudraw.drawing.titleblock import block_height

WORDS = "A line of the legend that says what something on the drawing means. "


def some_words(width: float, module: float) -> tuple[Row, ...]:
    return tuple(row for _ in range(6) for row in paragraph(WORDS, width))


def planned(wide: float, high: float, options: SheetOptions | None = None) -> Plan:
    return plan((wide, high), some_words, options or SheetOptions())


@pytest.mark.parametrize(("size", "smaller"), [("A0", "A1"), ("A1", "A2"), ("A2", "A3"), ("A3", "A4")])
def test_each_a_size_is_half_the_next(size: str, smaller: str) -> None:
    """ISO 216: sides as 1 to the root of 2; halving the long side, rounded down to a millimetre."""
    short, long = PAPERS[size]
    assert PAPERS[smaller] == (math.floor(long / 2), short)
    assert long / short == pytest.approx(math.sqrt(2), rel=0.003)


def test_letter_and_tabloid_are_in_inches() -> None:
    """ANSI/ASME Y14.1 sizes A and B: 8.5 x 11 and 11 x 17 inches (from memory)."""
    assert PAPERS["letter"] == (pytest.approx(8.5 * 25.4), pytest.approx(11 * 25.4))
    assert PAPERS["tabloid"] == (pytest.approx(11 * 25.4), pytest.approx(17 * 25.4))


def test_a_slide_is_sixteen_by_nine() -> None:
    short, long = PAPERS["slide"]
    assert long / short == pytest.approx(16 / 9, rel=1e-3)


@settings(deadline=None, max_examples=40)
@given(wide=st.floats(5, 400), high=st.floats(5, 250))
def test_a_sheet_chosen_by_the_program_is_readable_and_holds_everything(wide: float, high: float) -> None:
    made = planned(wide, high)
    assert made.module >= 2.5 or made.messages
    left, top, right, bottom = made.drawing
    assert wide * made.module <= right - left + 1e-6
    assert high * made.module <= bottom - top + 1e-6
    assert made.frame[0] < left
    assert right < made.frame[2]
    assert top > made.frame[1]
    assert bottom < made.frame[3]


@settings(deadline=None, max_examples=40)
@given(wide=st.floats(5, 250), high=st.floats(5, 150))
def test_drawing_words_and_title_block_share_the_frame_without_touching(wide: float, high: float) -> None:
    made = planned(wide, high)
    words = made.words
    tall = height_for(some_words(column_width(words[2] - words[0], made.columns), 2.5), made.columns)
    box = (words[0], words[1], words[2], words[1] + tall)
    title = (
        made.frame[2] - made.title_width,
        made.frame[3] - block_height(made.paper),
        made.frame[2],
        made.frame[3],
    )
    for a, b in ((box, title), (box, made.drawing), (title, made.drawing)):
        assert a[2] <= b[0] + 1e-6 or b[2] <= a[0] + 1e-6 or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6
    assert box[3] <= made.frame[3]


def test_small_circuits_stay_on_a4_with_the_larger_lettering() -> None:
    made = planned(60, 30)
    assert made.paper == "A4"
    assert made.module == 3.5


def test_the_smallest_readable_sheet_is_taken() -> None:
    papers = [planned(wide, wide / 2).paper for wide in range(20, 440, 20)]
    order = ["A4", "A3", "A2", "A1", "A0"]
    assert papers == sorted(papers, key=order.index)
    assert set(papers) == set(order)


def test_a_paper_that_is_too_small_is_not_taken_and_that_is_said() -> None:
    made = planned(140, 60, SheetOptions(paper="A4"))
    assert made.paper == "A3"
    assert any("`A4`" in message for message in made.messages)


def test_a_letter_that_is_too_small_becomes_a_tabloid() -> None:
    made = planned(130, 60, SheetOptions(paper="letter"))
    assert made.paper == "tabloid"
    assert made.messages


def test_what_is_too_large_for_every_sheet_is_shrunk_but_not_in_silence() -> None:
    made = planned(900, 500)
    assert made.paper == "A0"
    assert made.module < 2.5
    assert any("too large" in message for message in made.messages)


@pytest.mark.parametrize("turned", ["portrait", "landscape"])
def test_a_wish_for_a_turn_is_granted(turned: str) -> None:
    made = planned(40, 40, SheetOptions(turned=turned))
    assert (made.width < made.height) is (turned == "portrait")


def test_a_tall_drawing_stands_on_a_portrait_sheet() -> None:
    made = planned(40, 70)
    assert made.height > made.width
