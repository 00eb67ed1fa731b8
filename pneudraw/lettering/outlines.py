"""The shapes of the letters, for a picture that shows its text wherever it is looked at, with no font at all."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from pneudraw.lettering.advances import BOLD, CAP_UNITS, REGULAR
from pneudraw.lettering.fonts import font_folder
from pneudraw.lettering.metrics import plain, text_width


@dataclass(frozen=True)
class Run:
    """A piece of a text that is drawn alike.

    ``start``: where it begins [font units] from the beginning of the text. ``known``: the font has all its characters;
    if not, the viewer has to find them in some other font.
    """

    text: str
    start: int
    known: bool


def outline(char: str, bold: bool = False) -> str:
    """Return a character's outline as the path data of an SVG: font units, y down, from its origin on the baseline.

    "" for a blank, and for a character the font does not have.
    """
    return _outlines(bold).get(ord(char), "")


def advances(text: str, bold: bool = False) -> tuple[int, ...]:
    """Return where each character of a plain text begins, and where the text ends [font units]."""
    places = [0]
    for char in text:
        places.append(places[-1] + round(text_width(char, CAP_UNITS, bold)))
    return tuple(places)


def runs(text: str, bold: bool = False) -> tuple[Run, ...]:
    """Return a text in pieces that the font has and pieces it does not have.

    A mark stays with the letter it stands on, a blank with the words about it. Words written from right to left are
    not cut up: only who has their font can order them.
    """
    shown = plain(text)
    known = _known(shown, BOLD if bold else REGULAR)
    places = advances(shown, bold)
    cuts = [n for n in range(len(shown)) if n == 0 or known[n] != known[n - 1]]
    return tuple(Run(shown[a:b], places[a], known[a]) for a, b in pairwise([*cuts, len(shown)]))


def _known(text: str, table: dict[int, int]) -> list[bool]:
    known = [ord(char) in table for char in text]
    if any(unicodedata.bidirectional(char) in ("R", "AL") for char in text):
        return [False] * len(text)
    for n in range(len(text) - 1, 0, -1):
        if not known[n] and unicodedata.combining(text[n]):
            known[n - 1] = False
    for n in range(1, len(text) - 1):
        if text[n] == " " and not known[n - 1] and not known[n + 1]:
            known[n] = False
    return known


@cache
def _outlines(bold: bool) -> dict[int, str]:
    file = font_folder() / f"pneudraw-sans-{'bold' if bold else 'regular'}.outlines.txt"
    lines = file.read_text(encoding="ascii").splitlines()
    return {int(code): data for code, _, data in (line.partition(" ") for line in lines)}
