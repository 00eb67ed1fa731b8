"""Air that came into a line and cannot get out again."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Line
from pneudraw.diagnostics import Label, Severity
from pneudraw.rules.air import NOTHING
from pneudraw.rules.follow import held_at
from pneudraw.rules.registry import PRACTICE, Finding, at_part, rule
from pneudraw.rules.study import Study
from pneudraw.rules.ways import At
from pneudraw.units import show

#: the state in which a line was empty, the one after which it should be empty again, and how that one is told
ROUNDS = (
    ("ready", "service-release", "after the pedal is let up"),
    ("cut-out", "park-apply", "after parking"),
)


@rule("trapped-air", severity=Severity.WARNING, source=PRACTICE, needs="air")
def trapped_air(study: Study) -> Iterator[Finding]:
    """Report a line that was empty, was filled, and keeps its air though it should be empty again.

    Why it matters
        A signal that stays is worse than none: what it works does not go back. It also sprays whoever opens the line.
        Lines to brakes are left to the rules on brakes that stay applied.

    Bad::

        circuit "The signal to the relay's second axle stays"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          c     service-chamber
          cv    check-valve
          lamp  stop-lamp-switch
        lines
          s.2 -> t.1
          t.2 -> foot.1
          foot.2 -> c.1, cv.1
          cv.2 -> lamp.4

    Good::

        circuit "The signal goes as it came"
        parts
          s     air-source
          t     reservoir
          foot  foot-valve-single
          c     service-chamber
          lamp  stop-lamp-switch
        lines
          s.2 -> t.1
          t.2 -> foot.1
          foot.2 -> c.1, lamp.4
    """
    air = study.air
    if air is None:
        return
    told: set[str] = set()
    # the trailer's supply stays on when the tractor is parked
    parking = _lines(study, study.behind("park")) - _lines(study, study.behind("trailer-supply"))
    for empty, after, when in ROUNDS:
        if empty not in air.traces or after not in air.traces:
            continue
        kept = [
            line
            for line in study.circuit.lines
            if line.tag not in told
            and _pressure(study, empty, line) <= NOTHING < _pressure(study, after, line)
            and (after != "park-apply" or line.tag in parking)
            and air.settled(after, (line.ends[0].part.tag, line.ends[0].port.id))
            and all(end.part.kind.brake is None for end in line.ends)
        ]
        for line in _first_of_each(study, kept):
            told.add(line.tag)
            stop = held_at(study, after, (line.ends[0].part.tag, line.ends[0].port.id))
            stop = stop or held_at(study, after, (line.ends[-1].part.tag, line.ends[-1].port.id))
            text = show(_pressure(study, after, line) * 1e5, study.circuit.unit)
            span = line.joins[0].span if len(line.joins) == 1 else line.span
            yield Finding(
                f"line `{line.tag}` keeps {text} {when}",
                Label(span, "this air has no way out"),
                help="let the line vent at the valve that filled it",
                related=()
                if stop is None
                else (at_part(stop.part, f"holds the air at {stop.outlet}, though {stop.inlet} is empty"),),
                ports=tuple(end.name for end in line.ends),
                about=tuple(end.part.tag for end in line.ends),
            )


def _lines(study: Study, inlets: tuple[At, ...]) -> frozenset[str]:
    return frozenset(line.tag for at in inlets if (line := study.ways.line_of(at)) is not None)


def _pressure(study: Study, state: str, line: Line) -> float:
    assert study.air is not None
    end = line.ends[0]
    return study.air.pressure(state, (end.part.tag, end.port.id))


def _first_of_each(study: Study, lines: list[Line]) -> Iterator[Line]:
    """Leave out lines that got their air from another line of the list, or that lead to a brake."""
    inlets = {
        line.tag: study.ways.downstream(
            [(end.part.tag, end.port.id) for end in line.ends if study.ways.gives(end.part, end.port)]
        )
        for line in lines
    }
    for line in lines:
        ends = {(end.part.tag, end.port.id) for end in line.ends}
        later = any(ends & set(inlets[other.tag]) for other in lines if other is not line)
        brakes = any(study.part(at).kind.brake is not None for at in inlets[line.tag])
        if not later and not brakes:
            yield line
