"""How far a plan is from the order of the parts list, which decides where all else is about equal: the reader looks
for left above right, front above rear, primary above secondary, and for symbols that stand upright."""

from __future__ import annotations

from pneudraw.layout.frame import Frame
from pneudraw.layout.straight import Rows

MATES, LIKE, COLUMN, TURNED, BACK = 2.0, 2.0, 0.1, 0.4, 8.0
"""Prices: a pair or like symbols of a column not in the order of the list, neighbours not in it, a symbol not
upright, one that faces against the flow. One crossing is 5."""


def inverted(frame: Frame, rows: Rows) -> list[tuple[int, int]]:
    """Pairs in one column whose first symbol stands below the second."""
    return [
        (a, b)
        for a, b in frame.model.pairs
        if frame.col[a] == frame.col[b]
        and rows.y[rows.first[frame.group[a]]] > rows.y[rows.first[frame.group[b]]]
    ]


def like_pairs(frame: Frame) -> list[tuple[int, int]]:
    """Symbols of one type in one column, two by two in the order of the parts list, mates left out."""
    mates = set(frame.model.pairs)
    last: dict[tuple[int, str], int] = {}
    found: list[tuple[int, int]] = []
    for s, spec in enumerate(frame.model.problem.symbols):
        if frame.group[s] < 0 or not spec.type:
            continue
        before = last.get((frame.col[s], spec.type), -1)
        if before >= 0 and (before, s) not in mates:
            found.append((before, s))
        last[frame.col[s], spec.type] = s
    return found


def disorder(frame: Frame, rows: Rows) -> float:
    """How far a plan is from the order of the parts list and from upright symbols."""
    y = rows.y
    model = frame.model
    total = MATES * len(inverted(frame, rows)) + LIKE * sum(
        y[rows.first[frame.group[a]]] > y[rows.first[frame.group[b]]] for a, b in like_pairs(frame)
    )
    for column in frame.order:
        last = -1
        for g in column:
            s = frame.sym[g]
            if s >= 0:
                total += COLUMN * (s < last)
                last = s
                shape, base = model.shapes[s][frame.form[g].turn], model.shapes[s][model.base[s]]
                if shape is not base:
                    total += TURNED * (shape.transform != base.transform)
                    total += BACK * any(
                        shape.sides[p] != base.sides[p] and shape.sides[p] in "EW" and base.sides[p] in "EW"
                        for p, _ in model.uses[s]
                    )
    return total
