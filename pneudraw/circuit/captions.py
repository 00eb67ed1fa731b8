"""What is written beside a part: its tag, its name, its settings (ISO 1219-2, data beside the component)."""

from __future__ import annotations

import re

from pneudraw.circuit.model import Part
from pneudraw.units import UNITS, Quantity, convert

#: decimals of a converted pressure by its unit: (from this pressure on, so many), two for smaller ones
READ: dict[str, tuple[tuple[float, int], ...]] = {
    "bar": ((20.0, 0), (1.0, 1)),
    "psi": ((10.0, 0), (1.0, 1)),
    "kPa": ((10.0, 0), (1.0, 1)),
}

_FIELD = re.compile(r"\{([a-z_0-9]+)\}")


def settings(part: Part, unit: str) -> tuple[str, ...]:
    """Return the lines of settings: the kind's ``beside`` templates filled in; pressures in the circuit's unit."""
    out = []
    for template in part.kind.beside:
        text = _FIELD.sub(lambda match: show(part.values[match[1]], unit), template)
        out.append(text)
    return tuple(out)


def show(quantity: Quantity, unit: str) -> str:
    """Return a quantity as written on a drawing: pressures in the circuit's unit, the rest as the author wrote it.

    A pressure that was written in another unit is rounded as that unit is read off a gauge.
    """
    match = re.match(r"\s*([+-]?[\d.]+(?:[eE][+-]?\d+)?)\s*(\S.*)?\Z", quantity.text)
    if quantity.dimension == "pressure" and not (match and match[2] == unit):
        number = convert(quantity.value, unit)
        digits = next((digits for least, digits in READ[unit] if abs(number) >= least), 2)
        return f"{number:.{digits}f} {unit}" + (" abs" if quantity.absolute else "")
    if match and match[2] in UNITS:
        return f"{match[1]} {match[2]}"
    return quantity.text
