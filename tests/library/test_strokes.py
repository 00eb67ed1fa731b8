"""Drawing words."""

from __future__ import annotations

import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.library.model import Arc, Arrow, Circle, Polyline, Stroke, Text
from pneudraw.library.strokes import MATRICES, StrokeError, bounds, moved, parse


def draw(text: str, **elements: tuple[Stroke, ...]) -> tuple[Stroke, ...]:
    return parse(text, elements.get, lambda _: None)


def test_lines_and_rectangles() -> None:
    assert draw("line 0,3 1,3") == (Polyline(((0, 3), (1, 3))),)
    assert draw("dashed 4,0 4,1.5") == (Polyline(((4, 0), (4, 1.5)), style="dashed"),)
    assert draw("rect 2,2 4x3") == (Polyline(((2, 2), (6, 2), (6, 5), (2, 5)), closed=True),)
    assert draw("chain 1,1 1x1")[0] == Polyline(((1, 1), (2, 1), (2, 2), (1, 2)), style="chain", closed=True)


def test_round_things() -> None:
    assert draw("circle 4,4 3") == (Circle((4, 4), 3),)
    assert draw("dot 7,1") == (Circle((7, 1), 0.25, "black"),)
    assert draw("arc 3,3 2 90 270") == (Arc((3, 3), 2, 90, 270),)


def test_a_blocked_port_has_a_bar_across_its_end() -> None:
    """ISO 1219-1: short line into the box with a cross-bar (1M long, from memory)."""
    stroke, bar = draw("blocked 5,6 up")
    assert stroke == Polyline(((5, 6), (5, 5)))
    assert isinstance(bar, Polyline)
    assert sorted(bar.points) == [(4.5, 5), (5.5, 5)]


def test_a_rod_is_two_lines_so_far_apart() -> None:
    one, other = draw("rod 4,7 4,8 0.8")
    assert isinstance(one, Polyline)
    assert isinstance(other, Polyline)
    assert {one.points[0][0], other.points[0][0]} == {3.6, 4.4}


def test_text_keeps_its_words() -> None:
    assert draw("text 3,3.4 M") == (Text((3, 3.4), "M"),)
    assert draw("text 3,3 height=1.4 two words") == (Text((3, 3), "two words", 1.4),)


def test_an_element_is_turned_then_placed() -> None:
    tip = draw("shape -1,-0.5 0,0 -1,0.5")
    (placed,) = draw("element tip 4,3 turn90", tip=tip)
    assert isinstance(placed, Polyline)
    assert placed.points == ((4.5, 2), (4, 3), (3.5, 2))  # on top of a box, pointing down into it
    (mirrored,) = draw("element tip 4,3 flip", tip=tip)
    assert isinstance(mirrored, Polyline)
    assert mirrored.points[0] == (5, 2.5)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("lien 0,3 1,3", "lien"),
        ("line 0,3", ""),
        ("line 0,3 1;3", "1;3"),
        ("rect 0,0 4", "4"),
        ("rect 0,0 0x4", "0x4"),
        ("circle 0,0 -1", "-1"),
        ("arc 0,0 1 0", "arc"),
        ("blocked 1,1 north", "north"),
        ("element nothing 0,0", "nothing"),
        ("symbol nothing 0,0", "nothing"),
        ("rod 1,1 1,1 0.5", "1,1"),
        ("line 0,0 1e9,0", "1e9,0"),
        ("", ""),
    ],
)
def test_a_wrong_text_says_where(text: str, word: str) -> None:
    with pytest.raises(StrokeError) as caught:
        draw(text)
    assert caught.value.word == word


point = st.tuples(st.floats(-20, 20), st.floats(-20, 20))
strokes = st.one_of(
    st.builds(Polyline, st.lists(point, min_size=2, max_size=5).map(tuple)),
    st.builds(Circle, point, st.floats(0.1, 5)),
    st.builds(Arc, point, st.floats(0.1, 5), st.floats(-180, 180), st.floats(181, 400)),
    st.builds(Arrow, st.lists(point, min_size=2, max_size=3).map(tuple)),
)


@given(strokes, st.sampled_from(sorted(MATRICES)))
def test_turning_turns_the_box(stroke: Stroke, turn: str) -> None:
    """The box round a turned stroke is the turned box; every turn here keeps the grid's directions."""
    a, b, c, d = MATRICES[turn]
    before, after = bounds([stroke]), bounds([moved(stroke, MATRICES[turn], (0, 0))])
    assert before is not None
    assert after is not None
    corners = [(before[0], before[1]), (before[2], before[3])]
    xs = sorted(a * x + b * y for x, y in corners)
    ys = sorted(c * x + d * y for x, y in corners)
    assert after == pytest.approx((xs[0], ys[0], xs[1], ys[1]), abs=1e-3)


@given(strokes)
def test_four_quarter_turns_change_nothing(stroke: Stroke) -> None:
    turned = stroke
    for _ in range(4):
        turned = moved(turned, MATRICES["r90"], (0, 0))
    assert bounds([turned]) == pytest.approx(bounds([stroke]), abs=1e-3)


def test_the_box_of_an_arc_counts_where_it_bulges() -> None:
    assert bounds([Arc((0, 0), 2, 90, 270)]) == pytest.approx((-2, -2, 0, 2), abs=1e-3)
    assert bounds([Arc((0, 0), 1, 45, 135)]) == pytest.approx(
        (-math.sqrt(0.5), math.sqrt(0.5), math.sqrt(0.5), 1), abs=1e-3
    )


def test_letters_and_pointers_stay_upright() -> None:
    pointer = Arrow(((1, 3), (3.2, 0.8)), upright=True)
    turned = moved(pointer, MATRICES["r180"], (0, 0))
    assert isinstance(turned, Arrow)
    dx, dy = turned.points[1][0] - turned.points[0][0], turned.points[1][1] - turned.points[0][1]
    assert (dx, dy) == pytest.approx((2.2, -2.2))
    text = moved(Text((2, 3), "M"), MATRICES["mx"], (4, 0))
    assert isinstance(text, Text)
    assert text.text == "M"
    assert text.at == pytest.approx((2, 3))


@given(st.text(max_size=60))
def test_any_text_is_a_drawing_or_a_stroke_error(text: str) -> None:
    with suppress(StrokeError):  # any other exception fails the test
        assert draw(text)
