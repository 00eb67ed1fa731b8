"""Running a network: from its start pressures to equilibrium, a horizon, or an event.

The kernel integrates stretches in which inputs are straight lines and memories stand still. Here the stretches are put
together: corners of the inputs are met exactly, commands are given, triggers are answered. A run is bounded in steps
and in flips of a memory; one that turns out long goes on in the compiled kernel, where ``auto`` allows it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from pneudraw.flow import kernel
from pneudraw.flow.arrays import Work
from pneudraw.flow.compile import choose
from pneudraw.flow.flatten import work_of
from pneudraw.flow.network import Network, corners
from pneudraw.flow.outcome import complaint, solution_of, turns
from pneudraw.flow.pointers import as_array, table_of
from pneudraw.flow.prepared import Prepared, prepare
from pneudraw.flow.running import (
    NEAR,
    Running,
    begin_stretch,
    command,
    drain,
    fire,
    restless,
    settle,
    stopped,
)
from pneudraw.flow.solution import Solution

PATIENCE = 1500  # steps that are made interpreted where `auto` allows to go on compiled


@dataclass(frozen=True)
class Settings:
    """How a run is made and when it ends.

    ``rtol`` [-] and ``atol`` [bar, or dm of a piston]: tolerance of a step. ``horizon`` [s] ends the run; it ends
    earlier in equilibrium, when for ``quiet_time`` [s] nothing moved faster than ``quiet_rate`` [bar/s], counted from
    ``min_time`` [s] on (by default the last corner of an input), or as soon as one of ``stop_memory`` takes the value
    given with it. ``max_steps`` bounds the work; so do the flips of a memory (:mod:`pneudraw.flow.running`).
    ``compiled``: ``auto``, ``yes``, ``no``; ``jobs``: how many such runs are to come, for ``auto`` to judge by;
    ``announce`` is called with a sentence before a compilation.
    """

    rtol: float = 1e-3
    atol: float = 1e-3
    horizon: float = 20.0
    quiet_rate: float = 1e-3
    quiet_time: float = 0.1
    min_time: float | None = None
    stop_memory: tuple[tuple[int, int], ...] = ()
    max_steps: int = 20000
    compiled: str = "auto"
    jobs: int = 1
    announce: Callable[[str], None] | None = None


def solve(network: Network | Prepared, settings: Settings | None = None) -> Solution:
    """Run a network from its start; always returns, with a ``status`` that says how it ended.

    A network that is run in several ways is prepared once (:mod:`pneudraw.flow.prepared`).

    Raises
    ------
    ValueError
        If the network itself is malformed (see :mod:`pneudraw.flow.wellformed`), which is its builder's fault.
    """
    settings = settings or Settings()
    run = _begin(prepare(network) if isinstance(network, Network) else network, settings)
    status, message = _go(run, settings)
    return solution_of(run, status, message)


def doubtful(
    network: Network | Prepared, settings: Settings, solution: Solution, least: float = 0.2
) -> tuple[int, ...]:
    """Return the nodes whose end pressure comes out differently, by ``least`` [bar], with a tenth of the tolerance.

    They hang on a knife edge (a seat balanced at lap, a latch just reached): a real vehicle may do either. An implicit
    integrator may also rest on an unstable balance; the second run's steps differ, and so tell. Where a pressure
    swings to and fro (a governor cycles), only the moment of the end differs, which is no doubt.
    """
    tight = replace(settings, rtol=0.1 * settings.rtol, atol=0.1 * settings.atol)
    other = solve(network, tight)
    apart = np.nonzero(np.abs(solution.pressures[-1] - other.pressures[-1]) > least)[0].tolist()
    return tuple(
        i for i in apart if min(turns(run.pressures[:, i].tolist(), least) for run in (solution, other)) < 3
    )


def _begin(prepared: Prepared, settings: Settings) -> Running:
    network, fixed = prepared.network, prepared.fixed
    chosen = choose(settings.compiled, len(network.passages), settings.jobs, settings.announce)
    model = fixed.arrays if chosen.compiled else fixed.lists
    table = work_of(network, fixed.shape, chosen.compiled)
    found = corners(network)
    work = table.fields
    real = work.real
    real[kernel.LOWEST], real[kernel.HIGHEST] = _range(prepared)
    real[kernel.RTOL], real[kernel.ATOL] = settings.rtol, settings.atol
    real[kernel.QUIET_RATE], real[kernel.QUIET_TIME] = settings.quiet_rate, settings.quiet_time
    last = found[-1] if found else 0.0
    real[kernel.QUIET_AFTER] = last if settings.min_time is None else max(last, settings.min_time)
    soft = settings.compiled == "auto" and not chosen.compiled
    work.tally[kernel.MOST_STEPS] = min(PATIENCE, settings.max_steps) if soft else settings.max_steps
    memories = [memory.start for memory in network.memories]
    advance = chosen.start(model, table)
    return Running(network, fixed, model.fields, work, advance, chosen.compiled, memories, found)


def _range(prepared: Prepared) -> tuple[float, float]:
    """The pressures that sources and starting air can bring about; none is known once a piston pushes."""
    nodes = prepared.network.nodes
    if prepared.network.pistons:
        return kernel.MARGIN, math.inf
    pressures = [node.pressure0 for node in nodes]
    low, high = min(pressures, default=1.0), max(pressures, default=1.0)
    top = high
    for pump in prepared.fixed.pumps:
        assert pump.displacement is not None
        falloff = pump.displacement.falloff
        top = max(top, high * (1.0 + 1.0 / falloff) if falloff > 0.0 else math.inf)
        if not nodes[pump.a].fixed:
            low = kernel.MARGIN  # it can draw its intake down
    return low, top


def _go(run: Running, settings: Settings) -> tuple[str, str]:
    """Run stretch after stretch; return status and message."""
    work = run.work
    while True:
        command(run)
        chatter = settle(run) or restless(run)
        begin_stretch(run)
        if chatter is not None:
            _advance(run, run.time, settings)  # for a row of output
            return "stalled", chatter
        if stopped(run, settings.stop_memory):
            flows = list(work.q0)  # of the last step: the row after the flip has those of the other side
            _advance(run, run.time, settings)
            work.q0[:] = flows
            return "event", ""
        following = [t for t in run.corners if t > run.time + NEAR]
        stop = min(settings.horizon, following[0]) if following else settings.horizon
        match _advance(run, max(stop, run.time), settings):
            case kernel.END:
                if run.time >= settings.horizon - NEAR:
                    return "horizon", ""
            case kernel.EVENT:
                fire(run)
            case kernel.QUIET:
                return "equilibrium", ""
            case code:
                return "stalled", complaint(run, code)
        work = run.work
        work.tally[kernel.FRESH] = 1


def _advance(run: Running, stop: float, settings: Settings) -> int:
    """Call the kernel until it has something to say, putting its rows by."""
    run.work.real[kernel.STOP] = stop
    while True:
        code = run.advance()
        if code == kernel.TOO_MANY and run.work.tally[kernel.MOST_STEPS] < settings.max_steps:
            _go_on_compiled(run, settings)
        elif code == kernel.FULL:
            drain(run)
        else:
            return code


def _go_on_compiled(run: Running, settings: Settings) -> None:
    """Hand a run that turned out long to the compiled kernel, which is in the middle of nothing between two steps."""
    run.work.tally[kernel.MOST_STEPS] = settings.max_steps
    chosen = choose("yes", len(run.network.passages), 1, settings.announce)
    if chosen.compiled:
        run.work = Work(*map(as_array, Work._fields, run.work))
        run.model = run.fixed.arrays.fields
        run.advance, run.compiled = chosen.start(run.fixed.arrays, table_of(run.work)), True
