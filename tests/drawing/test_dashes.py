"""Dashed lines by ISO 128: a full dash at either end, and corners on dashes."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.drawing.dashes import CONTROL, CONTROL_HEAVY, ENCLOSURE, INSIDE, Pattern, broken

patterns = st.sampled_from([CONTROL, CONTROL_HEAVY, INSIDE])
turns = st.lists(st.tuples(st.sampled_from(["across", "down"]), st.integers(1, 30)), min_size=1, max_size=6)


def staircase(steps: list[tuple[str, int]]) -> tuple[tuple[float, float], ...]:
    points = [(0.0, 0.0)]
    for way, length in steps:
        x, y = points[-1]
        points.append((x + length, y) if way == "across" else (x, y + length))
    return tuple(points)


def length(chain: tuple[tuple[float, float], ...]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(chain))


@settings(deadline=None, max_examples=100)
@given(steps=turns, pattern=patterns)
def test_a_dashed_line_starts_ends_and_turns_on_a_dash(
    steps: list[tuple[str, int]], pattern: Pattern
) -> None:
    points = staircase(steps)
    dashes = broken(points, pattern)
    assert dashes[0][0] == points[0]
    assert dashes[-1][-1] == points[-1]
    inside = {point for dash in dashes for point in dash[1:-1]}
    assert set(points[1:-1]) <= inside


@settings(deadline=None, max_examples=100)
@given(steps=turns, pattern=patterns)
def test_the_gaps_have_their_length_and_the_dashes_nearly_theirs(
    steps: list[tuple[str, int]], pattern: Pattern
) -> None:
    dashes = broken(staircase(steps), pattern)
    for before, after in pairwise(dashes):
        assert math.dist(before[-1], after[0]) == pytest.approx(pattern.gap)
    for dash in dashes:
        if len(dash) == 2 and length(dash) > 2:  # only where a short run leaves no room for a gap
            assert length(dash) <= 2 * pattern.dash + pattern.gap


def test_control_lines_have_the_lengths_of_the_standard() -> None:
    """ISO 128-20: dash 12, gap 3 widths of the line (from memory); the line is 0.1M wide."""
    assert (CONTROL.dash, CONTROL.gap) == (1.2, 0.3)
    dashes = broken(((0, 0), (10 * 1.5 + 1.2, 0)), CONTROL)
    assert {round(length(dash), 9) for dash in dashes} == {1.2}


def test_an_enclosure_is_a_chain_of_dashes_and_dots_with_its_corners_on_dashes() -> None:
    """ISO 128-20: dash 24, gap 3 widths (from memory); the dot is longer here, to survive a copier."""
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0))
    dashes = broken(corners, ENCLOSURE, closed=True)
    dots = [dash for dash in dashes if length(dash) < 0.2]
    assert len(dots) == 2 + 1 + 2 + 1  # three dashes of 2.87M on 10M, two of 2.65M on 6M
    assert all(length(dot) == pytest.approx(0.1) for dot in dots)
    assert set(corners) <= {point for dash in dashes for point in dash[1:-1]}
