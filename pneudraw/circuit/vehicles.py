"""Vehicles: circuits that are used in another one."""

from __future__ import annotations

from pneudraw.circuit.model import Circuit


def vehicles(circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """Return the parts of each circuit that is used in this one, by the tag it is used as, in netlist order."""
    found: dict[str, list[str]] = {}
    for part in circuit.parts:
        prefix, dot, _ = part.tag.partition(".")
        if dot and part.span.source.name != circuit.span.source.name:
            found.setdefault(prefix, []).append(part.tag)
    return {prefix: tuple(tags) for prefix, tags in found.items()}
