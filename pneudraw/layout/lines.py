"""A net's pieces of line: merged, cut where they meet, traced as polylines."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from pneudraw.layout.places import Piece
from pneudraw.layout.result import Point


@dataclass(frozen=True)
class Web:
    """A net as drawn.

    ``pieces`` are maximal straight stretches, ``ways`` the neighbours of every end, corner and tee.
    """

    pieces: tuple[Piece, ...]
    ways: dict[Point, tuple[Point, ...]]

    def tees(self) -> list[Point]:
        """Points where three or more stretches meet."""
        return [p for p, near in self.ways.items() if len(near) > 2]

    def corners(self) -> list[Point]:
        """Points where the line turns."""
        return [p for p, near in self.ways.items() if len(near) == 2 and _turns(p, near)]

    def ends(self) -> list[Point]:
        """Points with one line."""
        return [p for p, near in self.ways.items() if len(near) == 1]


def _turns(p: Point, near: tuple[Point, ...]) -> bool:
    a, b = near
    return (a[0] == p[0]) != (b[0] == p[0])


def _spans(found: dict[int, list[tuple[int, int]]]) -> list[tuple[int, int, int]]:
    out: list[tuple[int, int, int]] = []
    for at in sorted(found):
        first = True
        lo = hi = 0
        for a, b in sorted(found[at]):
            if first or a > hi:
                if not first:
                    out.append((at, lo, hi))
                lo, hi, first = a, b, False
            else:
                hi = max(hi, b)
        out.append((at, lo, hi))
    return out


def web(pieces: list[Piece]) -> Web:
    """Merge pieces that touch in a line and find where the merged ones meet."""
    rows: dict[int, list[tuple[int, int]]] = {}
    cols: dict[int, list[tuple[int, int]]] = {}
    for x1, y1, x2, y2 in pieces:
        if y1 == y2 and x1 != x2:
            rows.setdefault(y1, []).append((x1, x2))
        elif x1 == x2 and y1 != y2:
            cols.setdefault(x1, []).append((y1, y2))
    hor, ver = _spans(rows), _spans(cols)
    cuts_h = [{a, b} for _, a, b in hor]
    cuts_v = [{a, b} for _, a, b in ver]
    for i, (y, a, b) in enumerate(hor):
        for j, (x, c, d) in enumerate(ver):
            if a <= x <= b and c <= y <= d:
                cuts_h[i].add(x)
                cuts_v[j].add(y)
    ways: dict[Point, list[Point]] = {}

    def tie(p: Point, q: Point) -> None:
        ways.setdefault(p, []).append(q)
        ways.setdefault(q, []).append(p)

    for (y, _, _), cuts in zip(hor, cuts_h, strict=True):
        xs = sorted(cuts)
        for a, b in itertools.pairwise(xs):
            tie((a, y), (b, y))
    for (x, _, _), cuts in zip(ver, cuts_v, strict=True):
        ys = sorted(cuts)
        for a, b in itertools.pairwise(ys):
            tie((x, a), (x, b))
    whole = tuple([(a, y, b, y) for y, a, b in hor] + [(x, c, x, d) for x, c, d in ver])
    return Web(whole, {p: tuple(ways[p]) for p in sorted(ways)})


def polylines(net: Web) -> tuple[tuple[Point, ...], ...]:
    """The net as lines from end or tee to end or tee, through its corners; points inside a straight run left out."""
    done: set[tuple[Point, Point]] = set()
    lines: list[tuple[Point, ...]] = []
    knots = [p for p, near in net.ways.items() if len(near) != 2]
    for start in knots + list(net.ways):
        for step in net.ways[start]:
            if (start, step) in done:
                continue
            line = [start]
            a, b = start, step
            while True:
                done |= {(a, b), (b, a)}
                near = net.ways[b]
                if len(near) != 2 or b == start:
                    line.append(b)
                    break
                if _turns(b, near):
                    line.append(b)
                a, b = b, near[0] if near[1] == a else near[1]
            lines.append(tuple(line))
    return tuple(lines)
