"""Trace styles must be told apart on a black-and-white copy: rendered, thresholded, and measured in dots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from pneudraw.drawing import to_png
from pneudraw.drawing.lines import draw_line
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.runs import Flowing, Piece
from pneudraw.drawing.shapes import Sheet, Strokes, moved
from pneudraw.drawing.tints import MOVING, Style
from tests.drawing.pictures import grey

DPI = 150.0  # dots per inch, of a poor copy
M = 2.5


@dataclass(frozen=True)
class Copy:
    """What a thresholded copy of a horizontal line shows, in mm: see :func:`copied`."""

    thickness: float  # of the line itself
    tallest: float  # of the highest sign on it
    hollow: bool  # a sign has white inside
    tall_share: float  # share of its length that is clearly higher than the line
    gaps: int  # interruptions


def grey_of(sheet: Sheet) -> Any:
    """The dots of a rendered sheet, 0 black to 255 white."""
    return grey(to_png(sheet, DPI))


@cache
def copied(style: Style, control: bool, colour: bool) -> Copy:
    """Draw a line of 24M, copy it in black and white, and measure; thickness as the mean of five places on the dots."""
    views = [_copied(style, control, colour, 5.0 + shift * 25.4 / DPI / 5) for shift in range(5)]
    return replace(views[0], thickness=sum(view.thickness for view in views) / len(views))


def _copied(style: Style, control: bool, colour: bool, y: float) -> Copy:
    length = 24.0
    way = 1 if style in MOVING else 0
    item = Flowing(Piece(((0.0, 0.0), (length, 0.0))), style, way, 1.0)
    made = draw_line((item,), (), control, None, colour, None, Occupied((-50, -50, 50, 50)), "x")
    shapes = tuple(moved(shape, M, 5.0, y) for shape in (*made.strokes, *made.signs))
    dots = grey_of(Sheet("x", "x", "x", length * M + 10, 10.0, M, "bare", shapes)) < 128
    mm = 25.4 / DPI
    columns = dots.sum(axis=0)
    line = float(np.median(columns[columns > 0]))
    inked = np.flatnonzero(columns)
    inner = columns[inked[0] : inked[-1] + 1]
    spread = np.array([(np.flatnonzero(dots[:, x])[-1] - np.flatnonzero(dots[:, x])[0] + 1) for x in inked])
    hollow = bool((spread > columns[inked] + 2).any())
    gaps = int(((inner[1:] == 0) & (inner[:-1] > 0)).sum())
    return Copy(line * mm, float(spread.max()) * mm, hollow, float((spread > line + 3).mean()), gaps)


@pytest.mark.parametrize("colour", [True, False])
@pytest.mark.parametrize("control", [True, False])
def test_moving_air_is_heavy_and_still_air_is_not(control: bool, colour: bool) -> None:
    for moving in MOVING:
        for still in (Style.HOLDS, Style.EMPTY):
            heavy, light = (copied(style, control, colour).thickness for style in (moving, still))
            assert heavy > 1.3 * light  # nominally 1.5; a dot is 0.17 mm


@pytest.mark.parametrize("colour", [True, False])
@pytest.mark.parametrize("control", [True, False])
def test_air_going_in_has_filled_heads_and_air_going_out_hollow_ones(control: bool, colour: bool) -> None:
    assert not copied(Style.CARRIES, control, colour).hollow
    assert copied(Style.VENTS, control, colour).hollow


@pytest.mark.parametrize("colour", [True, False])
@pytest.mark.parametrize("control", [True, False])
def test_held_pressure_has_ticks_and_no_pressure_has_nothing(control: bool, colour: bool) -> None:
    holds, empty = copied(Style.HOLDS, control, colour), copied(Style.EMPTY, control, colour)
    assert holds.tallest == pytest.approx(2.5, abs=0.4)  # a tick is 1M high
    assert 0.02 < holds.tall_share < 0.15
    assert empty.tallest < 0.5
    assert empty.tall_share == 0


@pytest.mark.parametrize("style", [Style.CARRIES, Style.VENTS, Style.HOLDS, Style.EMPTY])
def test_a_control_line_stays_dashed_whatever_it_does(style: Style) -> None:
    assert copied(style, True, True).gaps >= 8
    assert copied(style, False, True).gaps == 0


@pytest.mark.parametrize("height", [20.0, 97.3, 148.6])
def test_no_row_of_dots_is_lost_on_the_way_to_a_picture(height: float) -> None:
    """Forty equal bars down a sheet of any height: each keeps its ink and its place to within half a dot."""
    heights = np.linspace(height / 80, height * 79 / 80, 40)
    bars = tuple(Strokes((((1.0, y), (9.0, y)),), height / 100) for y in heights)
    picture = grey_of(Sheet("x", "x", "x", 10.0, height, M, "bare", bars))
    ink = 1 - picture[:, picture.shape[1] // 2] / 255
    rows = np.arange(len(ink)) + 0.5
    dot = 25.4 / DPI
    for y in heights:
        near = abs(rows * dot - y) < height / 80
        assert ink[near].sum() * dot == pytest.approx(height / 100, abs=0.5 * dot)
        assert (ink[near] * rows[near]).sum() / ink[near].sum() * dot == pytest.approx(y, abs=0.5 * dot)
