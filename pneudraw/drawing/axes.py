"""Axes of a chart: round ticks, and the way from a value to a place on the paper [mm]."""

from __future__ import annotations

import math
from dataclasses import dataclass

STEPS = (1.0, 2.0, 5.0, 10.0)
SLACK = 1e-9


@dataclass(frozen=True)
class Scale:
    """A straight axis: the values ``low`` and ``high`` lie at ``start`` and ``end`` on the paper [mm]."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Return the place of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def step_for(span: float, most: int) -> float:
    """Return the smallest round step (1, 2 or 5 times a power of ten) that divides a span into at most ``most`` parts.

    >>> step_for(8.6, 9)
    1.0
    >>> step_for(0.7, 8)
    0.1
    """
    raw = max(span, 1e-12) / max(1, most)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(step * power for step in STEPS if step * power >= raw * (1 - 1e-9))


def ticks(low: float, high: float, step: float) -> tuple[float, ...]:
    """Return the multiples of a step from ``low`` to ``high``."""
    first, last = math.ceil(low / step - SLACK), math.floor(high / step + SLACK)
    return tuple(number * step + 0.0 for number in range(first, last + 1))


def rounded(low: float, high: float, most: int) -> tuple[float, float, float]:
    """Return ``(low, high, step)`` widened outwards to round ticks; 0 is always on the axis.

    What lies less than a hundredth of the whole beyond 0 is left to stick out: it is rounding, not a result.

    >>> rounded(0.0, 124.8, 8)
    (0.0, 140.0, 20.0)
    """
    low, high = min(0.0, low), max(0.0, high)
    slack = 0.01 * (high - low)
    low, high = (0.0 if low > -slack else low), (0.0 if high < slack else high)
    if high - low < 1e-9:
        high = low + 1.0
    step = step_for(high - low, most)
    return math.floor(low / step + SLACK) * step, math.ceil(high / step - SLACK) * step, step


def number(value: float, step: float) -> str:
    """Return a tick's number, with the decimals its step needs.

    >>> number(0.4, 0.2), number(20.0, 10.0), number(-0.0, 1.0)
    ('0.4', '20', '0')
    """
    digits = max(0, -math.floor(math.log10(step) + SLACK))
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0 else text
