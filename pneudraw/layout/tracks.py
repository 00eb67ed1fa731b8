"""The trunks of a channel side by side: their order from left to right, then a track number each."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.layout.straight import Rows

OVERLAP = 1000
"""Price of two lines of different nets lying on each other: never paid if there is another way."""


@dataclass(frozen=True, slots=True)
class Trunk:
    """A net in a channel: ends of its vertical piece and the heights of its arms on both sides."""

    net: int
    lo: int
    hi: int
    left: tuple[int, ...]
    right: tuple[int, ...]


@dataclass(frozen=True)
class Tracks:
    """Result for one channel: track number by net (straight nets have none), and what it costs.

    ``crossed`` names the nets of every crossing; ``clashes`` those (left, right) of which two arms lie on each other,
    ``bent`` those whose trunk ends in two corners.
    """

    track: dict[int, int]
    count: int
    crossings: int
    corners: int
    length: int
    dots: int
    crossed: tuple[int, ...]
    clashes: tuple[tuple[int, int], ...]
    bent: tuple[int, ...]


def trunks_of(rows: Rows, channel: int) -> list[Trunk]:
    """All nets of a channel on final heights."""
    y = rows.y
    found: list[Trunk] = []
    for net, (left, right) in rows.ends[channel].items():
        ls = tuple(sorted(y[p] + d for p, d in left))
        rs = tuple(sorted(y[p] + d for p, d in right))
        lo = min(ls[:1] + rs[:1])
        hi = max(ls[-1:] + rs[-1:])
        found.append(Trunk(net, lo, hi, ls, rs))
    return found


def _inside(lo: int, hi: int, values: tuple[int, ...]) -> int:
    n = 0
    for v in values:
        if lo < v < hi:
            n += 1
    return n


def _crossings(a: Trunk, b: Trunk) -> int:
    """How often two nets cross with the trunk of ``a`` left of that of ``b``."""
    return _inside(a.lo, a.hi, b.left) + _inside(b.lo, b.hi, a.right)


def _clash(a: Trunk, b: Trunk) -> bool:
    """True if with ``a`` left of ``b`` two of their arms would lie on each other."""
    return any(v in a.right for v in b.left)


def _insert(order: list[int], item: int, price: dict[tuple[int, int], int]) -> None:
    """Put ``item`` where it costs least; the leftmost of equal places."""
    cost = sum(price.get((item, o), 0) for o in order)
    best, at = cost, 0
    for i, o in enumerate(order):
        cost += price.get((o, item), 0) - price.get((item, o), 0)
        if cost < best:
            best, at = cost, i + 1
    order.insert(at, item)


def assign_tracks(trunks: list[Trunk], pitch: int) -> Tracks:
    """Order the trunks for fewest crossings and number their tracks, those that do not meet sharing one."""
    moving = sorted((t for t in trunks if t.lo < t.hi), key=lambda t: (t.lo, t.hi, t.net))
    price: dict[tuple[int, int], int] = {}
    near: list[list[int]] = [[] for _ in moving]
    for i, a in enumerate(moving):
        for j in range(i + 1, len(moving)):
            b = moving[j]
            if b.lo >= a.hi + pitch:
                break
            near[i].append(j)
            near[j].append(i)
            if b.lo <= a.hi:
                price[i, j] = _crossings(a, b) + OVERLAP * _clash(a, b)
                price[j, i] = _crossings(b, a) + OVERLAP * _clash(b, a)
    order: list[int] = []
    for i in range(len(moving)):
        _insert(order, i, price)
    for _ in range(3):
        was = list(order)
        for i in range(len(moving)):
            if any(price.get((i, j), 0) != price.get((j, i), 0) for j in near[i]):
                order.remove(i)
                _insert(order, i, price)
        if order == was:
            break
    rank = [0] * len(moving)
    for r, i in enumerate(order):
        rank[i] = r
    track: dict[int, int] = {}
    number = [0] * len(moving)
    crossings = 0
    clashes: list[tuple[int, int]] = []
    crossed: list[int] = []
    for i in order:
        number[i] = 1 + max((number[j] for j in near[i] if rank[j] < rank[i]), default=-1)
        track[moving[i].net] = number[i]
        for j in near[i]:
            if rank[j] < rank[i]:
                paid = price.get((j, i), 0)
                if paid >= OVERLAP:
                    clashes.append((moving[j].net, moving[i].net))
                if paid % OVERLAP:
                    crossings += paid % OVERLAP
                    crossed += [moving[j].net, moving[i].net]
    corners = dots = length = 0
    bent: list[int] = []
    for t in trunks:
        length += t.hi - t.lo
        if t.lo == t.hi:
            for m in moving:
                if m.lo < t.lo < m.hi:
                    crossings += 1
                    crossed += [t.net, m.net]
            continue
        turns = sum(t.left.count(end) + t.right.count(end) == 1 for end in (t.lo, t.hi))
        corners += turns
        if turns == 2:
            bent.append(t.net)
        dots += sum(v in t.right and t.lo < v < t.hi for v in t.left)
    return Tracks(
        track,
        1 + max(number, default=-1),
        crossings,
        corners,
        length,
        dots,
        tuple(crossed),
        tuple(clashes),
        tuple(bent),
    )
