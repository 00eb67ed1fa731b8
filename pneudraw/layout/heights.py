"""How high a plan must be, and making it no higher than it should be: a drawing has to go onto a sheet."""

from __future__ import annotations

from pneudraw.layout.frame import Frame
from pneudraw.layout.straight import Rows


def extents(frame: Frame, rows: Rows) -> list[tuple[int, int]]:
    """Top and bottom of every part with its leaves and labels, as it lies now."""
    found: list[tuple[int, int]] = []
    for g, form in enumerate(frame.form):
        for i, part in enumerate(form.parts):
            y = rows.y[rows.first[g] + i]
            found.append((y - part.up - part.room.up, y + part.dn + part.room.down))
    return found


def extent(frame: Frame, rows: Rows) -> int:
    """Height of everything as it lies now."""
    spans = extents(frame, rows)
    return max((b for _, b in spans), default=0) - min((a for a, _ in spans), default=0)


def _links(rows: Rows) -> list[tuple[int, int, int]]:
    """(upper class, lower class, least difference of their shifts), upper ones first."""
    y, cls = rows.y, rows.cls
    order = sorted(range(len(y)), key=lambda p: (y[p], p))
    return [
        (cls[p], cls[q], rows.room[p] + y[p] - y[q])
        for p in order
        if (q := rows.below[p]) >= 0 and cls[p] != cls[q]
    ]


def _raised(low: list[int], links: list[tuple[int, int, int]]) -> None:
    changed = True
    while changed:
        changed = False
        for a, b, d in links:
            if low[b] < low[a] + d:
                low[b] = low[a] + d
                changed = True


def least_height(frame: Frame, rows: Rows) -> tuple[int, list[int], list[tuple[int, int, int]]]:
    """The least height with all straight rows kept, the shifts upwards that give it, and the links between classes."""
    spans = extents(frame, rows)
    low = [0] * len(rows.members)
    for c, members in enumerate(rows.members):
        if members:
            low[c] = -min(spans[p][0] for p in members)
    links = _links(rows)
    _raised(low, links)
    return max((spans[p][1] + low[rows.cls[p]] for p in range(len(spans))), default=0), low, links


def _chain(frame: Frame, rows: Rows) -> list[int]:
    """Classes one below the other that make a drawing as high as it must be."""
    least, low, links = least_height(frame, rows)
    spans = extents(frame, rows)
    c = next((rows.cls[p] for p in range(len(spans)) if spans[p][1] + low[rows.cls[p]] == least), -1)
    chain: list[int] = []
    while c >= 0 and c not in chain:
        chain.append(c)
        c = next((a for a, b, d in links if b == c and low[a] + d == low[b]), -1)
    return chain


def tallest(frame: Frame, rows: Rows) -> list[int]:
    """Symbols of one chain of rows that makes a drawing as high as it must be."""
    groups = sorted({rows.owner[p] for c in _chain(frame, rows) for p in rows.members[c]})
    return [frame.sym[g] for g in groups if frame.sym[g] >= 0]


def stiff(frame: Frame, rows: Rows) -> list[int]:
    """Nets whose straight rows are part of that chain."""
    chain = set(_chain(frame, rows))
    found: dict[int, None] = {}
    for nets in rows.ends:
        for net, (left, right) in nets.items():
            classes = {rows.cls[p] for p, _ in left} & {rows.cls[p] for p, _ in right} & chain
            if classes:
                found[net] = None
    return list(found)


def squeeze(frame: Frame, rows: Rows, goal: int) -> bool:
    """Make a plan as high as ``goal``, or as near to it as its straight rows allow; False if it was no higher."""
    spans = extents(frame, rows)
    top, bottom = min((a for a, _ in spans), default=0), max((b for _, b in spans), default=0)
    if bottom - top <= goal:
        return False
    least, low, links = least_height(frame, rows)
    height = max(least, goal)
    if bottom - top <= height:
        return False
    high = [0] * len(low)
    for c, members in enumerate(rows.members):
        if members:
            high[c] = height - max(spans[p][1] for p in members)
    changed = True
    while changed:
        changed = False
        for a, b, d in reversed(links):
            if high[a] > high[b] - d:
                high[a] = high[b] - d
                changed = True
    wish = (height - top - bottom) // 2
    shift = [min(max(wish, lo), hi) for lo, hi in zip(low, high, strict=True)]
    _raised(shift, links)
    for c, members in enumerate(rows.members):
        for p in members:
            rows.y[p] += shift[c]
    return True
