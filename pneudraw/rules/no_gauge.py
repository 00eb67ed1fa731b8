"""Service reservoirs whose pressure nobody sees."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study


@rule(
    "no-gauge",
    severity=Severity.WARNING,
    source={"us": "49 CFR 571.121 S5.1.4 (from memory)", "none": PRACTICE},
)
def no_gauge(study: Study) -> Iterator[Finding]:
    """Report a service reservoir without a gauge.

    Why it matters
        The driver must see the pressure of each service circuit: the two needles tell which one is losing air.

    Bad::

        circuit "Only the supply reservoir has a gauge"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          g     gauge
          cv    check-valve
          tank  reservoir
          v     foot-valve-single
          c     service-chamber
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.b -> g.1
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "The service reservoir has a gauge"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          g     gauge
          cv    check-valve
          tank  reservoir
          v     foot-valve-single
          c     service-chamber
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.b -> g.1
          tank.2 -> v.1
          v.2 -> c.1
    """
    if not study.complete:
        return
    missing = [
        store
        for store in study.service_stores
        if not any(study.touches(part, study.beside(store)) for part in study.gauges)
    ]
    if len(missing) <= study.loose(study.gauges):
        return  # they are there and not joined, which is reported as such
    for store in missing:
        yield Finding(
            f"no gauge shows the pressure in {named(store)}",
            at_part(store, "this pressure cannot be read"),
            help=f"join a gauge to a boss of `{store.tag}`",
            about=(store.tag,),
        )
