"""A symbol is drawn where the layout says its ports are. The layout works that out on its own."""

from __future__ import annotations

import pytest

from pneudraw.drawing.transform import placed
from pneudraw.layout.problem import PortSpec, SymbolSpec
from pneudraw.layout.shapes import shape
from pneudraw.library.model import Arc, Arrow, Polyline, Text

ALL = ("r0", "r90", "r180", "r270", "mx", "my", "mx90", "mx180", "mx270")


@pytest.mark.parametrize("transform", ALL)
def test_ports_lie_where_the_layout_puts_them(transform: str) -> None:
    ports = (PortSpec("w", "W", 3), PortSpec("e", "E", 5), PortSpec("n", "N", 2), PortSpec("s", "S", 7))
    points = ((0, 3), (10, 5), (2, 0), (7, 8))
    expected = shape(SymbolSpec("x", 10, 8, ports), transform)
    (drawn,) = placed((Polyline(points),), (transform, 100, 200, 10, 8))
    assert isinstance(drawn, Polyline)
    assert [(x - 100, y - 200) for x, y in drawn.points] == list(zip(expected.xs, expected.ys, strict=True))


@pytest.mark.parametrize("transform", ALL)
def test_an_adjusting_arrow_always_rises_to_the_right(transform: str) -> None:
    """ISO 1219-1: the oblique arrow of adjustability; always to the right is the project's rule."""
    (drawn,) = placed((Arrow(((1, 4), (3, 1)), upright=True),), (transform, 0, 0, 6, 6))
    assert isinstance(drawn, Arrow)
    (x0, y0), (x1, y1) = drawn.points
    assert x1 > x0
    assert y1 < y0


@pytest.mark.parametrize("transform", ALL)
def test_letters_stay_in_the_middle_of_their_place(transform: str) -> None:
    ring = Arc((3, 2), 2, 0, 360)
    letter = Text((3, 2.35), "M")
    drawn_ring, drawn_letter = placed((ring, letter), (transform, 5, 5, 6, 8))
    assert isinstance(drawn_ring, Arc)
    assert isinstance(drawn_letter, Text)
    x, y = drawn_ring.centre
    assert drawn_letter.at == pytest.approx((x, y + 0.35))


def test_an_unknown_transform_is_a_bug_of_ours() -> None:
    with pytest.raises(KeyError):
        placed((), ("r45", 0, 0, 2, 2))
