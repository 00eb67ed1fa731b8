"""Width, colour and second sign of each style of line.

The colours are of a set chosen for colour-blind readers, published as Okabe and Ito's (hex values from
memory); in grey they are alike, so that every meaning has a sign of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.drawing.dashes import CONTROL, CONTROL_HEAVY, CONTROL_HOLDS, Pattern
from pneudraw.drawing.shapes import BLACK
from pneudraw.drawing.tints import Style


@dataclass(frozen=True)
class Look:
    """Of a line: width [M], colour, dashes of a control line, sign along it and what the legend says."""

    width: float
    colour: str
    dashes: Pattern
    sign: str
    words: str


LOOKS: dict[Style, Look] = {
    Style.CARRIES: Look(0.3, "#D55E00", CONTROL_HEAVY, "filled", "carries air, the way of the arrow"),
    Style.VENTS: Look(0.3, "#009E73", CONTROL_HEAVY, "open", "vents: air on its way out"),
    Style.HOLDS: Look(0.2, "#0072B2", CONTROL_HOLDS, "ticks", "holds pressure, nothing moves"),
    Style.EMPTY: Look(0.1, BLACK, CONTROL, "none", "no pressure"),
    Style.PLAIN: Look(0.1, BLACK, CONTROL, "none", "working line"),
}


def look(style: Style, colour: bool) -> Look:
    """Return the look of a style; without ``colour`` all is black."""
    found = LOOKS[style]
    return found if colour else Look(found.width, BLACK, found.dashes, found.sign, found.words)
