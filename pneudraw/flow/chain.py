"""A chain of causes in the making: what is told already, what is to be explained next.

A chain is followed one question at a time: telling one thing raises the next question, or none
(:mod:`pneudraw.flow.why` goes round). So no part of the telling calls another.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pneudraw.flow.causes import Cause, Cut, Reading, Way
from pneudraw.flow.evidence import Evidence, Movement
from pneudraw.flow.places import Place
from pneudraw.flow.run import Run
from pneudraw.library import model as lib

DEEPEST = 24  # causes in a chain
PRESSURE = 1.0  # bar: so much more than a place is a pressure worth letting in
EMPTY = 0.1  # bar gauge


@dataclass(frozen=True)
class Step:
    """A passage on the way of the air, from one node to another."""

    passage: int
    start: int
    end: int


@dataclass(frozen=True)
class AboutPressure:
    """Why is a node's pressure at a time what it is?"""

    node: int
    time: float


@dataclass(frozen=True)
class AboutMovement:
    """Why did it rise, or fall?"""

    moved: Movement


@dataclass(frozen=True)
class AboutEmptiness:
    """Why did no air come to a node?"""

    node: int
    time: float


@dataclass(frozen=True)
class AboutMemory:
    """Why did a memory flip, the last time until ``by``?"""

    memory: int
    by: float


Question = AboutPressure | AboutMovement | AboutEmptiness | AboutMemory


@dataclass
class Telling:
    """What is told so far; lives only inside :func:`pneudraw.flow.why.why`."""

    evidence: Evidence
    places: dict[int, Place]
    causes: list[Cause] = field(default_factory=list)
    seen: set[tuple[int, str, int]] = field(default_factory=set)

    @property
    def run(self) -> Run:
        return self.evidence.run

    def name(self, node: int) -> str:
        return str(self.places[node])

    def gauge(self, pressure: float) -> float:
        return pressure - self.run.plumbing.atmosphere

    def reading(self, node: int, time: float) -> Reading:
        return Reading(self.name(node), self.gauge(self.evidence.pressure(node, time)))

    def way(self, step: Step) -> Way:
        origin = self.run.plumbing.origins[step.passage]
        forward = self.evidence.network.passages[step.passage].a == step.start
        ends = (origin.start, origin.end) if forward else (origin.end, origin.start)
        return Way(origin.owner, *ends)

    def new(self, node: int, what: str, time: float) -> bool:
        """Whether the telling goes on at a node; if not, it says so and ends."""
        key = (node, what, round(time * 1e3))
        if len(self.causes) >= DEEPEST:
            self.causes.append(Cut("depth"))
            return False
        if key in self.seen:
            self.causes.append(Cut("loop"))
            return False
        self.seen.add(key)
        return True


def standing_input(telling: Telling, tag: str, name: str) -> float:
    """Return where an input stood when the state began."""
    part = telling.run.circuit.part(tag)
    assert part is not None
    rest = next(inp.rest for inp in part.kind.inputs if inp.name == name)
    return telling.run.before.inputs.get((tag, name), rest)


def input_name(telling: Telling, tag: str, signal: int) -> str:
    """Return the input behind a signal of the network, which may be a curve of one."""
    name = telling.evidence.network.signals[signal].name.removeprefix(f"{tag}.")
    part = telling.run.circuit.part(tag)
    assert part is not None
    return next((curve.input for curve in part.kind.curves if curve.name == name), name)


def memory_of(telling: Telling, tag: str, name: str) -> lib.Memory:
    """Return the memory of a part by name."""
    part = telling.run.circuit.part(tag)
    assert part is not None
    return next(memory for memory in part.kind.memories if memory.name == name)
