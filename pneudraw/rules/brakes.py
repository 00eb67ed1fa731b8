"""Brakes that do not do what a state asks of them, put together by what holds them up."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from pneudraw.circuit.model import End, Part
from pneudraw.rules.follow import Stop, feeders
from pneudraw.rules.study import Study
from pneudraw.rules.ways import At

FORCE = 1.0  # N: less is none, as in the trace


@dataclass(frozen=True)
class Group:
    """Brakes with one cause: the end at the first one's port, those of the others, and where the air stops."""

    brakes: tuple[Part, ...]
    ends: tuple[End, ...]
    stop: Stop | None


def grouped(
    study: Study,
    brakes: Iterable[Part],
    ports: Callable[[Study, Part], tuple[At, ...]],
    stop_of: Callable[[At], Stop | None],
) -> Iterator[Group]:
    """Group brakes by the part at which the air to (or from) their ``ports`` stops, in netlist order."""
    found: dict[str, tuple[list[Part], list[End], Stop | None]] = {}
    for brake in brakes:
        for at in ports(study, brake)[:1]:
            end = study.ways.end_at(at)
            if end is None:
                continue
            stop = stop_of(at)
            before = feeders(study, at)[:1]
            key = stop.part.tag if stop is not None else before[0][0] if before else end.name
            entry = found.setdefault(key, ([], [], stop))
            entry[0].append(brake)
            entry[1].append(end)
    for parts, ends, stop in found.values():
        yield Group(tuple(parts), tuple(ends), stop)
