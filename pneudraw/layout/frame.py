"""Columns filled with groups: the symbols with their exits, and the lines passing by, and the arms in each channel.

Channel c lies left of column c, channel c+1 right of it. An *arm* joins a part to the net's one vertical piece (its
*trunk*) in a channel: a left arm comes from the column left of the channel.
"""

from __future__ import annotations

from pneudraw.layout.columns import Columns
from pneudraw.layout.forms import BOTH, LEFT, RIGHT, Form, make_form, pass_form
from pneudraw.layout.model import Model, leaves_fit

Arm = tuple[int, int]
"""Group, and the number of the arm in it."""


class Frame:
    """Everything about an arrangement but the order in the columns and the heights, which the search changes.

    ``sym[g]`` is the symbol of group g or -1, ``form[g]`` its stack now, ``forms[g]`` those it may change to without
    touching any channel. ``arms[g]`` lists (channel, net, left?) by arm; ``channels[c][net]`` holds the left and the
    right arms. ``order[c]`` are a column's groups from top to bottom, ``y[g]`` their reference heights.
    """

    def __init__(self, model: Model, col: Columns, turn: list[int]) -> None:
        self.model = model
        self.col = col
        self.sym: list[int] = []
        self.column: list[int] = []
        self.forms: list[list[Form]] = []
        self.form: list[Form] = []
        self.arms: list[tuple[tuple[int, int, bool], ...]] = []
        live = [s for s in range(len(model.shapes)) if s not in model.host]
        self.count = 1 + max((col[s] for s in live), default=0)
        self.order: list[list[int]] = [[] for _ in range(self.count)]
        self.channels: list[dict[int, tuple[list[Arm], list[Arm]]]] = [{} for _ in range(self.count + 1)]
        self.group: list[int] = [-1] * len(model.shapes)
        ways, passes = _ways(model, col, turn)
        for s in live:
            use = tuple(ways.get((s, p), BOTH) for p, _ in model.uses[s])
            same = _same_facing(model, s, turn[s])
            forms = _worthwhile([_form(model, s, t, use) for t in same])
            self.group[s] = self._add(s, col[s], forms, _arms_of(model, s, turn[s], col[s], use))
        for net, c in passes:
            self._add(-1, c, [pass_form(net)], ((c, net, False), (c + 1, net, True)))
        self.y = [0.0] * len(self.sym)

    def _add(self, s: int, c: int, forms: list[Form], arms: tuple[tuple[int, int, bool], ...]) -> int:
        g = len(self.sym)
        self.sym.append(s)
        self.column.append(c)
        self.forms.append(forms)
        self.form.append(forms[0])
        self.arms.append(arms)
        self.order[c].append(g)
        for k, (channel, net, left) in enumerate(arms):
            pair = self.channels[channel].setdefault(net, ([], []))
            pair[0 if left else 1].append((g, k))
        return g

    def sep(self, g: int, h: int) -> int:
        """Least distance of the references of group g and group h next below it."""
        upper, lower = self.form[g], self.form[h]
        u, w, sp = upper.parts[-1], lower.parts[0], self.model.spacing
        if u.body:
            free = max(sp.body_gap, u.room.down + w.room.up) if w.body else max(sp.line_body, u.room.down)
        elif w.body:
            free = max(sp.line_body, w.room.up)
        else:
            free = sp.pitch
        return upper.bottom + free - lower.top

    def turns(self) -> list[int]:
        """Shape of every symbol now; leaves as their hosts have them."""
        turn = list(self.model.base)
        for g, s in enumerate(self.sym):
            if s >= 0:
                turn[s] = self.form[g].turn
        for s, (h, p) in self.model.host.items():
            side = self.model.shapes[h][turn[h]].sides[p]
            turn[s] = self.model.leaf_shape(s, side) or 0
        return turn


def _same_facing(model: Model, s: int, turn: int) -> list[int]:
    """Shapes with the same ports on the left and right as ``turn``, itself first."""
    cache = model.facings
    if (s, turn) not in cache:
        now = model.shapes[s][turn]
        keep = [turn]
        for t, sh in enumerate(model.shapes[s]):
            if (
                t != turn
                and all(_lie(sh.sides[p]) == _lie(now.sides[p]) for p, _ in model.uses[s])
                and leaves_fit(model, s, t)
            ):
                keep.append(t)
        cache[s, turn] = keep
    return cache[s, turn]


def _worthwhile(forms: list[Form]) -> list[Form]:
    """The first form, and of the others those with few crossings of their own that differ in their rows."""
    if len(forms) < 3:
        return forms
    least = min(form.crossings for form in forms)
    kept: dict[tuple[object, ...], Form] = {}
    for i, form in enumerate(forms):
        if i == 0 or form.crossings <= least + 1:
            key = (form.arm_off, form.top, form.bottom, form.crossings, form.tip_up, form.tip_down)
            kept.setdefault(key, form)
    return list(kept.values())


def _lie(side: str) -> str:
    return side if side in "EW" else "v"


def _form(model: Model, s: int, turn: int, use: tuple[int, ...]) -> Form:
    cache = model.forms
    key = (s, turn, use)
    if key not in cache:
        cache[key] = make_form(model, s, turn, use)
    return cache[key]


def _ways(
    model: Model, col: Columns, turn: list[int]
) -> tuple[dict[tuple[int, int], int], list[tuple[int, int]]]:
    """Direction of every exit by (symbol, port), and the (net, column) of every pass."""
    ways: dict[tuple[int, int], int] = {}
    passes: list[tuple[int, int]] = []
    for net, terms in enumerate(model.live):
        if len(terms) < 2:
            continue
        fixed: list[int] = []
        loose: list[tuple[int, int, int]] = []
        for s, p in terms:
            side = model.shapes[s][turn[s]].sides[p]
            if side in "EW":
                fixed.append(col[s] + (side == "E"))
            else:
                loose.append((col[s], s, p))
        if fixed:
            lo, hi = min(fixed), max(fixed)
            for c, _, _ in loose:
                lo, hi = min(lo, c + 1), max(hi, c)
        else:
            cols = [c for c, _, _ in loose]
            lo, hi = min(cols) + 1, max(max(cols), min(cols) + 1)
        through: set[int] = set()
        for c, s, p in loose:
            if c + 1 <= lo:
                ways[s, p] = RIGHT
            elif c >= hi:
                ways[s, p] = LEFT
            elif c in through or (s, p) in model.leaf:
                ways[s, p] = RIGHT if model.flows[s][p] == "out" else LEFT
            else:
                ways[s, p] = BOTH
                through.add(c)
        passes += [(net, c) for c in range(lo, hi) if c not in through]
    return ways, passes


def _arms_of(
    model: Model, s: int, turn: int, c: int, use: tuple[int, ...]
) -> tuple[tuple[int, int, bool], ...]:
    arms: list[tuple[int, int, bool]] = []
    for (p, net), way in zip(model.uses[s], use, strict=True):
        if len(model.live[net]) < 2:
            continue
        side = model.shapes[s][turn].sides[p]
        if side == "W" or (side in "NS" and way in (LEFT, BOTH)):
            arms.append((c, net, False))
        if side == "E" or (side in "NS" and way in (RIGHT, BOTH)):
            arms.append((c + 1, net, True))
    return tuple(arms)
