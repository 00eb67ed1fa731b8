"""Reservoirs that do not keep their air when what fills them is lost."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import End, Part
from pneudraw.diagnostics import Severity
from pneudraw.rules.experiments import loss_name, lost, sections, supply_name, supply_of
from pneudraw.rules.registry import Finding, at_end, named, rule
from pneudraw.rules.study import Study


@rule(
    "missing-check-valve",
    severity=Severity.ERROR,
    source="49 CFR 571.121 S5.1.2.3 and S5.2.1.4 (from memory), 49 CFR 393.50(b)",
    needs="air",
)
def missing_check_valve(study: Study) -> Iterator[Finding]:
    """Report a service reservoir whose air runs back the way it came when the air before it is lost.

    Why it matters
        A broken compressor line, a leaking supply reservoir or the loss of the other circuit must leave the brakes
        what they have. It is found as in the yard: charged, engine stopped, the lines before the reservoir opened,
        and then watched.

    Bad::

        circuit "Nothing holds the service reservoir's air"
        parts
          s     air-source
          wet   reservoir
          tank  reservoir
          v     foot-valve-single
          c     service-chamber
        lines
          s.2 -> wet.1
          wet.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "A check valve before the service reservoir"
        parts
          s     air-source
          wet   reservoir
          cv    check-valve
          tank  reservoir
          v     foot-valve-single
          c     service-chamber
        lines
          s.2 -> wet.1
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c.1
    """
    for store in study.brake_stores:
        found = back_flow(study, store)
        if found is None:
            continue
        name, end = found
        line = study.ways.line_of((store.tag, end.port.id))
        receiver = _receiver(study, name, store, end)
        related = () if receiver is None else (at_end(receiver, f"and into {receiver.part.tag} here"),)
        yield Finding(
            f"{named(store)} has no check valve before it: its air runs back through `{end.name}`",
            at_end(end, "the reservoir empties here when the air before it is lost"),
            help=f"put a check valve into line `{line.tag if line else ''}`, its delivery towards `{end.name}`",
            related=related,
            ports=(end.name,),
            about=(store.tag,),
        )


def back_flow(study: Study, store: Part) -> tuple[str, End] | None:
    """Return an experiment in which a reservoir empties through its own inlet, and that inlet; None if it holds."""
    supply = supply_of(study, store)
    names = [supply_name(supply.lines)] if supply.lines else []
    names += [
        loss_name(section) for group in sections(study) for section in group if store not in section.stores
    ]
    for name in names:
        port = lost(study, name, store)
        if port is not None and (store.tag, port) in supply.inlets:
            end = study.ways.end_at((store.tag, port))
            if end is not None:
                return name, end
    return None


def _receiver(study: Study, name: str, store: Part, end: End) -> End | None:
    """Return the end of the same line by which most of the air went on."""
    line = study.ways.line_of((store.tag, end.port.id))
    if line is None or study.air is None:
        return None
    taken = {
        other.name: -study.air.out_of(name, other.part).get(other.port.id, 0.0)
        for other in line.ends
        if other is not end
    }
    best = max(taken, key=lambda key: taken[key])
    return next(other for other in line.ends if other.name == best) if taken[best] > 0 else None
