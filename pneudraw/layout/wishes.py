"""What the author asked of the drawing beyond the circuit: how far a plan is from it, and moves towards it.

Wishes for columns, orders and mirror images are met when columns are given out; these here weigh against crossings.
"""

from __future__ import annotations

from itertools import pairwise

from pneudraw.layout.frame import Frame
from pneudraw.layout.model import Wish
from pneudraw.layout.straight import Rows

COLUMN = 8.0
"""Price of a column away from where a symbol was wanted."""
HEIGHT = 0.7
"""Price of a pitch of height away."""
LEVEL = 6.0
"""Price of two that are not at one height."""


def distance(frame: Frame, rows: Rows, wishes: list[Wish]) -> float:
    """Price of everything that is not as wished."""
    if not wishes:
        return 0.0
    y = [rows.y[rows.first[g]] / frame.model.spacing.pitch for g in range(len(frame.sym))]
    top, bottom = min(y), max(y)
    total = 0.0
    for word, value, symbols in wishes:
        at = [(frame.col[s], y[frame.group[s]]) for s in symbols]
        if word == "side":
            for c, v in at:
                total += {
                    "left": COLUMN * c,
                    "right": COLUMN * (frame.count - 1 - c),
                    "top": HEIGHT * (v - top),
                    "bottom": HEIGHT * (bottom - v),
                }.get(value, 0.0)
        elif word == "level":
            total += LEVEL * sum(v != w for (_, v), (_, w) in pairwise(at))
        else:
            middle = at[-1] if word == "near" else at[len(at) // 2]
            total += sum(COLUMN * abs(c - middle[0]) + HEIGHT * abs(v - middle[1]) for c, v in at)
    return total


def towards(frame: Frame, wish: Wish) -> set[int]:
    """Reorder columns so that a wish comes nearer; returns the columns changed."""
    word, value, symbols = wish
    touched: set[int] = set()
    if word == "side":
        for s in symbols:
            column = frame.order[frame.col[s]]
            g = frame.group[s]
            if value in ("top", "bottom") and len(column) > 1:
                column.remove(g)
                column.insert(0 if value == "top" else len(column), g)
                touched.add(frame.col[s])
        return touched
    goal = frame.y[frame.group[symbols[-1] if word == "near" else symbols[len(symbols) // 2]]]
    for s in symbols:
        g = frame.group[s]
        column = frame.order[frame.col[s]]
        column.remove(g)
        at = next((i for i, h in enumerate(column) if frame.y[h] > goal), len(column))
        column.insert(at, g)
        frame.y[g] = goal
        touched.add(frame.col[s])
    return touched
