"""The solver against a general-purpose integrator on equations written a second time (`tests.flow.oracle`)."""

from __future__ import annotations

import numpy as np
import pytest

from pneudraw.flow.network import Network, Term
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import first_crossing, mass_balance, pressure_at
from tests.flow.oracle import Oracle
from tests.flow.parts import ATMOSPHERE, Bench

AT = [0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0]


def service_brake() -> Bench:
    """A reservoir, a foot valve, a relay with its own reservoir, two chambers and a quick release to a third."""
    bench = Bench()
    pedal = bench.signal("pedal", (0.0, 0.0), (0.1, 0.6), (1.5, 0.6), (1.6, 0.0))
    front, rear = bench.node("front reservoir", 12.0, 8.0), bench.node("rear reservoir", 20.0, 8.0)
    delivery = bench.node("foot valve delivery", 0.05)
    bench.foot_valve(pedal, front, delivery)
    control = bench.node("relay control", 0.1)
    bench.tube(delivery, control, 3.0)
    relay = bench.node("relay delivery", 0.1)
    bench.relay(rear, control, relay)
    for name in ("left chamber", "right chamber"):
        bench.tube(relay, bench.chamber(name), 4.0)
    release = bench.node("quick release", 0.05)
    bench.quick_release(delivery, release)
    bench.tube(release, bench.chamber("front chamber"), 4.0)
    return bench


def charging() -> Bench:
    """A compressor, its governor, two reservoirs behind checks, one of which leaks: the governor cycles."""
    bench = Bench()
    wet, front, rear = (
        bench.node("wet", 3.0, 6.0),
        bench.node("front", 4.0, 5.0),
        bench.node("rear", 4.0, 6.0),
    )
    governor = bench.governor(wet, 6.8, 8.2)
    loaded = Term((), 1.0, memories=((governor, -1.0),), band=1.0)
    bench.compressor(wet, 6.5, 0.045, loaded)
    bench.check(wet, front)
    bench.check(wet, rear)
    bench.tube(front, 0, 0.15)
    bench.tube(wet, 0, 0.1)
    return bench


@pytest.mark.parametrize(("tolerance", "slack"), [(1e-3, 2e-2), (1e-5, 2e-3)])
def test_a_brake_application_and_release_is_the_same_in_both(tolerance: float, slack: float) -> None:
    network = service_brake().network()
    expected = Oracle(network).run(3.0, AT)
    solution = solve(
        network, Settings(rtol=tolerance, atol=tolerance, horizon=3.0, quiet_rate=0.0, compiled="no")
    )
    got = np.array([[pressure_at(solution, i, t) for i in range(len(network.nodes))] for t in AT])
    # 1e-3 a step on up to 9 bar; steep fronts multiply a time error of 0.1 ms by 100 bar/s
    assert got == pytest.approx(expected, abs=slack)
    assert mass_balance(network, solution) < 1e-5


def test_the_time_to_60_psi_is_right_to_two_milliseconds() -> None:
    # 60 psi gauge is the mark of the timing rule in 49 CFR 571.121 S5.3.3
    bench = service_brake()
    network = bench.network()
    chamber = bench.index("left chamber")
    mark = ATMOSPHERE + 60 * 0.06894757
    tight = Settings(rtol=1e-7, atol=1e-7, horizon=1.4, quiet_rate=0.0, compiled="no")
    coarse = Settings(horizon=1.4, quiet_rate=0.0, compiled="no")
    exact, quick = (first_crossing(solve(network, s), chamber, mark) for s in (tight, coarse))
    assert exact is not None
    assert quick == pytest.approx(exact, abs=2e-3)
    before, after = Oracle(network).run(1.4, [exact - 2e-3, exact + 2e-3])[:, chamber]
    assert before < mark < after


def test_a_governor_cycles_at_the_same_times_in_both() -> None:
    network = charging().network()
    oracle = Oracle(network)
    at = [1.0, 3.0, 7.0, 15.0, 30.0, 45.0]
    expected = oracle.run(45.0, at)
    solution = solve(network, Settings(horizon=45.0, compiled="no"))
    assert solution.status == "horizon"
    assert len(oracle.flips) >= 3
    assert [(f.memory, f.value) for f in solution.flips] == [(m, v) for _, m, v in oracle.flips]
    # the rate at cut-out is some 0.5 bar/s, at cut-in 0.1: a few mbar of error are some 50 ms, and they add up
    assert [f.time for f in solution.flips] == pytest.approx([t for t, _, _ in oracle.flips], abs=0.1)
    got = np.array([[pressure_at(solution, i, t) for i in range(len(network.nodes))] for t in at])
    assert got == pytest.approx(expected, abs=3e-2)
    for flip in solution.flips:  # the reported time is where the wet reservoir crosses
        level = 8.2 if flip.value else 6.8
        assert pressure_at(solution, 1, flip.time) - ATMOSPHERE == pytest.approx(level, abs=2e-3)


def test_with_tight_steps_the_governor_flips_on_the_millisecond() -> None:
    network = charging().network()
    oracle = Oracle(network)
    oracle.run(45.0, [45.0])
    solution = solve(network, Settings(rtol=1e-6, atol=1e-6, horizon=45.0, compiled="no"))
    assert [f.time for f in solution.flips] == pytest.approx([t for t, _, _ in oracle.flips], abs=1e-2)


def test_the_air_through_each_passage_is_the_oracles_flow_summed() -> None:
    network: Network = service_brake().network()
    oracle = Oracle(network)
    times = np.concatenate([np.linspace(0.0, 0.3, 601), np.linspace(0.3, 1.4, 1101)[1:]])
    pressures = oracle.run(1.4, list(times))
    solution = solve(network, Settings(rtol=1e-5, atol=1e-5, horizon=1.4, quiet_rate=0.0, compiled="no"))
    for k in range(len(network.passages)):
        flow = [oracle.flow(k, t, p) for t, p in zip(times, pressures, strict=True)]
        assert solution.net[k] == pytest.approx(
            np.trapezoid(flow, times), abs=5e-3
        )  # the trapezoids' own error
