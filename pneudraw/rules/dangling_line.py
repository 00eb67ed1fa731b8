"""Lines whose ends do not go together."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Line
from pneudraw.diagnostics import Label, Severity
from pneudraw.rules.check_valve_reversed import against_the_air
from pneudraw.rules.registry import PRACTICE, Finding, at_end, listed, rule
from pneudraw.rules.study import Study


@rule("dangling-line", severity=Severity.ERROR, source=PRACTICE)
def dangling_line(study: Study) -> Iterator[Finding]:
    """Report a line that nothing feeds, or that nothing takes air from.

    Why it matters
        A line between two inlets stays empty for ever; a line between two outlets leads nowhere. Most often a
        port number was mixed up.

    Bad::

        circuit "Two inlets joined to each other"
        parts
          s    air-source
          t    reservoir
          v    foot-valve-single
          r    relay-valve
          c    service-chamber
        lines
          s.2 -> t.1
          t.2 -> r.1
          v.1 -- r.4
          v.2 -> c.1
          t.a -- r.2

    Good::

        circuit "From an outlet to an inlet"
        parts
          s    air-source
          t    reservoir
          v    foot-valve-single
          r    relay-valve
          c    service-chamber
        lines
          s.2 -> t.1
          t.2 -> r.1
          t.a -> v.1
          v.2 -> r.4
          r.2 -> c.1
    """
    reversed_parts = against_the_air(study)  # their lines look wrong only because of them
    for line in study.circuit.lines:
        if any(end.part in reversed_parts for end in line.ends):
            continue
        names = tuple(end.name for end in line.ends)
        gives = any(study.ways.gives(end.part, end.port) for end in line.ends)
        takes = any(study.ways.takes(end.part, end.port) for end in line.ends)
        if len(line.ends) < 2:
            yield Finding(
                f"line `{line.tag}` has one end only: {listed(names)}",
                at_end(line.ends[0], "and where does it go?"),
                help="join its other end to a port, or take the line out",
                ports=names,
                spoils=_ends(line),
            )
        elif not gives:
            yield Finding(
                f"nothing can feed line `{line.tag}`: {listed(names)} only take air",
                _where(line, "this line stays empty"),
                help="join it to a delivery port or a reservoir",
                ports=names,
                spoils=_ends(line),
            )
        elif not takes:
            yield Finding(
                f"nothing takes air from line `{line.tag}`: {listed(names)} only give it",
                _where(line, "this line leads nowhere"),
                help="join it to a supply or control port, or close the ports with plugs",
                ports=names,
            )


def _ends(line: Line) -> tuple[tuple[str, str], ...]:
    return tuple((end.part.tag, end.port.id) for end in line.ends)


def _where(line: Line, text: str) -> Label:
    return Label(line.joins[0].span if len(line.joins) == 1 else line.span, text)
