"""Reservoirs too small for the brake chambers they serve."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.expression import linear
from pneudraw.rules.registry import Finding, at_part, listed, named, rule
from pneudraw.rules.study import Study
from pneudraw.rules.ways import numbers
from pneudraw.units import convert, show

MOTOR_VEHICLE, TRAILER = 12.0, 8.0  # times the rated chamber volumes; 49 CFR 571.121 S5.1.2.1, S5.2.1.1


@rule(
    "reservoirs-too-small",
    severity=Severity.WARNING,
    source={"us": "49 CFR 571.121 S5.1.2.1 (trucks and buses), S5.2.1.1 (trailers, from memory)"},
)
def reservoirs_too_small(study: Study) -> Iterator[Finding]:
    """Report reservoirs that hold too little for their brake chambers.

    Why it matters
        With the compressor stopped a few applications must be left. On a truck or bus all service and supply reservoirs
        together hold at least 12 times the rated volume of all service chambers; on a trailer each service
        reservoir holds at least 8 times the chambers it serves.

    Bad::

        circuit "Four type 30 chambers on 2000 in3"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir         volume=800in3
          cv    check-valve
          tank  reservoir         volume=1200in3
          v     foot-valve-single
          c1, c2, c3, c4   service-chamber   type=30
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c1.1, c2.1, c3.1, c4.1

    Good::

        circuit "Four type 30 chambers on 4300 in3"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir         volume=1300in3
          cv    check-valve
          tank  reservoir         volume=3000in3
          v     foot-valve-single
          c1, c2, c3, c4   service-chamber   type=30
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c1.1, c2.1, c3.1, c4.1
    """
    counted = [store for store in study.stores if store in study.brake_stores + study.supply_stores]
    for vehicle in _vehicles(study):
        stores = [store for store in counted if store.tag in vehicle]
        brakes = [brake for brake in study.brakes if brake.tag in vehicle and _rated(brake) > 0]
        if any(source.tag in vehicle and source.kind.inputs for source in study.sources):
            if study.complete and stores and brakes:
                yield from _short(stores, brakes, MOTOR_VEHICLE)
        elif vehicle & {part.tag for part in study.couplings} or study.complete:
            for store in stores:
                served = [brake for brake in brakes if store in study.stores_of(brake)]
                if served:
                    yield from _short([store], served, TRAILER)


def _short(stores: list[Part], brakes: list[Part], times: float) -> Iterator[Finding]:
    volume, chambers = sum(_volume(store) for store in stores), sum(_rated(brake) for brake in brakes)
    if volume >= times * chambers * (1 - 1e-6):
        return
    tags = listed([store.tag for store in stores])
    whose = f"{tags} together hold" if len(stores) > 1 else f"{named(stores[0])} holds"
    yield Finding(
        f"{whose} {_told(volume)}, {volume / chambers:.1f} times the {_told(chambers)} of their brake chambers;"
        f" {times:g} times are required",
        at_part(stores[0], _told(_volume(stores[0]))),
        help=f"at least {_told(times * chambers)} are needed",
        related=tuple(at_part(store, _told(_volume(store))) for store in stores[1:]),
        about=tuple(part.tag for part in (*stores, *brakes)),
    )


def _vehicles(study: Study) -> tuple[frozenset[str], ...]:
    """Return the parts of each vehicle: what hangs together when the couplings are taken apart."""
    couplings = {part.tag for part in study.couplings}
    near: dict[str, list[str]] = {part.tag: [] for part in study.circuit.parts}
    for line in study.circuit.lines:
        first = line.ends[0].part.tag
        for end in line.ends[1:]:
            near[first].append(end.part.tag)
            near[end.part.tag].append(first)
    out, seen = [], set(couplings)
    for part in study.circuit.parts:
        if part.tag in seen:
            continue
        group, queue = {part.tag}, [part.tag]
        while queue:
            for tag in near[queue.pop()]:
                if tag not in group:
                    group.add(tag)
                    if tag not in couplings:
                        queue.append(tag)
        seen |= group
        out.append(frozenset(group))
    return tuple(out)


def _volume(store: Part) -> float:
    return sum(linear(chamber.volume, numbers(store)).constant for chamber in store.kind.chambers)


def _rated(brake: Part) -> float:
    if brake.kind.brake is None or brake.kind.brake.service is None or brake.kind.brake.rated_volume is None:
        return 0.0
    return linear(brake.kind.brake.rated_volume, numbers(brake)).constant


def _told(volume: float) -> str:
    return f"{convert(volume, 'in3'):.0f} in3 ({show(volume, 'L')})"
