"""Lettering: the font that travels with the program and how wide a text is in it. Knows nothing else."""

from pneudraw.lettering.advances import CAP_UNITS
from pneudraw.lettering.fonts import FAMILY, STACK, font_face, font_folder
from pneudraw.lettering.metrics import (
    CAP_HEIGHT,
    DESCENT,
    LINE_PITCH,
    plain,
    shorten,
    text_width,
    wrap,
    wrap_words,
)
from pneudraw.lettering.outlines import Run, advances, outline, runs

__all__ = [
    "CAP_HEIGHT",
    "CAP_UNITS",
    "DESCENT",
    "FAMILY",
    "LINE_PITCH",
    "STACK",
    "Run",
    "advances",
    "font_face",
    "font_folder",
    "outline",
    "plain",
    "runs",
    "shorten",
    "text_width",
    "wrap",
    "wrap_words",
]
