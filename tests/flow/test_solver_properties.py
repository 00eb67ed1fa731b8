"""What holds for every network: it ends, pressures stay between their sources, air is neither made nor lost."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pneudraw.flow.network import (
    Command,
    Displacement,
    Memory,
    Network,
    Node,
    Passage,
    Signal,
    Term,
    Trigger,
    opening,
)
from pneudraw.flow.simulate import Settings, doubtful, solve
from pneudraw.flow.solution import (
    first_changes,
    first_crossing,
    first_time,
    mass_balance,
    opening_values,
    pressure_at,
    stored_air,
    term_values,
)
from tests.flow.parts import ATMOSPHERE, OUT, Bench, truck

PLAIN = Settings(compiled="no")


@st.composite
def networks(draw: st.DrawFn, pumps: bool = True) -> Network:
    """Vehicles nobody built: any parts joined any way, loops, dead ends and isolated reservoirs included."""
    bench = Bench()
    count = draw(st.integers(3, 14))
    volume = st.sampled_from([1e-3, 0.02, 0.1, 0.5, 3.0, 32.0])
    gauge = st.one_of(st.just(0.0), st.floats(0.0, 9.0))
    for i in range(count):
        kind = draw(st.integers(0, 5))
        if kind == 0:
            bench.chamber(f"chamber {i}", draw(gauge))
        elif kind == 1:
            bench.spring_chamber(f"spring {i}", draw(gauge))
        else:
            bench.node(f"volume {i}", draw(volume), draw(gauge))
    node = st.integers(1, count)
    size = st.sampled_from([1e-3, 0.05, 1.0, 4.0, 12.0, 100.0])
    pedal = bench.signal("pedal", (0.0, 0.0), (0.1, draw(st.floats(0.0, 1.0))))
    for _ in range(draw(st.integers(2, 2 * count))):
        a, b, third = draw(st.lists(node, min_size=3, max_size=3, unique=True))
        c = draw(size)
        match draw(st.integers(0, 10 if pumps else 8)):
            case 0 | 1:
                bench.tube(a, b, c)
            case 2:
                bench.check(a, b, c)
            case 3:
                bench.relay(a, b, third, c)
            case 4:
                bench.shuttle(a, b, third, c)
            case 5:
                bench.quick_release(a, b, c)
            case 6:
                bench.protection(a, b, 5.0, c)
            case 7:
                bench.foot_valve(pedal, a, b, c)
            case 8:
                bench.tube(a, OUT, c)
            case 9:
                cut_in = draw(st.floats(0.5, 8.0))
                memory = bench.governor(b, cut_in, cut_in + draw(st.floats(0.3, 2.0)))
                bench.compressor(a, c, 0.045, Term((), 1.0, memories=((memory, -1.0),), band=1.0))
            case 10:
                bench.relief(a, 6.0, c)
    return bench.network()


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(networks())
def test_any_network_ends_with_pressures_in_range_and_air_in_balance(network: Network) -> None:
    solution = solve(network, Settings(horizon=5.0, compiled="no"))
    # a compressor on a thimble may cycle its governor without end; that is told as what it is
    ended = solution.status in ("equilibrium", "horizon")
    assert ended or "`governor` keeps changing" in solution.message, solution.message
    starts = [node.pressure0 for node in network.nodes]
    assert solution.pressures.min() > min(starts) - 0.06  # the solver refuses steps that leave by 0.05
    pumps = any(passage.displacement for passage in network.passages)
    most = ATMOSPHERE * (1.0 + 1.0 / 0.045) if pumps else 0.0  # a compressor's own limit
    assert solution.pressures.max() < max(most, *starts) + 0.06
    assert mass_balance(network, solution) < 1e-4
    assert np.all(np.diff(solution.times) >= 0.0)
    assert np.all(solution.forward >= 0.0)
    assert np.all(solution.backward >= -1e-12)
    assert solution.net == pytest.approx(solution.forward - solution.backward, abs=1e-9)
    for passage in network.passages:
        openings = opening_values(solution, passage)
        assert np.all((openings >= 0.0) & (openings <= 1.0))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(networks())
def test_the_same_network_gives_the_same_bits(network: Network) -> None:
    one, other = (solve(network, Settings(horizon=2.0, compiled="no")) for _ in range(2))
    assert np.array_equal(one.times, other.times)
    assert np.array_equal(one.pressures, other.pressures)
    assert np.array_equal(one.net, other.net)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(networks(pumps=False), st.randoms(use_true_random=False))
def test_the_order_in_which_nodes_are_listed_changes_no_pressure(network: Network, random: object) -> None:
    order = list(range(1, len(network.nodes)))
    random.shuffle(order)  # type: ignore[attr-defined]
    order = [0, *order]
    place = {old: new for new, old in enumerate(order)}

    def weights(old: tuple[tuple[int, float], ...]) -> tuple[tuple[int, float], ...]:
        return tuple((place[i], w) for i, w in old)

    def moved(passage: Passage) -> Passage:
        terms = tuple(replace(term, weights=weights(term.weights)) for term in passage.terms)
        return replace(passage, a=place[passage.a], b=place[passage.b], terms=terms)

    shuffled = replace(
        network,
        nodes=tuple(network.nodes[i] for i in order),
        passages=tuple(moved(p) for p in network.passages),
    )
    # short: a seat balanced on a knife edge may fall either way in the long run
    one, other = (
        solve(n, Settings(rtol=1e-6, atol=1e-6, horizon=0.3, compiled="no")) for n in (network, shuffled)
    )
    assert one.pressures[-1, order] == pytest.approx(other.pressures[-1], abs=2e-3)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(0.1, 30.0), st.floats(0.0, 9.0)), min_size=2, max_size=8))
def test_whatever_is_joined_by_open_pipes_comes_to_one_pressure(tanks: list[tuple[float, float]]) -> None:
    bench = Bench()
    nodes = [bench.node(f"reservoir {i}", v, g) for i, (v, g) in enumerate(tanks)]
    for a, b in itertools.pairwise(nodes):
        bench.tube(a, b)
    solution = solve(bench.network(), Settings(horizon=600.0, compiled="no"))
    total, volume = sum(v * (g + ATMOSPHERE) for v, g in tanks), sum(v for v, _ in tanks)
    assert solution.status == "equilibrium"
    assert solution.pressures[-1, 1:] == pytest.approx([total / volume] * len(nodes), abs=1e-2)


def test_ten_vehicles_in_a_row_run_to_the_end() -> None:
    network = truck(((0.0, 0.0), (0.1, 0.6)), copies=10)
    solution = solve(network, Settings(horizon=1.0, compiled="no"))
    assert len(network.nodes) > 600
    assert solution.status == "horizon"
    assert mass_balance(network, solution) < 1e-4


def charged(*, start: int = 0) -> Bench:
    bench = Bench()
    tank = bench.node("reservoir", 2.0, 6.0)
    memory = bench.governor(tank, 6.5, 8.0, start)
    bench.compressor(tank, 6.5, 0.045, Term((), 1.0, memories=((memory, -1.0),), band=1.0))
    return bench


def test_a_run_may_stop_at_the_governors_cut_out() -> None:
    network = charged().network()
    solution = solve(network, Settings(horizon=600.0, stop_memory=((0, 1),), compiled="no"))
    assert solution.status == "event"
    assert solution.memories == (1,)
    assert solution.pressures[-1, 1] - ATMOSPHERE == pytest.approx(8.0, abs=2e-3)
    assert solution.flips[0].time == pytest.approx(solution.times[-1], abs=1e-3)
    assert opening_values(solution, network.passages[0])[-1] == 0.0
    assert solution.flow_end[0] > 1.0  # the compressor was delivering until then


def test_a_governor_that_starts_above_its_threshold_flips_at_once() -> None:
    bench = charged()
    bench.nodes[1] = Node("reservoir", 2.0, pressure0=ATMOSPHERE + 8.5)
    solution = solve(bench.network(), PLAIN)
    assert (solution.flips[0].time, solution.flips[0].value) == (0.0, 1)
    assert solution.status == "equilibrium"
    assert solution.net[0] == 0.0


def park_knob(gauge: float) -> Bench:
    """A push-pull knob that supplies the spring brakes, trips below 3 bar, and is pushed in at 0.5 s."""
    bench = Bench()
    supply = bench.node("reservoir", 10.0, gauge)
    springs = bench.spring_chamber("spring brakes")
    trip = Trigger(((supply, -1.0),), ATMOSPHERE + 3.0)
    bench.memories.append(Memory("park knob", 0, (), (trip,)))
    inside, out = (
        Term((), 0.0, memories=((0, 1.0),), band=1.0),
        Term((), 1.0, memories=((0, -1.0),), band=1.0),
    )
    bench.passages.append(Passage("in", supply, springs, 4.0, terms=(inside,)))
    bench.passages.append(Passage("exhaust", springs, OUT, 4.0, terms=(out,)))
    bench.commands.append(Command(0.5, 0, 1))
    return bench


def test_a_knob_pushed_with_air_in_the_tank_stays_in_and_releases_the_brakes() -> None:
    solution = solve(park_knob(8.0).network(), PLAIN)
    assert [(f.time, f.value) for f in solution.flips] == [(0.5, 1)]
    assert solution.pressures[-1, 2] - ATMOSPHERE > 6.0
    assert first_time(solution, 2, 0.1) == pytest.approx(0.5, abs=0.05)


def test_a_knob_pushed_below_its_trip_pressure_springs_back() -> None:
    solution = solve(park_knob(2.0).network(), PLAIN)
    assert [(f.time, f.value) for f in solution.flips] == [(0.5, 1), (0.5, 0)]
    assert solution.memories == (0,)
    assert solution.pressures[-1, 2] == pytest.approx(ATMOSPHERE)


def test_a_knob_pops_out_when_the_supply_falls_through_its_trip_pressure() -> None:
    bench = park_knob(8.0)
    bench.tube(1, OUT, 2.0)
    solution = solve(bench.network(), Settings(horizon=60.0, compiled="no"))
    assert [f.value for f in solution.flips] == [1, 0]
    assert pressure_at(solution, 1, solution.flips[1].time) - ATMOSPHERE == pytest.approx(3.0, abs=5e-3)
    assert solution.status == "equilibrium"
    assert solution.pressures[-1, 1:] == pytest.approx([ATMOSPHERE] * 2, abs=2e-2)


def test_a_memory_with_its_thresholds_crossed_is_named_as_the_one_that_chatters() -> None:
    tank = Node("tank", 1.0, pressure0=5.0)
    memory = Memory("cut-in above cut-out", 0, (Trigger(((0, 1.0),), -4.0),), (Trigger(((0, -1.0),), 6.0),))
    solution = solve(Network((tank,), (), (memory,)), PLAIN)
    assert solution.status == "stalled"
    assert "cut-in above cut-out" in solution.message


def test_a_pump_with_its_intake_shut_draws_a_vacuum_and_no_further() -> None:
    for falloff in (0.0, 0.045):  # with nothing lost in the pump there is no other limit
        bench = Bench()
        intake, tank = bench.node("intake", 0.5), bench.node("tank", 5.0)
        pump = Passage("pump", intake, tank, displacement=Displacement(5.0, falloff))
        bench.passages.append(pump)
        solution = solve(bench.network(), Settings(horizon=60.0, compiled="no"))
        assert solution.status == "equilibrium"
        assert 0.0 < solution.pressures[-1, intake] < (0.01 if falloff == 0.0 else 0.1)
        moved = ATMOSPHERE * 0.5 - solution.pressures[-1, intake] * 0.5
        assert solution.pressures[-1, tank] == pytest.approx(ATMOSPHERE + moved / 5.0, abs=1e-4)
        assert mass_balance(bench.network(), solution) < 1e-4


def test_a_thimble_next_to_a_vacuum_keeps_its_air_in_balance() -> None:
    """What Newton's method leaves over at a node must not outweigh the air that is in it: a millilitre at 2 mbar."""
    bench = Bench()
    intake, thimble, tank = bench.node("intake", 1e-3), bench.node("thimble", 1e-3), bench.node("tank", 5.0)
    bench.tube(intake, thimble, 0.5)
    stops = bench.signal("engine", (0.0, 1.0), (1.0, 1.0), (1.1, 0.0))
    term = Term((), signals=((stops, 1.0),), band=1.0)
    bench.passages.append(Passage("pump", intake, tank, terms=(term,), displacement=Displacement(5.0, 0.0)))
    solution = solve(bench.network(), Settings(horizon=5.0, compiled="no"))
    assert solution.status == "equilibrium"
    assert 0.0 < solution.pressures[-1, 1:3].max() < 0.005


def test_five_minutes_of_charging_with_leaks_cycle_the_governor_in_few_steps() -> None:
    from tests.bench.flow_speed import leaking

    network = leaking(truck(((0.0, 0.0),), gauge=4.0))
    solution = solve(network, Settings(horizon=300.0, quiet_rate=0.0, compiled="no"))
    assert solution.status == "horizon"
    assert [flip.value for flip in solution.flips[:2]] == [1, 0]
    assert solution.counters.rejected < solution.counters.steps / 2 < 500
    assert mass_balance(network, solution) < 1e-4


def test_a_run_out_of_steps_says_where_and_keeps_what_it_has() -> None:
    network = truck(((0.0, 0.0), (0.1, 0.6)))
    solution = solve(network, Settings(max_steps=25, compiled="no"))
    assert solution.status == "stalled"
    assert "25 steps" in solution.message
    assert len(solution.times) > 5
    assert mass_balance(network, solution) < 1e-4


def test_the_end_waits_for_the_last_movement_of_the_pedal() -> None:
    bench = Bench()
    supply = bench.node("reservoir", 10.0, 8.0)
    chamber = bench.chamber("chamber")
    bench.foot_valve(bench.signal("pedal", (5.0, 0.0), (5.1, 0.5)), supply, chamber)
    solution = solve(bench.network(), PLAIN)
    assert solution.status == "equilibrium"
    assert 5.2 < solution.times[-1] < 12.0
    assert first_time(solution, chamber, 0.1) == pytest.approx(5.03, abs=0.05)
    assert first_crossing(solution, chamber, ATMOSPHERE + 20.0) is None


def test_what_opened_first_is_told_with_its_time() -> None:
    bench = Bench()
    supply = bench.node("reservoir", 10.0, 8.0)
    control, delivery = bench.node("control", 0.1), bench.node("delivery", 0.5)
    bench.foot_valve(bench.signal("pedal", (1.0, 0.0), (1.1, 0.5)), supply, control)
    bench.relay(supply, control, delivery)
    network = bench.network()
    solution = solve(network, Settings(horizon=3.0, compiled="no"))
    changes = first_changes(network, solution)
    assert [change.time for change in changes] == sorted(change.time for change in changes)
    inlet = next(change for change in changes if network.passages[change.passage].b == delivery)
    assert inlet.kind == "opened"
    crack = first_crossing(solution, control, ATMOSPHERE + 0.25)  # the delivery is still empty then
    assert inlet.time == pytest.approx(crack, abs=3e-3)
    foot = next(change for change in changes if network.passages[change.passage].b == control)
    assert foot.time == pytest.approx(1.0, abs=2e-3)
    assert foot.time < inlet.time


def test_openings_over_the_rows_agree_with_the_law_at_the_first_and_last() -> None:
    network = truck(((0.0, 0.0), (0.1, 0.6)))
    solution = solve(network, Settings(horizon=1.0, compiled="no"))
    for passage in network.passages:
        values = opening_values(solution, passage)
        assert values.shape == solution.times.shape
        tables = (solution.pressures, solution.signals, solution.latches)
        ends = [opening(passage, *(table[row].tolist() for table in tables)) for row in (0, -1)]
        assert values[[0, -1]] == pytest.approx(ends)
        for term in passage.terms:
            assert np.all((term_values(solution, term) >= 0.0) & (term_values(solution, term) <= 1.0))


def test_stored_air_of_a_rigid_volume_is_pressure_times_volume() -> None:
    network = Network((Node("tank", 12.0), Node("thimble", 0.0)), ())
    assert stored_air(network, [3.0, 2.0]) == (36.0, 2.0e-3)  # nothing is smaller than a millilitre


def test_blocked_stuck_and_seeping_passages() -> None:
    shut = Term(((1, 1.0),), -50.0, band=0.1)
    for low, high, terms, flows in (
        (0.0, 0.0, (), False),
        (1.0, 1.0, (shut,), True),
        (0.03, 1.0, (shut,), True),
    ):
        passage = Passage("passage", 1, 0, 2.0, terms=terms, low=low, high=high)
        network = Network((Node("air", 1.0, fixed=True), Node("tank", 1.0, pressure0=5.0)), (passage,))
        solution = solve(network, Settings(horizon=1.0, compiled="no"))
        assert (solution.net[0] > 0.05) == flows


def test_an_input_that_jumps_is_felt_from_its_instant_on() -> None:
    valve = Term((), signals=((0, 1.0),), band=1.0)
    signal = Signal("solenoid", ((1.0, 0.0), (1.0, 1.0)))
    nodes = (Node("air", 1.0, fixed=True), Node("tank", 1.0, pressure0=5.0))
    network = Network(nodes, (Passage("valve", 1, 0, 2.0, terms=(valve,)),), signals=(signal,))
    solution = solve(network, Settings(horizon=3.0, compiled="no"))
    assert pressure_at(solution, 1, 0.999) == 5.0
    assert pressure_at(solution, 1, 1.01) < 4.95
    assert list(solution.times).count(1.0) == 2


def test_a_latch_that_trips_or_not_by_a_hair_is_told_and_an_ordinary_run_is_not() -> None:
    bench = Bench()
    tank, held = bench.node("reservoir", 2.0, 7.0), bench.node("held", 2.0, 7.0)
    bench.tube(tank, OUT, 0.5)
    settings = Settings(horizon=6.0, quiet_rate=0.0, compiled="no")
    ordinary = bench.network()
    assert doubtful(ordinary, settings, solve(ordinary, settings)) == ()
    # a knob that would trip below a pressure which, by the time it is blocked, is reached in one run but not
    # in the other
    tight = Settings(rtol=1e-4, atol=1e-4, horizon=6.0, quiet_rate=0.0, compiled="no")
    ends = [pressure_at(solve(ordinary, s), tank, 3.0) for s in (settings, tight)]
    blocked = bench.signal("blocked", (3.0, 0.0), (3.0, 1.0))
    trip = Trigger(((tank, -1.0),), sum(ends) / 2.0, signals=((blocked, -100.0),))
    bench.memories.append(Memory("knob", 0, (trip,)))
    dump = Term((), 0.0, memories=((0, 1.0),), band=1.0)
    bench.passages.append(Passage("dump", held, OUT, 2.0, terms=(dump,)))
    edge = bench.network()
    assert abs(ends[0] - ends[1]) > 1e-4
    assert doubtful(edge, settings, solve(edge, settings)) == (held,)
