"""What must not be on a drawing, looked for with shapely: nothing here is shared with the engine's own check."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import networkx as nx
import shapely
from shapely.geometry import LineString, MultiLineString, Point, box

from pneudraw.layout import Layout, Problem

TINY = 1e-6


def merged(layout: Layout) -> dict[str, MultiLineString]:
    """Each net as one shape."""
    return {
        route.net: MultiLineString([LineString(points) for points in route.lines]) for route in layout.routes
    }


def _symbol_faults(problem: Problem, layout: Layout) -> list[str]:
    faults = []
    boxes = [box(s.x, s.y, s.x + s.width, s.y + s.height) for s in layout.symbols]
    tree = shapely.STRtree(boxes)
    for i, j in zip(*tree.query(boxes, predicate="intersects"), strict=True):
        if i < j and boxes[i].intersection(boxes[j]).area > TINY:
            faults.append(f"{layout.symbols[i].id} over {layout.symbols[j].id}")
    at = {(p.symbol, p.port): (p.x, p.y) for p in layout.ports}
    own: dict[tuple[str, int], list[tuple[int, int]]] = {}
    index = {s.id: i for i, s in enumerate(layout.symbols)}
    for net in problem.nets:
        for symbol, port in net.terminals:
            own.setdefault((net.id, index[symbol]), []).append(at[symbol, port])
    for route in layout.routes:
        for points in route.lines:
            for a, b in pairwise(points):
                piece = LineString([a, b])
                for i in tree.query(piece, predicate="intersects"):
                    common = boxes[i].intersection(piece)
                    ends = [p for p in own.get((route.net, int(i)), []) if p in (a, b)]
                    if common.length > TINY or not ends:
                        faults.append(f"{route.net} through or along {layout.symbols[i].id}")
    return faults


def _net_faults(problem: Problem, layout: Layout) -> list[str]:
    faults = []
    at = {(p.symbol, p.port): (p.x, p.y) for p in layout.ports}
    routes = {route.net: route for route in layout.routes}
    for net in problem.nets:
        graph: nx.MultiGraph[tuple[int, int]] = nx.MultiGraph()
        for points in routes[net.id].lines:
            graph.add_edge(points[0], points[-1])
            if any(a[0] != b[0] and a[1] != b[1] for a, b in pairwise(points)):
                faults.append(f"{net.id} slants")
        ports = {at[t] for t in net.terminals}
        if not ports <= set(graph):
            faults.append(f"{net.id} misses a port")
            continue
        if not nx.is_tree(graph):
            faults.append(f"{net.id} is in pieces or a ring")
        if {v for v, degree in graph.degree if degree == 1} - ports:
            faults.append(f"{net.id} ends nowhere")
    return faults


def _line_faults(layout: Layout) -> tuple[list[str], int]:
    """Faults between lines of different nets, and the number of plain crossings."""
    faults, crossings = [], 0
    pieces: list[LineString] = []
    owner: list[str] = []
    for route in layout.routes:
        for points in route.lines:
            for a, b in pairwise(points):
                pieces.append(LineString([a, b]))
                owner.append(route.net)
    if not pieces:
        return [], 0
    tree = shapely.STRtree(pieces)
    seen: set[tuple[str, str, float, float]] = set()
    for i, j in zip(*tree.query(pieces, predicate="intersects"), strict=True):
        if i >= j or owner[i] == owner[j]:
            continue
        common = pieces[i].intersection(pieces[j])
        if not isinstance(common, Point):
            faults.append(f"{owner[i]} lies on {owner[j]}")
            continue
        ends = [*pieces[i].coords, *pieces[j].coords]
        spot = (min(owner[i], owner[j]), max(owner[i], owner[j]), common.x, common.y)
        if (common.x, common.y) in ends:
            if spot not in seen:
                faults.append(f"{owner[i]} seems joined to {owner[j]} at {common.x},{common.y}")
        elif spot not in seen:
            crossings += 1
        seen.add(spot)
    return faults, crossings


def _label_faults(problem: Problem, layout: Layout) -> list[str]:
    faults = []
    shrink = 1e-3
    labels = [
        box(a.x + shrink, a.y + shrink, a.x + a.width - shrink, a.y + a.height - shrink)
        for a in layout.labels
    ]
    things = [box(s.x, s.y, s.x + s.width, s.y + s.height) for s in layout.symbols]
    names = [s.id for s in layout.symbols]
    for net, shape in merged(layout).items():
        things += list(shape.geoms)
        names += [net] * len(shape.geoms)
    if not labels:
        return ["labels missing"] if any(s.label for s in problem.symbols) else []
    for i, j in zip(*shapely.STRtree(things).query(labels, predicate="intersects"), strict=True):
        faults.append(f"label of {layout.labels[i].symbol} over {names[j]}")
    for i, j in zip(*shapely.STRtree(labels).query(labels, predicate="intersects"), strict=True):
        if i < j:
            faults.append(
                f"labels of {layout.labels[i].symbol} and {layout.labels[j].symbol} over each other"
            )
    wanted = Counter(s.id for s in problem.symbols if s.label is not None)
    if Counter(a.symbol for a in layout.labels) != wanted:
        faults.append("labels missing")
    return faults


def faults_of(problem: Problem, layout: Layout) -> list[str]:
    """Everything wrong with a layout; an empty list for a drawing that may be printed."""
    lines, _ = _line_faults(layout)
    return (
        _symbol_faults(problem, layout)
        + _net_faults(problem, layout)
        + lines
        + _label_faults(problem, layout)
    )


def crossings_of(layout: Layout) -> int:
    """Places where lines of two nets cross."""
    return _line_faults(layout)[1]


def corners_of(layout: Layout) -> int:
    """Corners of all lines; a tee is none."""
    return sum(len(points) - 2 for route in layout.routes for points in route.lines)


def straight_share(problem: Problem, layout: Layout) -> float:
    """Share of the lines with two ends that have no corner."""
    two = {net.id for net in problem.nets if len(net.terminals) == 2}
    bent = {route.net for route in layout.routes if any(len(points) > 2 for points in route.lines)}
    return 1 - len(bent & two) / max(1, len(two))
