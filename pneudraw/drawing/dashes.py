"""Dashed and chain lines as they are drawn by hand: a full dash at both ends, and dashes round the corners.

The lengths are those of ISO 128 in widths of the line (from memory); heavy lines, which only traces use, have
shorter dashes so that a short stretch still shows a gap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from pneudraw.drawing.shapes import Point


@dataclass(frozen=True)
class Pattern:
    """Lengths in M. ``dot`` > 0: a chain, with a dot in the middle of each gap."""

    dash: float
    gap: float
    dot: float = 0.0

    @property
    def blank(self) -> float:
        """From the end of a dash to the start of the next."""
        return 2 * self.gap + self.dot if self.dot else self.gap


CONTROL = Pattern(1.2, 0.3)  # 12 and 3 widths of 0.1M
CONTROL_HOLDS = Pattern(1.2, 0.4)
CONTROL_HEAVY = Pattern(1.2, 0.5)
INSIDE = Pattern(0.5, 0.25)  # inside symbols
ENCLOSURE = Pattern(2.4, 0.3, 0.1)


def broken(points: Sequence[Point], pattern: Pattern, closed: bool = False) -> tuple[tuple[Point, ...], ...]:
    """Return the dashes of a chain of straight lines, each a chain itself (a dash may go round a corner)."""
    corners = [*points, points[0]] if closed else list(points)
    chains: list[list[Point]] = []
    for start, end in pairwise(corners):
        pieces = _straight(start, end, pattern)
        if not pieces:
            continue
        if chains and chains[-1][-1] == pieces[0][0]:
            chains[-1].append(pieces[0][1])
            pieces = pieces[1:]
        chains += [[a, b] for a, b in pieces]
    if closed and len(chains) > 1 and chains[-1][-1] == chains[0][0]:
        chains[0] = chains.pop() + chains[0][1:]
    return tuple(tuple(chain) for chain in chains)


def _straight(start: Point, end: Point, pattern: Pattern) -> list[tuple[Point, Point]]:
    length = math.dist(start, end)
    if length == 0:
        return []
    blank = pattern.blank
    count = max(1, round((length + blank) / (pattern.dash + blank)))
    dash = (length - (count - 1) * blank) / count
    if dash <= 0:
        count, dash = 1, length

    def at(distance: float) -> Point:
        share = distance / length
        return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share

    out: list[tuple[Point, Point]] = []
    for index in range(count):
        begin = index * (dash + blank)
        last = index == count - 1
        out.append((start if index == 0 else at(begin), end if last else at(begin + dash)))
        if pattern.dot and not last:
            dot = begin + dash + pattern.gap
            out.append((at(dot), at(dot + pattern.dot)))
    return out
