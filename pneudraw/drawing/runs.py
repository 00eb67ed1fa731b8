"""A routed line as a tree: its pieces between ports and tees, and what moves through each of them.

The layout gives a line's polylines, which meet at tees; a tint gives what goes in or out at each end. What
flows in a piece between two tees follows: what the ends beyond it take.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from pneudraw.drawing.shapes import Point
from pneudraw.drawing.tints import MOVING, BranchTint, LineTint, Style


@dataclass(frozen=True)
class Piece:
    """A stretch of line between two nodes (a port, a tee or a loose end); corners in between."""

    points: tuple[Point, ...]

    @property
    def start(self) -> Point:
        """The node it starts at."""
        return self.points[0]

    @property
    def end(self) -> Point:
        """The node it ends at."""
        return self.points[-1]

    def runs(self) -> tuple[tuple[Point, Point], ...]:
        """Its straight stretches."""
        return tuple(pairwise(self.points))


@dataclass(frozen=True)
class Flowing:
    """How a piece is drawn: its style, and the way air goes (1 with its points, -1 against them, 0 neither)."""

    piece: Piece
    style: Style
    way: int
    flow: float


def pieces(
    lines: Sequence[Sequence[Point]], ports: Sequence[Point], tees: Sequence[Point]
) -> tuple[Piece, ...]:
    """Return the pieces of a line's polylines, cut at ports, tees and wherever one polyline ends on another."""
    nodes = {*ports, *tees, *(line[0] for line in lines), *(line[-1] for line in lines)}
    steps: dict[Point, list[Point]] = {}
    for line in lines:
        for start, end in pairwise(line):
            cuts = [start, *_on(nodes, start, end), end]
            for a, b in pairwise(cuts):
                if a != b and b not in steps.setdefault(a, []):
                    steps[a].append(b)
                    steps.setdefault(b, []).append(a)
    fixed = {p for p, near in steps.items() if len(near) != 2} | (set(ports) & set(steps))
    fixed |= {p for p in tees if p in steps}
    out: list[Piece] = []
    used: set[tuple[Point, Point]] = set()
    for start in steps:
        if start not in fixed:
            continue
        for after in steps[start]:
            if (start, after) in used:
                continue
            chain = [start, after]
            while chain[-1] not in fixed:
                a, b = steps[chain[-1]]
                chain.append(b if a == chain[-2] else a)
            for a, b in pairwise(chain):
                used |= {(a, b), (b, a)}
            out.append(Piece(_straightened(chain)))
    return tuple(out)


def flowing(tree: Sequence[Piece], ends: Mapping[str, Point], tint: LineTint | None) -> tuple[Flowing, ...]:
    """Return what each piece shows. ``ends`` gives the place of every end of the line, by name."""
    if tint is None:
        return tuple(Flowing(piece, Style.PLAIN, 0, 0.0) for piece in tree)
    named = {branch.end: branch for branch in tint.branches}
    at: dict[Point, list[BranchTint]] = {}
    for name, point in ends.items():
        at.setdefault(point, []).append(named.get(name) or BranchTint(name, tint.style))
    near: dict[Point, list[int]] = {}
    for number, piece in enumerate(tree):
        near.setdefault(piece.start, []).append(number)
        near.setdefault(piece.end, []).append(number)
    sides = [tuple(_side(tree, n, node, near, at) for node in (p.start, p.end)) for n, p in enumerate(tree)]
    return tuple(
        _piece(piece, behind, beyond, tint) for piece, (behind, beyond) in zip(tree, sides, strict=True)
    )


def _piece(piece: Piece, behind: list[BranchTint], beyond: list[BranchTint], tint: LineTint) -> Flowing:
    going = [[b for b in side if b.style in MOVING] for side in (behind, beyond)]
    alone = [len(side) == 1 and bool(moving) for side, moving in zip((behind, beyond), going, strict=True)]
    if (going[0] and going[1]) or any(alone):
        flow = (sum(b.flow for b in going[1]) - sum(b.flow for b in going[0])) / 2
        main = max((*going[0], *going[1]), key=lambda b: abs(b.flow))
        return Flowing(piece, main.style, (flow > 0) - (flow < 0), abs(flow))
    for side in (behind, beyond):
        if len(side) == 1 and side[0].style not in MOVING:
            return Flowing(piece, side[0].style, 0, 0.0)
    if tint.style not in MOVING:
        return Flowing(piece, tint.style, 0, 0.0)
    still = [b.style for b in (*behind, *beyond) if b.style not in MOVING]
    return Flowing(piece, still[0] if still else Style.HOLDS, 0, 0.0)


def _side(
    tree: Sequence[Piece],
    without: int,
    start: Point,
    near: Mapping[Point, list[int]],
    at: Mapping[Point, list[BranchTint]],
) -> list[BranchTint]:
    """The ends that hang on a node when one piece is taken away."""
    seen, todo, found = {start}, [start], list(at.get(start, ()))
    while todo:
        here = todo.pop()
        for number in near[here]:
            piece = tree[number]
            there = piece.end if piece.start == here else piece.start
            if number != without and there not in seen:
                seen.add(there)
                todo.append(there)
                found += at.get(there, ())
    return found


def _on(nodes: set[Point], start: Point, end: Point) -> list[Point]:
    """Nodes strictly between two points of a straight line, in order."""
    (x0, y0), (x1, y1) = start, end
    found = [
        (x, y)
        for x, y in nodes
        if (x, y) not in (start, end)
        and min(x0, x1) <= x <= max(x0, x1)
        and min(y0, y1) <= y <= max(y0, y1)
        and (x1 - x0) * (y - y0) == (y1 - y0) * (x - x0)
    ]
    return sorted(found, key=lambda p: abs(p[0] - x0) + abs(p[1] - y0))


def _straightened(chain: list[Point]) -> tuple[Point, ...]:
    """The chain without points in the middle of a straight stretch."""
    out = [chain[0]]
    for before, here, after in zip(chain, chain[1:], chain[2:], strict=False):
        if (here[0] - before[0]) * (after[1] - here[1]) != (here[1] - before[1]) * (after[0] - here[0]):
            out.append(here)
    return (*out, chain[-1])
