"""The circuit: parts joined by lines, and the states it can be put in. Made by :mod:`pneudraw.circuit.build`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from pneudraw.library.model import Kind, Port, Role
from pneudraw.source import Span
from pneudraw.units import Quantity


@dataclass(frozen=True)
class Part:
    """A component in the circuit. ``tag`` is unique; inside a used circuit it carries the prefix (``tl.relay``).

    ``values`` holds every parameter of the kind: the netlist's value, or the default.
    ``given`` names those the netlist set.
    """

    tag: str
    kind: Kind
    name: str
    values: Mapping[str, Quantity]
    given: tuple[str, ...]
    span: Span


@dataclass(frozen=True)
class End:
    """A port of a part, as the end of a line. ``span`` is where the netlist first says so."""

    part: Part
    port: Port
    span: Span

    @property
    def name(self) -> str:
        """``"relay.4"``."""
        return f"{self.part.tag}.{self.port.id}"


@dataclass(frozen=True)
class Join:
    """One ``->`` or ``--`` of the netlist between two ports of a line; ``directed`` for ``->``."""

    start: str
    end: str
    directed: bool
    span: Span


@dataclass(frozen=True)
class Line:
    """Everything joined by pipe without a part between: two ends, or more with tees.

    ``length`` [m] is that of each branch from the first end; None if the netlist does not say. ``bore`` [m] likewise.
    """

    tag: str
    ends: tuple[End, ...]
    joins: tuple[Join, ...]
    length: Quantity | None
    bore: Quantity | None
    hose: bool
    span: Span

    @property
    def control(self) -> bool:
        """True if the line only carries a signal: some end is a control port and none is a supply or a chamber feed.

        A cock or a coupling passes a signal on as any other air. Such lines are drawn dashed (ISO 1219-1: pilot lines).
        """
        roles = {end.port.role for end in self.ends}
        fed = {end.port.role for end in self.ends if not end.part.kind.passes_on}
        return Role.CONTROL in roles and not fed & {Role.SUPPLY, Role.TAPPING}


@dataclass(frozen=True)
class Setting:
    """An operator input set at a time after the state's beginning [s]; ``value`` as its ``Input`` counts it."""

    part: str
    input: str
    value: float
    at: float
    span: Span | None


@dataclass(frozen=True)
class FaultSetting:
    """A fault put in: ``target`` is a part tag or a line tag, ``fault`` a fault name of the kind, or for a
    line ``broken``, ``blocked``, ``restricted`` or ``leaks``; ``size`` the bore of a leak [m], if given."""

    target: str
    fault: str
    size: float | None
    span: Span | None


@dataclass(frozen=True)
class State:
    """A condition of the circuit to be traced: from another state's end (or ``"empty"``) by operator inputs.

    ``built_in`` states are offered by the circuit's parts. ``horizon``: how long it is followed at most [s].
    ``stop_at_cut_out``: it ends when a governor's memory flips.
    """

    name: str
    title: str
    start: str
    settings: tuple[Setting, ...]
    faults: tuple[FaultSetting, ...]
    horizon: float
    stop_at_cut_out: bool
    built_in: bool
    text: str
    span: Span | None


@dataclass(frozen=True)
class Hint:
    """A wish of the author about the drawing: ``word`` is group, order, column, side, mirror or near."""

    word: str
    name: str
    parts: tuple[str, ...]
    value: str
    span: Span


@dataclass(frozen=True)
class Circuit:
    """A whole circuit, checked to be consistent: every end is a port of a part, no port in two lines."""

    title: str
    name: str
    unit: str
    rules: str
    parts: tuple[Part, ...]
    lines: tuple[Line, ...]
    states: tuple[State, ...]
    hints: tuple[Hint, ...]
    span: Span

    @cached_property
    def _by_tag(self) -> dict[str, Part]:
        return {part.tag: part for part in self.parts}

    @cached_property
    def _line_at(self) -> dict[tuple[str, str], Line]:
        return {(end.part.tag, end.port.id): line for line in self.lines for end in line.ends}

    def part(self, tag: str) -> Part | None:
        """Return the part with this tag, or None."""
        return self._by_tag.get(tag)

    def line_at(self, tag: str, port: str) -> Line | None:
        """Return the line that ends at a port, or None."""
        return self._line_at.get((tag, port))

    def state(self, name: str) -> State | None:
        """Return the state of this name, or None."""
        return next((state for state in self.states if state.name == name), None)
