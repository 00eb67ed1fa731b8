"""Running a state: from the end of the state it starts from, all the way from an empty circuit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit, FaultSetting, State
from pneudraw.circuit.states import EMPTY
from pneudraw.flow.plumbing import NOTHING, Plumbing, Standing, plumb
from pneudraw.flow.restate import restated
from pneudraw.flow.simulate import Settings, doubtful, solve
from pneudraw.flow.solution import Solution
from pneudraw.units import STANDARD_ATMOSPHERE


@dataclass(frozen=True)
class Options:
    """How states are run. ``atmosphere`` [Pa abs]; ``faults`` are put in from the very beginning.

    ``compiled``: ``auto``, ``yes`` or ``no``; ``announce`` is called with a sentence before a long wait.
    ``doubts``: run each state a second time, at a tenth of the tolerance, to see whether it ends the same.
    """

    atmosphere: float = STANDARD_ATMOSPHERE
    faults: tuple[FaultSetting, ...] = ()
    tolerance: float = 1e-3
    compiled: str = "auto"
    announce: Callable[[str], None] | None = None
    progress: Callable[[str], None] | None = None
    doubts: bool = False


@dataclass(frozen=True)
class Run:
    """One state, run: its network, its solution, and where the circuit stands before and after.

    ``doubts``: the nodes whose end pressure hangs on a knife edge, if that was asked for (`Options.doubts`);
    ``unsure``: the states before it whose end does.
    """

    circuit: Circuit
    state: State
    plumbing: Plumbing
    solution: Solution
    before: Standing
    after: Standing
    doubts: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()


def chain(circuit: Circuit, name: str) -> tuple[State, ...]:
    """Return the states from the one that starts empty to the named one, in the order they are run.

    Raises
    ------
    KeyError
        If a state of the chain does not exist (the builder of a circuit reports that as a diagnostic).
    """
    out: list[State] = []
    while name != EMPTY:
        state = circuit.state(name)
        if state is None or state in out:
            raise KeyError(name)
        out.append(state)
        name = state.start
    return tuple(reversed(out))


def run(circuit: Circuit, names: Iterable[str], options: Options | None = None) -> Mapping[str, Run]:
    """Run the named states, and those they start from, each once; the result holds them all in order of running."""
    options = options or Options()
    names = tuple(names)
    states: list[State] = []
    for name in names:
        states += [state for state in chain(circuit, name) if state not in states]
    done: dict[str, Run] = {}
    like: Plumbing | None = None
    for state in states:
        if options.progress is not None:
            options.progress(state.name)
        before = done[state.start].after if state.start != EMPTY else _empty(options)
        made = run_state(circuit, state, before, options, len(states), like)
        done[state.name] = made if state.start == EMPTY else following(done[state.start], made)
        like = made.plumbing
    return done


def following(earlier: Run, later: Run) -> Run:
    """Note on a run that began where another ended which ends before it are in doubt."""
    own = (earlier.state.name,) if earlier.doubts else ()
    return replace(later, unsure=(*earlier.unsure, *own))


def run_state(
    circuit: Circuit,
    state: State,
    before: Standing,
    options: Options,
    jobs: int = 1,
    like: Plumbing | None = None,
) -> Run:
    """Run one state from where the circuit stands. ``jobs`` is how many are to come, for the choice to compile.

    ``like`` may be the plumbing of another state of the circuit: that saves building it.
    """
    if like is None:
        plumbing = plumb(circuit, state, before, options.atmosphere)
    else:
        plumbing = restated(like, circuit, state, before, options.atmosphere)
    stops = tuple(
        (index, 1)
        for index, (tag, memory) in enumerate(plumbing.memories)
        if state.stop_at_cut_out and _purpose(circuit, tag, memory) == "governor"
    )
    settings = Settings(
        rtol=options.tolerance,
        atol=options.tolerance,
        horizon=state.horizon,
        stop_memory=stops,
        compiled=options.compiled,
        jobs=3 * jobs if options.doubts else jobs,  # the second run takes twice as many steps
        announce=options.announce,
    )
    solution = solve(plumbing.prepared, settings)
    unsure = doubtful(plumbing.prepared, settings, solution) if options.doubts else ()
    doubts = tuple(plumbing.network.nodes[i].name for i in unsure)
    return Run(circuit, state, plumbing, solution, before, _after(circuit, plumbing, solution), doubts)


def _empty(options: Options) -> Standing:
    return Standing(NOTHING.pressures, NOTHING.memories, NOTHING.inputs, options.faults)


def _purpose(circuit: Circuit, tag: str, name: str) -> str:
    part = circuit.part(tag)
    assert part is not None
    return next(memory.purpose for memory in part.kind.memories if memory.name == name)


def _after(circuit: Circuit, plumbing: Plumbing, solution: Solution) -> Standing:
    last = solution.pressures[-1]
    pressures = {node.name: float(last[i]) for i, node in enumerate(plumbing.network.nodes)}
    memories = {key: int(solution.memories[i]) for i, key in enumerate(plumbing.memories)}
    inputs = dict(plumbing.inputs)
    for part in circuit.parts:
        for memory in part.kind.memories:
            if memory.input is not None:  # a knob that popped out by itself is out
                inputs[part.tag, memory.input] = float(memories[part.tag, memory.name])
    positions = {key: float(solution.positions[-1][j]) for j, key in enumerate(plumbing.pistons)}
    return Standing(pressures, memories, inputs, plumbing.faults, positions)
