"""Frames round parts that belong together: the author's groups, and vehicles (circuits used in another one).

A frame is a chain line (ISO 1219-1: enclosure of several functions) with the title above. It goes round its own
symbols and labels and leaves all others out; where that cannot be, there is no frame, and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.circuit.vehicles import vehicles
from pneudraw.drawing.nearby import first_free
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.shapes import Box, Point, union
from pneudraw.drawing.view import GroupFrame
from pneudraw.layout.result import Layout
from pneudraw.lettering import text_width

TITLE = 1.4  # height of a title, in heights of the other letters
AWAY = 1.5  # M from a symbol to its frame; half a module off the grid the lines run on
FURTHER = 1.0  # M from a frame to one round it
KEPT_OFF = 0.4  # M between a frame and what is not in it


@dataclass(frozen=True)
class Named:
    """Parts (tags) under a title; ``depth`` 0 for a frame with none in it."""

    name: str
    tags: tuple[str, ...]
    depth: int


def wanted(circuit: Circuit) -> tuple[Named, ...]:
    """Return the groups to be framed, inner ones first: `group` hints, then used circuits."""
    here = {part.tag for part in circuit.parts}
    found = [
        Named(hint.name or hint.value, tuple(tag for tag in hint.parts if tag in here), 0)
        for hint in circuit.hints
        if hint.word == "group"
    ]
    found += [Named(vehicle_title(circuit, prefix), tags, 1) for prefix, tags in vehicles(circuit).items()]
    return tuple(group for group in found if group.tags)


def vehicle_title(circuit: Circuit, prefix: str) -> str:
    """Return the title a used circuit has in its own file, else the tag it is used as."""
    from pneudraw.language.parser import parse

    for part in circuit.parts:
        if part.tag.startswith(f"{prefix}."):
            head = parse(part.span.source)[0].circuit
            if head is not None and head.title is not None:
                return f"{prefix}: {head.title.text}"
            break
    return prefix


def frames(
    circuit: Circuit, layout: Layout, letters: float, marks: Collection[str] = ()
) -> tuple[tuple[GroupFrame, ...], tuple[str, ...]]:
    """Return the frames that can be drawn, and what is to be said about the others.

    ``marks`` are symbols of the layout that belong to nobody (flags where lines go on): a frame may have them in it.
    """
    boxes = {
        s.id: (float(s.x), float(s.y), float(s.x + s.width), float(s.y + s.height)) for s in layout.symbols
    }
    labels = {
        label.symbol: (label.x, label.y, label.x + label.width, label.y + label.height)
        for label in layout.labels
    }
    taken = Occupied((-1e4, -1e4, 1e4, 1e4))
    for route in layout.routes:
        for points in route.lines:
            taken.add_chain(points, "line", 0.3)
    for box in (*boxes.values(), *labels.values()):
        taken.add(box)
    made: list[GroupFrame] = []
    regions: list[Any] = []
    messages: list[str] = []
    for group in wanted(circuit):
        own = [boxes[tag] for tag in group.tags if tag in boxes]
        if not own:
            continue
        inside = set(group.tags)
        words = [labels[tag] for tag in group.tags if tag in labels]
        pipes = _pipes(circuit, layout, inside)
        foreign = [
            box for tag, box in (*boxes.items(), *labels.items()) if tag not in inside and tag not in marks
        ]
        loose = [one for tag in marks if (one := union((boxes.get(tag), labels.get(tag))))]
        region = _region((*own, *words, *pipes), foreign, loose, AWAY + group.depth * FURTHER)
        if region is None or any(region.overlaps(other) for other in regions):
            messages.append(f"no frame round `{group.name}`: other parts stand among its own")
            continue
        outline = _outline(region)
        for a, b in _sides(outline):
            taken.add_chain((a, b), "frame")
        title = first_free(_titles(outline, group.name, letters * TITLE), taken, 0.3)
        if title is None:
            messages.append(f"no room for the title `{group.name}`")
        regions.append(region)
        made.append(GroupFrame(group.name, outline, title))
    return tuple(made), tuple(messages)


def _pipes(circuit: Circuit, layout: Layout, inside: Collection[str]) -> list[Box]:
    """The boxes of lines that join own parts only: they stay within the frame too."""
    lines = {line.tag for line in circuit.lines if all(end.part.tag in inside for end in line.ends)}
    return [
        box
        for route in layout.routes
        if route.net in lines
        for points in route.lines
        for a, b in pairwise(points)
        if (box := union(((*a, *a), (*b, *b))))
    ]


def _region(own: Sequence[Box], foreign: Sequence[Box], loose: Sequence[Box], away: float) -> Any | None:
    """The box round the own things without the parts of it that hold foreign ones; None if that cuts an own one off.

    Each foreign box takes with it all between itself and the nearest side that it can reach past no own thing. What
    is ``loose`` may be inside or outside, but not on the frame.
    """
    from shapely.geometry import box as shape
    from shapely.ops import unary_union

    left, top, right, bottom = union(own) or (0.0, 0.0, 0.0, 0.0)
    whole = _halves((left - away, top - away, right + away, bottom + away))
    kept = unary_union([shape(*_halves(_grown(one, KEPT_OFF))) for one in own])
    holes = [hole for one in foreign if _touch(hole := _halves(_grown(one, KEPT_OFF)), whole)]
    region = shape(*whole)
    holes += [
        hole
        for one in loose
        if _touch(hole := _halves(_grown(one, KEPT_OFF)), whole) and not _in(hole, whole)
    ]

    # the outermost first, so that what is behind them finds the way already free
    def depth(hole: Box) -> float:
        return min(hole[2] - whole[0], hole[3] - whole[1], whole[2] - hole[0], whole[3] - hole[1])

    for hole in sorted(holes, key=lambda hole: (depth(hole), hole)):
        x0, y0, x1, y1 = hole
        ways = (
            (x0, whole[1] - 1, x1, y1),
            (x0, y0, x1, whole[3] + 1),
            (whole[0] - 1, y0, x1, y1),
            (x0, y0, whole[2] + 1, y1),
        )
        free = [notch for way in ways if not (notch := shape(*way)).intersects(kept) or notch.touches(kept)]
        if not free:
            return None
        region = region.difference(min(free, key=lambda notch: float(notch.intersection(region).area)))
        if region.geom_type != "Polygon":
            region = next(
                (piece for piece in getattr(region, "geoms", ()) if piece.buffer(0.01).contains(kept)), region
            )
            if region.geom_type != "Polygon":
                return None
    return region if region.buffer(0.01).contains(kept) else None


def _outline(region: Any) -> tuple[Point, ...]:
    """The corners of a region, the first one not repeated, none in the middle of a side."""
    points = [(float(x), float(y)) for x, y in region.exterior.coords[:-1]]
    count = len(points)
    corners = [
        point
        for i, point in enumerate(points)
        if not (
            points[i - 1][0] == point[0] == points[(i + 1) % count][0]
            or points[i - 1][1] == point[1] == points[(i + 1) % count][1]
        )
    ]
    start = corners.index(min(corners, key=lambda p: (p[1], p[0])))
    return (*corners[start:], *corners[:start])


def _sides(outline: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    return zip(outline, (*outline[1:], outline[0]), strict=True)


def _titles(outline: Sequence[Point], name: str, height: float) -> Iterator[Box]:
    """Places above the level sides, highest first, from the left on; then inside below them."""
    width = text_width(name, height, bold=True)
    level = sorted((a[1], min(a[0], b[0]), max(a[0], b[0])) for a, b in _sides(outline) if a[1] == b[1])
    for below in (False, True):
        for y, x0, x1 in level:
            top = y + 0.6 if below else y - 0.6 - height
            steps = max(1, int(max(0.0, x1 - x0 - width)) + 1)
            for step in range(steps):
                yield x0 + step, top, x0 + step + width, top + height


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _halves(box: Box) -> Box:
    """The next larger box whose sides lie midway between the lines of the grid."""
    left, top, right, bottom = box
    return (
        math.floor(left - 0.5) + 0.5,
        math.floor(top - 0.5) + 0.5,
        math.ceil(right + 0.5) - 0.5,
        math.ceil(bottom + 0.5) - 0.5,
    )


def _in(a: Box, b: Box) -> bool:
    return b[0] < a[0] and b[1] < a[1] and a[2] < b[2] and a[3] < b[3]


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
