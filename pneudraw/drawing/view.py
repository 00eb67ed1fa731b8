"""What one sheet shows: the whole circuit or a part of it, where its symbols are, and how large its letters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.shapes import Box, Point
from pneudraw.layout.result import Layout

HERE = 0  # for the number of a sheet: the same one


@dataclass(frozen=True)
class Goal:
    """A band of a sheet, both counted from 1; sheet :data:`HERE` is the one the flag is on."""

    sheet: int
    band: int = 1


@dataclass(frozen=True)
class Flag:
    """Where a line leaves a band of the sheet: a symbol of the layout with one port, ``"1"``.

    ``goals`` are the bands in which the line goes on; ``out`` tells the normal way of the air: out of this band
    (True), into it (False), or either way (None). ``band``: the one it stands in.
    """

    line: str
    goals: tuple[Goal, ...]
    out: bool | None
    band: int = 1

    @property
    def id(self) -> str:
        """Its name in the layout; no part has one like it."""
        return flag_id(self.line, self.band)

    @property
    def end(self) -> str:
        """Its port, as the end of a line is named."""
        return f"{self.id}.1"


def flag_id(line: str, band: int) -> str:
    """Return the name of a line's flag in a band."""
    return f"{line}>{band}"


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

    ``bands``: the tags of the parts in each band of a folded drawing, from the top down; none if it is not folded.
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
    bands: tuple[tuple[str, ...], ...] = ()
