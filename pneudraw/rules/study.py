"""A circuit under study: what the rules ask about it, each answer worked out once.

Parts are told apart by what they do (place, port roles, what their inputs and memories are for), never by kind.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from pneudraw.circuit.model import Circuit, Part
from pneudraw.library.model import Condition, Expression, Place, Port, Role
from pneudraw.rules.ways import OUTSIDE, At, Spot, Ways, pressures

if TYPE_CHECKING:
    from pneudraw.rules.air import Air


@dataclass(frozen=True)
class Study:
    """The circuit, its ways, and what the air does in it. ``air`` is None if the states were not computed."""

    circuit: Circuit
    ways: Ways
    air: Air | None

    # --- what there is -------------------------------------------------------------------------------

    @cached_property
    def sources(self) -> tuple[Part, ...]:
        """Parts that make compressed air (an intake filter stands among the sources too, and makes none)."""
        return tuple(
            part for part in self._placed(Place.SOURCE) if any(p.displacement for p in part.kind.passages)
        )

    @cached_property
    def stores(self) -> tuple[Part, ...]:
        """Reservoirs."""
        return self._placed(Place.STORAGE)

    @cached_property
    def brakes(self) -> tuple[Part, ...]:
        """Parts that brake a wheel."""
        return tuple(part for part in self.circuit.parts if part.kind.brake is not None)

    @cached_property
    def couplings(self) -> tuple[Part, ...]:
        """Parts where one vehicle is joined to another."""
        return self._serving("coupling")

    @cached_property
    def governors(self) -> tuple[Part, ...]:
        """Parts with a memory that tells a source when to pump."""
        return self._remembering("governor")

    @cached_property
    def warnings(self) -> tuple[Part, ...]:
        """Parts with a memory that warns the driver."""
        return self._remembering("warning")

    @cached_property
    def gauges(self) -> tuple[Part, ...]:
        """Instruments that show a pressure all the time."""
        return tuple(part for part in self._placed(Place.INSTRUMENT) if not part.kind.memories)

    @cached_property
    def pedals(self) -> tuple[Part, ...]:
        """Parts the driver works the service brakes with."""
        return self._serving("service-brake")

    @cached_property
    def complete(self) -> bool:
        """Whether this is a whole vehicle's system: a source that can be told when to pump, reservoirs and brakes.

        A bench supply with a few parts behind it is not.
        """
        return bool(
            self.stores and self.brakes and any(part.kind.first(Role.CONTROL) for part in self.sources)
        )

    def _placed(self, place: Place) -> tuple[Part, ...]:
        return tuple(part for part in self.circuit.parts if part.kind.place is place)

    def _serving(self, purpose: str) -> tuple[Part, ...]:
        return tuple(p for p in self.circuit.parts if any(i.purpose == purpose for i in p.kind.inputs))

    def _remembering(self, purpose: str) -> tuple[Part, ...]:
        return tuple(p for p in self.circuit.parts if any(m.purpose == purpose for m in p.kind.memories))

    # --- where air comes from and goes to ---------------------------------------------------------------

    @cached_property
    def origins(self) -> tuple[At, ...]:
        """Ports where air comes into the circuit: deliveries of sources; without a source, the couplings."""
        if self.sources:
            return tuple(at for part in self.sources for at in outlets_of(self, part))
        return tuple(at for part in self.couplings for at in outlets_of(self, part))

    @cached_property
    def fed(self) -> dict[str, tuple[At, ...]]:
        """For each reservoir, the inlets its air gets to without going through another one."""
        return {
            part.tag: tuple(self.ways.downstream(outlets_of(self, part), stop=is_store))
            for part in self.stores
        }

    @cached_property
    def pedal_feeds(self) -> tuple[tuple[Part, Port, tuple[Part, ...]], ...]:
        """Each supply port of a part the driver brakes with, and the reservoirs that feed it."""
        return tuple(
            (part, port, tuple(store for store in self.stores if (part.tag, port.id) in self.fed[store.tag]))
            for part in self.pedals
            for port in part.kind.ports
            if port.role is Role.SUPPLY
        )

    @cached_property
    def service_stores(self) -> tuple[Part, ...]:
        """Reservoirs that feed a part the driver brakes with."""
        feeding = {store.tag for _, _, stores in self.pedal_feeds for store in stores}
        return tuple(store for store in self.stores if store.tag in feeding)

    @cached_property
    def brake_stores(self) -> tuple[Part, ...]:
        """Reservoirs whose air goes into a brake, or that feed what the driver brakes with."""
        out = []
        for store in self.stores:
            inlets = self.fed[store.tag]
            if store in self.service_stores or any(self.part(at).kind.brake is not None for at in inlets):
                out.append(store)
        return tuple(out)

    @cached_property
    def supply_stores(self) -> tuple[Part, ...]:
        """Reservoirs that only fill other reservoirs with brakes behind them."""
        wanted = {store.tag for store in self.brake_stores}
        return tuple(
            store
            for store in self.stores
            if store not in self.brake_stores and any(at[0] in wanted for at in self.fed[store.tag])
        )

    def part(self, at: At) -> Part:
        """Return the part of a port."""
        part = self.circuit.part(at[0])
        assert part is not None
        return part

    def behind(self, purpose: str) -> tuple[At, ...]:
        """Return the inlets whose air or signal comes from what has an input of a purpose, up to the couplings."""
        outs = [
            (part.tag, port.id)
            for part in self._serving(purpose)
            for port in part.kind.ports
            if port.role is Role.DELIVERY and self.ways.line_of((part.tag, port.id)) is not None
        ]
        return tuple(self.ways.downstream(outs, stop=lambda part: part in self.couplings, signals="any"))

    def stores_of(self, brake: Part) -> tuple[Part, ...]:
        """Return the reservoirs whose air goes into a brake's service side."""
        ports = service_ports(self, brake)
        return tuple(store for store in self.stores if any(at in self.fed[store.tag] for at in ports))

    # --- what stands beside what ------------------------------------------------------------------------

    def beside(self, store: Part) -> frozenset[Spot]:
        """Return the places that always have the pressure of a reservoir: joined to it by pipe, nothing between."""
        chambers = [("chamber", store.tag, chamber.name) for chamber in store.kind.chambers]
        others = {part.tag for part in self.stores} - {store.tag}
        return self.ways.reach(
            chambers, lambda way: way.free and not way.passage.conditions and way.part.tag not in others
        )

    def touches(self, part: Part, spots: frozenset[Spot]) -> bool:
        """Whether a port of a part is at one of the places."""
        return any(self.ways.spot(part, port.id) in spots for port in part.kind.ports)

    def loose(self, parts: Iterable[Part]) -> int:
        """Count the parts with a port that should have a line and has none."""
        open_to_air = (Role.EXHAUST, Role.INTAKE)
        return sum(
            any(
                not port.optional
                and port.role not in open_to_air
                and self.ways.line_of((part.tag, port.id)) is None
                for port in part.kind.ports
            )
            for part in parts
        )

    def relief(self, part: Part) -> float | None:
        """Return the gauge pressure [Pa] at which a part lets its inlet out to atmosphere; None if it never does."""
        for passage in part.kind.passages:
            port = part.kind.port(passage.start)
            if port is None or self.ways.spot(part, passage.end) != OUTSIDE or len(passage.conditions) != 1:
                continue
            level = level_of(part, passage.conditions[0], port.id)
            if level is not None and level > 0:
                return level
        return None


def is_store(part: Part) -> bool:
    """Whether a part keeps air."""
    return part.kind.place is Place.STORAGE


def outlets_of(study: Study, part: Part) -> tuple[At, ...]:
    """Return the joined ports of a part where its air comes out, exhausts left aside."""
    return tuple(
        (part.tag, port.id)
        for port in part.kind.ports
        if port.role is not Role.EXHAUST
        and study.ways.gives(part, port)
        and study.ways.line_of((part.tag, port.id))
    )


def inlets_of(study: Study, part: Part) -> tuple[At, ...]:
    """Return the joined ports of a part where air may go in."""
    return tuple(
        (part.tag, port.id)
        for port in part.kind.ports
        if study.ways.takes(part, port) and study.ways.line_of((part.tag, port.id))
    )


def service_ports(study: Study, brake: Part) -> tuple[At, ...]:
    """Return the ports that lead to a brake's service chamber."""
    if brake.kind.brake is None or brake.kind.brake.service is None:
        return ()
    return _ports_to(study, brake, brake.kind.brake.service.chamber)


def spring_ports(study: Study, brake: Part) -> tuple[At, ...]:
    """Return the ports that lead to a brake's spring hold-off chamber."""
    if brake.kind.brake is None or brake.kind.brake.spring is None:
        return ()
    return _ports_to(study, brake, brake.kind.brake.spring.chamber)


def _ports_to(study: Study, part: Part, chamber: str) -> tuple[At, ...]:
    return tuple(
        (part.tag, port.id) for port in part.kind.ports if chamber in study.ways.inner(part, port.id)
    )


def level_of(part: Part, condition: Condition, port: str) -> float | None:
    """Return the gauge pressure [Pa] at ``port`` above which a condition on that pressure alone begins to hold."""
    weights, constant, others = pressures(part, condition)
    if others or set(weights) != {port} or weights[port] <= 0:
        return None
    return -constant / weights[port]


def threshold(part: Part, form: Expression) -> tuple[str, float] | None:
    """Return the one port a memory's form watches and the gauge pressure [Pa] where it turns; else None."""
    weights, constant, others = pressures(part, Condition(form, form))
    if others or len(weights) != 1:
        return None
    (port, weight), *_ = weights.items()
    return port, -constant / weight
