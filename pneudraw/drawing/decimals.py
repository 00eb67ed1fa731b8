"""How numbers are written in an SVG."""

from __future__ import annotations


def number(value: float) -> str:
    """Return at most two decimals, no trailing zeros, no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
