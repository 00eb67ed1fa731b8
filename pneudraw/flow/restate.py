"""The same network in another state: where only the start and the inputs change, nothing is built anew.

A table of faults runs each faulty network in a dozen conditions. Building it takes longer than running it; giving it
another start takes a tenth of that.
"""

from __future__ import annotations

from dataclasses import replace

from pneudraw.circuit.model import Circuit, Part, State
from pneudraw.flow.network import Command, Signal
from pneudraw.flow.plumbing import DECIMETRE, PA, Plumbing, Standing, plumb, through, timeline
from pneudraw.flow.prepared import restarted
from pneudraw.library.expression import value_of
from pneudraw.library.model import Expression
from pneudraw.units import STANDARD_ATMOSPHERE


def restated(
    like: Plumbing,
    circuit: Circuit,
    state: State,
    standing: Standing,
    atmosphere: float = STANDARD_ATMOSPHERE,
) -> Plumbing:
    """Return what :func:`pneudraw.flow.plumbing.plumb` returns for these, made from ``like``.

    ``like`` is the plumbing of the same circuit with the same faults in any other state. With other faults or another
    atmosphere all is built anew.
    """
    faults = standing.faults + tuple(f for f in state.faults if f not in standing.faults)
    if faults != like.faults or like.atmosphere != atmosphere * PA:
        return plumb(circuit, state, standing, atmosphere)
    pressures = [
        node.pressure0 if node.fixed else standing.pressures.get(node.name, like.atmosphere)
        for node in like.network.nodes
    ]
    starts = {(p.tag, m.name): m.start for p in circuit.parts for m in p.kind.memories}
    memories = [standing.memories.get(key, starts[key]) for key in like.memories]
    index = {key: number for number, key in enumerate(like.memories)}
    signals: list[Signal] = []
    commands: list[Command] = []
    inputs: dict[tuple[str, str], float] = {}
    for part in circuit.parts:
        _drive(part, like, state, standing, signals, inputs)
        for memory in part.kind.memories:
            commands += [
                Command(s.at, index[part.tag, memory.name], round(s.value))
                for s in state.settings
                if memory.input is not None and (s.part, s.input) == (part.tag, memory.input)
            ]
    commands.sort(key=lambda command: command.time)
    prepared = restarted(
        like.prepared,
        pressures,
        _positions(circuit, like, standing),
        memories,
        tuple(signals),
        tuple(commands),
    )
    return replace(like, prepared=prepared, inputs=inputs)


def _positions(circuit: Circuit, like: Plumbing, standing: Standing) -> list[float]:
    """Where the pistons start [dm]."""
    rest: dict[tuple[str, str], float] = {}
    for part in circuit.parts:
        if part.kind.pistons:
            known = like.numbers(part)
            for piston in part.kind.pistons:
                rest[part.tag, piston.name] = (
                    _value(piston.starts, known) * DECIMETRE if piston.starts else 0.0
                )
    return [standing.positions.get(key, rest[key]) for key in like.pistons]


def _drive(
    part: Part,
    like: Plumbing,
    state: State,
    standing: Standing,
    signals: list[Signal],
    inputs: dict[tuple[str, str], float],
) -> None:
    """Add the courses of a part's inputs and of the curves over them, in the order they were built in."""
    known: dict[str, float] | None = None
    for inp in part.kind.inputs:
        key = (part.tag, inp.name)
        own = [s for s in state.settings if (s.part, s.input) == key]
        points, end = timeline(standing.inputs.get(key, inp.rest), own, inp.ramp)
        inputs[key] = end
        signals.append(Signal(f"{part.tag}.{inp.name}", points))
        for curve in part.kind.curves:
            if curve.input == inp.name:
                known = known or like.numbers(part)
                knots = tuple((_value(x, known), _value(y, known)) for x, y in curve.points)
                signals.append(Signal(f"{part.tag}.{curve.name}", through(points, knots)))


def _value(expression: Expression, known: dict[str, float]) -> float:
    return value_of(expression, known)
