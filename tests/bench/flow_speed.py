"""How fast the flow solver is: run ``python -m tests.bench.flow_speed [section ...]``.

Sections: ``kernel`` (compiling and loading it), ``rivals`` (scipy's integrators on the same network at the accuracy of
our default), ``states`` (the states of the course's truck), ``sweep`` (500 faults in six states each), ``growth``
(vehicles coupled in a row), ``interpreted``. All, if none is named. Nothing is asserted; read the ratios, the
milliseconds are those of one machine. `pneudraw.flow.compile` chooses between interpreted and compiled by them.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.compile import choose
from pneudraw.flow.faults import PossibleFault, all_faults
from pneudraw.flow.flatten import model_of, structure_of
from pneudraw.flow.many import each, processors
from pneudraw.flow.network import Network, Passage
from pneudraw.flow.plumbing import Plumbing, plumb
from pneudraw.flow.prepared import prepare
from pneudraw.flow.restate import restated
from pneudraw.flow.run import Options, Run, run
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import Solution, pressure_at
from tests.bench.fault_speed import processor_time
from tests.bench.flow_rivals import compiled_equations, integrate, numpy_equations
from tests.flow.parts import truck

PEDAL = ((0.0, 0.0), (0.1, 0.6))
COURSE = Path(__file__).parent.parent.parent / "circuits" / "two-axle-truck.pneu"
HORIZON = 3.0
TIMES = np.concatenate([np.linspace(0.02, 0.6, 30), np.linspace(0.7, HORIZON, 24)])
TOLERANCES = (1e-3, 7e-4, 5e-4, 3e-4, 2e-4, 1.5e-4, 1e-4, 7e-5, 5e-5, 3e-5, 2e-5, 1e-5, 3e-6)
SIX = ("park-release", "ready", "service-apply", "service-release", "park-apply", "emergency")


def main(sections: tuple[str, ...]) -> None:
    """Print the tables of the named sections."""
    known = {
        "kernel": kernel_made,
        "rivals": rivals,
        "states": states,
        "sweep": sweep,
        "growth": growth,
        "interpreted": interpreted,
    }
    for name in sections or tuple(known):
        print(f"\n{name}")
        known[name]()


def milliseconds(work: Callable[[], object], repeats: int = 5) -> float:
    """Return the median time of some work [ms of a processor], whatever else the machine does."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(1e3 * (time.process_time() - start))
    return statistics.median(times)


def kernel_made() -> None:
    """Time to compile the kernel, and to load it again, each in a fresh process."""
    program = "import numba, time; from pneudraw.flow.compile import choose; t = time.perf_counter(); "
    program += "choose('yes', 1); wall, own = time.perf_counter() - t, time.process_time(); "
    program += "print(f'{wall:.1f} s; {own:.1f} s of a processor, imports included')"
    with tempfile.TemporaryDirectory() as folder:
        for what in ("compiled", "loaded"):
            done = subprocess.run(
                [sys.executable, "-c", program],
                env={**os.environ, "NUMBA_CACHE_DIR": folder},
                capture_output=True,
                text=True,
                check=True,
            )
            print(f"  {what:10s} {done.stdout.strip()}")


def rivals() -> None:
    """Our solver and scipy's on the same networks, each at the loosest tolerance that is as accurate as our default.

    Both are given what is worked out once for all states of a network: ours the network prepared, theirs the equations.
    The error is the mean over 54 times of the largest error of any node, against Radau at 1e-9. Rounds take turns.
    """
    circuit = course()
    pedal = run(circuit, ("service-apply",), Options(compiled="yes"))["service-apply"].plumbing.network
    print(
        f"  {'network':12s} {'integrator':28s} {'tolerance':>9s} {'error, bar':>10s} {'ms':>8s} {'ratio':>6s}"
    )
    for name, network in (
        ("course truck", pedal),
        ("semitrailer", truck(PEDAL)),
        ("two of them", truck(PEDAL, copies=2)),
    ):
        by_numba, by_numpy = compiled_equations(network), numpy_equations(network)
        ready = prepare(network)  # as the equations are
        exact = integrate(network, by_numba, "Radau", 1e-9, HORIZON, TIMES)
        settings = Settings(horizon=HORIZON, quiet_rate=0.0, compiled="yes")
        solution = solve(ready, settings)
        ours = [[pressure_at(solution, i, t) for i in range(len(network.nodes))] for t in TIMES]
        own_error = error(np.array(ours), exact)
        found: list[tuple[str, float, float, Callable[[], object]]] = []
        for method in ("LSODA", "BDF"):
            for how, equations in (("compiled equations", by_numba), ("numpy equations", by_numpy)):
                for tolerance in TOLERANCES:
                    missed = error(integrate(network, equations, method, tolerance, HORIZON, TIMES), exact)
                    if missed <= own_error:
                        break
                work = _bound(network, equations, method, tolerance)
                found.append((f"{method}, {how}", tolerance, missed, work))
        own, times = [], [[] for _ in found]  # type: ignore[var-annotated]
        for _ in range(5):
            own.append(milliseconds(lambda: solve(ready, settings), 3))  # noqa: B023 - called at once
            for spent, (_, _, _, work) in zip(times, found, strict=True):
                spent.append(milliseconds(work, 1))
        print(
            f"  {name:12s} {'ours':28s} {1e-3:9.1e} {own_error:10.1e} {statistics.median(own):8.2f} {1.0:6.1f}"
        )
        for spent, (what, tolerance, missed, _) in zip(times, found, strict=True):
            ratio = statistics.median([a / b for a, b in zip(spent, own, strict=True)])
            print(
                f"  {name:12s} {what:28s} {tolerance:9.1e} {missed:10.1e} {statistics.median(spent):8.2f} {ratio:6.1f}"
            )


def _bound(network: Network, equations: object, method: str, tolerance: float) -> Callable[[], object]:
    return lambda: integrate(network, equations, method, tolerance, HORIZON, TIMES)  # type: ignore[arg-type]


def error(got: object, exact: object) -> float:
    """Return the mean over the times of the largest error of any node [bar]."""
    return float(np.abs(np.asarray(got) - np.asarray(exact)).max(axis=1).mean())


def course() -> Circuit:
    """Return the course's truck."""
    circuit = api.read(COURSE).circuit
    assert circuit is not None
    return circuit


def states() -> None:
    """All states of each circuit of the course, each from the end of another."""
    for path in sorted(COURSE.parent.glob("*.pneu")):
        circuit = api.read(path).circuit
        assert circuit is not None, path
        n = len(circuit.states)
        options = Options(compiled="yes")
        done = api.runs(circuit, options=options)
        both = milliseconds(_all_states(circuit, options), 11)
        build = milliseconds(_all_networks(done.values(), options), 11)
        nodes = max(len(r.plumbing.network.nodes) for r in done.values())
        print(
            f"  {path.stem:20s} {nodes:4d} nodes, {n} states: {both:4.1f} ms, {build:.1f} of them for networks;"
            f" ten states solved in {10 * (both - build) / n:.0f}"
        )


def _all_states(circuit: Circuit, options: Options) -> Callable[[], object]:
    return lambda: api.runs(circuit, options=options)


def _all_networks(done: Iterable[Run], options: Options) -> Callable[[], object]:
    """Make the networks as `run` does: the first from the circuit, the others from the one before."""
    runs = tuple(done)

    def make() -> None:
        like = plumb(runs[0].circuit, runs[0].state, runs[0].before, options.atmosphere)
        for r in runs[1:]:
            like = restated(like, r.circuit, r.state, r.before, options.atmosphere)

    return make


def sweep() -> None:
    """Single faults of the course's truck, each in six states, on all processors: solving, and making the networks."""
    circuit = course()
    options = Options(compiled="yes")
    done = run(circuit, SIX, options)
    known = all_faults(circuit)
    faults = (known * 10)[:500]

    def one(fault: PossibleFault) -> int:
        steps = 0
        like: Plumbing | None = None
        for name in SIX:
            before, state = replace(done[name].before, faults=(fault.setting,)), done[name].state
            if like is None:
                plumbing = plumb(circuit, state, before, options.atmosphere)
            else:
                plumbing = restated(like, circuit, state, before, options.atmosphere)
            like = plumbing
            solution = solve(plumbing.prepared, Settings(horizon=done[name].state.horizon, compiled="yes"))
            steps += solution.counters.steps
        return steps

    for processes in (1, processors()):
        start, busy = time.perf_counter(), processor_time()
        steps = sum(each(one, faults, processes))
        spent, busy = time.perf_counter() - start, processor_time() - busy
        print(
            f"  500 faults x 6 states in {processes} process(es): {spent:.1f} s, {busy:.1f} s of a processor,"
            f" {steps / len(faults) / 6:.0f} steps each"
        )


def growth() -> None:
    """One transition of vehicles coupled in a row; the time a node is what should stay."""
    for copies in (1, 2, 4, 8, 15):
        network = truck(PEDAL, copies=copies)
        settings = Settings(horizon=HORIZON, quiet_rate=0.0, compiled="yes")
        solution = solve(network, settings)
        spent = milliseconds(lambda: solve(network, settings), 7)  # noqa: B023 - called at once
        structure_of.cache_clear()
        start = time.perf_counter()
        model_of(network)
        order = 1e3 * (time.perf_counter() - start)
        n = len(network.nodes)
        print(
            f"  {n:5d} nodes {spent:8.2f} ms {1e3 * spent / n:6.1f} us a node;"
            f" first of its pattern + {order:.1f} ms {told(solution)}"
        )


def interpreted() -> None:
    """The same source without numba."""
    for name, network, horizon in (
        ("transition", truck(PEDAL), HORIZON),
        ("300 s of charging, leaking", leaking(truck(((0.0, 0.0),), gauge=4.0)), 300.0),
    ):
        times = {}
        for mode in ("no", "yes"):
            settings = Settings(horizon=horizon, quiet_rate=0.0, compiled=mode)
            solution = solve(network, settings)
            times[mode] = milliseconds(lambda: solve(network, settings), 3)  # noqa: B023 - called at once
        print(
            f"  {name:28s} interpreted {times['no']:7.1f} ms, compiled {times['yes']:6.2f} ms  {told(solution)}"
        )


def told(solution: Solution) -> str:
    """Say how hard a run was."""
    n = solution.counters
    return f"({n.steps} steps, {n.rejected} rejected, {n.iterations} iterations, {solution.status})"


def leaking(network: Network) -> Network:
    """The network with a small leak at every reservoir."""
    leaks = [
        Passage(f"{node.name} leaks", i, 0, 0.02, 0.5)
        for i, node in enumerate(network.nodes)
        if "reservoir" in node.name
    ]
    return replace(network, passages=network.passages + tuple(leaks))


if __name__ == "__main__":
    if (
        os.environ.get("OPENBLAS_NUM_THREADS") != "1"
    ):  # else its threads, idle but awake, slow down whoever runs next
        os.environ["OPENBLAS_NUM_THREADS"] = "1"
        os.execv(sys.executable, [sys.executable, "-m", "tests.bench.flow_speed", *sys.argv[1:]])
    choose("yes", 1)
    main(tuple(sys.argv[1:]))
