"""What happened in a state, with its time: inputs moved, faults put in, memories flipped by the air, levels passed.

Times in s, pressures in bar gauge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pneudraw.circuit.model import Part, Setting
from pneudraw.flow.network import Trigger, signal_at
from pneudraw.flow.places import Place, node_of, places_of
from pneudraw.flow.run import Run
from pneudraw.flow.solution import Flip, first_crossing, pressure_at
from pneudraw.units import PSI

#: where the clock of a brake is read [bar]: 60 psi on application, 5 psi on release (49 CFR 571.121 S5.3.3, S5.3.4)
APPLIED, RELEASED = 60 * PSI / 1e5, 5 * PSI / 1e5
MOST_CROSSINGS = 50  # of one chamber in one state
SAME_TIME = 1e-6  # s


@dataclass(frozen=True)
class InputMoved:
    """An operator input began to move; ``values`` are those before and after, as its kind counts them."""

    time: float
    stretch: int
    part: str
    input: str
    values: tuple[float, float]


@dataclass(frozen=True)
class FaultAppeared:
    """A fault came up with the state: on a part or a line."""

    time: float
    stretch: int
    target: str
    fault: str


@dataclass(frozen=True)
class Flipped:
    """A memory flipped because of the air: at which place and pressure, if its trigger has one."""

    time: float
    stretch: int
    part: str
    memory: str
    value: int
    place: str
    level: float | None


@dataclass(frozen=True)
class Crossed:
    """A service chamber passed a level of the braking clock, ``after`` so many seconds from what was moved last."""

    time: float
    stretch: int
    place: str
    level: float
    rising: bool
    after: float


Happening = InputMoved | FaultAppeared | Flipped | Crossed


def happenings(
    run: Run, places: Sequence[Place], stretch: int = 0, offset: float = 0.0
) -> tuple[Happening, ...]:
    """Return what happened in a state, in order of time; levels are looked for at the places that are charted.

    ``stretch`` is the number of the state on a joint axis, ``offset`` its beginning there [s].
    """
    found: list[Happening] = [*inputs_moved(run, stretch), *_faults(run, stretch), *_flips(run, stretch)]
    found += _crossings(run, places, stretch)
    moved = [replace(one, time=one.time + offset) for one in found]
    return tuple(sorted(moved, key=lambda one: one.time))


def inputs_moved(run: Run, stretch: int = 0) -> Iterator[InputMoved]:
    """Yield the inputs that a state moves, in order of time, then as written."""
    now: dict[tuple[str, str], float] = {}
    for setting in sorted(run.state.settings, key=lambda s: s.at):
        key = (setting.part, setting.input)
        before = now.get(key, _standing(run, setting))
        now[key] = setting.value
        if before != setting.value and setting.at <= float(run.solution.times[-1]):
            yield InputMoved(setting.at, stretch, setting.part, setting.input, (before, setting.value))


def _standing(run: Run, setting: Setting) -> float:
    part = run.circuit.part(setting.part)
    assert part is not None
    rest = next(inp.rest for inp in part.kind.inputs if inp.name == setting.input)
    return run.before.inputs.get((setting.part, setting.input), rest)


def _faults(run: Run, stretch: int) -> Iterator[FaultAppeared]:
    for fault in run.state.faults:
        if fault not in run.before.faults:
            yield FaultAppeared(0.0, stretch, fault.target, fault.fault)


def _flips(run: Run, stretch: int) -> Iterator[Flipped]:
    for flip in run.solution.flips:
        if commanded(run, flip):
            continue
        tag, memory = run.plumbing.memories[flip.memory]
        node, level = threshold(run, flip)
        place = "" if node is None else str(places_of(run.plumbing)[node])
        yield Flipped(flip.time, stretch, tag, memory, flip.value, place, level)


def commanded(run: Run, flip: Flip) -> bool:
    """Whether the operator made a memory flip, not the air."""
    return any(
        command.memory == flip.memory
        and command.value == flip.value
        and abs(command.time - flip.time) < SAME_TIME
        for command in run.plumbing.network.commands
    )


def threshold(run: Run, flip: Flip) -> tuple[int | None, float | None]:
    """Return the node and the gauge pressure [bar] at which a memory flips, if its trigger looks at one pressure."""
    trigger = trigger_of(run, flip)
    if trigger is None or len(trigger.weights) != 1 or trigger.signals or trigger.memories:
        return None, None
    node, weight = trigger.weights[0]
    return node, -trigger.constant / weight - run.plumbing.atmosphere


def trigger_of(run: Run, flip: Flip) -> Trigger | None:
    """Return the trigger that made a memory flip: of those that could, the one furthest over its zero then."""
    memory = run.plumbing.network.memories[flip.memory]
    triggers = memory.to_one if flip.value else memory.to_zero

    def value(trigger: Trigger) -> float:
        total = trigger.constant + sum(
            w * pressure_at(run.solution, node, flip.time) for node, w in trigger.weights
        )
        signals = run.plumbing.network.signals
        return total + sum(w * signal_at(signals[i], flip.time)[0] for i, w in trigger.signals)

    return max(triggers, key=value, default=None)


def _crossings(run: Run, places: Sequence[Place], stretch: int) -> Iterator[Crossed]:
    moved = tuple(inputs_moved(run))
    pedal = tuple(one for one in moved if _purpose(run, one) == "service-brake") or moved
    for place in places:
        part = run.circuit.part(place.tag)
        if part is None or not _is_service(part, place):
            continue
        node = node_of(run.plumbing, place)
        for level, rising in ((APPLIED, True), (RELEASED, False)):
            for time in crossings(run, node, level + run.plumbing.atmosphere, rising):
                since = max((one.time for one in pedal if one.time <= time), default=0.0)
                yield Crossed(time, stretch, str(place), level, rising, time - since)


def crossings(run: Run, node: int, level: float, rising: bool) -> tuple[float, ...]:
    """Return the times a node's pressure passes ``level`` [bar abs] upwards (or downwards), read off the cubic."""
    out: list[float] = []
    after, end = 0.0, float(run.solution.times[-1])
    while after < end and len(out) < MOST_CROSSINGS:
        below = pressure_at(run.solution, node, after) < level
        time = first_crossing(run.solution, node, level, after)
        if time is None:
            break
        if below is rising:
            out.append(time)
        after = max(time, after) + SAME_TIME
    return tuple(out)


def _is_service(part: Part, place: Place) -> bool:
    brake = part.kind.brake
    return (
        brake is not None
        and brake.service is not None
        and place.sort == "chamber"
        and place.name == brake.service.chamber
    )


def _purpose(run: Run, moved: InputMoved) -> str:
    part = run.circuit.part(moved.part)
    assert part is not None
    return next(inp.purpose for inp in part.kind.inputs if inp.name == moved.input)
