"""Drawing a circuit: from its layout, the wishes for the sheet and, if there are, the tints of a trace to a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit
from pneudraw.drawing import legend, rows
from pneudraw.drawing.codes import codes
from pneudraw.drawing.diagram import Diagram, diagram, extent
from pneudraw.drawing.fitting import Plan, plan
from pneudraw.drawing.frame import frame
from pneudraw.drawing.groups import frames
from pneudraw.drawing.options import LEAST_MODULE, LEAST_TEXT, SheetOptions
from pneudraw.drawing.shapes import Group, Point, Sheet, moved
from pneudraw.drawing.tints import Tints
from pneudraw.drawing.titleblock import title_block
from pneudraw.drawing.view import View
from pneudraw.layout.result import Layout

BARE_MARGIN = 2.0  # mm round a picture without a frame


@dataclass(frozen=True)
class Prepared:
    """A sheet with everything in place, but the references to other sheets not yet written.

    ``drawn`` is the diagram at the module the sheet was chosen with.
    """

    view: View
    options: SheetOptions
    tints: Tints | None
    drawn: Diagram
    plan: Plan
    messages: tuple[str, ...] = ()

    @property
    def offset(self) -> Point:
        """From the layout's origin to the paper's [mm]: the drawing in the middle of its room."""
        left, top, right, bottom = extent(self.view)
        x0, y0, x1, y1 = self.plan.drawing
        module = self.plan.module
        # to a tenth of a mm, as the module is: then two decimals are exact and straight lines stay straight
        dx = round(x0 + (x1 - x0 - (right - left) * module) / 2 - left * module, 1)
        dy = round(y0 + (y1 - y0 - (bottom - top) * module) / 2 - top * module, 1)
        return dx, dy

    @property
    def state(self) -> str:
        """The state shown, in words."""
        return _state(self.options, self.tints)

    def place(self, point: Point) -> Point:
        """Where a point of the layout [M] comes to be on the paper [mm]."""
        return point[0] * self.plan.module + self.offset[0], point[1] * self.plan.module + self.offset[1]


def view(circuit: Circuit, layout: Layout, options: SheetOptions, letters: float = 1.0) -> View:
    """Return the whole circuit as one sheet's worth."""
    framed, messages = frames(circuit, layout, letters) if options.groups else ((), ())
    marks = codes(circuit) if options.codes else {}
    return View(circuit, layout, letters, (), marks, framed, messages)


def draw(
    circuit: Circuit, layout: Layout, options: SheetOptions | None = None, tints: Tints | None = None
) -> Sheet:
    """Return the sheet of a circuit. Tints move nothing: place and scale on the paper apart, it is the same
    drawing.

    ``Sheet.messages`` says what was decided against the wishes (a larger paper) or left out (a badge without
    room). ValueError for a paper that does not exist.
    """
    options = options or SheetOptions()
    return draw_view(view(circuit, layout, options), options, tints)


def draw_view(seen: View, options: SheetOptions, tints: Tints | None) -> Sheet:
    """Return one sheet's worth as a sheet; a larger paper is taken if need be."""
    return bare(seen, options, tints) if options.paper == "bare" else finish(prepare(seen, options, tints))


def prepare(seen: View, options: SheetOptions, tints: Tints | None) -> Prepared:
    """Choose the sheet and the place of the drawing on it. The paper is not ``"bare"``."""
    left, top, right, bottom = extent(seen)
    least = LEAST_TEXT / seen.letters
    drawn = diagram(seen, tints, options, least)

    def content(width: float, module: float) -> tuple[rows.Row, ...]:
        return legend.content(seen.circuit, drawn.shown, tints, options, width, module, seen.codes)

    chosen = plan((right - left, bottom - top), content, options, seen.letters)
    return Prepared(seen, options, tints, drawn, chosen)


def finish(ready: Prepared, references: Mapping[str, str] | None = None) -> Sheet:
    """Return the sheet; ``references`` say where lines go on, by the id of the flag."""
    seen, options, chosen, drawn = ready.view, ready.options, ready.plan, ready.drawn
    module = chosen.module
    if references or module != LEAST_TEXT / seen.letters:
        drawn = diagram(seen, ready.tints, options, module, references)
    picture = Group("diagram", "", tuple(moved(shape, module, *ready.offset) for shape in drawn.shapes))
    words_left, words_top, words_right, words_bottom = chosen.words
    width = words_right - words_left
    column = rows.column_width(width, chosen.columns)
    lines = legend.content(
        seen.circuit, drawn.shown, ready.tints, options, column, min(module, LEAST_MODULE), seen.codes
    )
    words = Group(
        "words",
        "",
        # planned with the largest samples of lines: with smaller ones whole blocks may seem to fit that do not
        rows.flow(lines, width, chosen.columns, words_left, words_top, words_bottom - words_top),
        "Legend and notes",
    )
    block = title_block(
        seen.circuit, ready.state, options, chosen.frame[2], chosen.frame[3], chosen.title_width, chosen.paper
    )
    return Sheet(
        seen.circuit.name,
        _title(seen.circuit, options),
        _desc(seen, options, ready.state),
        chosen.width,
        chosen.height,
        module,
        chosen.paper,
        (frame(chosen.paper, chosen.width, chosen.height), picture, words, block),
        chosen.frame,
        (*chosen.messages, *ready.messages, *drawn.messages),
    )


def bare(seen: View, options: SheetOptions, tints: Tints | None) -> Sheet:
    """Return the picture alone."""
    module = LEAST_TEXT / seen.letters
    left, top, right, bottom = extent(seen)
    drawn = diagram(seen, tints, options, module)
    dx, dy = round(BARE_MARGIN - left * module, 1), round(BARE_MARGIN - top * module, 1)
    picture = Group("diagram", "", tuple(moved(shape, module, dx, dy) for shape in drawn.shapes))
    width, height = (round((b - a) * module + 2 * BARE_MARGIN, 1) for a, b in ((left, right), (top, bottom)))
    title, desc = _title(seen.circuit, options), _desc(seen, options, _state(options, tints))
    return Sheet(
        seen.circuit.name, title, desc, width, height, module, "bare", (picture,), None, drawn.messages
    )


def _state(options: SheetOptions, tints: Tints | None) -> str:
    return tints.state if tints is not None and tints.state else options.initial


def _title(circuit: Circuit, options: SheetOptions) -> str:
    return options.title or circuit.title or circuit.name


def _desc(seen: View, options: SheetOptions, state: str) -> str:
    circuit = seen.circuit
    which = f", sheet {options.sheet} of {options.sheets}" if options.sheets > 1 else ""
    return f"Pneumatic circuit diagram of {len(circuit.parts)} parts and {len(circuit.lines)} lines{which}. {state}."
