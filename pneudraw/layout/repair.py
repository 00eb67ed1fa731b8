"""Lines routed anew on the grid where the planned ones clash: a shortest path that pays for corners and crossings."""

from __future__ import annotations

import itertools
from heapq import heappop, heappush

from pneudraw.layout.check import Fault, check
from pneudraw.layout.lines import Web, web
from pneudraw.layout.model import Model
from pneudraw.layout.places import Drawn, Piece, bounds

STEP, CLOSE, CORNER, CROSSING = 1, 4, 20, 50
"""Prices of a grid step, of a step too near to something else, of a corner, of crossing a foreign line."""
MARGIN = 6
LIMIT = 150_000
"""Most states looked at for one path."""
MOST_REROUTED = 30
"""So many nets are tried before the drawing is given more room instead."""

Cell = tuple[int, int]
WAYS = ((1, 0), (0, 1), (-1, 0), (0, -1))
OUT = {"E": 0, "S": 1, "W": 2, "N": 3}


class Grid:
    """Who uses each cell, along it or across it, and where nothing may pass."""

    def __init__(self, drawn: Drawn, model: Model, webs: list[Web], without: int) -> None:
        (x0, y0), (x1, y1) = bounds(drawn)
        self.low = (x0 - MARGIN, y0 - MARGIN)
        self.high = (x1 + MARGIN, y1 + MARGIN)
        self.blocked: set[Cell] = set()
        self.near: set[Cell] = set()
        self.use: tuple[dict[Cell, int], dict[Cell, int]] = ({}, {})
        self.node: set[Cell] = set()
        far = max(model.spacing.line_body, 1)
        for x, y, w, h in drawn.boxes:
            for i in range(x - far + 1, x + w + far):
                for j in range(y - far + 1, y + h + far):
                    if x <= i <= x + w and y <= j <= y + h:
                        self.blocked.add((i, j))
                    else:
                        self.near.add((i, j))
        for n, net in enumerate(webs):
            if n == without:
                continue
            for x1, y1, x2, y2 in net.pieces:
                flat = y1 == y2
                kind = self.use[0 if flat else 1]
                for i in range(x1, x2 + 1):
                    for j in range(y1, y2 + 1):
                        kind[i, j] = n
                for d in range(1, model.spacing.pitch):
                    for side in (d, -d):
                        for i in range(x1, x2 + 1):
                            for j in range(y1, y2 + 1):
                                self.near.add((i, j + side) if flat else (i + side, j))
            self.node |= set(net.ways)
        for n, terms in enumerate(model.nets):
            if n != without:
                for s, p in terms:
                    self.blocked.add(outlet(drawn.ports[s][p]))

    def open(self, cell: Cell, way: int) -> bool:
        """True if a line may go through the cell in that direction."""
        return not (cell in self.blocked or cell in self.node or cell in self.use[way % 2]) and (
            self.low[0] <= cell[0] <= self.high[0] and self.low[1] <= cell[1] <= self.high[1]
        )

    def foreign(self, cell: Cell) -> bool:
        """True if some other line is there: no corner and no tee."""
        return cell in self.use[0] or cell in self.use[1]


def outlet(port: tuple[int, int, str]) -> Cell:
    """The cell just before a port."""
    dx, dy = WAYS[OUT[port[2]]]
    return port[0] + dx, port[1] + dy


def _path(grid: Grid, start: Cell, way: int, tree: set[Cell]) -> list[Cell] | None:
    """Cells from ``start`` (left in direction ``way``) to the nearest cell of the tree at least price."""
    xs, ys = [c[0] for c in tree], [c[1] for c in tree]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)

    def guess(c: Cell) -> int:
        return max(x0 - c[0], 0, c[0] - x1) + max(y0 - c[1], 0, c[1] - y1)

    best: dict[tuple[Cell, int], int] = {(start, way): 0}
    back: dict[tuple[Cell, int], tuple[Cell, int]] = {}
    heap: list[tuple[int, int, Cell, int]] = [(guess(start), 0, start, way)]
    looked = 0
    while heap:
        _, cost, cell, way = heappop(heap)
        if cost > best[cell, way]:
            continue
        if cell in tree:
            path, at = [cell], (cell, way)
            while at in back:
                at = back[at]
                path.append(at[0])
            return path[::-1]
        looked += 1
        if looked > LIMIT:
            return None
        for turn in (0, 1, 3):
            new = (way + turn) % 4
            if turn and grid.foreign(cell):
                continue
            nxt = (cell[0] + WAYS[new][0], cell[1] + WAYS[new][1])
            if nxt in tree:
                if grid.foreign(nxt):
                    continue
            elif not grid.open(nxt, new):
                continue
            price = cost + STEP + (CORNER if turn else 0) + (CLOSE if nxt in grid.near else 0)
            if nxt in grid.use[1 - new % 2]:
                price += CROSSING
            if price < best.get((nxt, new), 1 << 30):
                best[nxt, new] = price
                back[nxt, new] = (cell, way)
                heappush(heap, (price + guess(nxt), price, nxt, new))
    return None


def reroute(drawn: Drawn, model: Model, webs: list[Web], net: int) -> list[Piece] | None:
    """New pieces for one net with all others where they are; None if it cannot be drawn."""
    grid = Grid(drawn, model, webs, net)
    ends = [drawn.ports[s][p] for s, p in model.nets[net]]
    if any(outlet(e) in grid.blocked or grid.foreign(outlet(e)) for e in ends):
        return None
    pieces: list[Piece] = []
    tree: set[Cell] = set()
    todo = list(range(len(ends)))
    while todo:
        if tree:
            todo.sort(key=lambda i: (min(abs(c[0] - ends[i][0]) + abs(c[1] - ends[i][1]) for c in tree), i))
        end = ends[todo.pop(0)]
        cell, way = outlet(end), OUT[end[2]]
        path = [cell] if not tree else _path(grid, cell, way, tree)
        if path is None:
            return None
        tree |= set(path)
        cells = [(end[0], end[1]), *path]
        pieces += [
            (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
            for a, b in itertools.pairwise(cells)
        ]
    return pieces


def mend(drawn: Drawn, model: Model, faults: list[Fault], webs: list[Web]) -> tuple[list[Fault], list[Web]]:
    """Draw nets with faults another way, one at a time, as long as that leaves fewer faults.

    Changes ``drawn.pieces``; returns the faults left and the lines.
    """
    tried: set[int] = set()
    for _ in range(MOST_REROUTED):
        nets = sorted({n for f in faults for n in f.nets} - tried, key=lambda n: (len(model.nets[n]), n))
        if not nets:
            return faults, webs
        net = nets[0]
        tried.add(net)
        new = reroute(drawn, model, webs, net)
        if new is None:
            continue
        old = drawn.pieces[net]
        drawn.pieces[net] = new
        left, fresh, _ = check(drawn, model)
        if len(left) < len(faults):
            faults, webs = left, fresh
            tried = set()
            if not faults:
                return faults, webs
        else:
            drawn.pieces[net] = old
            webs[net] = web(old)
    return faults, webs
