"""Which pressures of a circuit can be read: those of the reservoirs, and what the gauges show."""

from __future__ import annotations

from pneudraw.circuit.model import Circuit
from pneudraw.library.model import Place, Role


def gauge_places(circuit: Circuit) -> tuple[tuple[str, str, str], ...]:
    """Return what has a pressure to be read: (name, tag, port or chamber), the reservoirs and the gauges' ports."""
    out = [
        (part.tag, part.tag, part.kind.chambers[0].name)
        for part in circuit.parts
        if part.kind.place is Place.STORAGE and part.kind.chambers
    ]
    for part in circuit.parts:
        if part.kind.place is Place.INSTRUMENT and not part.kind.memories:
            out += [
                (f"{part.tag}.{port.id}", part.tag, port.id)
                for port in part.kind.ports
                if port.role is Role.SUPPLY and circuit.line_at(part.tag, port.id) is not None
            ]
    return tuple(out)
