"""A history as a chart, and as a table: numbers get their units here, happenings their words.

The drawing itself does not know what a pressure is; this is where both meet.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.chart import Chart, ChartCurve, Event, Level, Panel
from pneudraw.drawing.chart import Stretch as Shown
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.history import Curve, History, Stretch
from pneudraw.flow.marks import Crossed, FaultAppeared, Flipped, Happening, InputMoved
from pneudraw.teach import naming
from pneudraw.teach.doubts import doubt_words
from pneudraw.teach.telling import pressure_text
from pneudraw.units import convert

T = TypeVar("T")
K = TypeVar("K")

ALIKE = 0.006  # of the axis: curves that differ less are drawn as one
QUIET = 0.01  # of the axis: what changes less at the end of a state may be left out
WORTH = 0.1  # of a state: a shorter quiet end is shown
MOST_EVENTS = 120
FOLD_FROM = 12  # events, from which on those that repeat are told together
MOST_TIMES = 12  # told of one kind of event
MOST_TAGS = 3  # named one by one
MOST_READINGS = 4  # of one level, on its line; more are told below
LEVELS = (
    "governor",
    "warning",
)  # purposes of memories whose settings are drawn as levels, beside knobs that spring


@dataclass(frozen=True)
class _Unit:
    """A quantity's unit: its name, and the way to it from bar, dm3/s or N."""

    name: str
    of: Callable[[float], float]
    digits: int  # in tables


def _unit(circuit: Circuit, quantity: str) -> _Unit:
    if quantity == "pressure":
        digits = {"bar": 4, "MPa": 5, "kPa": 2}.get(circuit.unit, 3)
        return _Unit(circuit.unit, lambda v: naming.pressure_number(v, circuit.unit), digits)
    if quantity == "force":
        unit = naming.force_unit(circuit.unit)
        return _Unit(unit, lambda v: convert(v, unit), 3 if unit == "kN" else 1)
    return _Unit("L/s", lambda v: v, 4)


def to_csv(circuit: Circuit, history: History) -> str:
    """Return the curves as a table: a column of times, one for each curve; units in the first row.

    With several states there is a column with the state's name, and the times run on through all of them.
    """
    several = len(history.stretches) > 1
    units = [_unit(circuit, curve.quantity) for curve in history.curves]
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    names = [f"{_column(curve)} ({unit.name})" for curve, unit in zip(history.curves, units, strict=True)]
    table.writerow(["time (s)", *(["state"] if several else []), *names])
    for stretch in history.stretches:
        for row in range(stretch.first, stretch.last + 1):
            cells = [f"{history.times[row]:.5f}", *([stretch.state] if several else [])]
            for curve, unit in zip(history.curves, units, strict=True):
                cells.append(f"{unit.of(curve.values[row]) + 0.0:.{unit.digits}f}")
            table.writerow(cells)
    return out.getvalue()


def _column(curve: Curve) -> str:
    if curve.quantity == "force":
        return f"{curve.place} {curve.side} force"
    return f"{curve.place} {curve.side} flow" if curve.quantity == "flow" else curve.place


def chart(circuit: Circuit, history: History) -> Chart:
    """Return the chart of a history: a panel for each quantity, levels and events that occur, readings in words."""
    quantities = tuple(dict.fromkeys(curve.quantity for curve in history.curves))
    ends = _shown_ends(history)
    panels = tuple(_panel(circuit, history, quantity) for quantity in quantities)
    title = " + ".join(dict.fromkeys(stretch.title for stretch in history.stretches))
    start = history.stretches[0].start
    origin = "an empty circuit" if start == "empty" else f"the end of {start}"
    names = " + ".join(stretch.state for stretch in history.stretches)
    subtitle = f"{title} ({names}), from {origin}"
    return Chart(
        name=f"{circuit.name}.{names}.chart",
        title=circuit.title or circuit.name,
        subtitle=subtitle,
        desc=f"Chart of {', '.join(quantities)} against time. {subtitle}. "
        + " ".join(_description(circuit, curve) for curve in history.curves[:12]),
        across="time, s" if len(ends) == 1 else "time from the beginning of each state, s",
        stretches=tuple(Shown(s.begin, end, s.title) for s, end in zip(history.stretches, ends, strict=True)),
        panels=panels,
        events=_events(circuit, history),
        notes=_notes(circuit, history, ends),
    )


def _description(circuit: Circuit, curve: Curve) -> str:
    unit = _unit(circuit, curve.quantity)
    first, last = (unit.of(curve.values[i]) for i in (0, -1))
    return f"{_column(curve)}: {first:.3g} to {last:.3g} {unit.name}."


# --- curves -----------------------------------------------------------------------------------------


def _panel(circuit: Circuit, history: History, quantity: str) -> Panel:
    unit = _unit(circuit, quantity)
    curves = [curve for curve in history.curves if curve.quantity == quantity]
    title = {
        "pressure": f"Pressure, {unit.name} gauge",
        "flow": f"Flow of free air, {unit.name}",
        "force": f"Push-rod force, {unit.name}",
    }[quantity]
    drawn = tuple(_curve(circuit, history, group, unit) for group in alike(curves))
    return Panel(title, drawn, _levels(circuit, history) if quantity == "pressure" else ())


def alike(curves: Sequence[Curve]) -> tuple[tuple[Curve, ...], ...]:
    """Gather curves that cannot be told apart on paper: the two wheels of an axle."""
    values = [v for curve in curves for v in curve.values]
    slack = ALIKE * max((max(values) - min(values)) if values else 0.0, 1e-9)
    groups: list[list[Curve]] = []
    for curve in curves:
        for group in groups:
            first = group[0]
            if first.side == curve.side and all(
                abs(a - b) <= slack for a, b in zip(first.values, curve.values, strict=True)
            ):
                group.append(curve)
                break
        else:
            groups.append([curve])
    return tuple(tuple(group) for group in groups)


def _curve(circuit: Circuit, history: History, group: Sequence[Curve], unit: _Unit) -> ChartCurve:
    first = group[0]
    chains = tuple(
        tuple((history.times[i], unit.of(first.values[i])) for i in range(s.first, s.last + 1))
        for s in history.stretches
    )
    return ChartCurve(" ".join(c.place for c in group), _label(circuit, group, unit), chains)


def _label(circuit: Circuit, group: Sequence[Curve], unit: _Unit) -> tuple[str, ...]:
    """The name at a curve's end: captions, then tags, what of the part it is, and the last value."""
    tags, captions, what = [], [], ""
    for curve in group:
        tag, name, sort = (
            (curve.place, "", "brake") if curve.quantity == "force" else naming.split(curve.place)
        )
        part = circuit.part(tag)
        assert part is not None
        captions.append(naming.caption(part))
        tags.append(f"{tag}.{name}" if sort == "port" else tag)
        if sort == "chamber" and len(part.kind.chambers) > 1:
            what = f" {naming.side(part, name)}"
    if group[0].quantity == "force":
        what = " by service air" if group[0].side == "service" else " by the spring"
    elif group[0].quantity == "flow":
        what += f" {group[0].side}"
    names = ", ".join(dict.fromkeys(captions)) if len(group) < 3 else who(tags)
    second = (", ".join(tags) if len(group) < 3 else "all") + what
    value = unit.of(group[0].values[-1])
    digits = 0 if abs(value) >= 20 or unit.name in ("psi", "kPa", "lbf") else 1 if unit.name != "MPa" else 2
    text = f"{value:.{digits}f}"
    return names, f"{second}: {text.removeprefix('-') if float(text) == 0 else text} {unit.name}"


def who(tags: Sequence[str]) -> str:
    """``lf, rf``; where they are many ``4 of tl``, or ``6 of them``."""
    if len(tags) <= MOST_TAGS:
        return ", ".join(tags)
    first = {tag.partition(".")[0] for tag in tags if "." in tag}
    whole = len(first) == 1 and all("." in tag for tag in tags)
    return f"{len(tags)} of {next(iter(first)) if whole else 'them'}"


# --- levels, events, readings -----------------------------------------------------------------------


def _levels(circuit: Circuit, history: History) -> tuple[Level, ...]:
    unit = circuit.unit
    out: list[Level] = []
    for group in _by(_crossed(history), lambda c: (c.level, c.rising)):
        height = naming.pressure_number(group[0].level, unit)
        words = pressure_text(group[0].level, unit)
        times = _by(group, lambda c: (c.stretch, naming.seconds(c.after)))
        if len(times) <= MOST_READINGS:
            read = naming.listed(
                f"{naming.seconds(g[0].after)} ({who([naming.split(c.place)[0] for c in g])})" for g in times
            )
            words = f"{words} after {read}"
        out.append(Level(height, words, tuple((g[0].stretch, g[0].time) for g in times)))
    for flips in _by(_settings(circuit, history), lambda f: (round(f.level or 0.0, 3), f.value)):
        first = flips[0]
        assert first.level is not None
        tags = ", ".join(dict.fromkeys(flip.part for flip in flips))
        memory = naming.memory_of(circuit, first.part, first.memory)
        word = {
            ("governor", 1): "cut-out",
            ("governor", 0): "cut-in",
            ("warning", 1): "low-pressure warning on",
            ("warning", 0): "low-pressure warning off",
        }.get((memory.purpose, first.value))
        if word is None:
            assert memory.input is not None
            inp = naming.input_of(circuit, first.part, memory.input)
            word = f"{inp.title} springs {naming.value_words(inp, first.value)}"
        height = naming.pressure_number(first.level, unit)
        out.append(Level(height, f"{word} {pressure_text(first.level, unit)} ({tags})"))
    return tuple(out)


def _reading(crossed: Crossed) -> tuple[int, str, float]:
    """What is read off as one: the wheels of an axle, which are equal."""
    return crossed.stretch, naming.seconds(crossed.after), round(crossed.time, 2)


def _tags(group: Sequence[Crossed]) -> str:
    return ", ".join(naming.split(crossed.place)[0] for crossed in group)


def _crossed(history: History) -> list[Crossed]:
    return [one for one in history.happenings if isinstance(one, Crossed)]


def _settings(circuit: Circuit, history: History) -> list[Flipped]:
    """Flips whose level is worth a line: governor, warning, knobs that spring out."""
    return [
        one
        for one in history.happenings
        if isinstance(one, Flipped) and one.level is not None and _worth_a_level(circuit, one)
    ]


def _worth_a_level(circuit: Circuit, flip: Flipped) -> bool:
    memory = naming.memory_of(circuit, flip.part, flip.memory)
    return memory.purpose in LEVELS or memory.input is not None


def _by(items: Iterable[T], key: Callable[[T], K]) -> list[list[T]]:
    """Gather items of one key, in order of first mention."""
    found: dict[K, list[T]] = {}
    for item in items:
        found.setdefault(key(item), []).append(item)
    return list(found.values())


def _events(circuit: Circuit, history: History) -> tuple[Event, ...]:
    """Tell each event; where there are many, those that repeat are told once with all their times."""
    shown = [one for one in history.happenings if not isinstance(one, Crossed)]
    groups = _by(shown, lambda one: _same_event(circuit, one))
    told = [(group[0], _event_words(circuit, group)) for group in groups]
    folded = len(told) > FOLD_FROM
    times: dict[str, list[str]] = {}
    for first, words in told:
        begin = history.stretches[first.stretch].begin
        times.setdefault(words, []).append(naming.seconds(first.time - begin))
    out = []
    for first, words in told:
        at = times[words] if folded else [times[words].pop(0)]
        out.append(Event(first.stretch, first.time, f"{_times(at)}: {words}"))
    return tuple(out[:MOST_EVENTS])


def _times(texts: Sequence[str]) -> str:
    """Several times with one unit: ``0.18, 0.22, 0.25 s``."""
    shown = [text.removesuffix(" s") for text in texts[:MOST_TIMES]]
    return ", ".join(shown) + (" s" if len(texts) <= MOST_TIMES else " s and later")


def _same_event(circuit: Circuit, one: Happening) -> tuple[object, ...]:
    """What is told in one sentence: the same input of several parts, moved alike at one time."""
    if isinstance(one, InputMoved):
        inp = naming.input_of(circuit, one.part, one.input)
        return one.stretch, one.time, inp.title, one.values
    return one.stretch, one.time, one


def _event_words(circuit: Circuit, group: Sequence[Happening]) -> str:
    first = group[0]
    if isinstance(first, InputMoved):
        inp = naming.input_of(circuit, first.part, first.input)
        names = [naming.part_name(circuit, one.part) for one in group if isinstance(one, InputMoved)]
        if len(names) > 3:
            names = [one.part for one in group if isinstance(one, InputMoved)]
        return f"{naming.move_words(inp, first.values[1])}: {naming.listed(names)}."
    if isinstance(first, FaultAppeared):
        return f"fault: {naming.fault_words(circuit, first.target, first.fault)}."
    assert isinstance(first, Flipped)
    at = ""
    if first.level is not None:
        at = f" at {pressure_text(first.level, circuit.unit)}"
    return f"{naming.turn_words(circuit, first.part, first.memory, first.value)}{at}."


def _notes(
    circuit: Circuit, history: History, ends: Sequence[float]
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    notes: list[tuple[str, tuple[str, ...]]] = []
    readings = []
    for group in _by(_crossed(history), lambda c: (c.level, c.rising)):
        if len(_by(group, _reading)) <= MOST_READINGS and history.curves[0].quantity == "pressure":
            continue  # stands on its line
        verb = "rises to" if group[0].rising else "falls to"
        rows = []
        for same in _by(_by(group, lambda c: c.place), lambda of: tuple(naming.seconds(c.after) for c in of)):
            times = _times([naming.seconds(c.after) for c in same[0]])
            rows.append(f"{who([naming.split(of[0].place)[0] for of in same])} {times}")
        readings.append(
            f"Service air {verb} {pressure_text(group[0].level, circuit.unit)} after: {'; '.join(rows)}."
        )
    if readings:
        notes.append(("Times from the moment the control moves", tuple(readings)))
    left_out = [
        f"The last {naming.seconds(s.end - end)} of {s.state} are left out: nothing shown changes by more"
        f" than {QUIET:.0%} of the scale."
        for s, end in zip(history.stretches, ends, strict=True)
        if end < s.end
    ]
    left_out += [
        f"{s.state} could not be followed further than {naming.seconds(s.end - s.begin)}."
        for s in history.stretches
        if s.status == "stalled"
    ]
    skipped = sum(not isinstance(one, Crossed) for one in history.happenings) - MOST_EVENTS
    if skipped > 0:
        left_out.append(f"{skipped} later events are not numbered.")
    doubts = doubts_of(history)
    if doubts:
        notes.append(("Not certain", doubts))
    notes.append(("Note", (*left_out, "Computed, not measured: see the settings of the parts.")))
    notes.append(("Caution", CAUTIONS))
    return tuple(notes)


def doubts_of(history: History) -> tuple[str, ...]:
    """Return a sentence for each state whose end, or whose beginning, hangs on a knife edge."""
    first = history.stretches[0]
    before = doubt_words((), first.unsure, first.state)  # of later ones that is said of the state before
    ends = (text for s in history.stretches for text in doubt_words(s.doubts, (), s.state))
    return (*before, *dict.fromkeys(ends))


# --- how much of a state is shown -------------------------------------------------------------------


def _shown_ends(history: History) -> tuple[float, ...]:
    """Where each state's part of the axis ends: a long quiet tail is left out."""
    ranges: dict[str, float] = {}
    for curve in history.curves:
        spread = max(*curve.values, 0.0) - min(*curve.values, 0.0)
        ranges[curve.quantity] = max(ranges.get(curve.quantity, 1e-9), spread)
    return tuple(
        _shown_end(history, index, stretch, ranges) for index, stretch in enumerate(history.stretches)
    )


def _shown_end(history: History, index: int, stretch: Stretch, ranges: dict[str, float]) -> float:
    last = stretch.begin
    for curve in history.curves:
        slack = QUIET * ranges[curve.quantity]
        end = curve.values[stretch.last]
        for row in range(stretch.last, stretch.first - 1, -1):
            if abs(curve.values[row] - end) > slack:
                last = max(last, history.times[row])
                break
    last = max([last, *(one.time for one in history.happenings if one.stretch == index)])
    shown = stretch.begin + 1.25 * (last - stretch.begin)
    length = stretch.end - stretch.begin
    if shown <= stretch.begin + 1e-6:  # nothing moves at all
        return stretch.end
    return stretch.end if stretch.end - shown < WORTH * length else shown
