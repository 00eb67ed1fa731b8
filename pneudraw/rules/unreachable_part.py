"""Parts that air never gets to."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Label, Severity
from pneudraw.library.model import Role
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study, outlets_of


@rule("unreachable-part", severity=Severity.ERROR, source=PRACTICE)
def unreachable_part(study: Study) -> Iterator[Finding]:
    """Report a part that no air can ever get to, and a circuit without anything that makes compressed air.

    Why it matters
        It is drawn and does nothing. Of several parts in a row only the first is reported: the others want nothing but
        its air.

    Bad::

        circuit "Two islands"
        parts
          s   air-source
          g   gauge
          t   reservoir
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> g.1
          t.2 -> v.1
          v.2 -> c.1
          t.1 -- t.a

    Good::

        circuit "All of it on the source"
        parts
          s   air-source
          g   gauge
          t   reservoir
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> t.1
          t.a -> g.1
          t.2 -> v.1
          v.2 -> c.1
    """
    if not study.origins:
        if not study.sources:
            yield Finding(
                "nothing in this circuit makes compressed air",
                Label(study.circuit.span, "no source of air"),
                help="add a compressor or another source to the parts",
                about=(),
            )
        return
    ways = study.ways
    seeds = [spot for at in study.origins if (spot := ways.spot(study.part(at), at[1])) is not None]
    reached = ways.reach(seeds)
    dry = [
        part
        for part in study.circuit.parts
        if not study.touches(part, reached) and not _breathes(study, part)
    ]
    for part in _first_ones(study, dry):
        ports = tuple(port.id for port in part.kind.ports if ways.line_of((part.tag, port.id)) is not None)
        yield Finding(
            f"no air can ever get to {named(part)}",
            at_part(part, "no source reaches this part"),
            help="join one of its inlets to a reservoir or to what feeds the others",
            ports=tuple(f"{part.tag}.{port}" for port in ports),
            about=(part.tag,),
            spoils=tuple((part.tag, port.id) for port in part.kind.ports),
        )


def _first_ones(study: Study, dry: list[Part]) -> list[Part]:
    """Return the parts behind which all the others stand: always the one with most behind it, in netlist order."""
    behind = {
        part.tag: {part.tag, *(at[0] for at in study.ways.downstream(outlets_of(study, part)))}
        for part in dry
    }
    left = {part.tag for part in dry}
    out: list[Part] = []
    while left:
        best = max((part for part in dry if part.tag in left), key=lambda part: len(behind[part.tag] & left))
        out.append(best)
        left -= behind[best.tag]
    return out


def _breathes(study: Study, part: Part) -> bool:
    """Whether a part stands on the outside of a source's intake, or is the source itself."""
    if part in study.sources:
        return True
    intakes = {
        line.tag
        for source in study.sources
        for port in source.kind.ports
        if port.role is Role.INTAKE and (line := study.ways.line_of((source.tag, port.id))) is not None
    }
    return bool(intakes) and study.touches(part, study.ways.reach([("line", tag) for tag in sorted(intakes)]))
