"""What the air does: the circuit's own states and a few experiments, computed once for all rules that need them.

The experiments do on the computer what is done in the yard: stop the engine, lose the air before a reservoir and
watch whether the reservoir holds; lose one service circuit and press the pedal.

Ports that a rule has already found open are closed first. Otherwise one forgotten line would empty the whole
system and bury everything else there is to find.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from pneudraw.circuit.model import Circuit, FaultSetting, Part, Setting, State
from pneudraw.circuit.states import inputs_for
from pneudraw.rules.ways import At

if TYPE_CHECKING:
    from pneudraw.flow.run import Run
    from pneudraw.flow.trace import BrakeTrace, Trace

#: solves the named states of a circuit, and those they start from
Solve = Callable[[Circuit, Sequence[str]], Mapping[str, "Run"]]

#: the states looked at; `emergency` and the anti-lock states are no normal working
STATES = (
    "charging",
    "cut-out",
    "park-release",
    "ready",
    "service-apply",
    "service-release",
    "park-apply",
)
#: bar: less is as good as nothing, what a valve's spring leaves behind included (1 to 5 psi, common practice)
NOTHING = 0.4
SETTLED = 0.02  # bar in a second: what falls slower has stopped falling
#: s an experiment is followed if it comes to no rest of its own: some ten time constants of a 30 L reservoir
#: through 1 m of 6 mm bore pipe
PATIENCE = 600.0
#: s from the loss of a circuit until the pedal is pressed, and from then to the end
LOST, PRESSED = 60.0, 30.0


@dataclass(frozen=True)
class Experiment:
    """A state made up for the check: lines broken, engine stopped."""

    name: str
    broken: tuple[str, ...]
    pedal: bool


@dataclass(frozen=True)
class Air:
    """The runs of a circuit's states and of experiments, by name. ``message`` says why some could not be had."""

    circuit: Circuit
    runs: Mapping[str, Run]
    experiments: tuple[Experiment, ...]
    message: str = ""

    @cached_property
    def traces(self) -> Mapping[str, Trace]:
        """The traces of the circuit's own states that were run."""
        return {name: trace for name, trace in self._all_traces.items() if name in STATES}

    @cached_property
    def _all_traces(self) -> Mapping[str, Trace]:
        from pneudraw.flow.trace import trace

        return {name: trace(run) for name, run in self.runs.items()}

    def pressure(self, name: str, at: At, *, start: bool = False) -> float:
        """Return the gauge pressure [bar] at a port at the end (or start) of a state; 0 at a closed boss."""
        run = self.runs[name]
        node = run.plumbing.port_node.get(at)
        if node is None:
            return 0.0
        return float(run.solution.pressures[0 if start else -1, node]) - run.plumbing.atmosphere

    def stored(self, name: str, part: Part, *, start: bool = False) -> float:
        """Return the gauge pressure [bar] in a reservoir (its first chamber) at the end (or start) of a state."""
        run = self.runs[name]
        node = run.plumbing.chamber_node[part.tag, part.kind.chambers[0].name]
        return float(run.solution.pressures[0 if start else -1, node]) - run.plumbing.atmosphere

    def left(self, name: str, part: Part) -> float:
        """Return the gauge pressure [bar] left in a reservoir in an experiment, before the pedal is pressed."""
        from pneudraw.flow.solution import pressure_at

        run = self.runs[name]
        node = run.plumbing.chamber_node[part.tag, part.kind.chambers[0].name]
        pedal = any(experiment.pedal for experiment in self.experiments if experiment.name == name)
        time = LOST - 0.5 if pedal else float(run.solution.times[-1])
        return pressure_at(run.solution, node, time) - run.plumbing.atmosphere

    def settled(self, name: str, at: At) -> bool:
        """Whether the pressure at a port has stopped falling at the end of a state: less than 0.02 bar in a second."""
        from pneudraw.flow.solution import pressure_at

        run = self.runs[name]
        node = run.plumbing.port_node.get(at)
        if node is None or run.solution.status == "equilibrium":
            return True
        end = float(run.solution.times[-1])
        return pressure_at(run.solution, node, end - 1.0) - pressure_at(run.solution, node, end) < SETTLED

    def out_of(self, name: str, part: Part) -> dict[str, float]:
        """Return the net free air [dm3] that left a part by each of its ports."""
        run = self.runs[name]
        out: dict[str, float] = {}
        ports = {port.id for port in part.kind.ports}
        for origin, net in zip(run.plumbing.origins, run.solution.net, strict=True):
            if origin.owner != part.tag or origin.sort != "passage":
                continue
            if origin.end in ports:
                out[origin.end] = out.get(origin.end, 0.0) + float(net)
            if origin.start in ports:
                out[origin.start] = out.get(origin.start, 0.0) - float(net)
        return out

    def brake(self, name: str, part: Part) -> BrakeTrace:
        """Return what a brake does at the end of a state."""
        return next(brake for brake in self._all_traces[name].brakes if brake.part == part.tag)


def compute(
    circuit: Circuit,
    experiments: Sequence[Experiment],
    solve: Solve,
    closed: Iterable[At] = (),
    muted: Iterable[str] = (),
) -> Air:
    """Run the states and the experiments. A run that stalls or cannot be made is left out, and said in ``message``.

    ``closed`` ports are plugged first; the memories of ``muted`` parts never turn (a governor that would switch without
    end).
    """
    own = tuple(name for name in STATES if circuit.state(name) is not None)
    made = tuple(experiments) if circuit.state("ready") is not None else ()
    mended = replace(
        mend(circuit, closed, muted), states=circuit.states + tuple(_state(circuit, e) for e in made)
    )
    try:
        runs = dict(solve(mended, (*own, *(experiment.name for experiment in made))))
    except (ValueError, KeyError, ArithmeticError) as fault:
        return Air(mended, {}, (), f"the states could not be computed: {fault}")
    stalled = [name for name, run in runs.items() if run.solution.status == "stalled"]
    good = {
        name: run for name, run in runs.items() if name not in stalled and not _after(mended, name, stalled)
    }
    message = ""
    if stalled:
        first = runs[stalled[0]]
        message = f"`{first.state.title}` could not be computed to its end: {first.solution.message}"
    return Air(mended, good, tuple(e for e in made if e.name in good), message)


def _after(circuit: Circuit, name: str, stalled: Sequence[str]) -> bool:
    """Whether a state starts, directly or not, from one that stalled."""
    state = circuit.state(name)
    while state is not None:
        if state.start in stalled:
            return True
        state = circuit.state(state.start)
    return False


def _state(circuit: Circuit, experiment: Experiment) -> State:
    settings = [
        Setting(part.tag, inp.name, 0.0, 0.0, None) for part, inp in inputs_for(circuit.parts, "engine")
    ]
    horizon = PATIENCE
    if experiment.pedal:
        horizon = LOST + PRESSED
        settings += [
            Setting(part.tag, inp.name, 1.0, LOST, None)
            for part, inp in inputs_for(circuit.parts, "service-brake")
        ]
    faults = tuple(FaultSetting(tag, "broken", None, None) for tag in experiment.broken)
    return State(
        experiment.name,
        experiment.name,
        "ready",
        tuple(settings),
        faults,
        horizon,
        stop_at_cut_out=False,
        built_in=False,
        text="",
        span=None,
    )


def mend(circuit: Circuit, closed: Iterable[At], muted: Iterable[str]) -> Circuit:
    """Return the circuit with some open ports closed, as if by plugs, and some parts' memories at rest for good."""
    shut, mute = set(closed), set(muted)

    def mended(part: Part) -> Part:
        kind = part.kind
        if any((part.tag, port.id) in shut for port in kind.ports):
            ports = tuple(
                replace(port, optional=True) if (part.tag, port.id) in shut else port for port in kind.ports
            )
            kind = replace(kind, ports=ports)
        if part.tag in mute:
            kind = replace(kind, memories=tuple(replace(m, to_one=(), to_zero=()) for m in kind.memories))
        return part if kind is part.kind else replace(part, kind=kind)

    return replace(circuit, parts=tuple(mended(part) for part in circuit.parts))
