"""A long circuit on one sheet in bands, one below the other, each laid out by itself; cut lines end in flags.

It is cut between vehicles, or, if there are none, across like a strip of paper where few lines run.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import accumulate, pairwise

from pneudraw.circuit.model import Circuit
from pneudraw.circuit.vehicles import vehicles
from pneudraw.drawing.areas import Web
from pneudraw.drawing.diagram import MARGIN, extent
from pneudraw.drawing.drafting import Drafting
from pneudraw.drawing.shapes import Box
from pneudraw.drawing.view import Goal, GroupFrame, View
from pneudraw.layout.components import shift
from pneudraw.layout.result import Layout, Route

MOST_BANDS = 4
BETWEEN = 4  # M, between two bands, frames included
NATURAL = 5.0  # price of a cut across the whole circuit that is no longer one
UNEVEN = 8.0  # price of a band that is longer than the others by half

Bands = tuple[tuple[str, ...], ...]
"""The tags of the parts in each band, from the top down."""


def folded(drafting: Drafting, bands: Bands) -> tuple[View, ...]:
    """Return the circuit in these bands: each in a row of its own, then, as alternatives, several in a row."""
    goals = {tag: Goal(1, number) for number, tags in enumerate(bands, start=1) for tag in tags}
    views = drafting.alike(bands, goals)
    boxes = [extent(view) for view in views]
    widths = [box[2] - box[0] for box in boxes]
    sums = [total + BETWEEN * i for i, total in enumerate(accumulate(widths))]
    limits = [0.0, max(widths) + MARGIN, *(limit for limit in sums[1:-1] if limit > max(widths))]
    ways = dict.fromkeys(_corners(boxes, limit) for limit in limits)
    return tuple(_put(drafting.circuit, views, corners, bands) for corners in ways)


def _corners(boxes: Sequence[Box], limit: float) -> tuple[tuple[int, int], ...]:
    """How far each band is moved to stand in rows no longer than the limit, unless one band is."""
    x = y = bottom = 0.0
    found = []
    for left, top, right, low in boxes:
        if x and x + right - left > limit:
            x, y = 0.0, bottom + BETWEEN
        at = (math.ceil(x - MARGIN - left), math.ceil(y - MARGIN - top))
        found.append(at)
        x, bottom = right + at[0] + BETWEEN, max(bottom, low + at[1])
    return tuple(found)


def by_vehicle(circuit: Circuit) -> Bands:
    """Return the parts of each vehicle, one after the other on the way of the lines from the towing one; none if
    there is one vehicle only.

    What the circuit itself has between vehicles (a coupling, a dummy coupling) goes with the one it hangs on.
    """
    towed = vehicles(circuit)
    if not towed:
        return ()
    away = {tag: prefix for prefix, tags in towed.items() for tag in tags}
    away |= _between_vehicles(circuit, away)
    units: dict[str, list[str]] = {"": [], **{prefix: [] for prefix in towed}}
    for part in circuit.parts:
        units[away.get(part.tag, "")].append(part.tag)
    near: dict[str, set[str]] = {unit: set() for unit in units}
    for line in circuit.lines:
        joined = {away.get(end.part.tag, "") for end in line.ends}
        for unit in joined:
            near[unit] |= joined
    order = [next(unit for unit in units if units[unit])]
    for unit in order:
        order += [other for other in units if other in near[unit] and other not in order]
    order += [unit for unit in units if units[unit] and unit not in order]
    return tuple(tuple(units[unit]) for unit in order) if len(order) > 1 else ()


def _between_vehicles(circuit: Circuit, away: Mapping[str, str]) -> dict[str, str]:
    """The vehicle that each part hangs on which is joined only through vehicles to the most of the circuit's own."""
    own = [part.tag for part in circuit.parts if part.tag not in away]
    root = {tag: tag for tag in own}

    def find(tag: str) -> str:
        while root[tag] != tag:
            tag = root[tag]
        return tag

    hangs: dict[str, list[str]] = {tag: [] for tag in own}
    for line in circuit.lines:
        here = [end.part.tag for end in line.ends if end.part.tag in root]
        for a, b in pairwise(here):
            root[find(b)] = find(a)
        for tag in here:
            hangs[tag] += [away[end.part.tag] for end in line.ends if end.part.tag in away]
    groups: dict[str, list[str]] = {}
    for tag in own:
        groups.setdefault(find(tag), []).append(tag)
    most = max(groups.values(), key=len, default=[])
    rank = {prefix: number for number, prefix in enumerate(dict.fromkeys(away.values()))}
    found: dict[str, str] = {}
    for tags in groups.values():
        on = sorted({prefix for tag in tags for prefix in hangs[tag]}, key=rank.__getitem__)
        if tags is not most and on:
            found |= dict.fromkeys(tags, on[0])
    return found


def strips(web: Web, bands: int) -> Bands:
    """Return the circuit cut across so many times at the cheapest places in its drawing; none if one is dear."""
    order = sorted(range(len(web.atoms)), key=lambda atom: (*web.places[atom], atom))
    place = {atom: i for i, atom in enumerate(order)}
    across = [0.0] * (len(order) + 1)  # price of a cut before the atom in this place
    for price, joined in web.ties:
        at = sorted(place[atom] for atom in joined)
        for i in range(at[0] + 1, at[-1] + 1):
            across[i] += price
    left = min((x for x, _ in web.places), default=0.0)
    wide = max((x for x, _ in web.places), default=0.0) - left
    ends = [0]
    for k in range(1, bands):
        ideal = left + wide * k / bands
        allowed = [i for i in range(ends[-1] + 1, len(order)) if across[i] < NATURAL]
        if not allowed or wide <= 0:
            return ()
        ends.append(
            min(
                allowed,
                key=lambda i: (
                    across[i] + UNEVEN * abs(_between(web, order, i) - ideal) / (wide / bands),
                    i,
                ),
            )
        )
    ends.append(len(order))
    return tuple(tuple(tag for atom in order[a:b] for tag in web.atoms[atom]) for a, b in pairwise(ends))


def _between(web: Web, order: Sequence[int], i: int) -> float:
    """Where a cut before the atom in a place is, across the drawing."""
    return (web.places[order[i - 1]][0] + web.places[order[i]][0]) / 2


def _put(circuit: Circuit, views: Sequence[View], corners: Sequence[tuple[int, int]], bands: Bands) -> View:
    """The bands in one view, each moved so far."""
    moved = [shift(view.layout, *at) for view, at in zip(views, corners, strict=True)]
    framed = [_shifted(frame, *at) for view, at in zip(views, corners, strict=True) for frame in view.frames]
    lines = [line.tag for line in circuit.lines]
    routes = {tag: [r for layout in moved for r in layout.routes if r.net == tag] for tag in lines}
    layout = Layout(
        tuple(symbol for layout in moved for symbol in layout.symbols),
        tuple(port for layout in moved for port in layout.ports),
        tuple(
            Route(tag, tuple(points for route in found for points in route.lines))
            for tag, found in routes.items()
            if found
        ),
        tuple(tee for layout in moved for tee in layout.tees),
        tuple(label for layout in moved for label in layout.labels),
        max(layout.width + at[0] for layout, at in zip(moved, corners, strict=True)),
        max(layout.height + at[1] for layout, at in zip(moved, corners, strict=True)),
        tuple(fault for layout in moved for fault in layout.faults),
        sum(layout.crossings for layout in moved),
        sum(layout.corners for layout in moved),
    )
    return View(
        circuit,
        layout,
        views[0].letters,
        tuple(flag for view in views for flag in view.flags),
        views[0].codes,
        tuple(framed),
        tuple(message for view in views for message in view.messages),
        bands,
    )


def _shifted(frame: GroupFrame, dx: int, dy: int) -> GroupFrame:
    outline = tuple((x + dx, y + dy) for x, y in frame.outline)
    title = frame.title
    moved: Box | None = None
    if title is not None:
        moved = (title[0] + dx, title[1] + dy, title[2] + dx, title[3] + dy)
    return GroupFrame(frame.name, outline, moved)
