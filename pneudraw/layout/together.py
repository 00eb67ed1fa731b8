"""Layouts of blocks and of what is round them put together: every line one again, counted and checked as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from pneudraw.layout.apart import Copy, corner, gate_names
from pneudraw.layout.blocks import Pattern
from pneudraw.layout.check import check
from pneudraw.layout.engine import Finished, finish
from pneudraw.layout.labels import Box
from pneudraw.layout.model import Model
from pneudraw.layout.places import Drawn, Piece
from pneudraw.layout.problem import LabelSpec
from pneudraw.layout.result import Layout, PlacedLabel, Point, Route


class _Whole:
    """The drawing while it is put together, by the numbers of the whole problem."""

    def __init__(self, model: Model) -> None:
        specs = model.problem.symbols
        self.model = model
        self.number = {spec.id: s for s, spec in enumerate(specs)}
        self.net = {net.id: n for n, net in enumerate(model.problem.nets)}
        self.drawn = Drawn(
            [(0, 0, 0, 0) for _ in specs], [0] * len(specs), [[] for _ in specs], [[] for _ in model.nets]
        )
        self.transform: dict[str, str] = {}
        self.labels: list[tuple[int, Box, str]] = []

    def put(self, layout: Layout, names: dict[str, str], dx: int, dy: int) -> None:
        """Place those symbols of a layout that ``names`` gives a name in the whole."""
        ports = {(port.symbol, port.port): port for port in layout.ports}
        for symbol in layout.symbols:
            if symbol.id not in names:
                continue
            s = self.number[names[symbol.id]]
            self.drawn.boxes[s] = (symbol.x + dx, symbol.y + dy, symbol.width, symbol.height)
            self.transform[names[symbol.id]] = symbol.transform
            for port in self.model.problem.symbols[s].ports:
                at = ports[symbol.id, port.id]
                self.drawn.ports[s].append((at.x + dx, at.y + dy, at.side))
        for label in layout.labels:
            if label.symbol in names:
                s = self.number[names[label.symbol]]
                own = self.model.problem.symbols[s].label
                assert own is not None
                x1, y1, x2, y2 = _own_room(label, own, self.drawn.boxes[s][1] - dy)
                self.labels.append((s, (x1 + dx, y1 + dy, x2 + dx, y2 + dy), label.anchor))

    def line(self, net: str, points: Sequence[Point], dx: int, dy: int) -> None:
        """Add a polyline to a line of the whole."""
        for (x1, y1), (x2, y2) in pairwise(points):
            piece: Piece = (min(x1, x2) + dx, min(y1, y2) + dy, max(x1, x2) + dx, max(y1, y2) + dy)
            self.drawn.pieces[self.net[net]].append(piece)


def put_together(
    model: Model, patterns: Sequence[Pattern], copies: Sequence[Copy], inner: Sequence[Layout], outer: Layout
) -> Layout:
    """The layout of the whole problem ``model`` was made of, checked as any other; ``inner`` go by pattern."""
    whole = _Whole(model)
    blocks = {copy.name: copy for copy in copies}
    whole.put(outer, {s.id: s.id for s in outer.symbols if s.id not in blocks}, 0, 0)
    for route in outer.routes:
        for points in route.lines:
            whole.line(route.net, points, 0, 0)
    left, top = corner(model.problem)
    for symbol in outer.symbols:
        if symbol.id in blocks:
            copy = blocks[symbol.id]
            at = (symbol.x + left, symbol.y + top)
            _add(whole, patterns[copy.pattern], copy, inner[copy.pattern], at)
    whole.labels.sort()
    faults, webs, _ = check(whole.drawn, model)
    done = finish(Finished(model, whole.drawn, webs, whole.labels, [], faults))
    # a port fewer can make two transforms the same for the model, but not for the reader
    return replace(
        done, symbols=tuple(replace(symbol, transform=whole.transform[symbol.id]) for symbol in done.symbols)
    )


def _add(whole: _Whole, pattern: Pattern, copy: Copy, layout: Layout, at: Point) -> None:
    """One block, with its lines as far as the gates it has."""
    dx, dy = at
    left = whole.model.problem.spacing.block
    specs = pattern.inside.specs
    whole.put(layout, {spec.id: name for spec, name in zip(specs, copy.names, strict=True)}, dx, dy)
    where = {symbol.id: (symbol.x, symbol.y) for symbol in layout.symbols}
    gates = dict(zip(pattern.gates(), gate_names(pattern), strict=True))
    routes = {route.net: route for route in layout.routes}
    for n, (ends, line) in enumerate(pattern.inside.lines.items()):
        net = copy.nets.get(ends)
        if net is None:
            continue
        gate = where[gates[ends]] if ends in gates else None
        for points in _kept(routes[str(n)], gate if ends not in copy.gates else None):
            whole.line(net, points, dx, dy)
        if gate is not None and ends in copy.gates:
            edge = -left if line.gate == "W" else layout.width + left
            whole.line(net, (gate, (edge, gate[1])), dx, dy)


def _kept(route: Route, closed: Point | None) -> list[tuple[Point, ...]]:
    """The lines of a route but the one that leads to a gate without a line beyond it."""
    return [points for points in route.lines if closed is None or closed not in (points[0], points[-1])]


def _own_room(label: PlacedLabel, own: LabelSpec, top: int) -> Box:
    """The room of a label in the room of the largest among like ones: flush with its symbol, whose top is given."""
    spare_x, spare_y = label.width - own.width, label.height - own.height
    x = label.x + spare_x * {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor]
    beside = label.anchor != "middle"
    y = label.y + spare_y * (0.5 if beside else 1.0 if label.y < top else 0.0)
    return x, y, x + own.width, y + own.height
