"""Machines: who works them, what moves, and the conditions in which that is watched.

No kind is named: an operator is a part whose inputs serve one of the purposes below, a cylinder an actuator with a
piston. Two coils, and both ends of a lever with a middle, are worked one after the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit, Setting
from pneudraw.library.model import Input, Place

#: inputs that a hand, a foot, a machine part or a control unit works
PURPOSES = (
    *("button", "knob", "lever", "treadle", "plunger", "roller"),
    *("solenoid", "solenoid-14", "solenoid-12"),
)
BACK = "solenoid-12"  # the coil that brings a valve with two back
MOST_OPERATORS = 8  # looked at one by one
STROKE = 30.0  # s that a stroke is given; common practice, no source


@dataclass(frozen=True)
class Worked:
    """Operators worked together: ``tag`` is the part's, empty for all. ``on`` and ``off`` are given at 0 s."""

    tag: str
    on: tuple[Setting, ...]
    off: tuple[Setting, ...]


def cylinders(circuit: Circuit) -> tuple[str, ...]:
    """Return the tags of what moves: actuators with a piston that are no brakes, where something works them."""
    if not _operators(circuit):
        return ()
    return tuple(
        part.tag
        for part in circuit.parts
        if part.kind.pistons and part.kind.place is Place.ACTUATOR and part.kind.brake is None
    )


def worked(circuit: Circuit) -> tuple[Worked, ...]:
    """Return who can work the circuit's cylinders: all operators together, then, if there are several, each alone.

    Empty where nothing moves.
    """
    if not cylinders(circuit):
        return ()
    alone = tuple(
        Worked(tag, _set(circuit, tag, True), _set(circuit, tag, False)) for tag in _operators(circuit)
    )
    every = Worked("", tuple(s for one in alone for s in one.on), tuple(s for one in alone for s in one.off))
    return (every, *alone[:MOST_OPERATORS]) if len(alone) > 1 else (every,)


def later(settings: tuple[Setting, ...], time: float) -> tuple[Setting, ...]:
    """Return settings put off to a time [s]."""
    return tuple(replace(setting, at=setting.at + time) for setting in settings)


def _operators(circuit: Circuit) -> tuple[str, ...]:
    return tuple(
        part.tag for part in circuit.parts if any(inp.purpose in PURPOSES for inp in part.kind.inputs)
    )


def _set(circuit: Circuit, tag: str, on: bool) -> tuple[Setting, ...]:
    part = circuit.part(tag)
    assert part is not None
    inputs = [inp for inp in part.kind.inputs if inp.purpose in PURPOSES]
    return tuple(Setting(tag, inp.name, _value(inp, on, len(inputs) > 1), 0.0, None) for inp in inputs)


def _value(inp: Input, on: bool, twice: bool) -> float:
    """What an input is set to: of two coils one or the other; of three positions one end or the other; else on or at
    rest."""
    if twice:
        return float(on != (inp.purpose == BACK))
    last = len(inp.positions) - 1
    if last > 1:
        return 0.0 if on else float(last)
    return 1.0 - inp.rest if on else inp.rest
