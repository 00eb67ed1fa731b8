"""Settings of parts, and how a message tells them."""

from __future__ import annotations

from pneudraw.circuit.model import Circuit, Part
from pneudraw.library.expression import names
from pneudraw.library.model import Expression
from pneudraw.rules.study import threshold
from pneudraw.units import PSI, show


def told(circuit: Circuit, pascal: float) -> str:
    """Return a gauge pressure in the circuit's own unit."""
    return show(pascal, circuit.unit)


def wording(circuit: Circuit, part: Part, form: Expression, pascal: float) -> str:
    """Return a setting as the netlist or the kind wrote it, if it is one parameter; else in the circuit's unit."""
    own = [part.values[name] for name in names(form) if name in part.values]
    same = [quantity for quantity in own if abs(quantity.value - pascal) < 1.0]
    return same[0].text if same else told(circuit, pascal)


def setting_of(part: Part, purpose: str, *, rising: bool) -> tuple[float, Expression] | None:
    """Return the lowest gauge pressure [Pa] at which a memory turns to 1 (``rising``) or 0, and its form."""
    found = [
        (level[1], form)
        for memory in part.kind.memories
        if memory.purpose == purpose
        for form in (memory.to_one if rising else memory.to_zero)
        if (level := threshold(part, form)) is not None
    ]
    return min(found, key=lambda pair: pair[0]) if found else None


def psi(value: float) -> float:
    """Return a pressure given in psi [Pa]."""
    return value * PSI
