"""The paths of a trace as a person tells them: what was told once is not told again."""

from __future__ import annotations

from collections.abc import Sequence

from pneudraw.circuit.model import Circuit
from pneudraw.library.model import Place, Role

MINOR = (Place.INSTRUMENT, Place.FITTING, Place.PROTECTION)  # parts a path to which is not worth a sentence

Stop = tuple[str, tuple[str, ...]]


def told(circuit: Circuit, paths: Sequence[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    """Return the paths, each begun at the last reservoir on it to which an earlier one led."""
    reached: set[str] = set()
    out = []
    for path in paths:
        begin = 0
        for position, name in enumerate(path[1:-1], start=1):
            tag, _, port = name.rpartition(".")
            if tag in reached and path[position + 1].rpartition(".")[0] != tag and port:
                begin = position
        out.append(tuple(path[begin:]))
        last = path[-1].rpartition(".")[0]
        part = circuit.part(last)
        if part is not None and part.kind.place is Place.STORAGE:
            reached.add(last)
    return tuple(out)


def is_minor(circuit: Circuit, path: Sequence[str]) -> bool:
    """Whether a path only fills the line to an instrument or a fitting."""
    tag, _, port = path[-1].rpartition(".")
    part = circuit.part(tag)
    if part is None or part.kind.place not in MINOR:
        return False
    end = part.kind.port(port)
    return end is None or end.role is not Role.EXHAUST


def main_paths(circuit: Circuit, paths: Sequence[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    """Return the paths without the minor ones."""
    return tuple(tuple(path) for path in paths if not is_minor(circuit, path))


def stops(path: Sequence[str]) -> tuple[Stop, ...]:
    """Gather the ports of a path by part: ``(tag, ports)`` in order."""
    out: list[tuple[str, list[str]]] = []
    for name in path:
        tag, _, port = name.rpartition(".")
        if out and out[-1][0] == tag:
            out[-1][1].append(port)
        else:
            out.append((tag, [port]))
    return tuple((tag, tuple(marks)) for tag, marks in out)


def short(path: Sequence[str]) -> str:
    """Say a path in a row: ``prim 2 > foot 11-21 > relay 4``."""
    words = []
    for tag, marks in stops(path):
        words.append(f"{tag} {marks[0]}-{marks[-1]}" if len(marks) > 1 else f"{tag} {marks[0]}")
    return " > ".join(words)
