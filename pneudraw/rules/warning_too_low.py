"""Low-pressure warnings that come too late."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import Finding, at_part, named, rule
from pneudraw.rules.settings import psi, setting_of, wording
from pneudraw.rules.study import Study

LEAST = 60.0  # psi, 49 CFR 571.121 S5.1.5


@rule("warning-too-low", severity=Severity.WARNING, source={"us": "49 CFR 571.121 S5.1.5"})
def warning_too_low(study: Study) -> Iterator[Finding]:
    """Report a low-pressure switch that is still silent at 60 psi.

    Why it matters
        The driver needs the warning while there is air left to stop with. In service 55 psi, or half of cut-out if
        that is less, is the limit (49 CFR 393.51); a new vehicle must warn below 60 psi.

    Bad::

        circuit "Warns at 45 psi"
          rules us
        parts
          s    air-source
          t    reservoir
          low  low-pressure-switch   setting=45psi
        lines
          s.2 -> t.1
          t.2 -> low.4

    Good::

        circuit "Warns at 70 psi"
          rules us
        parts
          s    air-source
          t    reservoir
          low  low-pressure-switch   setting=70psi
        lines
          s.2 -> t.1
          t.2 -> low.4
    """
    for part in study.warnings:
        found = setting_of(part, "warning", rising=True)
        if found is None or found[0] >= psi(LEAST) - 1.0:
            continue
        text = wording(study.circuit, part, found[1], found[0])
        yield Finding(
            f"{named(part)} warns only below {text}; the warning must be on below 60 psi",
            at_part(part),
            help="set it to 60 psi or more; 70 psi is usual",
            about=(part.tag,),
        )
