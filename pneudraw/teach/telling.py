"""A trace in words: as an instructor would read it aloud beside the diagram."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from pneudraw.circuit.model import Circuit, Part
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.strokes import Stroke, stand
from pneudraw.flow.trace import BrakeTrace, Exhaust, LineTrace, Trace
from pneudraw.library.model import Place
from pneudraw.teach.doubts import doubt_words
from pneudraw.teach.paths import Stop, is_minor, main_paths, stops, told
from pneudraw.units import convert

BAR = 1e5
WIDTH = 96  # columns
GIVERS = (Place.SOURCE, Place.TREATMENT, Place.STORAGE, Place.ACTUATOR)


def tell(circuit: Circuit, trace: Trace) -> str:
    """Return the trace as text: what started it, the paths in order, lines, exhausts, brakes, cautions."""
    state = circuit.state(trace.state)
    words = _Words(circuit)
    out = [f"{trace.circuit}: {trace.title} ({trace.state})", ""]
    if state is not None and state.text:
        out.append(state.text)
    start = "an empty circuit" if trace.start == "empty" else f"the end of `{trace.start}`"
    out.append(f"It starts from {start} and {_ending(trace)}")
    if trace.message:
        out.append(trace.message)
    for text in doubt_words(trace.doubts, trace.unsure):
        out += textwrap.wrap(text, WIDTH, break_on_hyphens=False)
    out += ["", *_block("How the air goes", words.paths(trace.paths))]
    moved = [line for line in trace.lines if line.order is not None]
    moved.sort(key=lambda line: line.order or 0)
    out += _block("Lines, in the order the change arrives", (words.moved(line) for line in moved))
    still = [line for line in trace.lines if line.order is None]
    out += _block("Lines where nothing much moves", words.still(still))
    out += _block("Exhausts", (words.exhaust(e) for e in trace.exhausts)) or ["No exhaust lets air out.", ""]
    out += _block("Brakes", (words.brake(b) for b in trace.brakes))
    out += _block("Pistons", (words.stroke(s) for s in trace.strokes))
    return "\n".join([*out, *CAUTIONS]) + "\n"


def _ending(trace: Trace) -> str:
    after = f"after {_seconds(trace.duration)}"
    return {
        "equilibrium": f"comes to rest {after}.",
        "horizon": f"is still changing when the telling stops {after}.",
        "event": f"ends {after}, when the governor reaches its cut-out pressure.",
    }.get(trace.ended, f"could not be followed further than {_seconds(trace.duration)}.")


def _block(title: str, sentences: Iterable[str]) -> list[str]:
    rows: list[str] = []
    for number, text in enumerate(sentences, start=1):
        lead = f"{number:4}. "
        rows += textwrap.wrap(lead + text, WIDTH, subsequent_indent=" " * len(lead), break_on_hyphens=False)
    return [title, *rows, ""] if rows else []


def _seconds(value: float) -> str:
    if value < 10:
        return f"{value:.2f} s"
    return f"{value:.0f} s" if value < 120 else f"{value / 60:.1f} min"


def _after(value: float) -> str:
    return "at once" if value < 0.005 else f"after {_seconds(value)}"


class _Words:
    """Says things in the unit and with the names of one circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.unit = circuit.unit

    def pressure(self, bar: float) -> str:
        return pressure_text(bar, self.unit)

    def part(self, tag: str) -> str:
        part = self.circuit.part(tag)
        return f"{_name(part)} ({tag})" if part is not None else f"line {tag}"

    def path(self, ports: Sequence[str]) -> str:
        """Say a path part by part: 'from A, in at 1 and out at 2 of B, to C'."""
        visits = stops(ports)
        if len(visits) == 1:
            tag, marks = visits[0]
            return f"Air goes from port {marks[0]} to port {marks[-1]} of {self.part(tag)}."
        first, *middle, last = visits
        words = [f"From {self._source(first)}"]
        for tag, marks in middle:
            ports = f"{marks[0]} to {marks[-1]}" if len(marks) > 1 else f"at {marks[0]}"
            words.append(f"through {self.part(tag)} {ports}")
        if last[1] == ("break",):
            words.append(f"out at the break of {self.part(last[0])}")
        elif len(last[1]) > 1:
            words.append(f"in at {last[1][0]} and out at {last[1][-1]} of {self.part(last[0])}")
        else:
            words.append(f"to port {last[1][0]} of {self.part(last[0])}")
        return ", ".join(words) + "."

    def _source(self, stop: Stop) -> str:
        """A reservoir, a compressor or a chamber gives air itself; of any other part only the line at its port does."""
        tag, marks = stop
        part = self.circuit.part(tag)
        if part is None or part.kind.place in GIVERS or len(marks) > 1:
            return self.part(tag)
        return f"port {marks[0]} of {self.part(tag)}"

    def paths(self, paths: Sequence[Sequence[str]]) -> Iterable[str]:
        """Say the paths to what works; those to instruments and fittings in one sentence at the end."""
        minor = list(dict.fromkeys(path[-1] for path in paths if is_minor(self.circuit, path)))
        for path in told(self.circuit, main_paths(self.circuit, paths)):
            yield self.path(path)
        if minor:
            yield f"On the way air also reaches {', '.join(minor)}."

    def moved(self, line: LineTrace) -> str:
        arrival = "" if line.arrival is None else f"; felt {_after(line.arrival)}"
        start, end = self.pressure(line.start), self.pressure(line.end)
        way = {
            "filled": f"fills from {start} to {end}",
            "raised": f"rises from {start} to {end}",
            "emptied": f"empties from {start} to {end}",
            "lowered": f"falls from {start} to {end}",
            "flowing": f"keeps flowing: from {start} to {end}",
            "empty": "has air for a moment and is empty again",
        }.get(line.fate, f"changes for a moment and ends at {end}, much as it began")
        return f"{line.tag} ({', '.join(line.ports)}) {way}{arrival}."

    def still(self, lines: Sequence[LineTrace]) -> Iterable[str]:
        """Gather the quiet lines by what they do, so that a quiet circuit is told in a few sentences."""
        for words, fates, both in (
            ("hold their pressure", ("held",), False),
            ("rise or fall with what they are joined to", ("raised", "lowered", "filled", "emptied"), True),
            ("are empty", ("empty",), False),
            ("keep flowing", ("flowing",), False),
        ):
            chosen = [line for line in lines if line.fate in fates]
            if chosen:
                yield f"These {words}: {', '.join(self._quiet(line, both) for line in chosen)}."

    def _quiet(self, line: LineTrace, both: bool) -> str:
        start = f"{self.pressure(line.start)} to " if both else ""
        return f"{line.tag} ({start}{self.pressure(line.end)})"

    def exhaust(self, exhaust: Exhaust) -> str:
        place = (
            f"The break in {self.part(exhaust.part)}"
            if exhaust.port == "break"
            else f"Port {exhaust.port} of {self.part(exhaust.part)}"
        )
        end = (
            f" and still blows at {exhaust.rate:.1f} L/s"
            if exhaust.still_flowing
            else " and is quiet at the end"
        )
        return f"{place} lets out {exhaust.litres:.1f} L of free air{end}."

    def brake(self, brake: BrakeTrace) -> str:
        how = {
            "service": "applied by service air",
            "spring": "applied by its spring",
            "both": "applied by service air and its spring together",
            "none": "released",
        }[brake.applied_by]
        sides = []
        if brake.service is not None:
            sides.append(f"service side {self.pressure(brake.service)}, {brake.service_force:.0f} N")
        if brake.spring is not None:
            sides.append(f"spring side {self.pressure(brake.spring)}, {brake.spring_force:.0f} N")
        return f"{self.part(brake.part)} is {how}: {'; '.join(sides)}."

    def stroke(self, stroke: Stroke) -> str:
        """What a piston did; shares of its stroke are told only where it stands at neither end."""
        name, to = self.part(stroke.place), stroke_words(stroke.end)
        if stroke.time is None:
            return f"{name} stays {to}."
        way = abs(stroke.end - stroke.start) * stroke.length * 1e3
        verb = "moves" if stand(stroke.end) != "between" else "ends"
        return f"{name} {verb} {to}, {way:.0f} mm, and is there {_after(stroke.time)}."


def stroke_words(share: float) -> str:
    """``out``, ``in``, or ``40 % out``."""
    return stand(share) if stand(share) != "between" else f"{share:.0%} out".replace("%", " %")


def pressure_text(bar: float, unit: str) -> str:
    """Return a gauge pressure [bar] in a circuit's unit, as precisely as a dash gauge shows it: ``118 psi``."""
    number = convert(bar * BAR, unit)
    digits = {"bar": 1, "MPa": 2}.get(unit, 0)
    text = f"{number:.{digits}f}"
    return f"{text.removeprefix('-') if float(text) == 0 else text} {unit}"


def _name(part: Part) -> str:
    return part.name or part.kind.title.lower()
