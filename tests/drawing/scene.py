"""Circuits for the drawing's tests, made without the language: parts and lines in a few words."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from random import Random

from pneudraw.circuit.model import Circuit, End, Line, Part
from pneudraw.layout import Layout, lay_out
from pneudraw.layout.from_circuit import problem
from pneudraw.library.model import Library
from pneudraw.library.reader import load
from pneudraw.source import Source, Span

NOWHERE = Span(Source("test", ""), 0, 0)


@cache
def library() -> Library:
    """The kinds of the project."""
    found, mistakes = load()
    assert not mistakes
    return found


def part(tag: str, kind: str, name: str = "") -> Part:
    """A part with its defaults."""
    found = library().get(kind)
    assert found is not None, kind
    values = {parameter.name: parameter.default for parameter in found.parameters}
    return Part(tag, found, name, values, (), NOWHERE)


def circuit(title: str, parts: Sequence[Part], lines: Sequence[str], hoses: Sequence[str] = ()) -> Circuit:
    """A circuit; a line is written ``"feed: tank.2 foot.1"``."""
    by_tag = {item.tag: item for item in parts}
    made = []
    for text in lines:
        tag, ends = text.split(":")
        made.append(
            Line(tag, tuple(_end(by_tag, e) for e in ends.split()), (), None, None, tag in hoses, NOWHERE)
        )
    return Circuit(title, "test", "psi", "none", tuple(parts), tuple(made), (), (), NOWHERE)


def _end(parts: dict[str, Part], name: str) -> End:
    tag, port = name.rsplit(".", 1)
    found = parts[tag].kind.port(port)
    assert found is not None, name
    return End(parts[tag], found, NOWHERE)


@cache
def training_rig() -> Circuit:
    """One reservoir chain, a foot valve, a relay valve, two chambers; gauge and drain on the reservoir."""
    parts = [
        part("comp", "compressor", "Compressor"),
        part("gov", "governor", "Governor"),
        part("wet", "reservoir", "Supply reservoir"),
        part("cv", "check-valve", "Check valve"),
        part("tank", "reservoir", "Service reservoir"),
        part("dtank", "drain-valve", "Drain"),
        part("gauge", "gauge", "Pressure gauge"),
        part("foot", "foot-valve-single", "Foot valve"),
        part("relay", "relay-valve", "Relay valve"),
        part("lr", "service-chamber", "Left rear"),
        part("rr", "service-chamber", "Right rear"),
    ]
    lines = [
        "L1: comp.2 wet.1",
        "sense: wet.a gov.1",
        "unload: gov.2 comp.4",
        "charge: wet.2 cv.1",
        "charge2: cv.2 tank.1",
        "L4: tank.a gauge.1",
        "L5: tank.d dtank.1",
        "feed: tank.2 foot.1 relay.1",
        "signal: foot.2 relay.4",
        "service: relay.2 lr.1 rr.1",
    ]
    return circuit("Training rig with relay valve", parts, lines, hoses=("service",))


@cache
def laid_out() -> Layout:
    """The rig's layout."""
    return lay_out(problem(training_rig()))


def random_circuit(seed: int) -> Circuit:
    """Any kinds, joined at random: nothing a workshop would build, everything a drawing must stand."""
    chance = Random(seed)
    kinds = sorted(library().kinds)
    names = ("", "Valve", "A rather long name of a part", "Ünïcode Тест")
    parts = [part(f"p{i}", chance.choice(kinds), chance.choice(names)) for i in range(chance.randint(1, 14))]
    ports = [f"{item.tag}.{port.id}" for item in parts for port in item.kind.ports]
    chance.shuffle(ports)
    lines: list[str] = []
    while len(ports) > 1 and len(lines) < 16:
        count = chance.choice((2, 2, 2, 3, 3, 4, 6))
        lines.append(f"L{len(lines)}: {' '.join(ports[:count])}")
        ports = ports[count:]
    return circuit("Random", parts, lines, hoses=[f"L{i}" for i in range(0, len(lines), 3)])
