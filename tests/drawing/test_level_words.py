"""The words of a level stand beside its dots, clear of curves, of other words and of the ends of states."""

from __future__ import annotations

from pneudraw.drawing.level_words import halved, level_words
from pneudraw.drawing.shapes import text_box

PANEL = (0.0, 0.0, 200.0, 100.0)
LONG = "60 psi after 0.18 s (lr, rr), 0.22 s (lf, rf) and 0.41 s (4 of tl)"


def test_words_stand_near_the_dots_they_speak_of() -> None:
    for dot in (30.0, 170.0):
        (text,) = level_words("cut-in 100 psi", 50.0, PANEL, ((0.0, 200.0),), (dot,), (), (), ())
        left, _, right, _ = text_box(text)
        assert max(left - dot, dot - right, 0.0) < 5.0


def test_words_do_not_run_across_the_beginning_of_a_state() -> None:
    texts = level_words(LONG, 50.0, PANEL, ((0.0, 90.0),), (20.0,), (90.0,), (), ())
    assert len(texts) == 2
    assert all(text_box(text)[2] < 90.0 for text in texts)


def test_words_keep_off_curves_and_other_words() -> None:
    curve = [(x * 0.7, 48.0) for x in range(150)]  # runs just above the level, up to 105 mm
    (text,) = level_words("cut-in 100 psi", 50.0, PANEL, (), (), (), curve, ())
    left, top, _, bottom = text_box(text)
    assert left > 105.0 or top > 48.0 or bottom < 48.0
    (other,) = level_words("cut-in 100 psi", 50.0, PANEL, (), (), (), (), (text_box(text),))
    one, two = text_box(text), text_box(other)
    assert one[2] < two[0] or two[2] < one[0] or one[3] < two[1] or two[3] < one[1]


def test_words_are_broken_behind_a_bracket_never_within_one() -> None:
    assert halved(LONG) == ("60 psi after 0.18 s (lr, rr),", "0.22 s (lf, rf) and 0.41 s (4 of tl)")
    assert halved("low-pressure warning off 72 psi (low2, low1)") == (
        "low-pressure warning off 72 psi",
        "(low2, low1)",
    )
    assert halved("cut-in") == ("cut-in",)
