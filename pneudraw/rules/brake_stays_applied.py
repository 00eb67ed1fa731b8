"""Service brakes that do not go off."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.rules.air import NOTHING
from pneudraw.rules.brakes import FORCE, grouped
from pneudraw.rules.follow import held_at
from pneudraw.rules.registry import PRACTICE, Finding, at_end, at_part, listed, rule
from pneudraw.rules.study import Study, service_ports

#: the pedal is up in both: before it was ever pressed, and after
STATES = {"ready": "with the pedal up", "service-release": "after the pedal is let up"}


@rule("brake-stays-applied", severity=Severity.ERROR, source=PRACTICE, needs="air")
def brake_stays_applied(study: Study) -> Iterator[Finding]:
    """Report a service brake that is on with the pedal up.

    Why it matters
        The brake drags: heat, fire, no brake left when it is wanted. The air in the chamber has no way out.

    Bad::

        circuit "A check valve in the service line"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          cv    check-valve
          c     service-chamber
        lines
          s.2 -> t.1
          t.2 -> foot.1
          foot.2 -> cv.1
          cv.2 -> c.1

    Good::

        circuit "The air leaves at the foot valve"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          c     service-chamber
        lines
          s.2 -> t.1
          t.2 -> foot.1
          foot.2 -> c.1
    """
    air = study.air
    if air is None:
        return
    told: set[str] = set()
    for state, when in STATES.items():
        if state not in air.traces:
            continue
        on = [part for part in study.brakes if part.tag not in told and _on(study, state, part)]
        told |= {part.tag for part in on}
        for group in grouped(study, on, service_ports, partial(held_at, study, state)):
            stop = group.stop
            related = [at_end(end, "and here") for end in group.ends[1:]]
            if stop is not None:
                related.append(
                    at_part(stop.part, f"holds the air at {stop.outlet}, though {stop.inlet} is empty")
                )
            verb = "stays" if len(group.brakes) == 1 else "stay"
            yield Finding(
                f"{listed([part.tag for part in group.brakes])} {verb} applied {when}",
                at_end(group.ends[0], "pressure stays here"),
                help="give the air a way out: the exhaust of the valve that let it in, or a quick release valve",
                related=tuple(related),
                ports=tuple(end.name for end in group.ends),
                about=tuple(part.tag for part in group.brakes) + (() if stop is None else (stop.part.tag,)),
            )


def _on(study: Study, state: str, part: Part) -> bool:
    assert study.air is not None
    brake = study.air.brake(state, part)
    return (
        brake.service is not None
        and brake.service > NOTHING
        and brake.service_force > FORCE
        and all(study.air.settled(state, at) for at in service_ports(study, part))
    )
