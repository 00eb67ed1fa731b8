"""Where air could go: the circuit as places joined by ways, judged from the conditions of the passages alone.

A *place* is a line, a port that no line ends at, a chamber, or the atmosphere. A *way* is a passage of a part with
the directions it could ever pass air in. Only a condition on the two pressures of the passage itself can forbid a
direction for good (a check valve: it opens as the one pressure exceeds the other); everything else may be so at
some time.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from pneudraw.circuit.model import Circuit, End, Line, Part
from pneudraw.library.expression import linear
from pneudraw.library.model import Condition, Passage, Place, Port, Role

ATMOSPHERE = "atmosphere"
#: a port of a part: tag and port id
At = tuple[str, str]
#: a place of one pressure: ``("line", tag)``, ``("port", tag, id)``, ``("chamber", tag, name)``, ``("atmosphere",)``
Spot = tuple[str, ...]
OUTSIDE: Spot = (ATMOSPHERE,)


@dataclass(frozen=True)
class Way:
    """A passage of a part: from which place to which, in which directions it could pass air.

    ``free``: no pressure and no latch opens or closes it, at most an input does.
    """

    part: Part
    passage: Passage
    start: Spot
    end: Spot
    forward: bool
    backward: bool
    free: bool


def numbers(part: Part) -> dict[str, float]:
    """Return a part's parameters in SI, pressures as gauge pressures (of the standard atmosphere)."""
    from pneudraw.units import STANDARD_ATMOSPHERE

    return {
        name: quantity.value - (STANDARD_ATMOSPHERE if quantity.absolute else 0.0)
        for name, quantity in part.values.items()
    }


def pressures(part: Part, condition: Condition) -> tuple[dict[str, float], float, tuple[str, ...]]:
    """Split a condition's form: weights of pressures by port or chamber, constant, and the other names in it."""
    form = linear(condition.form, numbers(part))
    weights: dict[str, float] = {}
    others: list[str] = []
    own = {inp.name for inp in part.kind.inputs} | {curve.name for curve in part.kind.curves}
    own |= {memory.name for memory in part.kind.memories}
    for name, weight in form.weights:
        if name in own:
            others.append(name)
        else:
            weights[name[2:] if name.startswith("p_") else name[1:]] = weight
    return weights, form.constant, tuple(others)


def _forbids(part: Part, passage: Passage, condition: Condition, high: str, low: str) -> bool:
    """Whether a condition never holds while the pressure at ``high`` is at least that at ``low``."""
    weights, constant, others = pressures(part, condition)
    if others or set(weights) - {high, low}:
        return False
    up, down = weights.get(high, 0.0), weights.get(low, 0.0)
    return down > 0 and up <= -down and constant <= 0


def _open_way(part: Part, passage: Passage, high: str, low: str) -> bool:
    if not passage.conditions:
        return True
    verdicts = [_forbids(part, passage, condition, high, low) for condition in passage.conditions]
    return not (any(verdicts) if passage.combine == "all" else all(verdicts))


@dataclass(frozen=True)
class Ways:
    """The places and ways of a circuit, and questions about them."""

    circuit: Circuit

    def spot(self, part: Part, end: str) -> Spot | None:
        """Return the place of a port, chamber or the atmosphere; None for a closed boss."""
        if end == ATMOSPHERE:
            return OUTSIDE
        port = part.kind.port(end)
        if port is None:
            return ("chamber", part.tag, end)
        line = self.circuit.line_at(part.tag, end)
        if line is not None:
            return ("line", line.tag)
        if port.optional:
            return None
        return OUTSIDE if port.role in (Role.EXHAUST, Role.INTAKE) else ("port", part.tag, end)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """Every passage between two places, in netlist order."""
        out = []
        for part in self.circuit.parts:
            for passage in part.kind.passages:
                start, end = self.spot(part, passage.start), self.spot(part, passage.end)
                if start is None or end is None:
                    continue
                forward = _open_way(part, passage, passage.start, passage.end)
                backward = passage.displacement is None and _open_way(
                    part, passage, passage.end, passage.start
                )
                free = _is_free(part, passage)
                out.append(Way(part, passage, start, end, forward, backward, free))
        return tuple(out)

    @cached_property
    def _around(self) -> dict[Spot, tuple[tuple[Spot, Way], ...]]:
        """From each place, the places air could go to next."""
        out: dict[Spot, list[tuple[Spot, Way]]] = {}
        for way in self.ways:
            if way.forward:
                out.setdefault(way.start, []).append((way.end, way))
            if way.backward:
                out.setdefault(way.end, []).append((way.start, way))
        return {spot: tuple(steps) for spot, steps in out.items()}

    def reach(self, seeds: Iterable[Spot], allow: Callable[[Way], bool] = lambda _: True) -> frozenset[Spot]:
        """Return the places that air from ``seeds`` could get to, through the inside but never through the outside."""
        seen = {seed for seed in seeds if seed != OUTSIDE}
        queue = deque(sorted(seen))
        while queue:
            for spot, way in self._around.get(queue.popleft(), ()):
                if spot != OUTSIDE and spot not in seen and allow(way):
                    seen.add(spot)
                    queue.append(spot)
        return frozenset(seen)

    # --- inside one part -----------------------------------------------------------------------------

    def inner(self, part: Part, port: str, *, free: bool = False) -> tuple[str, ...]:
        """Return the other ports and the chambers of a part that air from ``port`` could get to inside it.

        ``free``: through passages alone that no pressure and no latch opens or closes.
        """
        key = (part.tag, port, free)
        if key not in self._inside:
            self._inside[key] = tuple(
                name for name in _inner(part, port, free) if name not in (port, ATMOSPHERE)
            )
        return self._inside[key]

    @cached_property
    def _inside(self) -> dict[tuple[str, str, bool], tuple[str, ...]]:
        """What :meth:`inner` has worked out so far."""
        return {}

    @cached_property
    def _outlets(self) -> dict[tuple[At, str], tuple[At, ...]]:
        """What :meth:`outlets` has worked out so far."""
        return {}

    def both_ways(self, part: Part, port: Port) -> bool:
        """Whether a port serves as inlet as well as outlet: a tapping, any port of a store, an end of a cock."""
        if port.role is Role.TAPPING:
            return True
        if port.role in (Role.EXHAUST, Role.CONTROL, Role.INTAKE):
            return False
        joined = self.inner(part, port.id, free=True)
        if part.kind.place is Place.STORAGE:
            return bool(joined)
        return any(
            (other := part.kind.port(name)) is not None and other.role in (Role.SUPPLY, Role.DELIVERY)
            for name in joined
        )

    def gives(self, part: Part, port: Port) -> bool:
        """Whether air may be expected to come out of a port."""
        return port.role in (Role.DELIVERY, Role.EXHAUST) or self.both_ways(part, port)

    def takes(self, part: Part, port: Port) -> bool:
        """Whether air or a signal may be expected to go into a port."""
        return port.role in (Role.SUPPLY, Role.CONTROL, Role.INTAKE) or self.both_ways(part, port)

    # --- the normal direction: in at supplies, out at deliveries ----------------------------------------

    @cached_property
    def next_ports(self) -> dict[At, tuple[At, ...]]:
        """From each port where air comes out of a part: the ports where it goes in again, over the line."""
        out: dict[At, tuple[At, ...]] = {}
        for line in self.circuit.lines:
            for end in line.ends:
                if self.gives(end.part, end.port):
                    out[end.part.tag, end.port.id] = tuple(
                        (other.part.tag, other.port.id)
                        for other in line.ends
                        if other is not end and self.takes(other.part, other.port)
                    )
        return out

    def outlets(self, at: At, signals: str = "") -> tuple[At, ...]:
        """Return the ports where air that went in at ``at`` comes out of the same part.

        ``signals``: ``any`` counts whatever a signal at ``at`` has a say in, ``needed`` what does not come out without
        it.
        """
        key = (at, signals)
        if key not in self._outlets:
            self._outlets[key] = self._find_outlets(at, signals)
        return self._outlets[key]

    def _find_outlets(self, at: At, signals: str) -> tuple[At, ...]:
        part = self.circuit.part(at[0])
        assert part is not None
        names = (at[1], *self.inner(part, at[1]))
        if signals == "any":
            names = tuple(port.id for port in part.kind.ports)
        elif signals == "needed":
            names += _needing(part, names)
        return tuple(
            (part.tag, port.id)
            for name in dict.fromkeys(names)
            if (port := part.kind.port(name)) is not None
            and port.id != at[1]
            and port.role is not Role.EXHAUST
            and self.gives(part, port)
        )

    def downstream(
        self, start: Iterable[At], *, stop: Callable[[Part], bool] = lambda _: False, signals: str = ""
    ) -> dict[At, At | None]:
        """Return the inlets that air let *out* at ``start`` gets to, in order, each with the inlet it came by.

        Air goes into a part that ``stop`` holds for, but not through it. ``signals`` as for :meth:`outlets`.
        """
        came: dict[At, At | None] = {}
        queue: deque[tuple[At, At | None]] = deque((at, None) for at in start)
        done: set[At] = set()
        while queue:
            outlet, before = queue.popleft()
            if outlet in done:
                continue
            done.add(outlet)
            for inlet in self.next_ports.get(outlet, ()):
                if inlet in came:
                    continue
                came[inlet] = before
                part = self.circuit.part(inlet[0])
                assert part is not None
                if not stop(part):
                    queue.extend((out, inlet) for out in self.outlets(inlet, signals))
        return came

    def line_of(self, at: At) -> Line | None:
        """Return the line at a port."""
        return self.circuit.line_at(*at)

    def end_at(self, at: At) -> End | None:
        """Return the end of the line at a port."""
        line = self.circuit.line_at(*at)
        if line is None:
            return None
        return next(end for end in line.ends if (end.part.tag, end.port.id) == at)


def _needing(part: Part, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the ends of the passages that do not open without pressure at one of ``names``."""
    out: list[str] = []
    for passage in part.kind.passages:
        needs = [
            any(pressures(part, condition)[0].get(name, 0.0) > 0 for name in names)
            for condition in passage.conditions
        ]
        if needs and (any(needs) if passage.combine == "all" else all(needs)):
            out.append(passage.end)
    return tuple(
        name for name in out if (port := part.kind.port(name)) is None or port.role is not Role.EXHAUST
    )


def _is_free(part: Part, passage: Passage) -> bool:
    """Whether only an input, if anything, opens and closes a passage: no pressure and no latch."""
    latches = {memory.name for memory in part.kind.memories}
    forms = [pressures(part, condition) for condition in passage.conditions]
    return passage.displacement is None and not any(
        weights or latches & set(others) for weights, _, others in forms
    )


def _inner(part: Part, port: str, free: bool) -> tuple[str, ...]:
    seen = {port: None}
    queue = deque([port])
    while queue:
        here = queue.popleft()
        for passage in part.kind.passages:
            if free and not _is_free(part, passage):
                continue
            for start, end, back in ((passage.start, passage.end, False), (passage.end, passage.start, True)):
                if start != here or end in seen or end == ATMOSPHERE:
                    continue
                if back and passage.displacement is not None:
                    continue
                if _open_way(part, passage, start, end):
                    seen[end] = None
                    inner_port = part.kind.port(end)
                    if inner_port is None or inner_port.role is not Role.EXHAUST:
                        queue.append(end)
    return tuple(seen)
