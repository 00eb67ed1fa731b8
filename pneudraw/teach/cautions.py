"""The cautions that go on everything a class gets to see: one text, also printed on every sheet."""

from __future__ import annotations

from pneudraw.drawing.options import CAUTIONS as SHORT

__all__ = ["SHORT"]
