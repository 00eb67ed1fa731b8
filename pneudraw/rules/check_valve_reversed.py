"""One-way parts that stand against the air."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Port, Role
from pneudraw.rules.registry import PRACTICE, Finding, at_end, named, rule
from pneudraw.rules.study import Study
from pneudraw.rules.ways import At


@rule("check-valve-reversed", severity=Severity.ERROR, source=PRACTICE)
def check_valve_reversed(study: Study) -> Iterator[Finding]:
    """Report a part that lets air through one way only and is fitted the wrong way round.

    Why it matters
        No air gets past it, so everything behind it stays empty. The arrow cast on the body is easily missed under
        dirt.

    Bad::

        circuit "Check valve the wrong way round"
        parts
          s   air-source
          cv  check-valve
          t   reservoir
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> cv.2
          cv.1 -> t.1
          t.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "In at 1, out at 2"
        parts
          s   air-source
          cv  check-valve
          t   reservoir
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> cv.1
          cv.2 -> t.1
          t.2 -> v.1
          v.2 -> c.1
    """
    for part in against_the_air(study):
        pair = _one_way(study, part)
        assert pair is not None
        inlet, outlet = (part.tag, pair[0].id), (part.tag, pair[1].id)
        wrong, other = study.ways.end_at(outlet), study.ways.end_at(inlet)
        if wrong is None or other is None:
            continue
        yield Finding(
            f"{named(part)} is the wrong way round: the air comes to its delivery `{wrong.name}`",
            at_end(
                wrong,
                f"air comes in here, but {part.tag} lets it through from {inlet[1]} to {outlet[1]} only",
            ),
            help=f"exchange `{wrong.name}` and `{other.name}`",
            related=(at_end(other, "and should leave here"),),
            ports=(wrong.name, other.name),
            spoils=(inlet, *_beyond(study, inlet)),
        )


def against_the_air(study: Study) -> tuple[Part, ...]:
    """Return the one-way parts whose delivery the air comes to, and whose supply it does not get to without them."""
    out = []
    for part in study.circuit.parts:
        pair = _one_way(study, part)
        if pair is None:
            continue
        reached = _lines_reached(study, part)
        supply, delivery = (study.ways.line_of((part.tag, port.id)) for port in pair)
        if supply is None or delivery is None:
            continue
        if delivery.tag in reached and supply.tag not in reached:
            out.append(part)
    return tuple(out)


def _one_way(study: Study, part: Part) -> tuple[Port, Port] | None:
    """Return the supply and delivery of a part that has one of each and lets air through one way only."""
    supplies = [port for port in part.kind.ports if port.role is Role.SUPPLY]
    deliveries = [port for port in part.kind.ports if port.role is Role.DELIVERY]
    if len(supplies) != 1 or len(deliveries) != 1:
        return None
    supply, delivery = supplies[0], deliveries[0]
    through = delivery.id in study.ways.inner(part, supply.id)
    back = supply.id in study.ways.inner(part, delivery.id)
    return (supply, delivery) if through and not back else None


def _lines_reached(study: Study, part: Part) -> frozenset[str]:
    """Return the lines that air gets into, in at inlets and out at outlets, without going through ``part``."""
    inlets = study.ways.downstream(study.origins, stop=lambda other: other is part)
    outlets = [*study.origins, *(out for at in inlets if at[0] != part.tag for out in study.ways.outlets(at))]
    return frozenset(line.tag for at in outlets if (line := study.ways.line_of(at)) is not None)


def _beyond(study: Study, at: At) -> tuple[At, ...]:
    """Return the other ends of the line at a port."""
    line = study.ways.line_of(at)
    ends = line.ends if line is not None else ()
    return tuple((end.part.tag, end.port.id) for end in ends if (end.part.tag, end.port.id) != at)
