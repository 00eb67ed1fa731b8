"""Arrows of the netlist that the air does not follow."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Join, Line
from pneudraw.diagnostics import Label, Severity
from pneudraw.rules.registry import PRACTICE, Finding, rule
from pneudraw.rules.study import Study

#: dm3 of free air against the arrow that are worth a word, and the share of it that may go with the arrow
WORTH, SHARE = 0.05, 0.05
#: what may have become of a line where its flow tells its direction; a line that was vented flows back, rightly
FILLING = ("filled", "raised", "held", "empty", "flowing")


@rule("against-arrow", severity=Severity.WARNING, source=PRACTICE, needs="air")
def against_arrow(study: Study) -> Iterator[Finding]:
    """Report a `->` that air goes against in every state in which it fills the line.

    Why it matters
        The drawing is placed by these arrows and read by them. Either the arrow is wrong or the circuit is.

    Bad::

        circuit "The arrow points back at the valve"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          c     service-chamber
        lines
          s.2 -> t.1
          t.2 -> foot.1
          c.1 -> foot.2

    Good::

        circuit "The arrow points to the brake"
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
    if study.air is None:
        return
    for line in study.circuit.lines:
        for join in line.joins:
            if not join.directed or not _may_be_turned(study, line, join):
                continue
            along, against, state = _flow(study, line, join)
            if against <= WORTH or along > SHARE * against:
                continue
            yield Finding(
                f"air goes from `{join.end}` to `{join.start}`, against the arrow",
                Label(join.span, f"drawn from {join.start} to {join.end}"),
                help=f"in `{state}` {against:.2g} L of free air go the other way: write `{join.end} -> {join.start}`,"
                " or see whether two ports are exchanged",
                ports=(join.start, join.end),
                about=tuple(end.part.tag for end in line.ends),
            )


def _may_be_turned(study: Study, line: Line, join: Join) -> bool:
    """Whether the ports allow the other direction.

    They do not where the arrow starts at a delivery or ends at a supply or control port: air that comes back there all
    the same (one reservoir filling the other through a double check valve) is no fault of the arrow.
    """
    ends = {end.name: end for end in line.ends}
    start, end = ends[join.start], ends[join.end]
    return study.ways.takes(start.part, start.port) and study.ways.gives(end.part, end.port)


def _flow(study: Study, line: Line, join: Join) -> tuple[float, float, str]:
    """Return the most free air [dm3] that went with and against a join in one state, and the state of the latter."""
    along = against = 0.0
    where = ""
    assert study.air is not None
    for name, trace in study.air.traces.items():
        traced = next(entry for entry in trace.lines if entry.tag == line.tag)
        if traced.fate not in FILLING:
            continue
        toward = {branch.port: branch.toward for branch in traced.branches}
        flow = toward.get(join.end, 0.0)
        if abs(flow) < WORTH:
            flow = -toward.get(join.start, 0.0)
        if flow > along:
            along = flow
        if -flow > against:
            against, where = -flow, name
    return along, against, where
