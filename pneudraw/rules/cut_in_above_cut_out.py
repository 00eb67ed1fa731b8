"""Governors with their two settings exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.settings import setting_of, wording
from pneudraw.rules.study import Study


@rule("cut-in-above-cut-out", severity=Severity.ERROR, source=PRACTICE)
def cut_in_above_cut_out(study: Study) -> Iterator[Finding]:
    """Report a governor whose cut-in is not below its cut-out.

    Why it matters
        Between the two the compressor rests. Without a span it would be switched on and off without end.

    Bad::

        circuit "Settings exchanged"
        parts
          comp  compressor
          gov   governor     cut_in=125psi cut_out=100psi
          wet   reservoir
          x     plug
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.2 -> x.1

    Good::

        circuit "Cut-in below cut-out"
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
        out, back = setting_of(part, "governor", rising=True), setting_of(part, "governor", rising=False)
        if out is None or back is None or back[0] < out[0]:
            continue
        low, high = (
            wording(study.circuit, part, back[1], back[0]),
            wording(study.circuit, part, out[1], out[0]),
        )
        yield Finding(
            f"cut-in {low} of {named(part)} is not below its cut-out {high}",
            at_part(part),
            help="cut-in is usually 15 to 25 psi below cut-out",
            about=(part.tag,),
            mutes=(part.tag,),
        )
