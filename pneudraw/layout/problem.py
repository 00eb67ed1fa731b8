"""What the layout engine is asked: boxes with ports, the nets that join them, and how much room to leave.

The engine knows no part kinds and no circuit. All lengths are whole numbers of grid units, labels excepted;
``grid`` says how long a unit is in the caller's drawing. x grows to the right, y downwards.
"""

from __future__ import annotations

from dataclasses import dataclass, field

SIDES = ("N", "E", "S", "W")


@dataclass(frozen=True)
class PortSpec:
    """Where lines may end on a symbol: ``offset`` from its left edge (side N, S) or its top edge (side E, W).

    ``flow`` is "in", "out" or "both", seen from the symbol. Ports of a symbol with the same ``alike`` on the same
    side may change places (the bosses of a reservoir): where each came to be, the layout says.
    """

    id: str
    side: str
    offset: int
    flow: str = "both"
    alike: str = ""


@dataclass(frozen=True)
class LabelSpec:
    """The size of the one block of text that goes with a symbol, in grid units (not rounded)."""

    width: float
    height: float


@dataclass(frozen=True)
class SymbolSpec:
    """A box with fixed ports.

    ``transforms`` lists the allowed ways to place it, the plain one first: ``r0 r90 r180 r270`` (clockwise),
    ``mx`` (left and right exchanged), ``my`` (top and bottom), ``mx90 mx180 mx270`` (mirrored, then turned).
    ``role`` is one of source, treatment, storage, control, modulation, actuator, leaf; it only settles ties.
    ``rim`` "W" or "E" puts it on the left or right rim of the drawing, with nothing beyond it.
    """

    id: str
    width: int
    height: int
    ports: tuple[PortSpec, ...]
    type: str = ""
    role: str = ""
    group: str = ""
    transforms: tuple[str, ...] = ("r0",)
    label: LabelSpec | None = None
    rim: str = ""


@dataclass(frozen=True)
class NetSpec:
    """The ports (symbol id, port id) that one line joins. ``kind`` sets how much a straight run is worth."""

    id: str
    terminals: tuple[tuple[str, str], ...]
    kind: str = ""


@dataclass(frozen=True)
class Hint:
    """A wish about the placement; what cannot be granted is let go without a word.

    ``word``: "column" (the symbols stand in one column), "order" (each left of the next), "mirror" (a pair about
    its feeding line), "group" and "near" (stay close), "side" (``value`` "top" or "bottom" of the drawing),
    "level" (at one height).
    """

    word: str
    symbols: tuple[str, ...]
    value: str = ""


@dataclass(frozen=True)
class Block:
    """Symbols that are one thing to the reader, a vehicle: listed in the same order in all that may be alike.

    Blocks that are alike in structure are drawn alike, each in a place of its own; a ``kept`` one has a place of its
    own although there is no other like it.
    """

    symbols: tuple[str, ...]
    kept: bool = False


@dataclass(frozen=True)
class Spacing:
    """Least distances in grid units. The defaults are tight: a neutral 10-unit grid with ports on every unit."""

    pitch: int = 1
    """Between parallel lines."""
    line_body: int = 1
    """Between a line and a symbol it does not belong to."""
    body_gap: int = 2
    """Between symbols above one another."""
    stub: int = 2
    """From a port on the top or bottom of a symbol to the first corner, or to what stands on it."""
    clearance: int = 2
    """From a column of symbols to the first vertical line beside it."""
    empty_channel: int = 3
    """Between columns without a vertical line between them."""
    label_air: float = 0.2
    """Between a label and anything else."""
    component_gap: int = 6
    """Between drawings of circuits that have nothing to do with one another."""
    block: int = 2
    """Round a block, for its outline."""
    title: int = 2
    """Above a block, for its title."""

    def wider(self, extra: int) -> Spacing:
        """The same with every gap ``extra`` units larger, for a second attempt."""
        return Spacing(
            self.pitch + (extra + 1) // 2,
            self.line_body + extra,
            self.body_gap + extra,
            self.stub + extra,
            self.clearance + extra,
            self.empty_channel + 2 * extra,
            self.label_air,
            self.component_gap + extra,
            self.block,
            self.title,
        )


@dataclass(frozen=True)
class Problem:
    """A whole drawing to be laid out. ``pairs`` of symbols stand above one another in one column."""

    symbols: tuple[SymbolSpec, ...]
    nets: tuple[NetSpec, ...]
    pairs: tuple[tuple[str, str], ...] = ()
    hints: tuple[Hint, ...] = ()
    spacing: Spacing = field(default_factory=Spacing)
    grid: float = 1.0
    straight: tuple[tuple[str, float], ...] = (("supply", 1.2), ("service", 1.1))
    """What a straight run of a net kind is worth; 1 for kinds not named."""
    page: tuple[float, float] | None = None
    """Width and height of the sheet the drawing should fit; None if its size does not matter."""
    blocks: tuple[Block, ...] = ()
