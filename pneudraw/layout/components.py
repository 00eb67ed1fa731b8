"""Circuits that have nothing to do with one another: taken apart before the layout, packed on one sheet after it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

from pneudraw.layout.problem import Problem
from pneudraw.layout.result import Layout

ASPECT = math.sqrt(2.0)
"""Width to height of the sheets in ISO 5457, which several circuits are packed to fill."""
MOST_LIMITS = 60
"""Row lengths tried."""


def components(problem: Problem) -> list[Problem]:
    """One problem for each connected circuit, in the order of their first symbols. Hints tie symbols as nets do."""
    number = {spec.id: i for i, spec in enumerate(problem.symbols)}
    root = list(range(len(problem.symbols)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    ties = [[s for s, _ in net.terminals] for net in problem.nets]
    ties += [list(pair) for pair in problem.pairs] + [list(hint.symbols) for hint in problem.hints]
    for names in ties:
        known = [number[name] for name in names if name in number]
        for a, b in itertools.pairwise(known):
            ra, rb = find(a), find(b)
            root[max(ra, rb)] = min(ra, rb)
    heads = [i for i in range(len(root)) if find(i) == i]
    if len(heads) < 2:
        return [problem]
    place = {head: k for k, head in enumerate(heads)}

    def part_of(names: list[str]) -> int:
        return next((place[find(number[name])] for name in names if name in number), 0)

    split: list[Problem] = []
    by_net: list[list[int]] = [[] for _ in heads]
    for n, net in enumerate(problem.nets):
        by_net[part_of([s for s, _ in net.terminals])].append(n)
    by_pair: list[list[int]] = [[] for _ in heads]
    for n, pair in enumerate(problem.pairs):
        by_pair[part_of(list(pair))].append(n)
    by_hint: list[list[int]] = [[] for _ in heads]
    for n, hint in enumerate(problem.hints):
        by_hint[part_of(list(hint.symbols))].append(n)
    by_symbol: list[list[int]] = [[] for _ in heads]
    for i in range(len(root)):
        by_symbol[place[find(i)]].append(i)
    for k in range(len(heads)):
        split.append(
            replace(
                problem,
                symbols=tuple(problem.symbols[i] for i in by_symbol[k]),
                nets=tuple(problem.nets[n] for n in by_net[k]),
                pairs=tuple(problem.pairs[n] for n in by_pair[k]),
                hints=tuple(problem.hints[n] for n in by_hint[k]),
            )
        )
    return split


def _in_rows(sizes: list[tuple[int, int]], gap: int, limit: int) -> tuple[list[tuple[int, int]], int, int]:
    """Corners of boxes in rows no wider than ``limit`` (unless one box is), and the width and height of all."""
    x = y = tall = wide = 0
    corners: list[tuple[int, int]] = []
    for width, height in sizes:
        if x and x + width > limit:
            x, y, tall = 0, y + tall + gap, 0
        corners.append((x, y))
        x += width + gap
        tall = max(tall, height)
        wide = max(wide, x - gap)
    return corners, wide, y + tall


def pack(problem: Problem, layouts: list[Layout]) -> Layout:
    """Layouts in rows from left to right and top to bottom, in the proportions of the page; symbols, nets and labels
    come in the order of the problem."""
    gap = problem.spacing.component_gap
    aspect = ASPECT if problem.page is None else problem.page[0] / problem.page[1]
    sizes = [(a.width, a.height) for a in layouts]
    limits = [total + gap * i for i, total in enumerate(itertools.accumulate(w for w, _ in sizes))]
    corners, wide, high = min(
        (_in_rows(sizes, gap, limit) for limit in limits[:MOST_LIMITS]),
        key=lambda found: (max(found[1], found[2] * aspect), found[1]),
    )
    moved = [shift(a, x, y) for a, (x, y) in zip(layouts, corners, strict=True)]
    place = {spec.id: i for i, spec in enumerate(problem.symbols)}
    line = {net.id: i for i, net in enumerate(problem.nets)}
    return Layout(
        tuple(sorted((s for a in moved for s in a.symbols), key=lambda s: place[s.id])),
        tuple(sorted((p for a in moved for p in a.ports), key=lambda p: place[p.symbol])),
        tuple(sorted((r for a in moved for r in a.routes), key=lambda r: line[r.net])),
        tuple(sorted((t for a in moved for t in a.tees), key=lambda t: line[t[0]])),
        tuple(sorted((b for a in moved for b in a.labels), key=lambda b: place[b.symbol])),
        wide,
        high,
        tuple(f for a in moved for f in a.faults),
        sum(a.crossings for a in moved),
        sum(a.corners for a in moved),
    )


def part_of(whole: Layout, symbols: Mapping[str, str], nets: Mapping[str, str]) -> Layout:
    """What of a layout belongs to some symbols and nets, where it stands; new names by those in the layout."""
    return replace(
        whole,
        symbols=tuple(replace(s, id=symbols[s.id]) for s in whole.symbols if s.id in symbols),
        ports=tuple(replace(p, symbol=symbols[p.symbol]) for p in whole.ports if p.symbol in symbols),
        routes=tuple(replace(r, net=nets[r.net]) for r in whole.routes if r.net in nets),
        tees=tuple((nets[net], at) for net, at in whole.tees if net in nets),
        labels=tuple(replace(b, symbol=symbols[b.symbol]) for b in whole.labels if b.symbol in symbols),
    )


def shift(a: Layout, dx: int, dy: int) -> Layout:
    """A layout moved."""
    if not dx and not dy:
        return a
    return replace(
        a,
        symbols=tuple(replace(s, x=s.x + dx, y=s.y + dy) for s in a.symbols),
        ports=tuple(replace(p, x=p.x + dx, y=p.y + dy) for p in a.ports),
        routes=tuple(
            replace(r, lines=tuple(tuple((x + dx, y + dy) for x, y in points) for points in r.lines))
            for r in a.routes
        ),
        tees=tuple((n, (x + dx, y + dy)) for n, (x, y) in a.tees),
        labels=tuple(replace(b, x=round(b.x + dx, 3), y=round(b.y + dy, 3)) for b in a.labels),
    )
