"""The legend: what of lines, signs and symbols occurs on the sheet, and nothing else; notes and cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from pneudraw.circuit.model import Circuit
from pneudraw.drawing import rows
from pneudraw.drawing.dashes import ENCLOSURE, broken
from pneudraw.drawing.diagram import Shown
from pneudraw.drawing.extras import zigzag
from pneudraw.drawing.lines import draw_line, hose_bow
from pneudraw.drawing.occupied import Occupied
from pneudraw.drawing.options import SheetOptions
from pneudraw.drawing.palette import look
from pneudraw.drawing.rows import PITCH, TEXT, Row
from pneudraw.drawing.runs import Flowing, Piece
from pneudraw.drawing.shapes import BLACK, WHITE, Circle, Polygon, Shape, Strokes, Text, box_of, moved, union
from pneudraw.drawing.signs import BALLOON
from pneudraw.drawing.tables import beside, lines_table
from pneudraw.drawing.tints import MOVING, Style, Tints
from pneudraw.lettering import shorten, text_width

SAMPLE = 6.0  # M, length of a line's sample


def content(
    circuit: Circuit,
    drawn: Shown,
    tints: Tints | None,
    options: SheetOptions,
    width: float,
    module: float,
    marks: Mapping[str, str] | None = None,
) -> tuple[Row, ...]:
    """Return what stands beside the drawing: steps, notes, legend, lists, cautions; columns ``width`` mm wide.

    ``marks``: the parts' identification codes, if they are shown.
    """
    out: list[Row] = []
    if tints is not None and tints.steps:
        out += [
            rows.heading(tints.steps_title, first=True),
            *rows.numbered(tints.steps, width, tints.numbers),
        ]
    notes = (*(tints.notes if tints is not None else ()), *options.notes)
    if notes:
        out += [rows.heading("Notes", first=not out), *rows.numbered(notes, width)]
    if options.legend:
        samples = [_row(shapes, words, module, width) for shapes, words in _samples(drawn, options.colour)]
        if samples:
            out += [
                rows.heading("Lines and signs", first=not out),
                *(r for sample in samples for r in sample),
            ]
        named = _composed(circuit)
        if named:
            text = f"Composed from elements of ISO 1219-1: {'; '.join(named)}."
            out += [rows.heading("Symbols", first=not out), *rows.paragraph(text, width)]
    if options.lists == "beside":
        out += [rows.heading("Parts", first=not out), *_listed(beside(circuit, marks or {}), width)]
        out += [rows.heading("Lines", first=not out), *_listed(_lines(circuit), width)]
    if options.cautions:
        out.append(rows.heading("Caution", first=not out))
        out += [row for text in options.cautions for row in rows.paragraph(text, width)]
    return tuple(out)


def _row(shapes: tuple[Shape, ...], words: str, module: float, width: float) -> tuple[Row, ...]:
    """A sample and its words; the sample stands level with the first line."""
    left = SAMPLE * module + 3
    lines = rows.paragraph(words, width, left)
    _, above, _, below = union(box_of(shape) for shape in shapes) or (0.0, 0.0, 0.0, 0.0)
    axis = max(TEXT / 2 + 0.8, 0.4 - above * module)
    height = max(axis - TEXT / 2 - 0.4 + PITCH * len(lines), axis + below * module + 0.4)
    items: list[Shape] = [moved(shape, module, 0, axis) for shape in shapes]
    for number, line in enumerate(lines):
        items += [moved(item, 1.0, 0, axis - TEXT / 2 - 0.4 + number * PITCH) for item in line.items]
    return (Row(height, tuple(items)),)


def _samples(drawn: Shown, colour: bool) -> Iterator[tuple[tuple[Shape, ...], str]]:
    for style in drawn.styles:
        if style is Style.PLAIN:
            yield _line(style, colour), "working line"
        else:
            yield _line(style, colour), look(style, colour).words
    if drawn.control:
        yield _line(Style.PLAIN, colour, control=True), "dashed: control line"
    if drawn.hose:
        yield _line(Style.PLAIN, colour, hose=True), "hose"
    if drawn.tees:
        run = Strokes((((0, 0), (SAMPLE, 0)), ((SAMPLE / 2, 0), (SAMPLE / 2, 0.8))), 0.1)
        yield (run, Circle((SAMPLE / 2, 0), 0.375, 0.0, BLACK, BLACK)), "lines joined"
    if drawn.crossings:
        cross = Strokes((((0, 0), (SAMPLE, 0)), ((SAMPLE / 2, -0.8), (SAMPLE / 2, 0.8))), 0.1)
        yield (cross,), "lines crossing, not joined"
    if drawn.orders:
        ink = next((look(style, colour).colour for style in drawn.styles if style in MOVING), BLACK)
        high = drawn.letters
        ring = Circle((SAMPLE / 2, 0), BALLOON * high, 0.12, ink, WHITE)
        number = Text((SAMPLE / 2, high / 2), "1", high, "middle", bold=True)
        yield (ring, number), "order in which the air arrives"
    if drawn.vents:
        ink = look(Style.VENTS, colour).colour
        middle = SAMPLE / 2
        yield (
            (Polygon(((middle - 0.5, -0.5), (middle + 0.5, -0.5), (middle, 0.5)), 0.1, ink, ink),),
            "exhaust letting air out",
        )
    if drawn.continued or drawn.folded:
        flag = Polygon(((1, -0.85), (5, -0.85), (6, 0), (5, 0.85), (1, 0.85)), 0.1, BLACK, WHITE)
        where = "goes on in this grid field" if drawn.folded else ""
        where = "goes on elsewhere: sheet / grid field" if drawn.continued else where
        yield (Strokes((((0, 0), (1, 0)),), 0.1), flag), where
    if drawn.framed:
        chain = Strokes(broken(((0, 0), (SAMPLE, 0)), ENCLOSURE), 0.1)
        yield (chain,), "parts that belong together"
    if drawn.faults:
        yield (*_line(Style.PLAIN, colour), zigzag((SAMPLE / 2, 0), True)), "F: fault"


def _line(style: Style, colour: bool, control: bool = False, hose: bool = False) -> tuple[Shape, ...]:
    flow = (Flowing(Piece(((0.0, 0.0), (SAMPLE, 0.0))), style, 1 if style in MOVING else 0, 1.0),)
    anywhere = Occupied((-100.0, -100.0, 100.0, 100.0))
    bow = hose_bow(flow, anywhere, "sample") if hose else None
    made = draw_line(flow, (), control, bow, colour, None, anywhere, "sample")
    shift = 0.5 if hose else 0.0
    return tuple(moved(shape, 1.0, 0.0, -shift) for shape in (*made.strokes, *made.signs))


def _composed(circuit: Circuit) -> tuple[str, ...]:
    """Kinds for which ISO 1219-1 has no ready symbol, each once, in netlist order, with the first letter small."""
    titles = [part.kind.title for part in circuit.parts if "composed" in part.kind.standard.lower()]
    return tuple(title[:1].lower() + title[1:] for title in dict.fromkeys(titles))


def _lines(circuit: Circuit) -> Iterator[tuple[str, str]]:
    for tag, joins, *rest in lines_table(circuit).rows:
        yield tag, "; ".join((joins, *(word for word in rest if word)))


def _listed(items: Iterable[tuple[str, str]], width: float) -> Iterator[Row]:
    """Tags in bold, the words after them level with one another."""
    pairs = tuple(items)
    tags = max((text_width(tag, TEXT, bold=True) for tag, _ in pairs), default=0.0)
    indent = min(tags, width / 3) + 2
    for tag, words in pairs:
        mark = Text((0, TEXT + 0.4), shorten(tag, indent - 1, TEXT, bold=True), TEXT, bold=True)
        for number, line in enumerate(rows.paragraph(words, width, indent)):
            yield Row(line.height, (mark, *line.items) if number == 0 else line.items, line.keep)
