"""Groups that repeat (trailers, axles, wheel ends, the two service circuits): found by their structure, so that they
can be drawn alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pneudraw.layout.frame import Frame
from pneudraw.layout.model import Model, leaves_fit
from pneudraw.layout.straight import Rows

MOST = 40
"""Symbols a walk through two branches follows."""
LEAST = 2
"""Symbols a group has at least."""
TOO_LARGE = 150
"""Symbols of a drawing in which groups are not compared: too few changes can be tried there to make them alike."""
UNLIKE = 2.5
"""Price of a difference between two such groups; one crossing is 5."""


@dataclass(frozen=True)
class Twins:
    """Two groups alike: their symbols two by two, and the lines inside them two by two."""

    symbols: tuple[tuple[int, int], ...]
    lines: tuple[tuple[int, int], ...]


def twins(model: Model, a: int, b: int, col: Sequence[int] | None = None) -> Twins:
    """What has the same place in two branches, beginning with ``a`` and ``b``.

    Symbols that both branches share end the walk; with ``col`` given so does a pair in different columns.
    """
    specs = model.problem.symbols
    found = [(a, b)]
    taken = {a, b}
    lines: dict[tuple[int, int], None] = {}
    for c, d in found:
        of_port = dict(model.uses[d])
        for port, net in model.uses[c]:
            other = of_port.get(port, net)
            if other == net or (net, other) in lines or len(found) > MOST:
                continue
            lines[net, other] = None
            there: dict[tuple[str, int], list[int]] = {}
            for t, q in model.live[other]:
                there.setdefault((specs[t].type, q), []).append(t)
            for t, q in model.live[net]:
                same = there.get((specs[t].type, q))
                u = same.pop(0) if same else t
                if u != t and t not in taken and u not in taken and (col is None or col[t] == col[u]):
                    taken |= {t, u}
                    found.append((t, u))
    return Twins(tuple(found), tuple(lines))


def repeats(model: Model) -> list[Twins]:
    """All groups that repeat, each with the one before it in the parts list; no two symbols are paired twice.

    None in a drawing without a page, of which only crossings and corners are asked to be few.
    """
    if model.problem.page is None or len(model.problem.symbols) > TOO_LARGE:
        return []
    last: dict[str, int] = {}
    seen: set[tuple[int, int]] = set()
    found: list[Twins] = []
    for s, spec in enumerate(model.problem.symbols):
        if s in model.host or not spec.type:
            continue
        before = last.get(spec.type, -1)
        last[spec.type] = s
        if before < 0 or (before, s) in seen:
            continue
        pair = twins(model, before, s)
        if len(pair.symbols) >= LEAST:
            seen |= set(pair.symbols)
            found.append(pair)
    return found


def unlikeness(frame: Frame, rows: Rows, groups: list[Twins]) -> float:
    """Price of all differences: column, position and place of the symbols of each group against the one before."""
    total = 0
    col, group = frame.col, frame.group
    y = [rows.y[first] for first in rows.first]
    for found in groups:
        shift = y[group[found.symbols[0][1]]] - y[group[found.symbols[0][0]]]
        last: dict[int, tuple[int, int]] = {}
        for a, b in found.symbols:
            g, h = group[a], group[b]
            total += col[a] != col[b]
            total += frame.form[g].turn != frame.form[h].turn
            total += y[h] - y[g] != shift
            if col[a] in last:
                c, d = last[col[a]]
                total += (y[g] > y[c]) != (y[h] > y[d])
            last[col[a]] = (g, h)
    return UNLIKE * total


def likened(frame: Frame, found: Twins) -> tuple[list[int], set[int]]:
    """Turns that make the second group like the first, and the columns in which its order was changed to be so."""
    turn = frame.turns()
    for a, b in found.symbols:
        if frame.model.shapes[a] == frame.model.shapes[b] and leaves_fit(frame.model, b, turn[a]):
            turn[b] = turn[a]
    changed: set[int] = set()
    for c, column in enumerate(frame.order):
        here = [
            (frame.group[a], frame.group[b]) for a, b in found.symbols if frame.col[a] == c == frame.col[b]
        ]
        first, second = [g for g, _ in here], [h for _, h in here]
        if len(here) < 2 or set(first) & set(second):
            continue
        places = sorted(column.index(h) for h in second)
        heights = [frame.y[column[i]] for i in places]
        mate = dict(here)
        order = [mate[g] for g in sorted(first, key=column.index)]
        for i, y, h in zip(places, heights, order, strict=True):
            if column[i] != h:
                changed.add(c)
            column[i] = h
            frame.y[h] = y
    return turn, changed
