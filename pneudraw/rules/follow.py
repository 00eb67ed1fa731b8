"""Following air upstream from a port: where it stops on its way, or where it is held."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.circuit.model import Part
from pneudraw.library.model import Role
from pneudraw.rules.air import NOTHING
from pneudraw.rules.study import Study, is_store
from pneudraw.rules.ways import At


@dataclass(frozen=True)
class Stop:
    """A part with air on one side and none on the other. ``control``: its control port that has no signal, if so."""

    part: Part
    inlet: str
    outlet: str
    control: str | None


def blocked_at(study: Study, name: str, at: At) -> Stop | None:
    """Return the nearest part upstream of ``at`` that has air at its inlet and none at its outlet at a state's end."""
    return _walk(study, name, at, full_inlet=True)


def held_at(study: Study, name: str, at: At) -> Stop | None:
    """Return the nearest part upstream of ``at`` with air at its outlet and none at its inlet at a state's end."""
    return _walk(study, name, at, full_inlet=False)


def feeders(study: Study, at: At) -> tuple[At, ...]:
    """Return the ports on the line at ``at`` that air may come out of."""
    line = study.ways.line_of(at)
    if line is None:
        return ()
    return tuple(
        (end.part.tag, end.port.id)
        for end in line.ends
        if (end.part.tag, end.port.id) != at
        and end.port.role is not Role.EXHAUST
        and study.ways.gives(end.part, end.port)
    )


def _walk(study: Study, name: str, at: At, *, full_inlet: bool) -> Stop | None:
    air = study.air
    if air is None or name not in air.runs:
        return None
    queue, seen = [at], {at}
    while queue:
        here = queue.pop(0)
        for outlet in feeders(study, here):
            part = study.part(outlet)
            if not full_inlet and is_store(part):
                continue  # it is no wonder that a reservoir has air
            for port in part.kind.ports:
                inlet = (part.tag, port.id)
                if inlet in seen or inlet == outlet or not study.ways.takes(part, port):
                    continue
                if outlet[1] not in study.ways.inner(part, port.id):
                    continue
                seen.add(inlet)
                if (air.pressure(name, inlet) > NOTHING) is full_inlet:
                    return Stop(part, port.id, outlet[1], _silent(study, name, part))
                queue.append(inlet)
    return None


def _silent(study: Study, name: str, part: Part) -> str | None:
    """Return the first joined control port of a part that has no pressure."""
    air = study.air
    assert air is not None
    for port in part.kind.ports:
        at = (part.tag, port.id)
        if (
            port.role is Role.CONTROL
            and study.ways.line_of(at) is not None
            and air.pressure(name, at) <= NOTHING
        ):
            return port.id
    return None
