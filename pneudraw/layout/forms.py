"""One symbol with its leaves and exits as a rigid stack of parts, ready to be ordered inside a column.

An *exit* is the row a line takes after leaving a port on the top or bottom of a symbol. Going up from the body the
exits are stacked so that they cross each other's stubs least.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

from pneudraw.layout.model import Model, Room
from pneudraw.layout.problem import LabelSpec, Spacing
from pneudraw.layout.shapes import Shape
from pneudraw.layout.spots import FAR, Box, Spot, Surroundings, beyond, choose

LEFT, RIGHT, BOTH = -1, 1, 0


@dataclass(frozen=True, slots=True)
class Part:
    """A body (reference: top edge of the box) or a row of a line (reference: the line).

    ``up`` and ``dn`` are its extents above and below the reference, with what is bound to it; ``height`` is that of
    the box alone. ``net`` is the row's, -1 for a body.
    """

    body: bool
    net: int
    height: int
    up: int
    dn: int
    room: Room


@dataclass(frozen=True, slots=True)
class Form:
    """A stack of parts, top to bottom, with reference heights ``offs`` relative to the body's top edge.

    Arms go by the order of the symbol's uses, an exit to both sides giving two (left one first):
    ``arm_port`` is the port they come from, ``arm_part`` the part they belong to, ``arm_dy`` their height
    relative to it, ``arm_off`` to the stack. ``tip_up`` and ``tip_down`` say how far from the box its leaves stand,
    ``spots`` where room is kept for the labels.
    """

    turn: int
    parts: tuple[Part, ...]
    offs: tuple[int, ...]
    arm_port: tuple[int, ...]
    arm_part: tuple[int, ...]
    arm_dy: tuple[int, ...]
    arm_off: tuple[int, ...]
    top: int
    bottom: int
    crossings: int
    corners: int
    tip_up: int
    tip_down: int
    spots: tuple[Spot, ...] = ()


def gap(sp: Spacing, upper: Part, lower: Part, own: bool) -> int:
    """Least distance of the references of two parts, one above the other in a column.

    ``own`` if one is an exit of the other.
    """
    if upper.body and lower.body:
        free = max(sp.body_gap, upper.room.down + lower.room.up)
    elif upper.body:
        free = max(sp.line_body, upper.room.down)
    elif lower.body:
        free = max(sp.line_body, lower.room.up)
    else:
        return sp.pitch
    if own:
        bare = upper.height if upper.body else 0
        return max(bare + sp.stub, (upper.dn if upper.body else lower.up) + free)
    return upper.dn + free + lower.up


def _row_crossings(order: tuple[tuple[int, int, int], ...]) -> int:
    """Stubs that cross rows nearer to the body; items are (port x, direction, arm index), nearest first."""
    total = 0
    for i, (x, way, _) in enumerate(order):
        for other, _, _ in order[i + 1 :]:
            if way == BOTH or (way == LEFT and other < x) or (way == RIGHT and other > x):
                total += 1
    return total


def _stacked(exits: list[tuple[int, int, int]]) -> tuple[tuple[tuple[int, int, int], ...], int]:
    """Exits of one side, nearest to the body first, and how many crossings that costs."""
    rank = {LEFT: 0, RIGHT: 0, BOTH: 1}
    first = tuple(sorted(exits, key=lambda e: (rank[e[1]], e[0] if e[1] == LEFT else -e[0], e[2])))
    best = (first, _row_crossings(first))
    if best[1] and len(exits) <= 5:
        for order in permutations(first):
            cost = _row_crossings(order)
            if cost < best[1]:
                best = (order, cost)
    return best


def _covers(x: int, way: int, other: int) -> bool:
    """True if a row leaving at x runs over the stub at ``other``."""
    return way == BOTH or (way == LEFT and other < x) or (way == RIGHT and other > x)


@dataclass
class _Side:
    """Top or bottom of a body: leaves (port x, symbol, shape), rows fixed between body and leaves, free exits beyond
    them. Rows are (port x, direction, use)."""

    leaves: list[tuple[int, int, int]]
    under: list[tuple[int, int, int]]
    free: list[tuple[int, int, int]]
    tip: int = 0
    extent: int = 0
    crossings: int = 0


def _side(model: Model, s: int, sh: Shape, name: str, ways: tuple[int, ...]) -> _Side:
    sp = model.spacing
    leaves: list[tuple[int, int, int]] = []
    spans: list[tuple[int, int]] = []
    stubs: dict[int, int] = {}
    tallest = 0
    for port, side in enumerate(sh.sides):
        bound = model.leaf.get((s, port))
        if bound is None or side != name:
            continue
        turned = model.leaf_shape(bound, side)
        assert turned is not None
        leaf = model.shapes[bound][turned]
        leaves.append((sh.xs[port], bound, turned))
        x = sh.xs[port] - leaf.xs[model.nets_port(bound)]
        spans.append((x - sp.line_body, x + leaf.width + sp.line_body))
        stubs[port] = sh.xs[port]
        tallest = max(tallest, leaf.height)
    under: list[tuple[int, int, int]] = []
    free: list[tuple[int, int, int]] = []
    for k, (port, net) in enumerate(model.uses[s]):
        if sh.sides[port] != name or len(model.live[net]) < 2:
            continue
        x = sh.xs[port]
        row = (x, ways[k], k)
        (under if port in stubs or any(a < x < b for a, b in spans) else free).append(row)
    stacked, crossings = _stacked(under)
    for x, way, k in stacked:
        own = model.uses[s][k][0]
        crossings += sum(_covers(x, way, other) for port, other in stubs.items() if port != own)
        crossings += sum(_covers(x, way, other) for other, _, _ in free)
    outer, more = _stacked(free)
    tip = sp.stub * 2 + sp.pitch * (len(under) - 1) if under else sp.stub
    extent = tip + tallest if leaves else 0
    return _Side(leaves, list(stacked), list(outer), tip, extent, crossings + more)


def _row(x: int, y: int, way: int) -> Box:
    return (-FAR if way != RIGHT else x, y, FAR if way != LEFT else x, y)


def leaf_box(model: Model, x: int, bound: int, turned: int, tip: int) -> tuple[int, int, int, int]:
    """Box of a leaf whose port is at x, tip: left, top, right, bottom."""
    leaf = model.shapes[bound][turned]
    q = model.nets_port(bound)
    left, top = x - leaf.xs[q], tip - leaf.ys[q]
    return left, top, left + leaf.width, top + leaf.height


def _spots(model: Model, s: int, sh: Shape, north: _Side, south: _Side) -> tuple[tuple[Spot, ...], Room]:
    """Places for the labels of a symbol and its leaves, and the room they need above and below."""
    sp = model.spacing
    around = Surroundings(sh.width, sh.height, [(0, 0, sh.width, sh.height)])
    around.top, around.bottom = -north.extent, sh.height + south.extent
    wanted: list[tuple[int, tuple[int, int, int, int]]] = [(s, (0, 0, sh.width, sh.height))]
    for side, edge, out in ((north, 0, -1), (south, sh.height, 1)):
        for x, bound, turned in side.leaves:
            box = leaf_box(model, x, bound, turned, edge + out * side.tip)
            around.boxes.append(box)
            around.lines.append((x, min(edge, edge + out * side.tip), x, max(edge, edge + out * side.tip)))
            wanted.append((bound, box))
        for i, (x, way, _) in enumerate(side.under):
            y = edge + out * (sp.stub + sp.pitch * i)
            around.lines += [_row(x, y, way), (x, min(edge, y), x, max(edge, y))]
        for x, _, _ in side.free:
            around.lines.append((x, -FAR, x, 0) if out < 0 else (x, edge, x, FAR))
    around.pushed = {"N": bool(north.free), "S": bool(south.free)}
    for port, _ in model.uses[s]:
        if sh.sides[port] in "EW":
            around.lines.append(_row(sh.xs[port], sh.ys[port], RIGHT if sh.sides[port] == "E" else LEFT))
    found: list[Spot] = []
    for symbol, box in wanted:
        label = model.problem.symbols[symbol].label
        if label is None or label.width <= 0 or label.height <= 0:
            continue
        if symbol in model.wide:
            label = LabelSpec(label.width + 2 * sp.pitch, label.height + sp.pitch)
        made = choose(symbol, box, label, sp, around, model.avoid.get(symbol, frozenset()))
        if made is not None:
            found.append(made)
    up, down = beyond(north.extent, -around.top), beyond(sh.height + south.extent, around.bottom)
    return tuple(found), Room(up, down)


def make_form(model: Model, s: int, turn: int, ways: tuple[int, ...]) -> Form:
    """The stack of symbol ``s`` in shape ``turn``; ``ways`` says by use where an exit goes (ignored at the sides)."""
    sp, sh = model.spacing, model.shapes[s][turn]
    north, south = _side(model, s, sh, "N", ways), _side(model, s, sh, "S", ways)
    spots, room = _spots(model, s, sh, north, south)
    corners = 0
    fixed: dict[int, int] = {}
    for k, (port, net) in enumerate(model.uses[s]):
        if len(model.live[net]) > 1:
            if sh.sides[port] in "EW":
                fixed[k] = sh.ys[port]
            elif (s, port) not in model.leaf:
                corners += ways[k] != BOTH
    for i, (_, _, k) in enumerate(north.under):
        fixed[k] = -sp.stub - sp.pitch * i
    for i, (_, _, k) in enumerate(south.under):
        fixed[k] = sh.height + sp.stub + sp.pitch * i
    body = Part(True, -1, sh.height, north.extent, sh.height + south.extent, room)
    parts = [Part(False, model.uses[s][k][1], 0, 0, 0, Room()) for _, _, k in reversed(north.free)]
    index = len(parts)
    parts.append(body)
    parts += [Part(False, model.uses[s][k][1], 0, 0, 0, Room()) for _, _, k in south.free]
    offs = [0] * len(parts)
    for i in range(index - 1, -1, -1):
        offs[i] = offs[i + 1] - gap(sp, parts[i], parts[i + 1], True)
    for i in range(index + 1, len(parts)):
        offs[i] = offs[i - 1] + gap(sp, parts[i - 1], parts[i], True)
    where = {k: i for i, (_, _, k) in enumerate(reversed(north.free))}
    where |= {k: index + 1 + i for i, (_, _, k) in enumerate(south.free)}
    arm_port: list[int] = []
    arm_part: list[int] = []
    arm_dy: list[int] = []
    for k, (port, net) in enumerate(model.uses[s]):
        if len(model.live[net]) < 2:
            continue
        at, dy = (index, fixed[k]) if k in fixed else (where[k], 0)
        copies = 2 if sh.sides[port] in "NS" and ways[k] == BOTH else 1
        arm_port += [port] * copies
        arm_part += [at] * copies
        arm_dy += [dy] * copies
    return Form(
        turn,
        tuple(parts),
        tuple(offs),
        tuple(arm_port),
        tuple(arm_part),
        tuple(arm_dy),
        tuple(offs[i] + dy for i, dy in zip(arm_part, arm_dy, strict=True)),
        offs[0] - parts[0].up,
        offs[-1] + parts[-1].dn,
        north.crossings + south.crossings,
        corners,
        north.tip,
        south.tip,
        spots,
    )


def pass_form(net: int) -> Form:
    """A line crossing a column in which it has no port."""
    part = Part(False, net, 0, 0, 0, Room())
    return Form(0, (part,), (0,), (-1, -1), (0, 0), (0, 0), (0, 0), 0, 0, 0, 0, 0, 0)
