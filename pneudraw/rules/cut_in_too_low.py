"""Governors that let the pressure fall too far."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import Finding, at_part, named, rule
from pneudraw.rules.settings import psi, setting_of, wording
from pneudraw.rules.study import Study

TRUCK, BUS = 100.0, 85.0  # psi, 49 CFR 571.121 S5.1.1.1


@rule("cut-in-too-low", severity=Severity.WARNING, source={"us": "49 CFR 571.121 S5.1.1.1"})
def cut_in_too_low(study: Study) -> Iterator[Finding]:
    """Report a governor that lets the pressure fall below 100 psi before the compressor pumps again.

    Why it matters
        The reservoirs must never be far from full when the driver needs them. The figure holds for trucks; a bus may
        go down to 85 psi.

    Bad::

        circuit "An old setting"
          rules us
        parts
          comp  compressor
          gov   governor     cut_in=80psi cut_out=105psi
          wet   reservoir
          x     plug
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> x.1

    Good::

        circuit "The setting of a new truck"
          rules us
        parts
          comp  compressor
          gov   governor     cut_in=100psi cut_out=125psi
          wet   reservoir
          x     plug
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> x.1
    """
    for part in study.governors:
        found = setting_of(part, "governor", rising=False)
        if found is None or found[0] >= psi(TRUCK) - 1.0:
            continue
        text = wording(study.circuit, part, found[1], found[0])
        bus = "enough for a bus, not for a truck" if found[0] >= psi(BUS) - 1.0 else "too low for a bus too"
        yield Finding(
            f"cut-in {text} of {named(part)} is below 100 psi",
            at_part(part, bus),
            help="set cut-in to 100 psi or more on a truck, 85 psi or more on a bus",
            about=(part.tag,),
        )
