"""Placing a symbol: the transforms of the layout on strokes and points."""

from __future__ import annotations

from pneudraw.library.model import Stroke
from pneudraw.library.strokes import MATRICES, moved

Place = tuple[str, float, float, float, float]  # transform, x, y, and the symbol's size before it


def steps(transform: str) -> tuple[str, ...]:
    """``"mx90"`` -> ``("mx", "r90")``: the mirror first, then the turn clockwise.

    Raises
    ------
    KeyError
        If it is none of ``r0 r90 r180 r270 mx my`` and their combinations.
    """
    first, turn = (transform[:2], transform[2:]) if transform[:1] == "m" else ("", transform[1:])
    out: tuple[str, ...] = (first,) if first else ()
    if turn not in ("", "0"):
        out += (f"r{turn}",)
    for step in out:
        MATRICES[step]
    return out


def placed(strokes: tuple[Stroke, ...], place: Place) -> tuple[Stroke, ...]:
    """Return a symbol's strokes where the layout puts them: text and upright arrows keep their direction."""
    transform, x, y, width, height = place
    for step in steps(transform):
        a, b, c, d = MATRICES[step]
        # the corner of the turned box that comes to lie at the upper left goes to the origin
        shift = -min(0.0, a * width, b * height), -min(0.0, c * width, d * height)
        strokes = tuple(moved(stroke, (a, b, c, d), shift) for stroke in strokes)
        if a == 0:
            width, height = height, width
    return tuple(moved(stroke, MATRICES["r0"], (x, y)) for stroke in strokes)
