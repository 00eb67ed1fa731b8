"""What one sheet shows: the whole circuit or a part of it, where its symbols are, and how large its letters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.shapes import Box, Point
from pneudraw.layout.result import Layout


@dataclass(frozen=True)
class Flag:
    """Where a line leaves the sheet: a symbol of the layout with one port, ``"1"``.

    ``sheets`` are the numbers of the sheets the line goes on, the first one 1; ``out`` tells the normal way of
    the air: out of this sheet (True), into it (False), or either way (None).
    """

    id: str
    line: str
    sheets: tuple[int, ...]
    out: bool | None

    @property
    def end(self) -> str:
        """Its port, as the end of a line is named."""
        return f"{self.id}.1"


@dataclass(frozen=True)
class GroupFrame:
    """The chain line round parts that belong together [M]: a closed outline with level and upright sides.

    ``title`` is the place of its name, None if there was no room for it.
    """

    name: str
    outline: tuple[Point, ...]
    title: Box | None


@dataclass(frozen=True)
class View:
    """One sheet's worth of a circuit. ``circuit`` has only the parts and lines that are on it.

    ``letters``: height of the lettering [M]: 1, or 1.25 for the reduced set of symbols. ``codes``:
    identification codes by tag, none if they are not wanted. ``messages``: what could not be had.
    """

    circuit: Circuit
    layout: Layout
    letters: float = 1.0
    flags: tuple[Flag, ...] = ()
    codes: Mapping[str, str] = field(default_factory=dict)
    frames: tuple[GroupFrame, ...] = ()
    messages: tuple[str, ...] = ()
