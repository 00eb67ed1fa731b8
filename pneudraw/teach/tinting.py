"""A trace as plain tints: which line is heavy, which way its arrows point, which number it gets.

This is where the trace and the drawing meet; the drawing itself does not know what a pressure is.
"""

from __future__ import annotations

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.tints import Badge, BranchTint, LineTint, Mark, Style, Tints
from pneudraw.flow.trace import Exhaust, LineTrace, Trace
from pneudraw.teach.doubts import doubt_words
from pneudraw.teach.paths import main_paths, short, told
from pneudraw.teach.telling import pressure_text, stroke_words

MOST_STEPS = 10
HEARD = 0.1  # L of free air
HELD = 0.345  # bar: 5 psi, where 49 CFR 571.121 S5.3.4 ends a release (from memory); less is as good as empty


def tints(circuit: Circuit, trace: Trace) -> Tints:
    """Return how a trace looks on the diagram of its circuit."""
    return Tints(
        lines=tuple(_line(line) for line in trace.lines),
        vents=tuple(f"{e.part}.{e.port}" for e in trace.exhausts if e.port != "break" and _seen(e)),
        badges=tuple(_badges(circuit, trace)),
        marks=tuple(Mark(e.part, "F") for e in trace.exhausts if e.port == "break"),
        state=f"{trace.title}; pressures at its end",
        steps=_steps(circuit, trace),
        notes=doubt_words(trace.doubts, trace.unsure),
    )


def _seen(exhaust: Exhaust) -> bool:
    """A breath too short to hear (an exhaust lip that lifts while a valve settles) is told in the numbers only."""
    return exhaust.litres > HEARD or exhaust.still_flowing


def _line(line: LineTrace) -> LineTint:
    rest = Style.HOLDS if line.end > HELD else Style.EMPTY
    moving = Style.VENTS if line.vents else Style.CARRIES
    branches = tuple(
        BranchTint(b.port, moving if b.carries else rest, b.toward if b.carries else 0.0)
        for b in line.branches
    )
    return LineTint(line.tag, rest, branches, line.order)


def _badges(circuit: Circuit, trace: Trace) -> list[Badge]:
    """The pressure at every brake's ports, so that the sheet says what the wheel feels (``?``: not certain), and where
    every machine's piston stands."""
    ends = {port: line.end for line in trace.lines for port in line.ports}
    out = []
    for brake in trace.brakes:
        part = circuit.part(brake.part)
        assert part is not None
        for port in part.kind.ports:
            name = f"{part.tag}.{port.id}"
            if name in ends:
                doubt = " ?" if name in trace.doubts else ""
                out.append(Badge(name, pressure_text(ends[name], circuit.unit) + doubt))
    return [*out, *(Badge(stroke.place, stroke_words(stroke.end)) for stroke in trace.strokes)]


def _steps(circuit: Circuit, trace: Trace) -> tuple[str, ...]:
    """The paths in short, those to instruments and fittings left out where room is scarce."""
    return tuple(short(path) for path in told(circuit, main_paths(circuit, trace.paths))[:MOST_STEPS])
