"""Reservoirs that cannot be drained."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Place
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study
from pneudraw.rules.ways import ATMOSPHERE


@rule(
    "no-drain",
    severity=Severity.WARNING,
    source={"us": "49 CFR 571.121 S5.1.2.4 and S5.2.1.3 (from memory)", "none": PRACTICE},
)
def no_drain(study: Study) -> Iterator[Finding]:
    """Report a reservoir without a drain.

    Why it matters
        Water collects in every reservoir, the first one most. It takes the room of air, freezes in valves and
        washes out grease. Every reservoir needs a drain that can be worked by hand.

    Bad::

        circuit "Nowhere for the water to go"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          sv    safety-valve
          v     foot-valve-single
          c     service-chamber
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.b -> sv.1
          wet.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "A drain at the lowest boss"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          sv    safety-valve
          d     drain-valve
          v     foot-valve-single
          c     service-chamber
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.b -> sv.1
          wet.d -> d.1
          wet.2 -> v.1
          v.2 -> c.1
    """
    if not (study.complete or study.couplings):
        return
    drains = [part for part in study.circuit.parts if is_drain(part)]
    missing = [
        store
        for store in study.stores
        if not any(study.touches(part, study.beside(store)) for part in drains)
    ]
    if len(missing) <= study.loose(drains):
        return  # they are there and not joined, which is reported as such
    for store in missing:
        yield Finding(
            f"{named(store)} has no drain",
            at_part(store, "water stays in here"),
            help=f"join a drain valve to a lower boss of `{store.tag}`",
            about=(store.tag,),
        )


def is_drain(part: Part) -> bool:
    """Whether a part lets water out: a fitting with a way to atmosphere that is a drain cock's or works by itself."""
    vents = [p for p in part.kind.passages if ATMOSPHERE in (p.start, p.end) and p.conditions]
    return (
        part.kind.place is Place.FITTING
        and bool(vents)
        and all(inp.purpose == "drain" for inp in part.kind.inputs)
    )
