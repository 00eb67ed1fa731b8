"""Everything the commands do, as functions. Heavy parts (solver, layout, drawing) are imported where they are used.

>>> from pneudraw import api
>>> text = '''
... circuit "A reservoir and its gauge"
... parts
...   s  air-source
...   r  reservoir
...   g  gauge
... lines
...   s -> r
...   r.a -> g
... '''
>>> reading = api.read_text(text)
>>> reading.diagnostics
()
>>> [line.tag for line in reading.circuit.lines]
['L1', 'L2']
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pneudraw import files
from pneudraw.circuit.build import build
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import Diagnostic, did_you_mean, error, has_errors, in_source_order
from pneudraw.language.parser import parse
from pneudraw.library.model import Library
from pneudraw.library.reader import load
from pneudraw.source import Source, whole

if TYPE_CHECKING:
    from pneudraw.circuit.model import FaultSetting
    from pneudraw.drawing import Arrangement, Sheet, SheetOptions
    from pneudraw.flow.causes import Why
    from pneudraw.flow.diagnosis import Table
    from pneudraw.flow.faults import PossibleFault
    from pneudraw.flow.history import History
    from pneudraw.flow.run import Options, Run
    from pneudraw.flow.symptoms import Reference, Symptoms
    from pneudraw.flow.trace import Trace
    from pneudraw.flow.whatif import WhatIf
    from pneudraw.layout.result import Layout


@dataclass(frozen=True)
class Reading:
    """A netlist, read: the circuit (None if there are errors) and every message about the text."""

    circuit: Circuit | None
    diagnostics: tuple[Diagnostic, ...]


def read(path: Path | str, symbols: Sequence[Path] = ()) -> Reading:
    """Read a netlist file. Circuits it uses are read from its own folder and below, nowhere else.

    ``symbols`` are folders with more kinds. An unreadable file is a diagnostic, not an exception.
    """
    path = Path(path)
    try:
        text = files.read_text(path)
    except files.UnreadableError as fault:
        source = Source(str(path), "")
        near = did_you_mean(path.name, files.names(path.parent, path.suffix or ".pneu"))
        return Reading(
            None, (error("unreadable", f"cannot read `{path}`: {fault}", whole(source), help=near),)
        )
    return _read(Source(str(path), text), path.parent, symbols)


def read_text(text: str, name: str = "netlist", symbols: Sequence[Path] = ()) -> Reading:
    """Read a netlist from a string; it can use no other files."""
    return _read(Source(name, text), None, symbols)


def _read(source: Source, folder: Path | None, symbols: Sequence[Path]) -> Reading:
    library, kind_messages = load(symbols)
    document, messages = parse(source)
    circuit, more = build(document, library, folder)
    found = in_source_order((*kind_messages, *messages, *more))
    return Reading(None if has_errors(found) else circuit, found)


def library(symbols: Sequence[Path] = ()) -> tuple[Library, tuple[Diagnostic, ...]]:
    """Return every kind there is, those of the folders ``symbols`` included, and what is wrong with their files."""
    return load(symbols)


def catalogue_plates(names: Sequence[str] = (), symbols: Sequence[Path] = ()) -> tuple[Sheet, ...]:
    """Return the named kinds on the module grid; if none is named, the sheets of the whole catalogue.

    Raises
    ------
    KeyError
        If there is no kind of a name.
    """
    from pneudraw.drawing import catalogue, plates

    kinds, _ = load(symbols)
    if names:
        return tuple(plates([kinds.kinds[name] for name in names]))
    return tuple(catalogue(kinds.kinds.values(), kinds.drawings()))


def format_netlist(text: str, name: str = "netlist") -> tuple[str | None, tuple[Diagnostic, ...]]:
    """Return the text in canonical layout, comments kept; None and the messages if it has syntax errors."""
    from pneudraw.language.printer import format_text

    document, messages = parse(Source(name, text))
    if has_errors(messages):
        return None, in_source_order(messages)
    return format_text(document), messages


def lay_out(circuit: Circuit) -> Layout:
    """Return the places of the symbols, the routes of the lines and the label boxes of a circuit."""
    from pneudraw.layout import lay_out as engine
    from pneudraw.layout.from_circuit import problem

    return engine(problem(circuit))


def draw(circuit: Circuit, options: SheetOptions | None = None, layout: Layout | None = None) -> Sheet:
    """Return the diagram of a circuit as a sheet; :func:`pneudraw.drawing.to_svg` and its like print it."""
    from pneudraw.drawing import draw as engine

    return engine(circuit, layout or lay_out(circuit), options)


def arrange(circuit: Circuit, options: SheetOptions | None = None) -> Arrangement:
    """Return how a circuit goes onto the paper: on one sheet, folded if need be, or split over several."""
    from pneudraw.drawing import arrange as engine

    return engine(circuit, options)


def draw_sheets(
    circuit: Circuit,
    options: SheetOptions | None = None,
    trace: Trace | None = None,
    arrangement: Arrangement | None = None,
) -> tuple[Sheet, ...]:
    """Return all sheets of a circuit, with a trace on them if one is given; where lines go on, they say so.

    Pass the ``arrangement`` of the same circuit and options to draw several traces without a second layout.
    """
    from pneudraw.drawing import draw_sheets as engine
    from pneudraw.teach.tinting import tints

    return engine(circuit, options, None if trace is None else tints(circuit, trace), arrangement)


def traces(
    circuit: Circuit, states: Sequence[str] = (), options: Options | None = None
) -> Mapping[str, Trace]:
    """Compute the traces of the named states (all if none is named), each state once.

    Raises
    ------
    KeyError
        If the circuit has no such state.
    """
    from pneudraw.flow.trace import trace as engine

    done = runs(circuit, states, options)
    return {name: engine(run) for name, run in done.items() if not states or name in states}


def runs(circuit: Circuit, states: Sequence[str] = (), options: Options | None = None) -> Mapping[str, Run]:
    """Solve the named states (all if none is named) and those they start from."""
    from pneudraw.flow.run import run

    return run(circuit, states or [state.name for state in circuit.states], options)


def trace(circuit: Circuit, state: str, options: Options | None = None) -> Trace:
    """Compute the trace of one state; KeyError if the circuit has no such state."""
    return traces(circuit, (state,), options)[state]


def draw_trace(
    circuit: Circuit, trace: Trace, options: SheetOptions | None = None, layout: Layout | None = None
) -> Sheet:
    """Return the diagram of a circuit with a trace on it, nothing moved."""
    from pneudraw.drawing import draw as engine
    from pneudraw.teach.tinting import tints

    return engine(circuit, layout or lay_out(circuit), options, tints(circuit, trace))


def history(
    circuit: Circuit,
    states: str,
    ports: Sequence[str] = (),
    show: Sequence[str] = ("pressure",),
    start: str | None = None,
    options: Options | None = None,
) -> History:
    """Return pressure, flow and force (as ``show`` says) over time, at some ports, chambers, parts or lines.

    ``states`` is a state or several joined by ``+``, each run from where the one before it ended, the first from
    the end of ``start`` if that is given. Without ``ports``: reservoirs, and the brake chambers that move.

    Raises
    ------
    pneudraw.flow.places.PlaceError, pneudraw.flow.sequence.SequenceError
        If there is no such port or state.
    """
    from pneudraw.flow.history import history as engine
    from pneudraw.flow.history import usual_places
    from pneudraw.flow.places import PlaceError, find
    from pneudraw.flow.sequence import read, run_sequence

    if "force" in show and all(part.kind.brake is None for part in circuit.parts):
        raise PlaceError("the circuit has no brake, so it has no force", "show pressure or flow")
    places = tuple(dict.fromkeys(place for text in ports for place in find(circuit, text)))
    done = run_sequence(circuit, read(circuit, states, start), options)
    return engine(done, places or usual_places(circuit, done), show)


def chart(circuit: Circuit, history: History, paper: str = "A4", colour: bool = True) -> Sheet:
    """Return the chart of a history as a sheet, with the moments that matter marked.

    :func:`pneudraw.teach.charting.to_csv` makes a table of it.
    """
    from pneudraw.drawing.chart import ChartOptions, draw_chart
    from pneudraw.teach.charting import chart as words

    return draw_chart(words(circuit, history), ChartOptions(paper, colour))


def why(
    circuit: Circuit, states: str, port: str, start: str | None = None, options: Options | None = None
) -> tuple[Why, ...]:
    """Return the causes of the pressure at a port, chamber, part or line at the end of a state, or of several
    joined by ``+``: one chain, or one for each chamber of a part. :func:`pneudraw.teach.reasons.tell` says them.

    Raises
    ------
    pneudraw.flow.places.PlaceError, pneudraw.flow.sequence.SequenceError
        If there is no such port or state.
    """
    from pneudraw.flow.places import find
    from pneudraw.flow.sequence import read, run_sequence
    from pneudraw.flow.why import why as engine

    places = find(circuit, port)
    last = run_sequence(circuit, read(circuit, states, start), options)[-1]
    return tuple(engine(last, place) for place in places)


def check(circuit: Circuit, options: Options | None = None) -> tuple[Diagnostic, ...]:
    """Return what is wrong with a circuit, in source order."""
    from pneudraw.rules import check as engine

    return engine(circuit, lambda subject, states: runs(subject, states, options))


# --- faults -----------------------------------------------------------------------------------------


def faults(circuit: Circuit) -> tuple[PossibleFault, ...]:
    """Return every fault that can be put into a circuit; :func:`pneudraw.flow.faults.find_fault` finds one by name."""
    from pneudraw.flow.faults import all_faults

    return all_faults(circuit)


def sound_vehicle(circuit: Circuit, options: Options | None = None) -> Reference:
    """Run the sound vehicle in every condition a fault is looked for in; what faults are held against."""
    from pneudraw.flow.conditions import sound
    from pneudraw.flow.symptoms import reference

    return reference(sound(circuit, options), options)


def fault_symptoms(
    circuit: Circuit,
    faults: Sequence[FaultSetting],
    conditions: Sequence[str] = (),
    options: Options | None = None,
    known: Reference | None = None,
    twice: bool = True,
) -> Symptoms:
    """Return what faults, put in together, do in some conditions (letters; all if none is given).

    ``twice``: compute again at a tenth of the tolerance and note the words that change. ``known``: the sound
    vehicle, if it has been run before.
    """
    from pneudraw.flow.symptoms import symptoms, symptoms_with_doubts

    known = known or sound_vehicle(circuit, options)
    return (symptoms_with_doubts if twice else symptoms)(known, tuple(faults), conditions, options)


def draw_fault(
    circuit: Circuit,
    faults: Sequence[FaultSetting],
    condition: str,
    known: Reference | None = None,
    sheet: SheetOptions | None = None,
    options: Options | None = None,
    arrangement: Arrangement | None = None,
) -> tuple[Sheet, ...]:
    """Return the diagram of a circuit in a condition with faults, the faults marked, on as many sheets as a trace.

    Raises
    ------
    KeyError
        If the circuit has no condition of this letter.
    """
    from pneudraw.drawing import draw_sheets as engine
    from pneudraw.flow.conditions import watch
    from pneudraw.flow.symptoms import symptoms
    from pneudraw.flow.trace import trace
    from pneudraw.teach.fault_drawing import fault_tints

    known = known or sound_vehicle(circuit, options)
    found = known.vehicle.condition(condition)
    if found is None:
        raise KeyError(condition)
    settings = tuple(faults)
    seen = symptoms(known, settings, (condition,), options).seen[0]
    result = trace(watch(known.vehicle, found, settings, options))
    return engine(circuit, sheet, fault_tints(circuit, result, settings, seen), arrangement)


def fault_table(
    circuit: Circuit,
    faults: Sequence[PossibleFault] | None = None,
    conditions: Sequence[str] = (),
    options: Options | None = None,
    known: Reference | None = None,
    processes: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    twice: bool = False,
) -> Table:
    """Return faults (every one of the circuit if None) against observations.

    :func:`pneudraw.flow.diagnosis.alike` groups what cannot be told apart,
    :func:`pneudraw.flow.diagnosis.suggestions` and :func:`pneudraw.flow.diagnosis.tree` find the next question. The
    result is the same for any number of ``processes``. ``twice``: compute again at a tenth of the tolerance and note
    the words that change.
    """
    from pneudraw.flow.diagnosis import table
    from pneudraw.flow.faults import all_faults

    known = known or sound_vehicle(circuit, options)
    chosen = all_faults(circuit) if faults is None else faults
    return table(known, chosen, conditions, options, processes, progress, twice)


def what_if(
    circuit: Circuit,
    options: Options | None = None,
    processes: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> WhatIf:
    """Return what remains of the brakes after every single failure: each line broken, each reservoir lost."""
    from pneudraw.flow.whatif import what_if as engine

    return engine(circuit, options, processes, progress)
