"""Lettering in an SVG: as outlines, with the words in the file all the same, or as text.

Outlines show on every machine: each character's shape stands once among the definitions and is used wherever it
occurs. In front of them the words, not seen but there to be searched, marked, copied and read aloud. What the font
does not have is text that is seen, and the viewer looks for another font.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from pneudraw.drawing.decimals import number
from pneudraw.drawing.shapes import BLACK, Text
from pneudraw.lettering import CAP_HEIGHT, CAP_UNITS, Run, advances, outline, plain, runs, text_width

#: ``outlines``: shown everywhere; ``editable``: text, the font embedded for the viewers that take it; ``bare``: text,
#: and the page or the program that shows the picture has the font
Lettering = Literal["outlines", "editable", "bare"]


class Letters:
    """Writes the texts of one picture. ``new_id`` makes an id that is not in use yet."""

    def __init__(self, form: Lettering, new_id: Callable[[str], str]) -> None:
        self._drawn = form == "outlines"
        self._new_id = new_id
        self._ids: dict[tuple[bool, str], str] = {}

    def elements(self, drawing: Any, text: Text) -> list[Any]:
        """Return the elements that show a text, from the back to the front."""
        pieces = runs(text.text, text.bold) if self._drawn else ()
        if not any(piece.known for piece in pieces):
            element = _element(drawing, text, plain(text.text), text.at[0])
            if text.anchor != "start":
                element["text-anchor"] = text.anchor
            return [element]
        shapes = self._shapes(drawing, text, pieces)
        return [*([shapes] if shapes.elements else []), _words(drawing, text, pieces)]

    def definitions(self, drawing: Any) -> list[Any]:
        """Return the shapes of all characters used so far."""
        return [
            drawing.path(outline(char, bold), id=name) for (bold, char), name in sorted(self._ids.items())
        ]

    def _shapes(self, drawing: Any, text: Text, pieces: tuple[Run, ...]) -> Any:
        group = drawing.g()
        for piece in pieces:
            for char, place in zip(piece.text, advances(piece.text, text.bold), strict=False):
                if piece.known and outline(char, text.bold):
                    use = drawing.use(f"#{self._id(char, text.bold)}")
                    if piece.start + place:
                        use["x"] = piece.start + place
                    group.add(use)
        group["transform"] = f"{_place(text)}scale({text.height / CAP_UNITS:.7f})"
        group["aria-hidden"] = "true"
        if text.colour != BLACK:
            group["fill"] = text.colour
        return group

    def _id(self, char: str, bold: bool) -> str:
        if (bold, char) not in self._ids:
            self._ids[bold, char] = self._new_id(f"{'b' if bold else 'r'}{ord(char)}")
        return self._ids[bold, char]


def _words(drawing: Any, text: Text, pieces: tuple[Run, ...]) -> Any:
    """The words in front of the outlines, as wide as these in any font; seen is only what has no outlines."""
    left = text.at[0] + _begin(text)
    if all(piece.known for piece in pieces):
        element = _element(drawing, text, plain(text.text), left)
        _hide(element, text_width(text.text, text.height, text.bold))
        return element
    element = _element(drawing, text, "", left)
    for piece in pieces:
        part = drawing.tspan(piece.text, x=[number(left + piece.start * text.height / CAP_UNITS)])
        if piece.known:
            _hide(part, text_width(piece.text, text.height, text.bold))
        element.add(part)
    return element


def _hide(element: Any, width: float) -> None:
    """Make text unseen and as wide as its outlines, whatever font the viewer takes for it."""
    element["fill-opacity"] = "0"
    element["textLength"] = number(width)
    # one stretch of text to a screen reader, not a letter at a time
    element["lengthAdjust"] = "spacingAndGlyphs"


def _element(drawing: Any, text: Text, words: str, left: float) -> Any:
    x, y = (number(value) for value in text.at)
    element = drawing.text(words, insert=(number(left), y))
    element["font-size"] = number(text.height / CAP_HEIGHT)
    if text.bold:
        element["font-weight"] = "bold"
    if text.colour != BLACK:
        element["fill"] = text.colour
    if text.upward:
        element["transform"] = f"rotate(-90 {x} {y})"
    return element


def _place(text: Text) -> str:
    """The transform to where a text begins, and along its baseline."""
    (x, y), begin = text.at, _begin(text)
    if text.upward:
        return f"translate({number(x)} {number(y - begin)})rotate(-90)"
    return f"translate({number(x + begin)} {number(y)})"


def _begin(text: Text) -> float:
    """Where a text begins along its baseline, from its anchor on [mm]."""
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    return -share * text_width(text.text, text.height, text.bold)
