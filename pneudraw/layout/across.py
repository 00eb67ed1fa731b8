"""From left to right: every symbol and every trunk as far left as what stands beside it allows, then where its lines
are short, all without making the drawing wider.

Whatever shares a height keeps its order (columns, then tracks), hence no line crosses more than planned. Pairs stand
exactly above one another; other like symbols of a column do where that costs no width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from pneudraw.layout.forms import leaf_box
from pneudraw.layout.frame import Frame
from pneudraw.layout.straight import Rows
from pneudraw.layout.tracks import Tracks

BODY, WORDS, WIRE = range(3)
FAR = -(10**9)
PASSES = 6
"""Times everything is looked at again when lines are made short."""


@dataclass(frozen=True, slots=True)
class Block:
    """Something solid of a group: heights, and how far it reaches from the group's middle line."""

    kind: int
    top: int
    bottom: int
    left: int
    right: int


@dataclass
class Across:
    """The answer: x of the middle line of every group, and for every channel the x of each net's trunk (of any point
    of a straight line). ``width`` is that of all symbols, labels and trunks."""

    middle: list[int]
    at: list[dict[int, int]]
    width: int


@dataclass
class Items:
    """What moves (groups and trunks, those of a pair as one), and the least distances between them.

    ``before[v]`` lists (u, d): v stands at least d right of u; ``after`` the same from the other end. ``reach`` is
    how far an item extends to the left and right of its x.
    """

    low: list[int] = field(default_factory=list)
    reach: list[tuple[int, int]] = field(default_factory=list)
    before: list[list[tuple[int, int]]] = field(default_factory=list)
    after: list[list[tuple[int, int]]] = field(default_factory=list)

    def add(self) -> int:
        """A new item without any bound."""
        self.low.append(0)
        self.reach.append((0, 0))
        self.before.append([])
        self.after.append([])
        return len(self.low) - 1

    def width(self) -> int:
        """Of all of them at their lowest x."""
        return max((x + r for x, (_, r) in zip(self.low, self.reach, strict=True)), default=0)


def group_blocks(frame: Frame, rows: Rows, g: int) -> list[Block]:
    """A group's blocks on final heights: the box, its leaves, their labels and all stubs."""
    model, s, form, first = frame.model, frame.sym[g], frame.form[g], rows.first[g]
    if s < 0:
        return []
    shape = model.shapes[s][form.turn]
    half = shape.width // 2
    at = next(i for i, part in enumerate(form.parts) if part.body)
    y = rows.y[first + at]
    found = [Block(BODY, y, y + shape.height, -half, shape.width - half)]
    for port, side in enumerate(shape.sides):
        bound = model.leaf.get((s, port))
        if bound is None:
            continue
        turned = model.leaf_shape(bound, side)
        assert turned is not None
        edge = shape.ys[port]
        tip = edge - form.tip_up if side == "N" else edge + form.tip_down
        x1, y1, x2, y2 = leaf_box(model, shape.xs[port], bound, turned, tip)
        found.append(Block(BODY, y + y1, y + y2, x1 - half, x2 - half))
        x = shape.xs[port] - half
        found.append(Block(WIRE, y + min(edge, tip), y + max(edge, tip), x, x))
    for spot in form.spots:
        air = model.spacing.label_air
        found.append(
            Block(
                WORDS,
                y + math.floor(spot.top - air + 1e-6),
                y + math.ceil(spot.bottom + air - 1e-6),
                math.floor(spot.left + 1e-6) - half,
                math.ceil(spot.right - 1e-6) - half,
            )
        )
    for k in range(len(form.arm_port)):
        row = rows.y[first + form.arm_part[k]] + form.arm_dy[k]
        port = form.arm_port[k]
        if shape.sides[port] in "NS":
            x = shape.xs[port] - half
            tip = y + shape.ys[port]
            found.append(Block(WIRE, min(row, tip), max(row, tip), x, x))
    return found


@dataclass
class _Scene:
    """The skyline while items are put down from left to right: whose blocks are the last ones at every height.

    Where blocks of one column touch, all of them count: none is known to stand right of the others.
    """

    low: int
    gaps: tuple[tuple[int, ...], ...]
    margins: tuple[int, int, int]
    items: Items = field(default_factory=Items)
    owner: list[tuple[int, ...]] = field(default_factory=list)
    kind: list[int] = field(default_factory=list)
    right: list[int] = field(default_factory=list)
    item: list[int] = field(default_factory=list)
    first: int = 0

    def bound(self, v: int, block: Block) -> None:
        """Keep an item with this block right of everything level with it."""
        margin = self.margins[block.kind]
        a = max(block.top - margin - self.low, 0)
        items = self.items
        level = set(self.owner[a : block.bottom + margin + 1 - self.low])
        for b in sorted({b for some in level for b in some}):
            u = self.item[b]
            d = self.right[b] + self.gaps[self.kind[b]][block.kind] - block.left
            items.before[v].append((u, d))
            items.after[u].append((v, d))
            items.low[v] = max(items.low[v], items.low[u] + d)

    def put(self, v: int, block: Block) -> None:
        """Let the item's block be seen by what comes later."""
        self.kind.append(block.kind)
        self.right.append(block.right)
        self.item.append(v)
        new = len(self.item) - 1
        owner = self.owner
        for i in range(max(block.top - self.low, 0), min(block.bottom + 1 - self.low, len(owner))):
            old = owner[i]
            owner[i] = (*old, new) if old and old[-1] >= self.first else (new,)


def _bounded(frame: Frame, rows: Rows, tracks: list[Tracks]) -> tuple[Items, list[int], list[dict[int, int]]]:
    """All items at their lowest x; the item of every group (-1 for lines passing) and of every trunk."""
    sp = frame.model.spacing
    blocks = [group_blocks(frame, rows, g) for g in range(len(frame.sym))]
    pad = sp.pitch + sp.line_body + 1
    low = min(rows.y + [b.top for listed in blocks for b in listed], default=0) - pad
    high = max(rows.y + [b.bottom for listed in blocks for b in listed], default=0) + pad
    air = math.ceil(sp.label_air)
    words = max(air, sp.line_body)
    gaps = (
        (sp.empty_channel, words, sp.clearance),
        (words, words, air),
        (sp.clearance, air, sp.pitch),
    )
    scene = _Scene(low, gaps, (sp.line_body - 1, 0, sp.pitch - 1))
    scene.owner = [()] * (high - low + 1)
    items = scene.items
    of_group = [-1] * len(frame.sym)
    of_trunk: list[dict[int, int]] = []
    mates = _mates(frame)
    for c in range(frame.count + 1):
        of_trunk.append({})
        lines: list[tuple[int, int, int, int]] = []
        for net, track in tracks[c].track.items():
            left, right = rows.ends[c][net]
            ys = [rows.y[p] + d for p, d in left + right]
            lines.append((track, net, min(ys), max(ys)))
        for _, net, lo, hi in sorted(lines):
            v = of_trunk[c][net] = items.add()
            block = Block(WIRE, lo, hi, 0, 0)
            scene.bound(v, block)
            scene.first = len(scene.item)
            scene.put(v, block)
        if c == frame.count:
            break
        for g in frame.order[c]:
            if not blocks[g]:
                continue
            mate = mates.get(g, g)
            if of_group[mate] < 0:
                of_group[mate] = items.add()
            v = of_group[g] = of_group[mate]
            reach = (min(b.left for b in blocks[g]), max(b.right for b in blocks[g]))
            items.reach[v] = (min(items.reach[v][0], reach[0]), max(items.reach[v][1], reach[1]))
            items.low[v] = max(items.low[v], -reach[0])
            for block in blocks[g]:
                scene.bound(v, block)
        scene.first = len(scene.item)
        for g in frame.order[c]:
            for block in blocks[g]:
                scene.put(of_group[g], block)
    return items, of_group, of_trunk


def _mates(frame: Frame) -> dict[int, int]:
    """For every group that must stand in line with others of its column the first of them."""
    first: dict[int, int] = {}
    for a, b in frame.model.pairs:
        if frame.col[a] == frame.col[b]:
            g, h = frame.group[a], frame.group[b]
            root = min(first.get(g, g), first.get(h, h))
            for old in sorted({first.get(g, g), first.get(h, h)}):
                for k in [k for k, r in first.items() if r == old]:
                    first[k] = root
                first[old] = root
            first[g] = first[h] = root
    return first


def width(frame: Frame, rows: Rows, tracks: list[Tracks]) -> int:
    """The least width with these heights and tracks."""
    return _bounded(frame, rows, tracks)[0].width()


def tightest(frame: Frame, rows: Rows, tracks: list[Tracks]) -> list[int]:
    """Symbols of one chain, from left to right, that makes a drawing as wide as it is."""
    items, of_group, _ = _bounded(frame, rows, tracks)
    v = max(range(len(items.low)), key=lambda u: (items.low[u] + items.reach[u][1], -u), default=-1)
    chain: set[int] = set()
    while v >= 0:
        chain.add(v)
        v = next((u for u, d in items.before[v] if items.low[u] + d == items.low[v]), -1)
    return [s for g, s in enumerate(frame.sym) if of_group[g] in chain]


def solved(frame: Frame, rows: Rows, tracks: list[Tracks], room: int = 0, more: float = 0.0) -> Across:
    """The x of everything, in the least width (and a share ``more`` of it), or in ``room`` if that is more."""
    items, of_group, of_trunk = _bounded(frame, rows, tracks)
    wide = max(int(items.width() * (1 + more)), room)
    lines = Lines(items, wide)
    for column in frame.order:
        for like in _like(frame, column):
            lines.align([of_group[g] for g in like])
    lines.shorten(_wishes(frame, of_group, of_trunk))
    middle = [lines.x(v) if v >= 0 else 0 for v in of_group]
    at = [{net: lines.x(v) for net, v in nets.items()} for nets in of_trunk]
    _straight(frame, middle, at)
    return Across(middle, at, wide)


class Lines:
    """Items grouped into vertical lines of one x each, with the lowest and highest x the others leave them."""

    def __init__(self, items: Items, wide: int) -> None:
        self.before, self.after = items.before, items.after
        self.root = list(range(len(items.low)))
        self.low = list(items.low)
        self.high = [wide - right for _, right in items.reach]
        self.left = [-left for left, _ in items.reach]
        for u in range(len(self.high) - 1, -1, -1):
            self.high[u] = min([self.high[u], *(self.high[v] - d for v, d in self.after[u])])
        self.at = self.low

    def x(self, v: int) -> int:
        """Where an item stands."""
        return self.at[self.find(v)]

    def find(self, v: int) -> int:
        """The line an item belongs to."""
        while self.root[v] != v:
            self.root[v] = self.root[self.root[v]]
            v = self.root[v]
        return v

    def align(self, items: list[int]) -> None:
        """Make one line of several, if that is possible."""
        some = list(dict.fromkeys(self.find(v) for v in items))
        at, end = max(self.low[v] for v in some), min(self.high[v] for v in some)
        if len(some) < 2 or at > end:
            return
        first = some[0]
        for v in some[1:]:
            self.root[v] = first
            self.before[first] = self.before[first] + self.before[v]
            self.after[first] = self.after[first] + self.after[v]
            self.left[first] = max(self.left[first], self.left[v])
        self.low[first], self.high[first] = at, end
        self._spread(first)

    def _spread(self, start: int) -> None:
        todo = [start]
        while todo:
            u = todo.pop()
            for v, d in self.after[u]:
                v = self.find(v)
                if self.low[v] < self.low[u] + d:
                    self.low[v] = self.low[u] + d
                    todo.append(v)
        todo = [start]
        while todo:
            u = todo.pop()
            for v, d in self.before[u]:
                v = self.find(v)
                if self.high[v] > self.high[u] - d:
                    self.high[v] = self.high[u] - d
                    todo.append(v)

    def shorten(self, wishes: list[tuple[int, int, int]]) -> None:
        """Move every line to the middle of what its wishes say: (u, v, d): v would best stand just d right of u."""
        self.at = list(self.low)
        pulls: list[list[tuple[int, int]]] = [[] for _ in self.root]
        for u, v, d in wishes:
            u, v = self.find(u), self.find(v)
            if u != v:
                pulls[u].append((v, -d))
                pulls[v].append((u, d))
        roots = [v for v in range(len(self.root)) if self.root[v] == v]
        at = self.at
        for turn in range(PASSES):
            moved = False
            for u in reversed(roots) if turn % 2 == 0 else roots:
                if not pulls[u]:
                    continue
                goals = sorted(at[v] + d for v, d in pulls[u])
                half = len(goals) // 2
                want = min(max(at[u], goals[half if len(goals) % 2 else half - 1]), goals[half])
                lo = max((at[self.find(v)] + d for v, d in self.before[u]), default=self.left[u])
                hi = min((at[self.find(v)] - d for v, d in self.after[u]), default=self.high[u])
                want = max(min(want, hi, self.high[u]), lo, self.left[u])
                if want != at[u]:
                    at[u] = want
                    moved = True
            if not moved:
                return


def _like(frame: Frame, column: list[int]) -> list[list[int]]:
    """Groups of a column that look best in line: those of one kind, two or more."""
    found: dict[tuple[str, int], list[int]] = {}
    for g in column:
        s = frame.sym[g]
        if s >= 0:
            spec = frame.model.problem.symbols[s]
            found.setdefault(
                (spec.type or spec.id, frame.model.shapes[s][frame.form[g].turn].width), []
            ).append(g)
    return [groups for groups in found.values() if len(groups) > 1]


def _wishes(frame: Frame, of_group: list[int], of_trunk: list[dict[int, int]]) -> list[tuple[int, int, int]]:
    """Ends of every horizontal piece of line: (left item, right item, how far apart they are if it has no length)."""
    found: list[tuple[int, int, int]] = []
    open_end: list[dict[int, tuple[int, int]]] = [{} for _ in range(frame.count + 2)]
    for c, nets in enumerate(frame.channels):
        for net, (left, right) in nets.items():
            trunk = of_trunk[c].get(net)
            for g, k in left:
                end = _port(frame, of_group, g, k) if frame.sym[g] >= 0 else open_end[c].get(net)
                if end is not None and trunk is not None:
                    found.append((end[0], trunk, end[1]))
                elif end is not None:
                    open_end[c + 1][-net - 1] = end
            start = (trunk, 0) if trunk is not None else open_end[c + 1].pop(-net - 1, None)
            for g, k in right:
                if frame.sym[g] < 0:
                    if start is not None:
                        open_end[c + 1][net] = start
                elif start is not None:
                    v, d = _port(frame, of_group, g, k)
                    found.append((start[0], v, start[1] - d))
    return found


def _port(frame: Frame, of_group: list[int], g: int, k: int) -> tuple[int, int]:
    """The item of a group, and how far right of its middle the port of an arm is."""
    shape = frame.model.shapes[frame.sym[g]][frame.form[g].turn]
    return of_group[g], shape.xs[frame.form[g].arm_port[k]] - shape.width // 2


def _straight(frame: Frame, middle: list[int], at: list[dict[int, int]]) -> None:
    """A point for every straight line of a channel: the right end of its left arm, wherever that begins."""
    for c, nets in enumerate(frame.channels):
        for net, (left, right) in nets.items():
            if net in at[c]:
                continue
            g, k = (left or right)[0]
            s, form = frame.sym[g], frame.form[g]
            if s < 0:
                at[c][net] = at[c - 1][net] if left else at[c].get(net, 0)
            else:
                shape = frame.model.shapes[s][form.turn]
                at[c][net] = middle[g] - shape.width // 2 + shape.xs[form.arm_port[k]]
