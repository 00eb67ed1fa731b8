"""How often the lines in a channel cross, from the heights of their arms: a net counts as a whole, with its trunk."""

from __future__ import annotations

from pneudraw.layout.frame import Frame

Reach = tuple[float, float, list[float], list[float]]
"""Upper and lower end of a net's trunk in a channel, heights of its left and of its right arms."""


def reach(frame: Frame, channel: int, net: int) -> Reach:
    """A net in a channel as it lies now."""
    y, form = frame.y, frame.form
    left, right = frame.channels[channel][net]
    if len(left) == 1 == len(right):
        g, k = left[0]
        a = y[g] + form[g].arm_off[k]
        g, k = right[0]
        b = y[g] + form[g].arm_off[k]
        return (a, b, [a], [b]) if a < b else (b, a, [a], [b])
    ls = [y[g] + form[g].arm_off[k] for g, k in left]
    rs = [y[g] + form[g].arm_off[k] for g, k in right]
    both = ls + rs
    return min(both), max(both), ls, rs


def before(a: Reach, b: Reach) -> int:
    """Crossings if the trunk of ``a`` stands left of that of ``b``."""
    lo, hi = a[0], a[1]
    n = 0
    for v in b[2]:
        if lo < v < hi:
            n += 1
    lo, hi = b[0], b[1]
    for v in a[3]:
        if lo < v < hi:
            n += 1
    return n


def crossed(a: Reach, b: Reach) -> int:
    """Crossings of two nets in the better order of their trunks."""
    if a[1] <= b[0] or b[1] <= a[0]:
        return 0
    n = before(a, b)
    if n:
        m = before(b, a)
        return min(m, n)
    return 0


def total_crossings(frame: Frame) -> int:
    """All crossings in all channels, those inside the columns' stacks included."""
    return count_reaches(
        frame, [[reach(frame, channel, net) for net in nets] for channel, nets in enumerate(frame.channels)]
    )


def count_reaches(frame: Frame, channels: list[list[Reach]]) -> int:
    """All crossings, from the reaches of all nets by channel."""
    total = sum(form.crossings for form in frame.form)
    for found in channels:
        found.sort(key=lambda r: (r[0], r[1]))
        for i, a in enumerate(found):
            end = a[1]
            for j in range(i + 1, len(found)):
                b = found[j]
                if b[0] >= end:
                    break
                total += crossed(a, b)
    return total
