"""What is written onto a finished diagram, in modules: badges, fault marks and line tags, each in a free place."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from itertools import chain

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.nearby import beside, clear, first_free
from pneudraw.drawing.occupied import ALL_LINES, Occupied
from pneudraw.drawing.parts import STUBS, PlacedPart, code_shapes, code_size
from pneudraw.drawing.runs import Flowing, Piece
from pneudraw.drawing.shapes import WHITE, Box, Group, Point, Shape, Strokes, Text, rectangle
from pneudraw.drawing.signs import along, square
from pneudraw.drawing.tints import Tints
from pneudraw.layout.result import Layout
from pneudraw.lettering import text_width

FAR = 12.0  # M, the farthest a badge may stand from its port
LEADER = 0.08
LEVEL = 8.0  # M from its part, beside it
FAR_ALONG = 20  # M along a line
CLOSE = 1.7  # M; one farther away stands beside the line or gets a leader
OFF = 0.75  # M from the line, clear of ticks


def badges(
    layout: Layout,
    placed: tuple[PlacedPart, ...],
    flows: Mapping[str, tuple[Flowing, ...]],
    tints: Tints | None,
    taken: Occupied,
    messages: list[str],
    letters: float = 1.0,
) -> Iterator[Group]:
    """Yield a framed text for each badge: close by, else beside the line that ends there, else with a leader, else
    beside the part with the number of the port.

    What has no room is told in ``messages``. ``letters``: height of the text [M].
    """
    ports = {f"{port.symbol}.{port.port}": (port.x, port.y) for port in layout.ports}
    boxes: dict[str, Box] = {part.part.tag: part.box for part in placed}
    boxes |= {name: square(point, 0.5) for name, point in ports.items()}
    pieces = {
        node: flow.piece
        for line in flows.values()
        for flow in line
        for node in (flow.piece.start, flow.piece.end)
    }
    for badge in tints.badges if tints else ():
        where = boxes.get(badge.at)
        if where is None:
            messages.append(f"no `{badge.at}` for `{badge.text}`")
            continue
        size = (text_width(badge.text, letters) + 0.8, letters + 0.8)
        piece = pieces.get(ports.get(badge.at, (0.0, -1e9)))
        by_line = _beside_line(piece, ports[badge.at], size) if piece is not None else iter(())
        # past the port's number, if need be
        near = chain(beside(where, *size, CLOSE), by_line, beside(where, *size, CLOSE + 1.5 * letters))
        far = (
            box
            for box in beside(where, *size, FAR)
            if clear(*_leader(box, where), taken, (ALL_LINES, "frame", STUBS), (box, where))
        )
        spots = chain(((box, False) for box in near), ((b, True) for b in far))
        box, led = next(((box, led) for box, led in spots if taken.free(box, 0.2, (STUBS,))), (None, False))
        words = badge.text
        if box is None:  # level with its part it may stand farther away, if it names the port
            tag, _, port = badge.at.rpartition(".")
            words = f"{port}: {badge.text}"
            size = (text_width(words, letters) + 0.8, letters + 0.8)
            level = _level_with(boxes[tag], size) if tag in boxes else iter(())
            box = next((box for box in level if taken.free(box, 0.2, (STUBS,))), None)
        if box is None:
            messages.append(f"no room for `{badge.text}` at `{badge.at}`")
            continue
        taken.add(box)
        text = Text(((box[0] + box[2]) / 2, box[3] - 0.4), words, letters, "middle")
        items: tuple[Shape, ...] = (rectangle(box, 0.1, fill=WHITE), text)
        if led:
            items = (Strokes((_leader(box, where),), LEADER), *items)
        yield Group("badge", badge.at, items, f"{badge.at}: {badge.text}")


def _beside_line(piece: Piece, port: Point, size: tuple[float, float]) -> Iterator[Box]:
    """Places along the line that ends at a port, on either side of it, nearest to the port first."""
    runs = piece.runs() if piece.start == port else tuple((b, a) for a, b in reversed(piece.runs()))
    for start, end in runs[:2]:
        length = math.dist(start, end)
        for step in range(2, 2 * min(int(length), FAR_ALONG) + 1):
            x = start[0] + (end[0] - start[0]) * step / 2 / length
            y = start[1] + (end[1] - start[1]) * step / 2 / length
            yield from _flanking((x, y), start[1] == end[1], size, OFF)


def _level_with(part: Box, size: tuple[float, float]) -> Iterator[Box]:
    """Places right and left of a part, within its height."""
    for box in beside(part, *size, LEVEL):
        if part[1] - 0.5 <= box[1] and box[3] <= part[3] + 0.5:
            yield box


def _flanking(point: Point, level: bool, size: tuple[float, float], off: float) -> Iterator[Box]:
    """The places on either side of a line at a point of it: above and below, or right and left."""
    (x, y), (wide, high) = point, size
    if level:
        for top in (y - off - high, y + off):
            yield x - wide / 2, top, x + wide / 2, top + high
    else:
        for left in (x + off, x - off - wide):
            yield left, y - high / 2, left + wide, y + high / 2


def _leader(box: Box, where: Box) -> tuple[Point, Point]:
    """A slanting line from a badge to the middle of what it speaks of: a level one would look like a pipe."""
    x, y = ((where[0] + where[2]) / 2, (where[1] + where[3]) / 2)
    inner = (box[0] + 0.4, box[1] + 0.4, box[2] - 0.4, box[3] - 0.4)
    start_x = (
        max((inner[0], inner[2]), key=lambda end: abs(end - x)) if inner[0] - 1 < x < inner[2] + 1 else x
    )
    return (min(max(start_x, inner[0]), inner[2]), min(max(y, inner[1]), inner[3])), (x, y)


def marks(
    flows: dict[str, tuple[Flowing, ...]],
    placed: tuple[PlacedPart, ...],
    tints: Tints | None,
    taken: Occupied,
    messages: list[str],
) -> Iterator[Group]:
    """Yield a zigzag across the line, or beside the part, and the bold text of each fault mark."""
    boxes = {part.part.tag: part.box for part in placed}
    for mark in tints.marks if tints else ():
        runs = [run for item in flows.get(mark.at, ()) for run in item.piece.runs()]
        shapes: list[Shape] = []
        if runs:
            start, end = max(runs, key=lambda run: math.dist(*run))
            middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
            own = f"line {mark.at}"
            spots = (
                spot
                for ignore in ((own,), (own, "label"))
                for spot in along(start, end, 1.0)
                if taken.free(square(spot, 0.8), 0.0, ignore)
            )
            x, y = next(spots, middle)
            shapes.append(zigzag((x, y), start[1] == end[1]))
            around: Box | None = (x - 1.5, y - 1.5, x + 1.5, y + 1.5)
            taken.add(square((x, y), 0.6))
        else:
            around = boxes.get(mark.at)
            if around is not None:
                place = first_free(beside(around, 1.4, 3.2), taken, 0.2) or around
                shapes.append(zigzag(((place[0] + place[2]) / 2, (place[1] + place[3]) / 2), True))
                around = place
        width = text_width(mark.text, 1.4, bold=True)
        box = first_free(beside(around, width, 1.4), taken, 0.3) if around else None
        if box is None:
            messages.append(f"no room for `{mark.text}` at `{mark.at}`")
            continue
        shapes.append(Text((box[0], box[3]), mark.text, 1.4, bold=True))
        yield Group("fault", f"{mark.text} {mark.at}", tuple(shapes), f"Fault {mark.text} at {mark.at}")


def codes_beside(
    placed: tuple[PlacedPart, ...],
    codes: Mapping[str, str],
    taken: Occupied,
    messages: list[str],
    letters: float,
) -> Iterator[Group]:
    """Yield the framed identification codes that are not in their part's label, each beside its symbol."""
    for part in placed:
        code = codes.get(part.part.tag)
        if code is None:
            continue
        box = first_free(beside(part.box, *code_size(code, letters)), taken, 0.2)
        if box is None:
            messages.append(f"no room for the code `{code}` of `{part.part.tag}`")
        else:
            yield Group("code", part.part.tag, code_shapes((box[0], box[1]), code, letters))


def zigzag(centre: Point, level: bool) -> Strokes:
    """A zigzag across a line, 3M long."""
    points = tuple((0.5 if k % 2 else -0.5, -1.5 + k * 0.6) for k in range(6))
    x, y = centre
    chain = tuple((x + a, y + b) if level else (x + b, y + a) for a, b in points)
    return Strokes((chain,), 0.2)


def line_tags(
    circuit: Circuit,
    flows: Mapping[str, tuple[Flowing, ...]],
    done: Collection[str],
    taken: Occupied,
    messages: list[str],
    letters: float = 1.0,
) -> Iterator[Group]:
    """Yield every line's tag, but those already ``done``, beside its longest run that has room for it.

    ``messages`` tells if none has.
    """
    for line in circuit.lines:
        if line.tag in done:
            continue
        runs = [run for item in flows[line.tag] for run in item.piece.runs()]
        runs.sort(key=lambda run: -math.dist(*run))
        size = (text_width(line.tag, letters), letters)
        places = (
            place
            for off in (0.4, 1.2)
            for start, end in runs
            for spot in along(start, end, 0.0)
            for place in _flanking(spot, start[1] == end[1], size, off)
        )
        found = first_free(places, taken, 0.2)
        if found is not None:
            yield Group("tag", line.tag, (Text((found[0], found[3]), line.tag, letters),))
        elif runs:
            messages.append(f"no room for the tag of line `{line.tag}`")
