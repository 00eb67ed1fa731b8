"""Lettering: the font that travels with the program and how wide a text is in it. Knows nothing else."""

from pneudraw.lettering.fonts import FAMILY, STACK, font_face, font_folder
from pneudraw.lettering.metrics import CAP_HEIGHT, DESCENT, LINE_PITCH, plain, shorten, text_width, wrap

__all__ = [
    "CAP_HEIGHT",
    "DESCENT",
    "FAMILY",
    "LINE_PITCH",
    "STACK",
    "font_face",
    "font_folder",
    "plain",
    "shorten",
    "text_width",
    "wrap",
]
