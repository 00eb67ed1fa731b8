"""Service circuits whose loss nobody is warned of."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study


@rule(
    "no-low-pressure-warning",
    severity=Severity.WARNING,
    source={
        "us": "49 CFR 571.121 S5.1.5",
        "un": "UN Regulation No. 13 5.2.1.13 (from memory)",
        "none": PRACTICE,
    },
)
def no_low_pressure_warning(study: Study) -> Iterator[Finding]:
    """Report a service reservoir that no low-pressure switch watches.

    Why it matters
        The driver must be warned of the loss of either circuit. One switch on the supply reservoir is not enough: the
        compressor may keep that one full while a circuit is already empty.

    Bad::

        circuit "The switch sits on the supply reservoir"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          low   low-pressure-switch
          cv    check-valve
          tank  reservoir
          v     foot-valve-single
          c     service-chamber
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.b -> low.4
          wet.2 -> cv.1
          cv.2 -> tank.1
          tank.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "The switch watches the service reservoir"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          low   low-pressure-switch
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
          tank.b -> low.4
          tank.2 -> v.1
          v.2 -> c.1
    """
    if not study.complete:
        return
    missing = [
        store
        for store in study.service_stores
        if not any(study.touches(part, study.beside(store)) for part in study.warnings)
    ]
    if len(missing) <= study.loose(study.warnings):
        return  # they are there and not joined, which is reported as such
    for store in missing:
        yield Finding(
            f"nothing warns the driver when {named(store)} runs low",
            at_part(store, "no low-pressure switch watches this one"),
            help=f"join a low-pressure switch to a boss of `{store.tag}`",
            about=(store.tag,),
        )
