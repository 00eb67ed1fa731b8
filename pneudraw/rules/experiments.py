"""Which experiments a circuit asks for: what to break, and which reservoir must not notice."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.circuit.model import Part
from pneudraw.library.model import Port
from pneudraw.rules.air import Experiment
from pneudraw.rules.study import Study
from pneudraw.rules.ways import At

GONE = 0.4  # share of its pressure below which a reservoir has lost its air (see `lost`)
CHARGED = 2.0  # bar a reservoir must have had for an experiment to tell anything


@dataclass(frozen=True)
class Supply:
    """How a reservoir is filled: the inlets its air comes in by, and the lines before it that do not touch it."""

    store: Part
    inlets: tuple[At, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """A supply port of what the driver brakes with: the reservoirs that feed it, and its line."""

    part: Part
    port: Port
    stores: tuple[Part, ...]
    line: str


def supply_of(study: Study, store: Part) -> Supply:
    """Return how a reservoir is filled: not through another brake reservoir, if it can be without."""
    others = {part.tag for part in study.brake_stores} - {store.tag}
    for barred in ({store.tag, *others}, {store.tag}):

        def stop(part: Part, barred: set[str] = barred) -> bool:
            return part.tag in barred

        reached = study.ways.downstream(study.origins, stop=stop)
        targets = {at for at in reached if at[0] == store.tag}
        if not targets:
            continue
        leading = set(targets)
        grown = True
        while grown:  # walk back over everything that leads to the reservoir
            grown = False
            for at in reached:
                if at in leading or stop(study.part(at)):
                    continue
                nexts = [n for out in study.ways.outlets(at) for n in study.ways.next_ports.get(out, ())]
                if any(n in leading for n in nexts):
                    leading.add(at)
                    grown = True
        lines = {line.tag for at in leading if (line := study.ways.line_of(at)) is not None}
        wanted = tuple(
            line.tag
            for line in study.circuit.lines
            if line.tag in lines and all(end.part.tag != store.tag for end in line.ends)
        )
        return Supply(store, tuple(at for at in reached if at in targets), wanted)
    return Supply(store, (), ())


def sections(study: Study) -> tuple[tuple[Section, ...], ...]:
    """Return, for each part the driver brakes with that has several supplies, its sections that are fed."""
    out = []
    for pedal in study.pedals:
        own = tuple(
            Section(part, port, stores, line.tag)
            for part, port, stores in study.pedal_feeds
            if part is pedal and stores and (line := study.ways.line_of((part.tag, port.id))) is not None
        )
        if len(own) > 1:
            out.append(own)
    return tuple(out)


def supply_name(lines: tuple[str, ...]) -> str:
    """Name the experiment that breaks these lines before a reservoir."""
    return f"without {', '.join(lines)}"


def loss_name(section: Section) -> str:
    """Name the experiment in which a section's feed breaks and then the pedal is pressed."""
    return f"without {section.part.tag}.{section.port.id}"


def plan(study: Study) -> tuple[Experiment, ...]:
    """Return the experiments, each once, in netlist order."""
    out: dict[str, Experiment] = {}
    for store in study.brake_stores:
        supply = supply_of(study, store)
        if supply.lines:
            name = supply_name(supply.lines)
            out[name] = Experiment(name, supply.lines, pedal=False)
    for group in sections(study):
        for section in group:
            out[loss_name(section)] = Experiment(loss_name(section), (section.line,), pedal=True)
    return tuple(out.values())


def lost(study: Study, name: str, store: Part) -> str | None:
    """Return the port by which a reservoir lost its air in an experiment; None if it held, or had none.

    It has lost its air when less than two fifths of the pressure is left. A reservoir behind a protection valve
    that closes at its usual 4.5 bar still has more than half.
    """
    air = study.air
    if air is None or name not in air.runs or not store.kind.chambers:
        return None
    before, after = air.stored(name, store, start=True), air.left(name, store)
    if before < CHARGED or after > GONE * before:
        return None
    out = air.out_of(name, store)
    return max(out, key=lambda port: out[port])
