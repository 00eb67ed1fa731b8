"""Spring brakes that cannot be released."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.brakes import FORCE, grouped
from pneudraw.rules.follow import blocked_at
from pneudraw.rules.registry import PRACTICE, Finding, at_end, at_part, listed, rule
from pneudraw.rules.study import Study, spring_ports
from pneudraw.units import show

STATE = "ready"


@rule("spring-brake-held-on", severity=Severity.ERROR, source=PRACTICE, needs="air")
def spring_brake_held_on(study: Study) -> Iterator[Finding]:
    """Report a spring brake that is not fully released when the vehicle is charged and the parking control is in.

    Why it matters
        The vehicle cannot move, or moves with a dragging brake. The hold-off chamber does not get enough pressure.

    Bad::

        circuit "Hold-off pressure through a safety valve's setting"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          park  park-valve
          low   pressure-reducer  setting=20psi
          c     spring-brake
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> park.1
          foot.2 -> c.11
          park.2 -> low.1
          low.2 -> c.12

    Good::

        circuit "Full reservoir pressure holds the spring off"
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
    held = [part for part in study.brakes if air.brake(STATE, part).spring_force > FORCE]
    for group in grouped(study, held, spring_ports, lambda at: blocked_at(study, STATE, at)):
        stop = group.stop
        pressure = air.brake(STATE, group.brakes[0]).spring or 0.0
        related = [at_end(end, "nor here") for end in group.ends[1:]]
        help = "the hold-off line needs nearly full reservoir pressure"
        if stop is not None:
            related.append(
                at_part(stop.part, f"air stands at {stop.inlet} and does not come out at {stop.outlet}")
            )
            help = f"look at `{stop.part.tag}`"
            if stop.control is not None:
                help = f"no signal comes to `{stop.part.tag}.{stop.control}`"
        springs, verb = ("spring", "is") if len(group.brakes) == 1 else ("springs", "are")
        yield Finding(
            f"the {springs} of {listed([part.tag for part in group.brakes])} {verb} not held off when ready to drive:"
            f" {show(max(0.0, pressure) * 1e5, study.circuit.unit)} is not enough",
            at_end(group.ends[0], "too little pressure to release the brake"),
            help=help,
            related=tuple(related),
            ports=tuple(end.name for end in group.ends),
            about=tuple(part.tag for part in group.brakes) + (() if stop is None else (stop.part.tag,)),
        )
