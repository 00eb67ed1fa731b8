"""The last word before a layout leaves the engine: everything on the drawing is held against everything else.

Faults are what must never be printed: symbols over each other, a line through or along a symbol, lines of two nets
that share a stretch or seem to be joined, a port without its line, a line that ends nowhere.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from pneudraw.layout.lines import Web, web
from pneudraw.layout.model import Model
from pneudraw.layout.places import Drawn, Piece


@dataclass(frozen=True)
class Fault:
    """What is wrong, and the nets that could be drawn another way to mend it."""

    text: str
    nets: tuple[int, ...]


class Stripes:
    """Intervals by row (or column): what lies on a given one between two values."""

    def __init__(self) -> None:
        self.at: dict[int, list[tuple[int, int, int]]] = {}
        self.keys: list[int] = []

    def add(self, key: int, lo: int, hi: int, what: int) -> None:
        """Put an interval in."""
        self.at.setdefault(key, []).append((lo, hi, what))

    def done(self) -> None:
        """Sort; to be called before asking."""
        for listed in self.at.values():
            listed.sort()
        self.keys = sorted(self.at)

    def between(self, a: int, b: int) -> list[int]:
        """Keys from a to b, both included."""
        return self.keys[bisect_left(self.keys, a) : bisect_right(self.keys, b)]


def _lines_clash(webs: list[Web], faults: list[Fault]) -> int:
    """Shared stretches and false tees between nets; returns the number of plain crossings."""
    rows, cols = Stripes(), Stripes()
    for n, net in enumerate(webs):
        for x1, y1, x2, y2 in net.pieces:
            if y1 == y2:
                rows.add(y1, x1, x2, n)
            else:
                cols.add(x1, y1, y2, n)
    rows.done()
    cols.done()
    for stripes in (rows, cols):
        for key, listed in stripes.at.items():
            end, owner = -(10**9), -1
            for lo, hi, n in listed:
                if lo <= end and n != owner:
                    faults.append(Fault(f"lines {owner} and {n} lie on each other at {key}", (owner, n)))
                if hi > end:
                    end, owner = hi, n
    crossings = 0
    for y, listed in rows.at.items():
        lo, hi = listed[0][0], max(b for _, b, _ in listed)
        for x in cols.between(lo, hi):
            for c, d, m in cols.at[x]:
                if c > y:
                    break
                if d < y:
                    continue
                for a, b, n in listed:
                    if a > x:
                        break
                    if b < x or n == m:
                        continue
                    if a < x < b and c < y < d:
                        corner = (x, y) in webs[n].ways or (x, y) in webs[m].ways
                        if corner:
                            faults.append(Fault(f"lines {n} and {m} seem joined at {x},{y}", (n, m)))
                        else:
                            crossings += 1
                    else:
                        faults.append(Fault(f"lines {n} and {m} seem joined at {x},{y}", (n, m)))
    return crossings


def _boxes_clash(drawn: Drawn, webs: list[Web], model: Model, faults: list[Fault]) -> None:
    """Symbols over each other, lines through or along symbols."""
    order = sorted(range(len(drawn.boxes)), key=lambda s: (drawn.boxes[s][0], s))
    active: list[int] = []
    for s in order:
        x, y, w, h = drawn.boxes[s]
        active = [o for o in active if drawn.boxes[o][0] + drawn.boxes[o][2] > x]
        for o in active:
            _, oy, _, oh = drawn.boxes[o]
            if oy < y + h and y < oy + oh:
                faults.append(Fault(f"symbols {o} and {s} overlap", ()))
        active.append(s)
    own: list[set[tuple[int, int, int]]] = [set() for _ in drawn.boxes]
    for n, terms in enumerate(model.nets):
        for s, p in terms:
            px, py, _ = drawn.ports[s][p]
            own[s].add((n, px, py))
    lefts = [drawn.boxes[s][0] for s in order]
    widest = max((b[2] for b in drawn.boxes), default=0)
    for n, net in enumerate(webs):
        for piece in net.pieces:
            x1, y1, x2, y2 = piece
            for i in range(bisect_left(lefts, x1 - widest), bisect_right(lefts, x2)):
                s = order[i]
                x, y, w, h = drawn.boxes[s]
                if x + w < x1 or y > y2 or y + h < y1:
                    continue
                if not _ends_at_port(piece, n, (x, y, w, h), own[s]):
                    faults.append(Fault(f"line {n} runs through or along symbol {s}", (n,)))


def _ends_at_port(
    piece: Piece, n: int, box: tuple[int, int, int, int], ports: set[tuple[int, int, int]]
) -> bool:
    """True if a piece that meets a box does so only with its end, at a port of its net."""
    x1, y1, x2, y2 = piece
    x, y, w, h = box
    if y1 == y2 and y <= y1 <= y + h:
        return (x2 == x and (n, x2, y1) in ports) or (x1 == x + w and (n, x1, y1) in ports)
    if x1 == x2 and x <= x1 <= x + w:
        return (y2 == y and (n, x1, y2) in ports) or (y1 == y + h and (n, x1, y1) in ports)
    return False


def _whole(drawn: Drawn, webs: list[Web], model: Model, faults: list[Fault]) -> None:
    """Every terminal on its net, every net in one piece, no end anywhere else."""
    for n, net in enumerate(webs):
        points = {drawn.ports[s][p][:2] for s, p in model.nets[n]}
        if not points:
            continue
        if any(p not in net.ways for p in points):
            faults.append(Fault(f"line {n} misses a port", (n,)))
            continue
        seen = {min(points)}
        todo = [min(points)]
        while todo:
            for q in net.ways[todo.pop()]:
                if q not in seen:
                    seen.add(q)
                    todo.append(q)
        if len(seen) < len(net.ways):
            faults.append(Fault(f"line {n} is in pieces", (n,)))
        if any(p not in points for p in net.ends()):
            faults.append(Fault(f"line {n} ends nowhere", (n,)))
        if sum(len(near) for near in net.ways.values()) // 2 >= len(net.ways):
            faults.append(Fault(f"line {n} runs in a ring", (n,)))


def check(drawn: Drawn, model: Model) -> tuple[list[Fault], list[Web], int]:
    """All faults, the merged lines of every net, and how many crossings there are."""
    webs = [web(pieces) for pieces in drawn.pieces]
    faults: list[Fault] = []
    _boxes_clash(drawn, webs, model, faults)
    crossings = _lines_clash(webs, faults)
    _whole(drawn, webs, model, faults)
    return faults, webs, crossings
