"""How wide a text is, and where to break it, in the program's own font.

The height of a lettering is the height of its capitals, as in ISO 3098. All measures are linear in it: with
the height in mm the width is in mm, with the height in modules it is in modules.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from pneudraw.lettering.advances import BOLD, CAP_UNITS, REGULAR, UNITS_PER_EM, X_UNITS

#: capital height of the font, in units of its size
CAP_HEIGHT = CAP_UNITS / UNITS_PER_EM
#: height of a small x, in units of the capital height
X_HEIGHT = X_UNITS / CAP_UNITS
#: what hangs below the baseline (the tail of a g), in units of the capital height; measured on the font's
#: glyphs
DESCENT = 0.3
#: baseline to baseline, in units of the capital height; at least 1.4 by ISO 3098 (from memory)
LINE_PITCH = 1.6

#: width of a character the font does not have, in units of its size: a viewer takes it from some other font (a mark
#: on a letter has none)
UNKNOWN = 1.0

_NOT_SHOWN = ("Cc", "Cf", "Cs", "Cn", "Co")


def plain(text: str) -> str:
    """Return ``text`` as it can be lettered: composed characters, no line breaks, nothing invisible.

    Control and formatting characters (which could turn the writing direction of what follows, or make an XML
    file invalid) are left out; any white space becomes one blank.
    """
    composed = unicodedata.normalize("NFC", text)
    if composed.isascii() and composed.isprintable():
        return composed
    kept = (" " if char.isspace() else char for char in composed)
    return "".join(char for char in kept if char == " " or unicodedata.category(char) not in _NOT_SHOWN)


def text_width(text: str, height: float, bold: bool = False) -> float:
    """Return the width of a one-line text whose capitals are ``height`` high, in the unit of ``height``.

    Examples
    --------
    >>> round(text_width("relay.2", 2.5), 2)
    12.79
    """
    table = BOLD if bold else REGULAR
    total = 0
    for char in plain(text):
        width = table.get(ord(char))
        if width is None:
            width = 0 if unicodedata.combining(char) else round(UNKNOWN * UNITS_PER_EM)
        total += width
    return total * height / CAP_UNITS


def wrap(text: str, width: float, height: float, bold: bool = False) -> tuple[str, ...]:
    """Return ``text`` broken at blanks into lines no wider than ``width``; a longer word is cut where it
    must be.

    An empty text gives no line. ``width`` and ``height`` in one unit; a line holds at least one character.
    """
    return wrap_words(plain(text).split(), width, height, bold)


def wrap_words(
    words: Iterable[str], width: float, height: float, bold: bool = False, over: float = 0.0
) -> tuple[str, ...]:
    """Return words in lines, as :func:`wrap` does; one that alone is wider by no more than ``over`` is not cut."""
    lines: list[str] = []
    current = ""
    for word in words:
        longer = f"{current} {word}" if current else word
        if text_width(longer, height, bold) <= width:
            current = longer
            continue
        if current:
            lines.append(current)
        if text_width(word, height, bold) <= width + over:
            current = word
            continue
        pieces = _cut(word, width, height, bold)
        lines += pieces[:-1]
        current = pieces[-1]
    if current:
        lines.append(current)
    return tuple(lines)


def shorten(text: str, width: float, height: float, bold: bool = False) -> str:
    """Return ``text`` if it is no wider than ``width``, else its beginning and an ellipsis."""
    shown = plain(text)
    if text_width(shown, height, bold) <= width:
        return shown
    low, high = 0, len(shown)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(shown[:middle].rstrip() + "…", height, bold) <= width:
            low = middle
        else:
            high = middle - 1
    return shown[:low].rstrip() + "…"


def _cut(word: str, width: float, height: float, bold: bool) -> list[str]:
    pieces: list[str] = []
    rest = word
    while rest:
        count = 1
        while count < len(rest) and text_width(rest[: count + 1], height, bold) <= width:
            count += 1
        pieces.append(rest[:count])
        rest = rest[count:]
    return pieces
