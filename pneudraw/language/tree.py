"""The syntax tree: what a netlist says, word for word, before anybody knows what a kind or a port is.

Spans do not take part in comparison: two trees are equal if their texts say the same. Comments and empty
lines are part of the tree (:class:`Notes`), so that the formatter loses none.

A tree is always made, also from a text with errors. Only then may a ``kind`` or a ``start`` be None, a line
have fewer than two groups, or a state lack a setting: what was wrong has been reported and is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pneudraw.source import Source, Span
from pneudraw.units import Quantity

# --- comments ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Break:
    """A line end inside a statement, after its comma number ``comma`` (from 0).

    ``comment`` stands at the end of that line, ``lines`` are comment lines of their own below it.
    """

    comma: int
    comment: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Notes:
    """The comments around a statement or a section's name, each from its ``#`` on.

    ``before`` are the lines above it, an empty string for an empty line; ``after`` the comment at its end.
    """

    before: tuple[str, ...] = ()
    after: str = ""
    breaks: tuple[Break, ...] = ()


NO_NOTES = Notes()


# --- pieces -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Word:
    """A tag, a kind, a port, a keyword: letters, digits, ``-`` and ``_``."""

    text: str
    span: Span = field(compare=False, repr=False)

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Quoted:
    """A text in double quotes; ``text`` is what it says, the span includes the quotes."""

    text: str
    span: Span = field(compare=False, repr=False)

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Measure:
    """A number with its unit.

    ``quantity.text`` is the canonical spelling (``100psi``), the span what was written.
    """

    quantity: Quantity
    span: Span = field(compare=False, repr=False)

    def __str__(self) -> str:
        return self.quantity.text


#: what may stand after ``=``; in an assembly a word may be the name of a parameter
Value = Measure | Word | Quoted


@dataclass(frozen=True)
class Path:
    """Words joined by points: ``relay``, ``relay.2``, ``tl.relay.2``.

    Whether the last word is a port, an input or an inner part only the circuit knows.
    """

    words: tuple[Word, ...]
    span: Span = field(compare=False, repr=False)

    @property
    def text(self) -> str:
        """``"tl.relay.2"``."""
        return ".".join(word.text for word in self.words)

    @property
    def last(self) -> Word:
        """The last word: the port of ``relay.2``."""
        return self.words[-1]

    @property
    def stem(self) -> str:
        """All but the last word: the part of ``tl.relay.2``; empty if there is one word only."""
        return ".".join(word.text for word in self.words[:-1])

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Option:
    """``key=value``. The span covers both."""

    key: Word
    value: Value
    span: Span = field(compare=False, repr=False)


# --- statements -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CircuitSetting:
    """A line under ``circuit``: ``pressure psi``. Key and value are known ones; no key is set twice."""

    key: Word
    value: Word
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES


@dataclass(frozen=True)
class PartDecl:
    """A line of the parts list: ``lf, rf  service-chamber  "Front"  type=20``; no key is set twice in it."""

    tags: tuple[Word, ...]
    kind: Word | None
    caption: Quoted | None
    options: tuple[Option, ...]
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES

    def option(self, key: str) -> Option | None:
        """Return the option of this key, or None."""
        return next((option for option in self.options if option.key.text == key), None)


@dataclass(frozen=True)
class Group:
    """One place of a chain: an end, or several with commas between (only at the two ends of a chain)."""

    ends: tuple[Path, ...]
    span: Span = field(compare=False, repr=False)


@dataclass(frozen=True)
class Separator:
    """``->`` (directed) or ``--`` between two places of a chain."""

    directed: bool
    span: Span = field(compare=False, repr=False)


@dataclass(frozen=True)
class LineDecl:
    """A line of the pipe list: ``service: relay.2 -> lr.11, rr.11  length=3m hose``.

    ``separators[i]`` stands between ``groups[i]`` and ``groups[i + 1]``. ``flags`` are bare words after
    the chain, known ones only.
    """

    tag: Word | None
    groups: tuple[Group, ...]
    separators: tuple[Separator, ...]
    options: tuple[Option, ...]
    flags: tuple[Word, ...]
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES

    def option(self, key: str) -> Option | None:
        """Return the option of this key, or None."""
        return next((option for option in self.options if option.key.text == key), None)

    def flag(self, name: str) -> bool:
        """Tell whether the flag stands there."""
        return any(flag.text == name for flag in self.flags)


@dataclass(frozen=True)
class InputSetting:
    """``foot 30%``, ``park.knob out at 1.5s``: an operator input.

    ``target`` is a part, or a part and its input.
    """

    target: Path
    value: Measure | Word
    at: Measure | None
    span: Span = field(compare=False, repr=False)


@dataclass(frozen=True)
class PartFault:
    """``fault relay.inlet-leaks 3mm``: ``target`` is the part, ``fault`` the name after the last point."""

    target: Path
    fault: Word
    size: Measure | None
    span: Span = field(compare=False, repr=False)


@dataclass(frozen=True)
class LineFault:
    """``fault line service leaks 3mm``: ``fault`` is broken, blocked, restricted or leaks."""

    target: Path
    fault: Word
    size: Measure | None
    span: Span = field(compare=False, repr=False)


StateSetting = InputSetting | PartFault | LineFault


@dataclass(frozen=True)
class StateDecl:
    """``half-apply "Half application" from ready for 30s: foot 30%``.

    ``horizon`` is the time after ``for``, if given.
    """

    name: Word
    title: Quoted | None
    start: Word | None
    horizon: Measure | None
    settings: tuple[StateSetting, ...]
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES


@dataclass(frozen=True)
class HintDecl:
    """A wish about the drawing: ``word [value]: parts``.

    ======== ========================== =======================
    word     value                      parts
    ======== ========================== =======================
    group    quoted name                its members
    order    None                       from left to right
    column   Measure, whole number >= 1 those in it
    side     left, right, top, bottom   those on it
    mirror   None                       pairs that face each other
    near     Path of one part           those near it
    ======== ========================== =======================
    """

    word: Word
    value: Quoted | Measure | Word | Path | None
    parts: tuple[Path, ...]
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES


# --- sections ---------------------------------------------------------------------------------------
# `head` is the section's word; `notes` are those of the head's line, `tail` the indented comments after
# the last statement.


@dataclass(frozen=True)
class CircuitBlock:
    """``circuit "Title"`` and its settings; at most one in a document."""

    head: Word
    title: Quoted | None
    settings: tuple[CircuitSetting, ...]
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


@dataclass(frozen=True)
class PartsBlock:
    """``parts`` and the statements under it."""

    head: Word
    parts: tuple[PartDecl, ...]
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


@dataclass(frozen=True)
class LinesBlock:
    """``lines`` and the statements under it."""

    head: Word
    lines: tuple[LineDecl, ...]
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


@dataclass(frozen=True)
class StatesBlock:
    """``states`` and the statements under it."""

    head: Word
    states: tuple[StateDecl, ...]
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


@dataclass(frozen=True)
class LayoutBlock:
    """``layout`` and the statements under it."""

    head: Word
    hints: tuple[HintDecl, ...]
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


@dataclass(frozen=True)
class UseDecl:
    """``use "semitrailer.pneu" as tl``."""

    head: Word
    file: Quoted
    tag: Word
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()


InnerBlock = PartsBlock | LinesBlock | LayoutBlock


@dataclass(frozen=True)
class AssemblyDecl:
    """``assembly wheel-end  type=24`` and the sections inside it; used as a kind in ``parts``.

    ``parameters`` are the names with their defaults; inside, a value that is a :class:`Word` equal to a
    parameter's name stands for that parameter.
    """

    head: Word
    name: Word
    parameters: tuple[Option, ...]
    blocks: tuple[InnerBlock, ...]
    span: Span = field(compare=False, repr=False)
    notes: Notes = NO_NOTES
    tail: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[PartDecl, ...]:
        """All its part statements in source order."""
        return _parts(self.blocks)

    @property
    def lines(self) -> tuple[LineDecl, ...]:
        """All its line statements in source order."""
        return _lines(self.blocks)

    @property
    def hints(self) -> tuple[HintDecl, ...]:
        """All its layout statements in source order."""
        return _hints(self.blocks)


Block = CircuitBlock | PartsBlock | LinesBlock | StatesBlock | LayoutBlock | UseDecl | AssemblyDecl


@dataclass(frozen=True)
class Document:
    """A whole netlist: its sections in source order, and the comments at its end."""

    source: Source = field(compare=False, repr=False)
    blocks: tuple[Block, ...]
    tail: tuple[str, ...] = ()

    @property
    def circuit(self) -> CircuitBlock | None:
        """The ``circuit`` section, or None if there is none."""
        return next((block for block in self.blocks if isinstance(block, CircuitBlock)), None)

    @property
    def parts(self) -> tuple[PartDecl, ...]:
        """All part statements outside assemblies, in source order."""
        return _parts(self.blocks)

    @property
    def lines(self) -> tuple[LineDecl, ...]:
        """All line statements outside assemblies, in source order."""
        return _lines(self.blocks)

    @property
    def states(self) -> tuple[StateDecl, ...]:
        """All state statements, in source order."""
        return tuple(s for block in self.blocks if isinstance(block, StatesBlock) for s in block.states)

    @property
    def hints(self) -> tuple[HintDecl, ...]:
        """All layout statements outside assemblies, in source order."""
        return _hints(self.blocks)

    @property
    def uses(self) -> tuple[UseDecl, ...]:
        """All ``use`` statements, in source order."""
        return tuple(block for block in self.blocks if isinstance(block, UseDecl))

    @property
    def assemblies(self) -> tuple[AssemblyDecl, ...]:
        """All assemblies, in source order."""
        return tuple(block for block in self.blocks if isinstance(block, AssemblyDecl))

    def setting(self, key: str) -> CircuitSetting | None:
        """Return the setting of the circuit with this key, or None."""
        settings = self.circuit.settings if self.circuit else ()
        return next((setting for setting in settings if setting.key.text == key), None)


def _parts(blocks: tuple[Block, ...] | tuple[InnerBlock, ...]) -> tuple[PartDecl, ...]:
    return tuple(part for block in blocks if isinstance(block, PartsBlock) for part in block.parts)


def _lines(blocks: tuple[Block, ...] | tuple[InnerBlock, ...]) -> tuple[LineDecl, ...]:
    return tuple(line for block in blocks if isinstance(block, LinesBlock) for line in block.lines)


def _hints(blocks: tuple[Block, ...] | tuple[InnerBlock, ...]) -> tuple[HintDecl, ...]:
    return tuple(hint for block in blocks if isinstance(block, LayoutBlock) for hint in block.hints)
