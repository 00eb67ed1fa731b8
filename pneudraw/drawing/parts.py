"""Parts as shapes, in modules: the symbol in its place, its stubs and triangles, label and port numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit, Part
from pneudraw.drawing.nearby import at_port, first_free
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.shapes import Box, Group, Point, Shape, Text, rectangle
from pneudraw.drawing.symbols import drawn
from pneudraw.drawing.transform import Place, placed
from pneudraw.layout.from_circuit import TEXT, label_lines, label_size
from pneudraw.layout.problem import LabelSpec
from pneudraw.layout.result import Layout, PlacedLabel, PlacedSymbol
from pneudraw.lettering import LINE_PITCH, text_width
from pneudraw.library import model
from pneudraw.library.model import Role

Spot = tuple[str, Point, str]  # port, place, side (N, E, S or W)

TAG_GAP = 0.6  # M between a tag and the name after it, as the layout measures it
STUBS = "stubs"  # owner of a symbol's whole box, its body apart
CODE_AIR = 0.3  # between an identification code and its frame, in heights of its letters


@dataclass(frozen=True)
class PlacedPart:
    """A part with its strokes in place [M]; ``vents`` are those of unjoined ports, by port id."""

    part: Part
    box: Box
    strokes: tuple[model.Stroke, ...]
    vents: tuple[tuple[str, tuple[model.Stroke, ...]], ...]


def place_parts(circuit: Circuit, layout: Layout) -> tuple[PlacedPart, ...]:
    """Return every part of the circuit that the layout has, in netlist order."""
    where = {symbol.id: symbol for symbol in layout.symbols}
    return tuple(_placed(circuit, part, where[part.tag]) for part in circuit.parts if part.tag in where)


def _placed(circuit: Circuit, part: Part, symbol: PlacedSymbol) -> PlacedPart:
    width, height = part.kind.size
    place: Place = (symbol.transform, symbol.x, symbol.y, width, height)
    strokes = placed(part.kind.strokes, place)
    vents = []
    for port in part.kind.ports:
        if circuit.line_at(part.tag, port.id) is not None:
            strokes += placed(port.joined, place)
        elif port.unjoined:
            vents.append((port.id, placed(port.unjoined, place)))
    box = (symbol.x, symbol.y, symbol.x + symbol.width, symbol.y + symbol.height)
    return PlacedPart(part, box, strokes, tuple(vents))


def symbol_group(placed_part: PlacedPart, open_vents: dict[str, str], least: float) -> Group:
    """Return the drawn symbol. ``open_vents``: colour of the triangle by port id, for exhausts that let air out.

    ``least``: height below which no letter in a symbol may be [M].
    """
    shapes: list[Shape] = list(drawn(placed_part.strokes, text_height=least))
    for port, strokes in placed_part.vents:
        shapes += drawn(strokes, filled=open_vents.get(port))
    part = placed_part.part
    title = f"{part.tag}: {part.name}" if part.name else part.tag
    venting = ", ".join(f"port {port}" for port, _ in placed_part.vents if port in open_vents)
    desc = part.kind.title + (f"; {venting} lets air out" if venting else "")
    return Group("part", part.tag, tuple(shapes), title, desc)


def label_spec(part: Part, unit: str, letters: float, code: str = "") -> LabelSpec:
    """Return the room a part's label needs [M], its identification code included."""
    size = label_size(label_lines(part, unit))
    wide, high = size.width / TEXT * letters, size.height / TEXT * letters
    if code:
        wide = max(wide, text_width(code, letters) + 2 * CODE_AIR * letters)
        high += _code_room(letters)
    return LabelSpec(round(wide, 2), round(high, 2))


def label_group(
    part: Part, label: PlacedLabel, unit: str, letters: float = TEXT, code: str = ""
) -> tuple[Group, bool]:
    """Return a part's label: tag in bold, name after it, settings under it; the framed code above if there is room.

    The second value tells whether the code is there.
    """
    lines = label_lines(part, unit)
    coded = bool(code) and label.height > len(lines) * LINE_PITCH * letters + 0.5 * _code_room(letters)
    items: list[Shape] = []

    def start(width: float) -> float:
        spare = label.width - width
        return label.x + {"start": 0.0, "middle": spare / 2, "end": spare}[label.anchor]

    top = label.y
    if coded:
        wide = text_width(code, letters) + 2 * CODE_AIR * letters
        items += code_shapes((start(wide), top), code, letters)
        top += _code_room(letters)
    for number, words in enumerate(lines):
        baseline = top + number * LINE_PITCH * letters + letters + 0.05
        tag = text_width(words.tag, letters, bold=True) if words.tag else 0.0
        rest = text_width(words.words, letters) if words.words else 0.0
        width = tag + rest + (TAG_GAP * letters if tag and rest else 0.0)
        x = start(width)
        if words.tag:
            items.append(Text((x, baseline), words.tag, letters, bold=True))
        if words.words:
            items.append(Text((x + width - rest, baseline), words.words, letters))
    return Group("label", part.tag, tuple(items)), coded


def code_shapes(corner: Point, code: str, letters: float) -> tuple[Shape, ...]:
    """Return an identification code in its thin frame (ISO 1219-2), from its upper left corner."""
    (x, y), air = corner, CODE_AIR * letters
    box = (x, y, x + text_width(code, letters) + 2 * air, y + letters + 2 * air)
    return rectangle(box, 0.1), Text((x + air, y + air + letters), code, letters)


def code_size(code: str, letters: float) -> tuple[float, float]:
    """Return width and height of a framed code [M]."""
    return text_width(code, letters) + 2 * CODE_AIR * letters, (1 + 2 * CODE_AIR) * letters


def _code_room(letters: float) -> float:
    return (1 + 2 * CODE_AIR + 0.5) * letters


def take_strokes(placed_part: PlacedPart, taken: Occupied) -> None:
    """Mark a symbol's own lines as taken."""
    take_outlines(placed_part.strokes, taken)
    for _, strokes in placed_part.vents:
        take_outlines(strokes, taken)


def take_body(placed_part: PlacedPart, layout: Layout, taken: Occupied) -> None:
    """Mark a whole symbol as taken, the strip its stubs cross as :data:`STUBS`: a badge may stand there."""
    taken.add(placed_part.box, STUBS)
    ports = {(port.x, port.y) for port in layout.ports if port.symbol == placed_part.part.tag}
    strokes = (*placed_part.strokes, *(stroke for _, some in placed_part.vents for stroke in some))
    outlines = [_outline(stroke) for stroke in strokes]
    inner = [chain for chain in outlines if not (len(chain) == 2 and ports.intersection(chain))]
    for chain in outlines:
        taken.add_chain(chain)
    if inner:
        xs = [x for chain in inner for x, _ in chain]
        ys = [y for chain in inner for _, y in chain]
        taken.add((min(xs), min(ys), max(xs), max(ys)))


def take_outlines(strokes: tuple[model.Stroke, ...], taken: Occupied) -> None:
    """Mark strokes as taken, slanting pieces and curves a little generously."""
    for stroke in strokes:
        taken.add_chain(_outline(stroke))


def numbered(part: Part, which: str) -> bool:
    """True if a part's ports get their numbers: always, never, or where they help to tell ports apart."""
    if which != "useful":
        return which == "all"
    ports = part.kind.ports
    roles = {port.role for port in ports}
    several = len(ports) > 2 or Role.CONTROL in roles or any(len(port.id) > 1 for port in ports)
    return len(ports) > 1 and roles != {Role.TAPPING} and several


def number_spots(circuit: Circuit, layout: Layout, placed_part: PlacedPart) -> tuple[Spot, ...]:
    """Return where the ports are whose numbers are worth writing: those joined, and those open to atmosphere."""
    part = placed_part.part
    ports = {port.port: port for port in layout.ports if port.symbol == part.tag}
    vents = {port for port, _ in placed_part.vents}
    return tuple(
        (port.id, (ports[port.id].x, ports[port.id].y), ports[port.id].side)
        for port in part.kind.ports
        if port.id in ports and (port.id in vents or circuit.line_at(part.tag, port.id) is not None)
    )


def port_numbers(spots: tuple[Spot, ...], box: Box, height: float, taken: Occupied) -> Iterator[Text]:
    """Yield numbers beside the stubs of a symbol's ports; none where there is no room."""
    left, top, right, bottom = box
    for name, (x, y), side in spots:
        middle = (top + bottom) / 2 if side in "EW" else (left + right) / 2
        here = y if side in "EW" else x
        away = -1 if here < middle or (here == middle and side in "EW") else 1
        width = text_width(name, height)
        place = first_free(at_port((x, y), side, away, width, height), taken, 0.12)
        if place is not None:
            yield Text((place[0], place[3]), name, height)


def stub(placed_part: PlacedPart, point: Point) -> tuple[Point, Point] | None:
    """Return the first module of the symbol's own line at a port, from the port inwards; None if none starts there."""
    for stroke in placed_part.strokes:
        if not isinstance(stroke, model.Polyline) or stroke.closed or stroke.style != "solid":
            continue
        for chain in (stroke.points, stroke.points[::-1]):
            if chain[0] == point and len(chain) > 1:
                length = math.dist(chain[0], chain[1])
                share = min(1.0, 1 / length) if length else 0.0
                (x0, y0), (x1, y1) = chain[0], chain[1]
                return point, (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
    return None


def _outline(stroke: model.Stroke) -> tuple[Point, ...]:
    match stroke:
        case model.Polyline():
            return (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
        case model.Arrow():
            return stroke.points
        case model.Circle():
            return _round(stroke.centre, stroke.radius, 0.0, 360.0)
        case model.Arc():
            return _round(stroke.centre, stroke.radius, stroke.start, stroke.end)
        case model.Text():
            (x, y), half = stroke.at, text_width(stroke.text, stroke.height) / 2
            return (x - half, y - stroke.height / 2), (x + half, y - stroke.height / 2)


def _round(centre: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    steps = 16
    angles = (math.radians(start + (end - start) * step / steps) for step in range(steps + 1))
    return tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles)
