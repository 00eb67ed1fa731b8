"""Text to SI and back: the only module that knows kPa, psi, cubic inches and the like.

A pressure written without ``abs`` is a gauge pressure; inside the program it stays what it was written
as (:class:`Quantity` remembers), and the flow network makes it absolute in one place.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

PSI = 6894.757293168  # Pa; 1 lbf/in2, exact from the international pound and inch
CUBIC_INCH = 1.6387064e-5  # m3, exact
STANDARD_ATMOSPHERE = 101325.0  # Pa absolute; ISO 2533
LBF = 4.4482216152605  # N, exact

#: dimension of a unit, and its size in SI
UNITS: dict[str, tuple[str, float]] = {
    "Pa": ("pressure", 1.0),
    "kPa": ("pressure", 1e3),
    "MPa": ("pressure", 1e6),
    "bar": ("pressure", 1e5),
    "mbar": ("pressure", 1e2),
    "psi": ("pressure", PSI),
    "m3": ("volume", 1.0),
    "L": ("volume", 1e-3),
    "mL": ("volume", 1e-6),
    "cm3": ("volume", 1e-6),
    "in3": ("volume", CUBIC_INCH),
    "m": ("length", 1.0),
    "cm": ("length", 1e-2),
    "mm": ("length", 1e-3),
    "in": ("length", 0.0254),
    "ft": ("length", 0.3048),
    "m2": ("area", 1.0),
    "cm2": ("area", 1e-4),
    "mm2": ("area", 1e-6),
    "in2": ("area", 0.0254**2),
    "s": ("time", 1.0),
    "ms": ("time", 1e-3),
    "min": ("time", 60.0),
    "N": ("force", 1.0),
    "kN": ("force", 1e3),
    "lbf": ("force", LBF),
    "%": ("ratio", 0.01),
    "L/(s.bar)": ("conductance", 1e-8),  # sonic conductance, m3/(s.Pa), ISO 6358
    "L/s": ("flow", 1e-3),  # free air, m3/s at ANR (ISO 8778)
    "L/min": ("flow", 1e-3 / 60),
    "ft3/min": ("flow", 0.3048**3 / 60),
}

NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"({NUMBER})\s*([A-Za-z%][A-Za-z0-9/().%]*)?(\s+abs)?\Z")


@dataclass(frozen=True)
class Quantity:
    """A value in SI with its dimension, and the words it was written in.

    ``dimension`` is one of the names in :data:`UNITS` or ``"number"``. ``absolute`` is true only for a
    pressure written with ``abs``.
    """

    value: float
    dimension: str
    text: str
    absolute: bool = False

    def __str__(self) -> str:
        return self.text


class UnitError(ValueError):
    """A text that is not a quantity; the message says why, ``word`` is the offending piece."""

    def __init__(self, message: str, word: str) -> None:
        super().__init__(message)
        self.word = word


def parse_quantity(text: str) -> Quantity:
    """Return the quantity written as ``text``, e.g. ``100psi``, ``12 L``, ``30%``, ``8 bar abs``, ``0.3``.

    Raises
    ------
    UnitError
        If the text is no number with a known unit, or the number is not finite.
    """
    match = _QUANTITY.match(text.strip())
    if match is None:
        raise UnitError(f"`{text.strip()}` is not a number with a unit", text.strip())
    number, unit, absolute = float(match[1]), match[2], bool(match[3])
    if abs(number) > 1e12:
        raise UnitError(f"`{match[1]}` is too large", match[1])
    if unit is None:
        return Quantity(number, "number", text.strip())
    if unit not in UNITS:
        raise UnitError(f"unknown unit `{unit}`", unit)
    dimension, size = UNITS[unit]
    if absolute and dimension != "pressure":
        raise UnitError("only a pressure can be `abs`", unit)
    return Quantity(number * size, dimension, text.strip(), absolute)


def units_of(dimension: str) -> tuple[str, ...]:
    """Return the unit words of a dimension, in the order of the table."""
    return tuple(word for word, (kind, _) in UNITS.items() if kind == dimension)


def convert(value: float, unit: str) -> float:
    """Return an SI value in the given unit; KeyError for an unknown one."""
    return value / UNITS[unit][1]


def gauge(value: float, atmosphere: float = STANDARD_ATMOSPHERE) -> float:
    """Return the gauge pressure [Pa] of an absolute one [Pa]."""
    return value - atmosphere


def show(value: float, unit: str, digits: int = 3) -> str:
    """Return an SI value as text in the given unit with a few significant digits, e.g. ``"8.62 bar"``."""
    number = convert(value, unit)
    text = f"{number:.{digits}g}"
    if "e" in text:  # in plain digits, however large or small
        places = max(0, digits - 1 - int(text.split("e")[1]))
        text = f"{number:.{places}f}"
        text = text.rstrip("0").rstrip(".") if places else text
    return f"{text} {unit}" if unit != "%" else f"{text} %"
