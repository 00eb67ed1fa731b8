"""A condition with a fault as tints: the trace's, the fault marked, what is not as on the sound vehicle told."""

from __future__ import annotations

from dataclasses import replace

from pneudraw.circuit.model import Circuit, FaultSetting
from pneudraw.drawing.tints import Mark, Tints
from pneudraw.flow.symptoms import Seen
from pneudraw.flow.trace import Trace
from pneudraw.teach.naming import fault_words, subject
from pneudraw.teach.symptoms import sentences
from pneudraw.teach.tinting import tints

MOST_STEPS = 12  # sentences on a sheet; the text form has them all


def fault_tints(circuit: Circuit, trace: Trace, faults: tuple[FaultSetting, ...], seen: Seen) -> Tints:
    """Return how a condition with faults looks on the diagram: each fault has a mark F1, F2 ... and a sentence."""
    plain = tints(circuit, trace)
    marks = tuple(Mark(f.target, f"F{number}") for number, f in enumerate(faults, start=1))
    told = [
        f"F{number}: {fault_words(circuit, f.target, f.fault)}." for number, f in enumerate(faults, start=1)
    ]
    found = list(sentences(circuit, seen)) or [f"Nothing is otherwise than on the sound {subject(circuit)}."]
    if len(found) > MOST_STEPS:
        found = [*found[: MOST_STEPS - 1], "And more; `fault show` tells all of it."]
    names = ", ".join(f"F{number}" for number in range(1, len(faults) + 1))
    return replace(
        plain,
        marks=marks,
        state=f"{seen.condition.title}, with fault {names}: pressures at the end of the watch",
        steps=(*told, *found),
        steps_title="What the fault does here",
    )
