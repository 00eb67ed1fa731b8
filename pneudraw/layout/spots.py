"""Where the labels of a symbol and of its leaves are meant to stand, so that room is kept for exactly that.

Every label may stand above, below or beside its symbol, or beside a line leaving it. The place that makes the drawing
least larger is taken. What foreign lines do is not known yet; the last word is had by :mod:`pneudraw.layout.labels`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from pneudraw.layout.problem import LabelSpec, Spacing

Box = tuple[float, float, float, float]
"""x1, y1, x2, y2 from the top left corner of the symbol."""

FAR = 1000.0
"""Where a row ends that leaves the symbol: beyond it there is no place."""
OVERHANG = 0.5
"""Price of a unit beyond the symbol to the left or right, where often nothing is level; upwards it is 1."""
PREFERENCE = {"N": 0.0, "S": 0.3, "E": 0.6, "W": 0.9}


@dataclass(frozen=True, slots=True)
class Spot:
    """A label's box, from the top left corner of the symbol (for a leaf: of its host), and the side it is on."""

    symbol: int
    side: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass
class Surroundings:
    """What a symbol has around it. ``pushed`` tells by side (N, S) that rows lie there which a label would push out."""

    width: int
    height: int
    boxes: list[Box] = field(default_factory=list)
    lines: list[Box] = field(default_factory=list)
    pushed: dict[str, bool] = field(default_factory=dict)
    top: float = 0.0
    bottom: float = 0.0


def _along(low: float, high: float, size: float) -> Iterator[float]:
    """Centred, then flush with either end."""
    yield (low + high - size) / 2
    if abs(high - low - size) > 1e-9:
        yield low
        yield high - size


def _places(
    box: Box, label: LabelSpec, air: float, around: Surroundings
) -> Iterator[tuple[str, float, float]]:
    x1, y1, x2, y2 = box
    w, h = label.width, label.height
    for side, top in (("N", y1 - air - h), ("S", y2 + air)):
        yield side, (x1 + x2 - w) / 2, top
        for a, b, c, d in around.boxes + around.lines:
            if b < top + h + air and d > top - air:
                beside = top - air if side == "N" else top + air
                if c < FAR:
                    yield side, c + air, beside
                if a > -FAR:
                    yield side, a - air - w, beside
    for side, left in (("E", x2 + air), ("W", x1 - air - w)):
        for top in _along(y1, y2, h):
            yield side, left, top


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def choose(
    symbol: int,
    box: Box,
    label: LabelSpec,
    sp: Spacing,
    around: Surroundings,
    avoid: frozenset[str] = frozenset(),
) -> Spot | None:
    """The cheapest free place of a label beside ``box`` but on no side to ``avoid``; None if all are taken.

    It is taken in ``around``.
    """
    best: tuple[float, Spot, Box] | None = None
    air = sp.label_air
    near = air - 1e-6
    for side, left, top in _places(box, label, air, around):
        if side in avoid:
            continue
        right, bottom = left + label.width, top + label.height
        room = (left - near, top - near, right + near, bottom + near)
        if any(_meet(room, other) for other in around.boxes + around.lines):
            continue
        grown = max(0.0, around.top - room[1]) + max(0.0, room[3] - around.bottom)
        pushes = (around.pushed.get("N", False) and room[1] < 0) or (
            around.pushed.get("S", False) and room[3] > around.height
        )
        price = PREFERENCE[side] + 0.05 * grown + max(0.0, grown - (sp.stub if pushes else sp.body_gap))
        price += OVERHANG * (max(0.0, -left) + max(0.0, right - around.width))
        price += 0.05 * abs((left + right - box[0] - box[2]) / 2)
        if best is None or price < best[0] - 1e-9:
            best = price, Spot(symbol, side, left, top, right, bottom), room
    if best is None:
        return None
    around.boxes.append(best[2])
    around.top = min(around.top, best[2][1])
    around.bottom = max(around.bottom, best[2][3])
    return best[1]


def beyond(extent: float, reach: float) -> int:
    """Whole units that something reaching so far needs beyond an extent."""
    return max(0, math.ceil(reach - extent - 1e-6))
