"""Several areas of a circuit laid out as one problem, so that vehicles built alike come out alike in all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from pneudraw.layout import lay_out
from pneudraw.layout.components import part_of, shift
from pneudraw.layout.problem import Problem
from pneudraw.layout.result import Layout


def laid_out_alike(areas: Sequence[Problem]) -> tuple[Layout, ...]:
    """Return the layout of each area.

    Vehicles are kept together; what one of them lacks (the line to a next trailer) is left out of its copy.
    """
    apart = [_numbered(number, area) for number, area in enumerate(areas)]
    whole = replace(
        areas[0],
        symbols=tuple(symbol for area in apart for symbol in area.symbols),
        nets=tuple(net for area in apart for net in area.nets),
        pairs=tuple(pair for area in apart for pair in area.pairs),
        hints=tuple(hint for area in apart for hint in area.hints),
        blocks=tuple(replace(block, kept=True) for area in apart for block in area.blocks),
    )
    layout = lay_out(whole)
    return tuple(_part(layout, number, area) for number, area in enumerate(areas))


def _within(number: int, name: str) -> str:
    """The name of a symbol or a line in the common problem: of a line that is cut each area has a piece."""
    return f"{number}|{name}"


def _numbered(number: int, area: Problem) -> Problem:
    """The area with names that no other has."""

    def of(*names: str) -> tuple[str, ...]:
        return tuple(_within(number, name) for name in names)

    return replace(
        area,
        symbols=tuple(replace(s, id=_within(number, s.id)) for s in area.symbols),
        nets=tuple(
            replace(
                n, id=_within(number, n.id), terminals=tuple((_within(number, s), p) for s, p in n.terminals)
            )
            for n in area.nets
        ),
        pairs=tuple((_within(number, a), _within(number, b)) for a, b in area.pairs),
        hints=tuple(
            replace(
                h, symbols=of(*h.symbols), value=_within(number, h.value) if h.word == "near" else h.value
            )
            for h in area.hints
        ),
        blocks=tuple(replace(block, symbols=of(*block.symbols)) for block in area.blocks),
    )


def _part(layout: Layout, number: int, area: Problem) -> Layout:
    """What of the common layout belongs to an area, moved so that it begins at 0, 0."""
    names = {_within(number, symbol.id): symbol.id for symbol in area.symbols}
    nets = {_within(number, net.id): net.id for net in area.nets}
    part = part_of(layout, names, nets)
    xs = [x for s in part.symbols for x in (s.x, s.x + s.width)]
    ys = [y for s in part.symbols for y in (s.y, s.y + s.height)]
    for route in part.routes:
        for line in route.lines:
            xs += [x for x, _ in line]
            ys += [y for _, y in line]
    for label in part.labels:
        xs += [math.floor(label.x), math.ceil(label.x + label.width)]
        ys += [math.floor(label.y), math.ceil(label.y + label.height)]
    left, top = min(xs), min(ys)
    return shift(replace(part, width=max(xs) - left, height=max(ys) - top), -left, -top)
