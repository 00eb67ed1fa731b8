"""The font files that travel with the program, for those who show text: pictures, pages and papers."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from pneudraw.lettering.metrics import plain

FAMILY = "Pneudraw Sans"
#: what a viewer takes for characters the font does not have
STACK = f"'{FAMILY}', sans-serif"

_FOLDER = Path(__file__).parent / "fonts"


def font_folder() -> Path:
    """Return the folder of the ``.ttf`` files (regular and bold) and their licence."""
    return _FOLDER


def font_face(texts: Iterable[str], bold: bool) -> str:
    """Return a CSS ``@font-face`` rule that carries the font in itself, with at least the characters of
    ``texts``.

    A small file when the characters of an English drawing are enough, else the whole font (which may still
    lack some: Latin, Greek and Cyrillic are there).
    """
    weight = "bold" if bold else "regular"
    small = all(char in _core() for text in texts for char in plain(text))
    data = _encoded(f"pneudraw-sans-{weight}{'-core' if small else ''}.woff2")
    return (
        f"@font-face{{font-family:'{FAMILY}';font-weight:{weight.replace('regular', 'normal')};"
        f"src:url(data:font/woff2;base64,{data}) format('woff2')}}"
    )


@cache
def _core() -> frozenset[str]:
    from pneudraw.lettering.characters import CORE

    return frozenset(map(chr, CORE))


@cache
def _encoded(name: str) -> str:
    return base64.b64encode((_FOLDER / name).read_bytes()).decode("ascii")
