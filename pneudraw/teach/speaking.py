"""What every sentence about a circuit needs: its parts, places, ways and pressures, in its unit and by its names."""

from __future__ import annotations

from collections.abc import Sequence

from pneudraw.circuit.model import Circuit
from pneudraw.flow.causes import Reading, Way
from pneudraw.teach import naming
from pneudraw.teach.telling import pressure_text


class Speaker:
    """Names the things of one circuit. ``near`` is the part the listener has just heard of."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit

    def pressure(self, bar: float) -> str:
        return pressure_text(bar, self.circuit.unit)

    def place(self, place: str, near: str = "") -> str:
        return naming.place_name(self.circuit, place, near)

    def part(self, tag: str) -> str:
        return naming.part_name(self.circuit, tag)

    def way(self, way: Way) -> str:
        part = self.circuit.part(way.part)
        if part is None:
            return f"{self.part(way.part)} between {way.start} and {way.end}"
        start, end = (naming.end_name(part, end) for end in (way.start, way.end))
        return f"the way from {start} to {end} of {self.part(way.part)}"

    def readings(self, readings: Sequence[Reading], near: str) -> str:
        return naming.listed(
            f"{self.place(r.place, near)} was at {self.pressure(r.pressure)}" for r in readings
        )
