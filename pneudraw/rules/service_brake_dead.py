"""Service brakes that do not come on."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.diagnostics import Severity
from pneudraw.rules.air import NOTHING
from pneudraw.rules.brakes import grouped
from pneudraw.rules.follow import blocked_at
from pneudraw.rules.registry import PRACTICE, Finding, at_end, at_part, listed, rule
from pneudraw.rules.study import Study, service_ports

STATE = "service-apply"


@rule("service-brake-dead", severity=Severity.ERROR, source=PRACTICE, needs="air")
def service_brake_dead(study: Study) -> Iterator[Finding]:
    """Report a service brake chamber that gets no pressure at a full application.

    Why it matters
        That wheel does not brake. The air is followed back to the part that does not let it through.

    Bad::

        circuit "The relay gets no signal"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          r     relay-valve
          c     service-chamber
          d     service-chamber
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> r.1
          foot.2 -> d.1
          r.4 -- r.3
          r.2 -> c.1

    Good::

        circuit "The foot valve's delivery is the relay's signal"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          r     relay-valve
          c     service-chamber
          d     service-chamber
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> r.1
          foot.2 -> d.1, r.4
          r.2 -> c.1
    """
    air = study.air
    if air is None or STATE not in air.traces:
        return
    dead = [
        part
        for part, brake in ((part, air.brake(STATE, part)) for part in study.brakes)
        if brake.service is not None and brake.service <= NOTHING
    ]
    for group in grouped(study, dead, service_ports, lambda at: blocked_at(study, STATE, at)):
        stop = group.stop
        related = [at_end(end, "nor here") for end in group.ends[1:]]
        about = [part.tag for part in group.brakes]
        help = "follow the service line back to the pedal"
        if stop is not None:
            about.append(stop.part.tag)
            related.append(
                at_part(stop.part, f"air stands at {stop.inlet} and does not come out at {stop.outlet}")
            )
            help = f"look at `{stop.part.tag}`"
            if stop.control is not None:
                help = (
                    f"no signal comes to `{stop.part.tag}.{stop.control}`: join it to what the pedal delivers"
                )
        verb = "gets" if len(group.brakes) == 1 else "get"
        yield Finding(
            f"{listed([part.tag for part in group.brakes])} {verb} no pressure when the pedal is pressed",
            at_end(group.ends[0], "no service pressure comes here"),
            help=help,
            related=tuple(related),
            ports=tuple(end.name for end in group.ends),
            about=tuple(about),
        )
