"""The circuit itself as shapes, in modules: lines, symbols, labels, numbers, and what the tints add."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit, Line
from pneudraw.drawing.dashes import ENCLOSURE, broken
from pneudraw.drawing.extras import badges, codes_beside, line_tags, marks
from pneudraw.drawing.flags import flag_groups
from pneudraw.drawing.groups import TITLE
from pneudraw.drawing.lines import Bow, DrawnLine, draw_line, hose_bow
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.options import SheetOptions
from pneudraw.drawing.palette import Look, look
from pneudraw.drawing.parts import (
    PlacedPart,
    label_group,
    number_spots,
    numbered,
    place_parts,
    port_numbers,
    stub,
    symbol_group,
    take_body,
    take_strokes,
)
from pneudraw.drawing.runs import Flowing, flowing, pieces
from pneudraw.drawing.shapes import Box, Group, Point, Shape, Strokes, Text, union
from pneudraw.drawing.tints import MOVING, LineTint, Style, Tints
from pneudraw.drawing.view import HERE, View
from pneudraw.layout.result import Layout
from pneudraw.lettering import text_width

MARGIN = 0.75  # M round the layout, for the half width of a line and port numbers at the rim
NUMBER = 0.8  # height of port numbers, in heights of the letters; never below 2.5 mm while the module allows


@dataclass(frozen=True)
class Shown:
    """What of a drawing a legend has to explain.

    It does not hang on the size of the letters, so that a legend measured once still fits.
    """

    styles: tuple[Style, ...]
    control: bool
    hose: bool
    tees: bool
    crossings: bool
    orders: bool
    vents: bool
    faults: bool
    continued: bool
    folded: bool
    framed: bool
    letters: float


@dataclass(frozen=True)
class Diagram:
    """The drawn circuit [M], what a legend has to explain, and what had no room."""

    shapes: tuple[Shape, ...]
    shown: Shown
    messages: tuple[str, ...]


def extent(view: View) -> Box:
    """Return the box the diagram may fill [M]: layout and frames. What tints add must find room inside it."""
    layout = view.layout
    boxes: list[Box | None] = [(s.x, s.y, s.x + s.width, s.y + s.height) for s in layout.symbols]
    boxes += [(label.x, label.y, label.x + label.width, label.y + label.height) for label in layout.labels]
    boxes += [(x, y, x, y) for route in layout.routes for points in route.lines for x, y in points]
    boxes += [(x, y, x, y) for frame in view.frames for x, y in frame.outline]
    boxes += [frame.title for frame in view.frames]
    left, top, right, bottom = union(boxes) or (0.0, 0.0, 10.0, 6.0)
    return left - MARGIN, top - MARGIN, right + MARGIN, bottom + MARGIN


def diagram(
    view: View,
    tints: Tints | None,
    options: SheetOptions,
    module: float,
    references: Mapping[str, str] | None = None,
) -> Diagram:
    """Return the circuit drawn in its own coordinates.

    ``module`` [mm] only sets how large small letters must be. ``references``: where the lines go on, by flag.
    """
    circuit, layout, letters = view.circuit, view.layout, view.letters
    limits = extent(view)
    number_height = min(letters, max(NUMBER * letters, 2.5 / module))
    placed = place_parts(circuit, layout)
    taken = _lines_and_labels(view, limits)
    for part in placed:
        take_strokes(part, taken)
    numbers = [
        Group("numbers", part.part.tag, items)
        for part in placed
        if numbered(part.part, options.port_numbers)
        and (
            items := tuple(port_numbers(number_spots(circuit, layout, part), part.box, number_height, taken))
        )
    ]
    taken = _lines_and_labels(view, limits)
    for part in placed:
        take_body(part, layout, taken)
    flags = {flag.id for flag in view.flags}
    for symbol in layout.symbols:
        if symbol.id in flags:
            taken.add((symbol.x, symbol.y, symbol.x + symbol.width, symbol.y + symbol.height))
    for group in numbers:
        for item in group.items:
            if isinstance(item, Text):
                width = text_width(item.text, item.height)
                taken.add((item.at[0], item.at[1] - item.height, item.at[0] + width, item.at[1]))
    flows = _flows(view, tints)
    bows = {
        line.tag: hose_bow(flows[line.tag], taken, f"line {line.tag}") for line in circuit.lines if line.hose
    }
    messages: list[str] = list(view.messages)
    # before arrows and order numbers, which have a whole line to choose from
    pressures = list(badges(layout, placed, flows, tints, taken, messages, letters))
    lines = [
        _line(line, flows[line.tag], bows.get(line.tag), view, tints, options, taken, messages)
        for line in circuit.lines
    ]
    stubs = _stubs(circuit, layout, placed, flows, options)
    vent_ink = look(Style.VENTS, options.colour).colour
    opened = dict.fromkeys(tints.vents if tints else (), vent_ink)
    symbols = [symbol_group(part, _of(part, opened), number_height) for part in placed]
    by_tag = {label.symbol: label for label in layout.labels}
    labels: list[Group] = []
    uncoded = dict(view.codes)
    for part in placed:
        tag = part.part.tag
        if tag in by_tag:
            label, coded = label_group(part.part, by_tag[tag], circuit.unit, letters, view.codes.get(tag, ""))
            labels.append(label)
            if coded:
                del uncoded[tag]
    extras = list(codes_beside(placed, uncoded, taken, messages, letters))
    extras += pressures
    extras += marks(flows, placed, tints, taken, messages)
    if options.line_tags:
        shown_by_flag = {flag.line for flag in view.flags}
        extras += line_tags(circuit, flows, shown_by_flag, taken, messages, letters)
    seen = {item.style for flow in flows.values() for item in flow}
    return Diagram(
        (
            *_frames(view),
            *lines,
            *symbols,
            *stubs,
            *flag_groups(view, references or {}, _at_flags(view, flows, options.colour)),
            *labels,
            *numbers,
            *extras,
        ),
        Shown(
            tuple(style for style in Style if style in seen),
            any(line.control for line in circuit.lines),
            any(line.hose for line in circuit.lines),
            bool(layout.tees),
            layout.crossings > 0,
            any(tint.order is not None for tint in (tints.lines if tints else ())),
            any(_of(part, opened) for part in placed),
            bool(tints and tints.marks),
            _goes(view, elsewhere=True),
            _goes(view, elsewhere=False),
            bool(view.frames),
            letters,
        ),
        tuple(messages),
    )


def most_shown(view: View) -> Shown:
    """Return the most a legend may have to explain on this sheet, in whatever state: to leave room for it."""
    circuit, layout = view.circuit, view.layout
    return Shown(
        tuple(style for style in Style if style is not Style.PLAIN),
        any(line.control for line in circuit.lines),
        any(line.hose for line in circuit.lines),
        bool(layout.tees),
        layout.crossings > 0,
        True,
        True,
        False,
        _goes(view, elsewhere=True),
        _goes(view, elsewhere=False),
        bool(view.frames),
        view.letters,
    )


def _goes(view: View, *, elsewhere: bool) -> bool:
    """Whether a line goes on on another sheet, or in another band of this one."""
    return any((goal.sheet != HERE) is elsewhere for flag in view.flags for goal in flag.goals)


def _at_flags(view: View, flows: dict[str, tuple[Flowing, ...]], colour: bool) -> dict[str, Look]:
    """The look of each line at the flag it ends in."""
    ports = {f"{port.symbol}.{port.port}": (port.x, port.y) for port in view.layout.ports}
    return {
        flag.end: look(item.style, colour)
        for flag in view.flags
        for item in flows[flag.line]
        if ports.get(flag.end) in (item.piece.start, item.piece.end)
    }


def _frames(view: View) -> Iterator[Group]:
    for frame in view.frames:
        items: list[Shape] = [Strokes(broken(frame.outline, ENCLOSURE, closed=True), 0.1)]
        if frame.title is not None:
            left, _, _, baseline = frame.title
            items.append(Text((left, baseline), frame.name, view.letters * TITLE, bold=True))
        yield Group("group", frame.name, tuple(items), frame.name)


def _lines_and_labels(view: View, limits: Box) -> Occupied:
    layout, taken = view.layout, Occupied(limits)
    for frame in view.frames:
        taken.add_chain((*frame.outline, frame.outline[0]), "frame", 0.3)
        if frame.title is not None:
            taken.add(frame.title)
    for route in layout.routes:
        for points in route.lines:
            taken.add_chain(points, f"line {route.net}", 0.3)
    for label in layout.labels:
        taken.add((label.x, label.y, label.x + label.width, label.y + label.height), "label")
    return taken


def _flows(view: View, tints: Tints | None) -> dict[str, tuple[Flowing, ...]]:
    circuit, layout = view.circuit, view.layout
    flags: dict[str, list[str]] = {}
    for flag in view.flags:
        flags.setdefault(flag.line, []).append(flag.end)
    routes = {route.net: route.lines for route in layout.routes}
    ports = {f"{port.symbol}.{port.port}": (port.x, port.y) for port in layout.ports}
    tinted: dict[str, LineTint] = {tint.line: tint for tint in (tints.lines if tints else ())}
    rest = Style.PLAIN if tints is None else Style.EMPTY
    out: dict[str, tuple[Flowing, ...]] = {}
    for line in circuit.lines:
        ends: dict[str, Point] = {end.name: ports[end.name] for end in line.ends if end.name in ports}
        ends |= {name: ports[name] for name in flags.get(line.tag, ()) if name in ports}
        tees = [point for net, point in layout.tees if net == line.tag]
        tree = pieces(routes.get(line.tag, ()), tuple(ends.values()), tees)
        out[line.tag] = flowing(tree, ends, tinted.get(line.tag) or LineTint(line.tag, rest))
    return out


def _line(
    line: Line,
    flow: tuple[Flowing, ...],
    bow: Bow | None,
    view: View,
    tints: Tints | None,
    options: SheetOptions,
    taken: Occupied,
    messages: list[str],
) -> Group:
    order = next((t.order for t in (tints.lines if tints else ()) if t.line == line.tag), None)
    tees = tuple(point for net, point in view.layout.tees if net == line.tag)
    drawn = DrawnLine((), ())
    if flow:
        owner = f"line {line.tag}"
        drawn = draw_line(flow, tees, line.control, bow, options.colour, order, taken, owner, view.letters)
    if not any(item.style in MOVING for item in flow):
        order = None
    elif order is not None and not any(isinstance(sign, Text) for sign in drawn.signs):
        messages.append(f"no room for number {order} at line `{line.tag}`")
    sort = "control line" if line.control else "working line"
    shown = [style for style in Style if any(f.style is style for f in flow)]
    words = "; ".join(look(style, True).words for style in shown if style is not Style.PLAIN)
    number = f"; number {order} in the order of arrival" if order is not None else ""
    title = f"Line {line.tag}: {', '.join(end.name for end in line.ends)}"
    return Group(
        "line",
        line.tag,
        (*drawn.strokes, *drawn.signs),
        title,
        f"{sort}{'; ' if words else ''}{words}{number}",
    )


def _stubs(
    circuit: Circuit,
    layout: Layout,
    placed: tuple[PlacedPart, ...],
    flows: dict[str, tuple[Flowing, ...]],
    options: SheetOptions,
) -> Iterator[Group]:
    """Carry a line's weight on over the last module, which belongs to the symbol, up to its outline."""
    for part in placed:
        shapes: list[Shape] = []
        for port in layout.ports:
            line = circuit.line_at(port.symbol, port.port) if port.symbol == part.part.tag else None
            if line is None:
                continue
            point = (port.x, port.y)
            item = next((f for f in flows[line.tag] if point in (f.piece.start, f.piece.end)), None)
            inner = stub(part, point)
            if item is None or inner is None or item.style in (Style.PLAIN, Style.EMPTY):
                continue
            seen = look(item.style, options.colour)
            shapes.append(Strokes((inner,), seen.width, seen.colour))
        if shapes:
            yield Group("stubs", part.part.tag, tuple(shapes))


def _of(part: PlacedPart, opened: dict[str, str]) -> dict[str, str]:
    names = {port: f"{part.part.tag}.{port}" for port, _ in part.vents}
    return {port: opened[name] for port, name in names.items() if name in opened}
