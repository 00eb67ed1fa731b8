"""What if: every line broken, every reservoir lost, one at a time. Which brakes remain?

The sound vehicle stands ready to drive, the engine stopped. The line breaks, or the reservoir is torn open; a minute
later the pedal is pressed fully, and half a minute after that the brakes are read. So a circuit that loses its air has
lost it before the pedal is pressed. What the cylinders of a machine do is found in runs of their own
(:mod:`pneudraw.flow.whatif_work`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pneudraw.circuit.model import Circuit, FaultSetting, Part, Setting
from pneudraw.circuit.states import inputs_for
from pneudraw.flow.conditions import MINUTE, Condition, prepare, sound, watch
from pneudraw.flow.many import each
from pneudraw.flow.run import Options, Run
from pneudraw.flow.signs import Push, signs
from pneudraw.flow.whatif_work import Moves, moves, works
from pneudraw.flow.working import cylinders
from pneudraw.library.model import Place

PRESSED = 30.0  # s from the pedal to the reading
TORN = 0.03  # m: bore of the hole in a reservoir that is lost
REMAINS = 0.05  # share of the sound force below which nothing remains
Job = tuple[str, str, str, tuple[FaultSetting, ...]]  # name, target, sort, faults
ENOUGH = 0.5  # share of the sound service force that still counts as an answer to the pedal


@dataclass(frozen=True)
class Remains:
    """What a brake does after a failure: service force [N] before the pedal and at the end, its share of the sound
    vehicle's, spring force [N] before the pedal and at the end."""

    part: str
    service_before: float
    service: float
    share: float
    spring_before: float
    spring: float
    trailer: bool

    @property
    def served(self) -> bool:
        """Whether the pedal still does something here."""
        return self.share > REMAINS


@dataclass(frozen=True)
class Failure:
    """One failure and what remains.

    ``share``: service force of all brakes over the sound vehicle's. ``springs``: tags of the brakes whose springs
    came on before the pedal was pressed, ``springs_after`` those at the end. ``stores``: gauge pressure [bar] in each
    reservoir before the pedal.
    ``trailer``: ``none`` (no trailer), ``answers`` (every trailer brake still answers the pedal), ``brakes itself``
    (all that do not answer are applied), ``by the knob`` (one is not, but pulling the trailer supply knob applies it),
    or ``unprotected`` (not even that). ``doubtful``: what comes out otherwise at a tenth of the tolerance: tags of
    brakes and cylinders, ``warned``, ``trailer``. ``moves``: the cylinders.
    """

    name: str
    target: str
    sort: str
    brakes: tuple[Remains, ...]
    share: float
    springs: tuple[str, ...]
    springs_after: tuple[str, ...]
    stores: Mapping[str, float]
    warned: bool
    trailer: str
    message: str
    doubtful: tuple[str, ...] = ()
    moves: tuple[Moves, ...] = ()


@dataclass(frozen=True)
class WhatIf:
    """Every single failure. ``sound`` is the same without one. ``unmoved``: cylinders that nobody moves by hand."""

    sound: Failure
    failures: tuple[Failure, ...]
    unmoved: tuple[str, ...] = ()


def trailer_parts(circuit: Circuit) -> frozenset[str]:
    """Return the tags of the parts beyond the couplings: joined to them, and not to what the driver brakes with.

    The trailer is what no pedal and no engine belongs to once the couplings are apart.
    """
    couplings = {part.tag for part, _ in inputs_for(circuit.parts, "coupling")}
    if not couplings:
        return frozenset()
    near: dict[str, list[str]] = {part.tag: [] for part in circuit.parts}
    for line in circuit.lines:
        tags = list(dict.fromkeys(end.part.tag for end in line.ends if end.part.tag not in couplings))
        for tag in tags[1:]:
            near[tags[0]].append(tag)
            near[tag].append(tags[0])
    reached = [part.tag for part, _ in inputs_for(circuit.parts, "engine", "service-brake")]
    seen = set(reached)
    while reached:
        for other in near[reached.pop()]:
            if other not in seen:
                seen.add(other)
                reached.append(other)
    return frozenset(p.tag for p in circuit.parts if p.tag not in seen and p.tag not in couplings)


def failures_of(circuit: Circuit) -> tuple[Job, ...]:
    """Return every failure looked at: (name, target, sort, faults); the lines, then the reservoirs."""
    out: list[Job] = [
        (f"line:{line.tag}.broken", line.tag, "line", (FaultSetting(line.tag, "broken", None, None),))
        for line in circuit.lines
    ]
    out += [
        (f"{part.tag} lost", part.tag, Place.STORAGE.value, lost(circuit, part)) for part in _stores(circuit)
    ]
    return tuple(out)


def lost(circuit: Circuit, store: Part) -> tuple[FaultSetting, ...]:
    """Return how a reservoir is lost: its own leak, torn open; without such a fault all its lines broken."""
    chambers = {chamber.name for chamber in store.kind.chambers}
    for fault in store.kind.faults:
        if fault.leak is not None and fault.leak[0] in chambers:
            return (FaultSetting(store.tag, fault.name, TORN, None),)
    lines = [line for line in circuit.lines if any(end.part is store for end in line.ends)]
    return tuple(FaultSetting(line.tag, "broken", None, None) for line in lines)


def _stores(circuit: Circuit) -> tuple[Part, ...]:
    return tuple(p for p in circuit.parts if p.kind.place is Place.STORAGE and p.kind.chambers)


def what_if(
    circuit: Circuit,
    options: Options | None = None,
    processes: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> WhatIf:
    """Compute what remains after every single failure; the same for any number of processes.

    Each is computed again at a tenth of the tolerance: an end that hangs on a knife edge is noted, not chosen.
    """
    options = options or Options()
    fine = replace(options, tolerance=options.tolerance / 10)
    vehicle = sound(circuit, options)
    condition = _condition(circuit)
    trailer = trailer_parts(circuit)
    jobs = failures_of(vehicle.circuit)
    prepare(vehicle, 3 * len(jobs), options)
    run = watch(vehicle, condition, (), options)
    found = signs(run, condition)
    full = {(p.place, p.side): p.end for p in found.pushes}

    working = works(vehicle, options)

    def once(job: Job, how: Options) -> Failure:
        name, target, sort, faults = job
        run = watch(vehicle, condition, faults, how)
        failure = _failure(name, target, sort, run, condition, full, trailer)
        failure = replace(failure, moves=moves(vehicle, working, faults, how))
        if failure.trailer == "unprotected":
            pulled = _with_knob(vehicle.circuit, condition)
            if _applied(signs(watch(vehicle, pulled, faults, how), pulled).pushes, failure, run):
                return replace(failure, trailer="by the knob")
        return failure

    def work(job: Job) -> Failure:
        failure = once(job, options)
        return replace(failure, doubtful=_otherwise(failure, once(job, fine)))

    unmoved = tuple(tag for tag in cylinders(circuit) if tag not in working.sound)
    return WhatIf(work(("nothing failed", "", "none", ())), each(work, jobs, processes, progress), unmoved)


def _otherwise(failure: Failure, fine: Failure) -> tuple[str, ...]:
    """What is not the same when computed more finely: brakes by a twentieth or more, springs, warning, trailer."""
    brakes = [
        a.part
        for a, b in zip(failure.brakes, fine.brakes, strict=True)
        if abs(a.share - b.share) > REMAINS
        or any((a.part in one) != (b.part in two) for one, two in _springs(failure, fine))
    ]
    stuck = [
        a.part
        for a, b in zip(failure.moves, fine.moves, strict=True)
        if (a.word, a.alone) != (b.word, b.alone)
    ]
    others = [name for name in ("warned", "trailer") if getattr(failure, name) != getattr(fine, name)]
    return (*brakes, *stuck, *others)


def _springs(one: Failure, two: Failure) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    return (one.springs, two.springs), (one.springs_after, two.springs_after)


def _condition(circuit: Circuit) -> Condition:
    pedal = [(part.tag, inp.name) for part, inp in inputs_for(circuit.parts, "service-brake")]
    engine = [(part.tag, inp.name) for part, inp in inputs_for(circuit.parts, "engine")]
    settings = (
        *(Setting(tag, name, 0.0, 0.0, None) for tag, name in engine),
        *(Setting(tag, name, 1.0, MINUTE, None) for tag, name in pedal),
    )
    text = "Ready to drive, engine stopped; a minute after the failure the pedal is pressed fully."
    return Condition(
        "W", "After the failure", text, "ready", settings, MINUTE - 0.5, MINUTE - 0.1, MINUTE + PRESSED, 0
    )


def _with_knob(circuit: Circuit, condition: Condition) -> Condition:
    """The same, and then the trailer supply knob is pulled, the pedal let up."""
    pairs = inputs_for(circuit.parts, "trailer-supply", "service-brake")
    pulled = tuple(Setting(part.tag, inp.name, 0.0, condition.horizon, None) for part, inp in pairs)
    return replace(condition, settings=condition.settings + pulled, horizon=condition.horizon + PRESSED)


def _applied(pushes: Sequence[Push], failure: Failure, run: Run) -> bool:
    """Whether every trailer brake that does not answer is applied, by its spring or by air."""
    silent = [b.part for b in failure.brakes if b.trailer and b.share < ENOUGH]
    return all(any(p.place == tag and p.end > _least(run, tag) for p in pushes) for tag in silent)


def _failure(
    name: str,
    target: str,
    sort: str,
    run: Run,
    condition: Condition,
    full: Mapping[tuple[str, str], float],
    trailer: frozenset[str],
) -> Failure:
    found = signs(run, condition)
    by_part: dict[str, dict[str, Push]] = {}
    for push in found.pushes:
        by_part.setdefault(push.place, {})[push.side] = push
    brakes = tuple(_remains(tag, sides, full, tag in trailer) for tag, sides in by_part.items())
    total = sum(full.get((b.part, "service"), 0.0) for b in brakes)
    springs = tuple(b.part for b in brakes if b.spring_before > _least(run, b.part))
    after = tuple(b.part for b in brakes if b.spring > _least(run, b.part))
    warned = any(latch.sort == "warning" and latch.end for latch in found.latches)
    return Failure(
        name,
        target,
        sort,
        brakes,
        sum(b.service for b in brakes) / total if total else 0.0,
        springs,
        after,
        _pressures(run, condition.settle),
        warned,
        _trailer(brakes, after),
        found.message,
    )


def _remains(
    tag: str, sides: Mapping[str, Push], full: Mapping[tuple[str, str], float], trailer: bool
) -> Remains:
    service, spring = sides.get("service"), sides.get("spring")
    whole = full.get((tag, "service"), 0.0)
    force = service.end if service is not None else 0.0
    return Remains(
        tag,
        service.soon if service is not None else 0.0,
        force,
        force / whole if whole > 1.0 else 0.0,
        spring.soon if spring is not None else 0.0,
        spring.end if spring is not None else 0.0,
        trailer,
    )


def _least(run: Run, tag: str) -> float:
    """A twentieth of the force of a brake's spring without air [N]."""
    from pneudraw.library.expression import linear

    part = run.circuit.part(tag)
    assert part is not None
    brake = part.kind.brake
    if brake is None or brake.spring is None:
        return 1.0
    return max(1.0, REMAINS * linear(brake.spring.force, run.plumbing.numbers(part)).constant)


def _pressures(run: Run, time: float) -> dict[str, float]:
    out = {}
    for part in _stores(run.circuit):
        node = run.plumbing.chamber_node[part.tag, part.kind.chambers[0].name]
        course = run.solution.pressures[:, node]
        out[part.tag] = float(np.interp(time, run.solution.times, course)) - run.plumbing.atmosphere
    return out


def _trailer(brakes: Sequence[Remains], springs: tuple[str, ...]) -> str:
    behind = [b for b in brakes if b.trailer]
    if not behind:
        return "none"
    silent = [b for b in behind if b.share < ENOUGH]
    if any(b.service_before > REMAINS * b.service and b.service > 1.0 for b in behind) and not silent:
        return "brakes itself"  # by air, before the pedal was pressed
    if not silent:
        return "answers"
    return "brakes itself" if all(b.part in springs for b in silent) else "unprotected"
