"""The conditions a vehicle is put in to look for a fault: what is done, how long one watches.

All follow from the purposes of the circuit's inputs; no kind is named. A condition begins where the sound vehicle
stands (ready to drive, parked, applied ...): there the fault is put in, and there the clock starts. Only building up
begins empty. The states written in a netlist are conditions too, under their own names.

A machine (cylinders, and what works them) is watched at rest, with its operators worked, and let go again.

The letters P, R, S and PS are those of the usual fault tables: parked, released, service brake held, parked with the
pedal held. The engine is stopped in all conditions but B, U and N; that of a machine (R, W, O) stays on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit, FaultSetting, Part, Setting, State
from pneudraw.circuit.states import EMPTY, built_in_states, inputs_for
from pneudraw.flow.gauges import gauge_places
from pneudraw.flow.plumbing import NOTHING, Plumbing, Standing, plumb
from pneudraw.flow.restate import restated
from pneudraw.flow.run import Options, Run, run, run_state
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.working import STROKE, Worked, worked
from pneudraw.library.model import Place

SETTLE = (
    8.0  # s from the last thing done until puffs are over and needles are read; common practice, no source
)
MINUTE = 60.0  # s that needles are watched: leak rates are given in psi a minute
DRAINED = 60.0  # s until a reservoir behind an open drain cock is empty enough to press the pedal
REST = 300.0  # s that the sound vehicle is left parked, the engine running, so that a purge is over
FANNED = 300.0  # s that drains are left open to fan the pressure down
MOST_WRITTEN = 12  # states of the netlist that become conditions too
QUIET = 1e-5  # bar/s: slower is standing still; slower than a slow leak

#: the conditions of the fault tables, in the order they are told
TABLE = ("P", "PS", "R", "S")
#: that in which a machine's reservoirs are watched
SHUT_OFF = ("C",)


@dataclass(frozen=True)
class Condition:
    """One condition: from where the sound vehicle stands in ``begin``, ``settings`` are given; then one watches.

    Needles are read from ``settle`` to ``read`` [s], brakes at ``horizon``. ``work`` is the effort of bringing it
    about, in points: 0 nothing, 1 a pedal or knob, 2 the engine, 3 draining or uncoupling.
    """

    letter: str
    title: str
    text: str
    begin: str
    settings: tuple[Setting, ...]
    settle: float
    read: float
    horizon: float
    work: int


@dataclass(frozen=True)
class Sound:
    """The sound vehicle: its conditions, and where it stands in each state that conditions begin from."""

    circuit: Circuit
    conditions: tuple[Condition, ...]
    standings: Mapping[str, Standing]

    def condition(self, letter: str) -> Condition | None:
        """Return the condition of a letter, or None."""
        return next((c for c in self.conditions if c.letter == letter), None)


def sound(circuit: Circuit, options: Options | None = None) -> Sound:
    """Run the sound vehicle through a day and return it with all conditions its parts make possible."""
    options = replace(options or Options(), faults=())
    own = replace(circuit, states=built_in_states(circuit.parts, circuit.lines))
    first = run(own, [s.name for s in own.states if s.name in ("charging", "ready")], options)
    standings = {EMPTY: NOTHING} | {name: done.after for name, done in first.items()}
    knobs = _set(_inputs(circuit, "park", "trailer-supply"), 0.0)
    if knobs:
        parked = state_of(Condition("", "", "", "ready", knobs, 0.0, 0.0, REST, 0), ())
        standings["parked"] = run_state(own, parked, standings["ready"], options).after
    pedal = _inputs(circuit, "service-brake")
    if pedal:
        held = state_of(Condition("", "", "", "ready", _set(pedal, 1.0), 0.0, 0.0, 20.0, 0), ())
        standings["applied"] = run_state(own, held, standings["ready"], options).after
    for one in worked(circuit):
        state = state_of(Condition("", "", "", "ready", one.on, 0.0, 0.0, STROKE, 0), ())
        standings[_worked(one)] = run_state(own, state, standings["ready"], options).after
    built = first["charging"].solution.times[-1] if "charging" in first else None
    usual = tuple(_conditions(circuit, standings, None if built is None else float(built)))
    written = tuple(_written(circuit, {condition.letter for condition in usual}))
    starts = [state.start for state in circuit.states if state.name in {c.letter for c in written}]
    done = run(circuit, [name for name in starts if name != EMPTY], options)
    standings |= {_own(name): done[name].after for name in starts if name != EMPTY}
    conditions = (*usual, *written)
    return Sound(own, conditions, standings)


def _worked(one: Worked) -> str:
    """Name the standing at the end of a stroke; no state has such a name."""
    return f"{one.tag or 'everything'} worked"


def _own(name: str) -> str:
    """Name the standing at the end of one of the circuit's own states; no built-in one has such a name."""
    return name if name == EMPTY else f"{name} as written"


def _written(circuit: Circuit, taken: set[str]) -> Iterable[Condition]:
    """Yield the states written in the netlist as conditions too, as they are; those with faults in them are none."""
    own = [s for s in circuit.states if not s.built_in and not s.faults and s.name not in taken]
    for state in own[:MOST_WRITTEN]:
        last = max((setting.at for setting in state.settings), default=0.0)
        settle = last + 0.2 * (state.horizon - last)
        text = state.text or f"As written in the netlist: {state.title}."
        yield Condition(
            state.name,
            state.title,
            text,
            _own(state.start),
            state.settings,
            settle,
            state.horizon,
            state.horizon,
            2,
        )


def watch(
    vehicle: Sound,
    condition: Condition,
    faults: tuple[FaultSetting, ...],
    options: Options | None = None,
    like: Plumbing | None = None,
) -> Run:
    """Put faults into the sound vehicle, bring the condition about and watch to its end.

    ``like`` may be the plumbing of a run with the same faults: that saves building it.
    """
    options = options or Options()
    state = state_of(condition, faults)
    before = vehicle.standings[condition.begin]
    if like is None:
        plumbing = plumb(vehicle.circuit, state, before, options.atmosphere)
    else:
        plumbing = restated(like, vehicle.circuit, state, before, options.atmosphere)
    settings = Settings(
        rtol=options.tolerance,
        atol=options.tolerance,
        horizon=condition.horizon,
        quiet_rate=QUIET,
        compiled=options.compiled,
        jobs=len(vehicle.conditions),
        announce=options.announce,
    )
    solution = solve(plumbing.prepared, settings)
    after = Standing({}, {}, {}, plumbing.faults)  # nothing is run from here
    return Run(vehicle.circuit, state, plumbing, solution, before, after)


def prepare(vehicle: Sound, runs: int, options: Options | None = None) -> None:
    """Load or compile the kernel if so many runs are worth it, so that processes forked later have it."""
    from pneudraw.flow.compile import choose

    options = options or Options()
    condition = vehicle.conditions[0]
    plumbing = plumb(
        vehicle.circuit, state_of(condition, ()), vehicle.standings[condition.begin], options.atmosphere
    )
    choose(options.compiled, len(plumbing.network.passages), runs, options.announce)


def state_of(condition: Condition, faults: tuple[FaultSetting, ...]) -> State:
    """Return a condition with faults as a state to be run."""
    return State(
        condition.letter,
        condition.title,
        condition.begin,
        condition.settings,
        faults,
        condition.horizon,
        stop_at_cut_out=False,
        built_in=True,
        text=condition.text,
        span=None,
    )


def drains(circuit: Circuit) -> Mapping[str, tuple[Setting, ...]]:
    """Return, for each reservoir that can be drained by hand, what opens its drains."""
    out: dict[str, tuple[Setting, ...]] = {}
    cocks = _inputs(circuit, "drain")
    for store in circuit.parts:
        if store.kind.place is not Place.STORAGE:
            continue
        lines = [line for line in circuit.lines if any(end.part is store for end in line.ends)]
        joined = {end.part.tag for line in lines for end in line.ends}
        found = _set(((part, inp) for part, inp in cocks if part.tag in joined), 1.0)
        if found:
            out[store.tag] = found
    return out


def _inputs(circuit: Circuit, *purposes: str) -> tuple[tuple[Part, str], ...]:
    return tuple((part, inp.name) for part, inp in inputs_for(circuit.parts, *purposes))


def _set(pairs: Iterable[tuple[Part, str]], value: float, at: float = 0.0) -> tuple[Setting, ...]:
    return tuple(Setting(part.tag, name, value, at, None) for part, name in pairs)


def _conditions(
    circuit: Circuit, standings: Mapping[str, Standing], built: float | None
) -> Iterable[Condition]:
    engine = _inputs(circuit, "engine")
    pedal = _inputs(circuit, "service-brake")
    park = _inputs(circuit, "park")
    trailer = _inputs(circuit, "trailer-supply")
    coupling = _inputs(circuit, "coupling")
    hand = _inputs(circuit, "trailer-brake")
    hold, dump = _inputs(circuit, "antilock-hold"), _inputs(circuit, "antilock-dump")
    stop, press = _set(engine, 0.0), _set(pedal, 1.0)
    watched, end = SETTLE + MINUTE, SETTLE + MINUTE
    if built is not None:
        time = max(2 * MINUTE, 1.6 * built)
        source = "supply is on" if worked(circuit) and not pedal else "engine runs"
        begin = f"The {source} from empty, for {time / 60:.1f} min."
        yield Condition("B", "Building up", begin, EMPTY, _set(engine, 1.0), time - MINUTE, time, time, 2)
        if any(memory.purpose == "governor" for part in circuit.parts for memory in part.kind.memories):
            text = "The engine runs on after the governor has cut out."
            yield Condition("U", "Unloaded", text, "charging", (), MINUTE, 2 * MINUTE, 2 * MINUTE, 2)
    if "parked" in standings:
        yield Condition(
            "P",
            "Parked",
            "Parked, charged, engine stopped, pedal up.",
            "parked",
            stop,
            SETTLE,
            watched,
            end,
            0,
        )
        if pedal:
            text = "Parked, engine stopped; the pedal is pressed and held."
            yield Condition(
                "PS", "Parked, pedal held", text, "parked", (*stop, *press), SETTLE, watched, end, 1
            )
    yield from _rest(circuit, stop)
    yield from _working(circuit)
    if pedal:
        text = "Ready to drive, engine stopped; the pedal is pressed and held."
        yield Condition("S", "Pedal held", text, "ready", (*stop, *press), SETTLE, watched, end, 1)
        text = "The pedal, held until now, is let up; engine stopped."
        yield Condition(
            "L", "Pedal let up", text, "applied", (*stop, *_set(pedal, 0.0)), SETTLE, watched, end, 1
        )
    if "parked" in standings:
        text = "The knobs are pulled; engine stopped."
        out = _set((*park, *trailer), 0.0)
        yield Condition("K", "Parking", text, "ready", (*stop, *out), SETTLE, watched, end, 1)
        text = "The knobs are pushed in; the engine runs."
        into = _set((*park, *trailer), 1.0)
        yield Condition("N", "Unparking", text, "parked", into, SETTLE, watched, end, 2)
    if hand:
        text = "The trailer's hand brake is applied; engine stopped."
        yield Condition(
            "H", "Hand brake held", text, "ready", (*stop, *_set(hand, 1.0)), SETTLE, watched, end, 1
        )
    if pedal and (hold or dump):
        text = "With the pedal held the electronic unit lets the wheels go; engine stopped."
        settings = (*stop, *_set(hold, 1.0), *_set(dump, 1.0))
        yield Condition("X", "Anti-lock dump", text, "applied", settings, SETTLE, watched, end, 2)
    if trailer:
        text = "The trailer supply knob is pulled; engine stopped."
        yield Condition(
            "Q", "Trailer knob pulled", text, "ready", (*stop, *_set(trailer, 0.0)), SETTLE, watched, end, 1
        )
    if coupling:
        text = "The trailer's couplings are taken apart, the knobs stay in; engine stopped."
        apart = _set(coupling, 0.0)
        yield Condition("T", "Couplings apart", text, "ready", (*stop, *apart), SETTLE, watched, end, 3)
        if pedal:
            text = "Couplings apart, the trailer supply knob out; then the pedal is pressed and held; engine stopped."
            settings = (*stop, *apart, *_set(trailer, 0.0), *_set(pedal, 1.0, SETTLE))
            settle = 2 * SETTLE
            yield Condition(
                "TS",
                "Couplings apart, pedal held",
                text,
                "ready",
                settings,
                settle,
                settle + MINUTE,
                settle + MINUTE,
                3,
            )
    yield from _draining(circuit, pedal, stop)
    horns = _inputs(circuit, "horn")
    if horns:
        text = "The accessories are left open until nothing more comes; engine stopped."
        yield Condition(
            "V",
            "Accessories used",
            text,
            "ready",
            (*stop, *_set(horns, 1.0)),
            2 * MINUTE,
            3 * MINUTE,
            3 * MINUTE,
            1,
        )


def _rest(circuit: Circuit, stop: tuple[Setting, ...]) -> Iterable[Condition]:
    """R: released, of a vehicle. Of a machine that is none: at rest, the supply on; then C: the supply shut off."""
    times = (SETTLE, SETTLE + MINUTE, SETTLE + MINUTE)
    if _inputs(circuit, "service-brake", "park") or not worked(circuit):
        text = "Ready to drive, engine stopped, pedal up."
        yield Condition("R", "Released", text, "ready", stop, *times, 0)
        return
    yield Condition("R", "At rest", "Charged, the supply on, nothing is worked.", "ready", (), *times, 0)
    if stop and gauge_places(circuit):
        text = "Charged; then the supply is shut off, nothing is worked."
        yield Condition("C", "Supply shut off", text, "ready", stop, *times, 1)


def _working(circuit: Circuit) -> Iterable[Condition]:
    """W: worked and held; O: let go again. Each for all operators, and with its tag for each of several."""
    times = (SETTLE, SETTLE + STROKE, SETTLE + STROKE)
    for one in worked(circuit):
        who = one.tag or "everything"
        text = f"From rest, the supply on, {who} is worked and held."
        title = f"{who} worked" if one.tag else "Everything worked"
        yield Condition(f"W{one.tag}", title, text, "ready", one.on, *times, 1)
        text = f"{'It' if one.tag else 'All'} is let go again, {who} having been worked until now; the supply on."
        title = f"{who} let go" if one.tag else "Let go"
        yield Condition(f"O{one.tag}", title, text, _worked(one), one.off, *times, 1)


def _draining(
    circuit: Circuit, pedal: tuple[tuple[Part, str], ...], stop: tuple[Setting, ...]
) -> Iterable[Condition]:
    cocks = drains(circuit)
    for tag, open_drain in cocks.items():
        settings = (*stop, *open_drain, *_set(pedal, 1.0, DRAINED))
        text = f"Engine stopped; {tag} is drained, then the pedal is pressed and held."
        if not pedal:
            text = f"Engine stopped; {tag} is drained."
        yield Condition(
            f"D{tag}",
            f"{tag} drained",
            text,
            "ready",
            settings,
            DRAINED / 2,
            DRAINED - 1.0,
            DRAINED + 30.0,
            3,
        )
    if cocks:
        text = "Engine stopped, knobs in; all reservoirs are drained slowly and the needles watched."
        every = tuple(setting for open_drain in cocks.values() for setting in open_drain)
        yield Condition("F", "Fanned down", text, "ready", (*stop, *every), 0.0, FANNED, FANNED, 3)
