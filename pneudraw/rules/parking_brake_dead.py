"""Parking brakes that do not come on."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.rules.air import NOTHING
from pneudraw.rules.brakes import FORCE, grouped
from pneudraw.rules.follow import held_at
from pneudraw.rules.registry import Finding, at_end, at_part, listed, rule
from pneudraw.rules.study import Study, spring_ports

STATE = "park-apply"


@rule(
    "parking-brake-dead",
    severity=Severity.ERROR,
    source="49 CFR 571.121 S5.6.3 and S5.6.4 (from memory)",
    needs="air",
)
def parking_brake_dead(study: Study) -> Iterator[Finding]:
    """Report a spring brake behind the parking control that does not come on when the control is worked.

    Why it matters
        The vehicle rolls away. The air that holds the spring off has no way out, or comes from elsewhere.

    Bad::

        circuit "A check valve keeps the spring held off"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          park  park-valve
          cv    check-valve
          c     spring-brake
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> park.1
          foot.2 -> c.11
          park.2 -> cv.1
          cv.2 -> c.12

    Good::

        circuit "The park valve vents the spring chamber"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          park  park-valve
          c     spring-brake
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> park.1
          foot.2 -> c.11
          park.2 -> c.12
    """
    air = study.air
    if air is None or STATE not in air.traces:
        return
    governed = {at[0] for at in study.behind("park")}
    off = [part for part in study.brakes if part.tag in governed and _held_off(study, part)]
    for group in grouped(study, off, spring_ports, lambda at: held_at(study, STATE, at)):
        stop = group.stop
        related = [at_end(end, "and here") for end in group.ends[1:]]
        if stop is not None:
            related.append(
                at_part(stop.part, f"holds the air at {stop.outlet}, though {stop.inlet} is empty")
            )
        brakes, verb = ("brake", "does") if len(group.brakes) == 1 else ("brakes", "do")
        yield Finding(
            f"the parking {brakes} of {listed([part.tag for part in group.brakes])} {verb} not come on when parking",
            at_end(group.ends[0], "pressure stays here and holds the spring off"),
            help="let the hold-off line vent at the parking control, or at a quick release valve behind it",
            related=tuple(related),
            ports=tuple(end.name for end in group.ends),
            about=tuple(part.tag for part in group.brakes) + (() if stop is None else (stop.part.tag,)),
        )


def _held_off(study: Study, part: Part) -> bool:
    assert study.air is not None
    brake = study.air.brake(STATE, part)
    return brake.spring is not None and brake.spring > NOTHING and brake.spring_force <= FORCE
