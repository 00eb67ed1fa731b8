"""What a trace looks like on paper, without knowing what a trace is: styles for lines, arrows, numbers,
words.

Whoever has a trace (or a quiz, or a fault) turns it into these plain values and hands them to the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Style(Enum):
    """How a stretch of line is drawn. Each has a second sign beside its colour, to outlive a black-and-white copy."""

    CARRIES = "carries"  # heavy, filled arrow heads
    VENTS = "vents"  # heavy, open arrow heads
    HOLDS = "holds"  # cross ticks
    EMPTY = "empty"  # thin
    PLAIN = "plain"  # as on an untouched diagram


#: the styles that have a direction
MOVING = (Style.CARRIES, Style.VENTS)


@dataclass(frozen=True)
class BranchTint:
    """One end of a line, named ``"relay.4"``. ``flow`` > 0: out of the line into that port; < 0: the other
    way.

    Only the ratios of the flows of a line matter; ``flow`` is looked at for moving styles only.
    """

    end: str
    style: Style
    flow: float = 0.0


@dataclass(frozen=True)
class LineTint:
    """A line, by its tag: ``style`` where nothing moves, its ends, and the number in the order of arrival.

    An end not named has the line's style. A line may also be in a moving style as a whole, without ends.
    """

    line: str
    style: Style
    branches: tuple[BranchTint, ...] = ()
    order: int | None = None


@dataclass(frozen=True)
class Badge:
    """A few words at a part (``"lr"``) or at a port (``"lr.11"``), such as a pressure."""

    at: str
    text: str


@dataclass(frozen=True)
class Mark:
    """A mark for a fault: a zigzag across a line (by tag) or beside a part, with a bold text such as ``F1``."""

    at: str
    text: str


@dataclass(frozen=True)
class Tints:
    """All of it. ``vents``: exhaust ports (``"relay.3"``) that let air out; their triangles are filled.

    ``state`` goes into the title block; ``steps`` are numbered sentences beside the legend, under
    ``steps_title``; ``numbers`` are theirs, if they are not 1, 2, 3. ``notes`` stand below them.
    """

    lines: tuple[LineTint, ...] = ()
    vents: tuple[str, ...] = ()
    badges: tuple[Badge, ...] = ()
    marks: tuple[Mark, ...] = ()
    state: str = ""
    steps: tuple[str, ...] = ()
    steps_title: str = "How the air goes"
    numbers: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()
