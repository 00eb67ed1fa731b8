"""What is written beside a part: its tag, its name, its settings (ISO 1219-2, data beside the component)."""

from __future__ import annotations

import re

from pneudraw.circuit.model import Part
from pneudraw.units import UNITS, Quantity, convert

_FIELD = re.compile(r"\{([a-z_0-9]+)\}")


def settings(part: Part, unit: str) -> tuple[str, ...]:
    """Return the lines of settings: the kind's ``beside`` templates filled in; pressures in the circuit's unit."""
    out = []
    for template in part.kind.beside:
        text = _FIELD.sub(lambda match: show(part.values[match[1]], unit), template)
        out.append(text)
    return tuple(out)


def show(quantity: Quantity, unit: str) -> str:
    """Return a quantity as written on a drawing: pressures in the circuit's unit, the rest as the author wrote it."""
    if quantity.dimension == "pressure":
        number = convert(quantity.value, unit)
        text = f"{number:.0f}" if abs(number) >= 100 else f"{number:.3g}"
        return f"{text} {unit}" + (" abs" if quantity.absolute else "")
    match = re.match(r"\s*([+-]?[\d.]+(?:[eE][+-]?\d+)?)\s*(\S.*)?\Z", quantity.text)
    if match and match[2] in UNITS:
        return f"{match[1]} {match[2]}"
    return quantity.text
