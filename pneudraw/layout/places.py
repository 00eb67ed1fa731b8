"""From a plan to coordinates: columns and tracks get their x, every net its pieces of line."""

from __future__ import annotations

from dataclasses import dataclass, field

from pneudraw.layout.across import solved
from pneudraw.layout.heights import extent
from pneudraw.layout.plan import Plan
from pneudraw.layout.result import Point

ALIGNED = 0.02
"""A drawing for a page may be so much wider if like symbols then stand above one another."""

Piece = tuple[int, int, int, int]
"""A horizontal or vertical piece x1, y1, x2, y2 with x1 <= x2, y1 <= y2."""


@dataclass
class Drawn:
    """Boxes (x, y, width, height), shape and ports (x, y, side) of every symbol, pieces of every net.

    ``meant`` says by symbol where room was kept for its label: left, top, side.
    """

    boxes: list[tuple[int, int, int, int]]
    turn: list[int]
    ports: list[list[tuple[int, int, str]]]
    pieces: list[list[Piece]]
    meant: dict[int, tuple[float, float, str]] = field(default_factory=dict)


def draw(plan: Plan) -> Drawn:
    """Coordinates of everything but the labels."""
    frame, rows, model = plan.frame, plan.rows, plan.frame.model
    page = model.problem.page
    rims = [g for g, s in enumerate(frame.sym) if s >= 0 and model.problem.symbols[s].rim]
    least = 0 if page is None or rims else int(extent(frame, rows) * page[0] / page[1])
    across = solved(frame, rows, plan.tracks, least, 0.0 if page is None else ALIGNED)
    middle, at = across.middle, across.at
    for g in rims:  # nothing stands between one and its rim
        width = model.shapes[frame.sym[g]][frame.form[g].turn].width
        west = model.problem.symbols[frame.sym[g]].rim == "W"
        middle[g] = width // 2 if west else across.width - width + width // 2
    meant: dict[int, tuple[float, float, str]] = {}
    turn = frame.turns()
    n = len(model.shapes)
    boxes = [(0, 0, 0, 0)] * n
    ports: list[list[tuple[int, int, str]]] = [[] for _ in range(n)]
    pieces: list[list[Piece]] = [[] for _ in model.nets]

    def put(s: int, x: int, y: int) -> None:
        sh = model.shapes[s][turn[s]]
        boxes[s] = (x, y, sh.width, sh.height)
        ports[s] = [(x + a, y + b, side) for a, b, side in zip(sh.xs, sh.ys, sh.sides, strict=True)]

    def line(net: int, x1: int, y1: int, x2: int, y2: int) -> None:
        if (x1, y1) != (x2, y2):
            pieces[net].append((min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)))

    for g, s in enumerate(frame.sym):
        first = rows.first[g]
        form = frame.form[g]
        if s < 0:
            (a, net, _), (b, _, _) = frame.arms[g]
            line(net, at[a][net], rows.y[first], at[b][net], rows.y[first])
            continue
        body = first + next(i for i, part in enumerate(form.parts) if part.body)
        sh = model.shapes[s][turn[s]]
        put(s, middle[g] - sh.width // 2, rows.y[body])
        for spot in form.spots:
            label = model.problem.symbols[spot.symbol].label
            assert label is not None
            spare = (spot.right - spot.left - label.width, spot.bottom - spot.top - label.height)
            x, y = boxes[s][0] + spot.left + spare[0] / 2, boxes[s][1] + spot.top + spare[1] / 2
            meant[spot.symbol] = (x, y, spot.side)
        for port, (px, py, side) in enumerate(ports[s]):
            bound = model.leaf.get((s, port))
            if bound is None:
                continue
            net = next(n for p, n in model.uses[s] if p == port)
            leaf = model.shapes[bound][turn[bound]]
            q = model.nets_port(bound)
            tip = py - form.tip_up if side == "N" else py + form.tip_down
            put(bound, px - leaf.xs[q], tip - leaf.ys[q])
            line(net, px, py, px, tip)
        for k, (channel, net, _) in enumerate(frame.arms[g]):
            px, py, _ = ports[s][form.arm_port[k]]
            row = rows.y[first + form.arm_part[k]] + form.arm_dy[k]
            line(net, px, py, px, row)
            line(net, px, row, at[channel][net], row)
    for channel in range(frame.count + 1):
        for net, (left, right) in rows.ends[channel].items():
            ys = [rows.y[p] + d for p, d in left + right]
            if min(ys) < max(ys):
                x = at[channel][net]
                line(net, x, min(ys), x, max(ys))
    return Drawn(boxes, turn, ports, pieces, meant)


def bounds(drawn: Drawn) -> tuple[Point, Point]:
    """Top left and bottom right of all symbols and lines."""
    xs = [x for x, _, _, _ in drawn.boxes] + [p[0] for listed in drawn.pieces for p in listed]
    ys = [y for _, y, _, _ in drawn.boxes] + [p[1] for listed in drawn.pieces for p in listed]
    xe = [x + w for x, _, w, _ in drawn.boxes] + [p[2] for listed in drawn.pieces for p in listed]
    ye = [y + h for _, y, _, h in drawn.boxes] + [p[3] for listed in drawn.pieces for p in listed]
    if not xs:
        return (0, 0), (0, 0)
    return (min(xs), min(ys)), (max(xe), max(ye))
