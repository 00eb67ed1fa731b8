"""Safety valves that open before the governor cuts out."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.no_relief_valve import on_supply_side
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.settings import setting_of, told, wording
from pneudraw.rules.study import Study


@rule("relief-below-cut-out", severity=Severity.ERROR, source=PRACTICE)
def relief_below_cut_out(study: Study) -> Iterator[Finding]:
    """Report a safety valve on the supply side that opens below the governor's cut-out.

    Why it matters
        The compressor pumps against the open valve and the governor never sees its cut-out: noise, heat, and no purge
        of the dryer.

    Bad::

        circuit "The safety valve is first"
        parts
          comp  compressor
          gov   governor      cut_in=100psi cut_out=125psi
          wet   reservoir
          sv    safety-valve  opens=120psi
          x     plug
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> x.1
          wet.b -> sv.1

    Good::

        circuit "The governor is first"
        parts
          comp  compressor
          gov   governor      cut_in=100psi cut_out=125psi
          wet   reservoir
          sv    safety-valve  opens=150psi
          x     plug
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> x.1
          wet.b -> sv.1
    """
    outs = [(found, part) for part in study.governors if (found := setting_of(part, "governor", rising=True))]
    if not outs:
        return
    (cut_out, form), governor = max(outs, key=lambda pair: pair[0][0])
    for part in on_supply_side(study):
        opens = study.relief(part)
        if opens is None or opens > cut_out:
            continue
        yield Finding(
            f"{named(part)} opens at {told(study.circuit, opens)}, not above the cut-out"
            f" {wording(study.circuit, governor, form, cut_out)} of `{governor.tag}`",
            at_part(part),
            help="a safety valve usually opens at 150 psi with cut-out at 120 to 130 psi",
            related=(at_part(governor, "cuts out here"),),
            about=(part.tag, governor.tag),
        )
