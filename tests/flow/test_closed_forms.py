"""The solver against what can be solved on paper.

Closed forms: derived from the ISO 6358 flow function and the gas law in `pneudraw.flow.receiver`; here the solver is
held to them. The solver replaces the flow function within 0.1 % of equal pressures, which costs up to 3e-5 of the
time; the tolerance is 1e-4 for that and the steps.
"""

from __future__ import annotations

import math

import pytest

from pneudraw.flow.network import Displacement, Network, Node, Passage, Piston, Signal
from pneudraw.flow.receiver import (
    compressor_filling_time,
    emptying_time,
    filling_time,
    joined_pressure,
    polytropic_emptying_time,
)
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import first_crossing, mass_balance, stored_air
from tests.flow.parts import ATMOSPHERE, OUT, Bench

TIGHT = Settings(rtol=1e-8, atol=1e-8, horizon=70.0, quiet_rate=0.0, compiled="no")
VOLUME, C = 20.0, 1.5
TAU = VOLUME / C
AIR = Node("atmosphere", 1.0, fixed=True)


def through_a_hole(tank: Node, ratio: float, outside: Node = AIR) -> Network:
    return Network((outside, tank), (Passage("hole", 1, 0, C, ratio),))


# Times: the integrals evaluated by hand once and confirmed with a general-purpose integrator.
EMPTYING = [
    (0.2, 6.0, 5.4062014),
    (0.4, 3.0, 14.6481638),
    (0.2, 1.05, 32.8717154),
    (0.4, 1.05, 31.3411316),
    (0.5, 1.05, 30.6729208),
    (0.528, 1.05, 30.4966423),
]


@pytest.mark.parametrize(("ratio", "end", "time"), EMPTYING)
def test_a_reservoir_empties_through_a_hole_in_the_time_of_the_closed_form(
    ratio: float, end: float, time: float
) -> None:
    assert emptying_time(TAU, 9.0, end, ATMOSPHERE, ratio) == pytest.approx(time, rel=1e-8)
    solution = solve(through_a_hole(Node("tank", VOLUME, pressure0=9.0), ratio), TIGHT)
    assert first_crossing(solution, 1, end) == pytest.approx(time, rel=1e-4)


@pytest.mark.parametrize(("ratio", "end", "time"), [(0.2, 8.82, 15.5305800), (0.4, 8.82, 14.3272205)])
def test_a_reservoir_fills_from_a_steady_supply_in_the_time_of_the_closed_form(
    ratio: float, end: float, time: float
) -> None:
    # these two were integrated numerically, to 5e-7
    assert filling_time(TAU, ATMOSPHERE, end, 9.0, ratio) == pytest.approx(time, rel=5e-7)
    supply = Node("supply", 1.0, fixed=True, pressure0=9.0)
    network = through_a_hole(Node("tank", VOLUME), ratio, supply)
    assert first_crossing(solve(network, TIGHT), 1, end) == pytest.approx(time, rel=1e-4)


def test_filling_to_the_very_supply_pressure_takes_a_finite_time() -> None:
    time = filling_time(TAU, ATMOSPHERE, 9.0, 9.0, 0.4)
    assert time == pytest.approx(TAU * ((3.6 - ATMOSPHERE) / 9.0 + 0.6 * math.pi / 2.0), rel=1e-12)


@pytest.mark.parametrize(("exponent", "time"), [(1.2, 12.7830255), (1.4, 11.3287209)])
def test_a_reservoir_that_cools_empties_sooner(exponent: float, time: float) -> None:
    assert polytropic_emptying_time(TAU, 9.0, 3.0, exponent) == pytest.approx(time, rel=1e-8)
    # choked down to 1.01325/0.4 = 2.5 bar
    solution = solve(through_a_hole(Node("tank", VOLUME, exponent=exponent, pressure0=9.0), 0.4), TIGHT)
    assert first_crossing(solution, 1, 3.0) == pytest.approx(time, rel=1e-5)


def test_a_compressor_charges_a_reservoir_in_the_time_of_the_closed_form() -> None:
    time = compressor_filling_time(0.04, 6.5e-3, 0.045, ATMOSPHERE * 1e5, 9e5, ATMOSPHERE * 1e5)
    assert time == pytest.approx(60.6974555, rel=1e-8)
    passage = Passage("compressor", 0, 1, displacement=Displacement(6.5, 0.045))
    solution = solve(Network((AIR, Node("tank", 40.0)), (passage,)), TIGHT)
    assert first_crossing(solution, 1, 9.0) == pytest.approx(time, rel=1e-6)


def test_a_compressor_stops_where_its_delivery_falls_to_nothing() -> None:
    passage = Passage("compressor", 0, 1, displacement=Displacement(6.5, 0.2))
    network = Network((AIR, Node("tank", 1.0)), (passage,))
    solution = solve(network, Settings(horizon=60.0, compiled="no"))
    assert solution.status == "equilibrium"
    assert solution.pressures[-1, 1] == pytest.approx(ATMOSPHERE * (1.0 + 1.0 / 0.2), rel=1e-3)


@pytest.mark.parametrize("ratio", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("conductance", [0.01, 1.0, 30.0])
def test_two_reservoirs_joined_settle_at_the_mixed_pressure(ratio: float, conductance: float) -> None:
    nodes = (AIR, Node("full", 20.0, pressure0=9.0), Node("empty", 5.0), Node("elbow", 0.001, pressure0=4.0))
    passages = (Passage("in", 1, 3, conductance, ratio), Passage("out", 3, 2, conductance, ratio))
    network = Network(nodes, passages)
    solution = solve(network, Settings(horizon=1e5, quiet_rate=1e-5, quiet_time=1.0, compiled="no"))
    mixed = joined_pressure((9.0, 20.0), (ATMOSPHERE, 5.0), (4.0, 0.001))
    assert solution.status == "equilibrium"
    assert solution.pressures[-1, 1:] == pytest.approx([mixed] * 3, abs=2e-3)  # the tolerance of a run
    assert mass_balance(network, solution) < 1e-6


def brake(bench: Bench) -> tuple[int, int]:
    reservoir = bench.node("reservoir", 10.0, 8.0)
    return reservoir, bench.chamber("chamber")


def test_an_application_costs_the_reservoir_what_the_chamber_stores() -> None:
    bench = Bench()
    reservoir, chamber = brake(bench)
    bench.tube(reservoir, chamber)
    network = bench.network()
    solution = solve(network, Settings(compiled="no"))
    start = stored_air(network, solution.pressures[0])
    total = start[reservoir] + start[chamber]

    def stored(p: float) -> float:
        air = stored_air(network, [ATMOSPHERE, p, p])
        return air[reservoir] + air[chamber]

    low, high = ATMOSPHERE, ATMOSPHERE + 8.0
    for _ in range(60):  # p V1 + M(p) = const, by bisection
        middle = 0.5 * (low + high)
        low, high = (middle, high) if stored(middle) < total else (low, middle)
    assert solution.pressures[-1, [reservoir, chamber]] == pytest.approx([low, low], abs=2e-3)
    assert solution.net[0] == pytest.approx(start[reservoir] - 10.0 * low, abs=2e-2)  # 2 mbar of 10 dm3


def test_release_vents_exactly_what_the_chamber_held_above_the_atmosphere() -> None:
    bench = Bench()
    chamber = bench.chamber("chamber", 6.0)
    bench.tube(chamber, OUT)
    network = bench.network()
    held, rest = (stored_air(network, [ATMOSPHERE, p])[chamber] for p in (ATMOSPHERE + 6.0, ATMOSPHERE))
    solution = solve(network, Settings(compiled="no"))
    assert solution.net[0] == pytest.approx(held - rest, abs=2e-3)


def test_air_behind_check_valves_stays_to_the_last_bit() -> None:
    bench = Bench()
    supply = bench.node("supply", 5.0, 2.0)
    last = supply
    ends = []
    for place in range(6):
        following = bench.node(f"reservoir {place}", 3.0, 4.0 + place)
        bench.check(last, following)
        ends.append(following)
        last = following
    bench.tube(supply, OUT)  # the supply is lost; rising pressures hold every check shut
    network = bench.network()
    solution = solve(network, Settings(compiled="no"))
    first, final = (stored_air(network, solution.pressures[row]) for row in (0, -1))
    assert [final[i] for i in ends] == [first[i] for i in ends]
    assert solution.pressures[-1, supply] == pytest.approx(ATMOSPHERE, abs=0.02)


def test_a_chain_of_check_valves_hands_air_down_until_each_cracks_no_more() -> None:
    bench = Bench()
    nodes = [bench.node("reservoir 0", 50.0, 8.0)]
    for place in range(1, 5):
        nodes.append(bench.node(f"reservoir {place}", 1.0))
        bench.check(nodes[-2], nodes[-1], crack=0.1)
    solution = solve(bench.network(), Settings(compiled="no"))
    drops = -(solution.pressures[-1, nodes[1:]] - solution.pressures[-1, nodes[:-1]])
    assert solution.status == "equilibrium"
    # crack 0.1 bar; at the quiet rate a few hundredths of the 0.05 bar band are still open
    assert drops == pytest.approx([0.1] * 4, abs=0.01)


def test_a_piston_pushed_by_a_steady_force_moves_at_force_over_friction() -> None:
    source = Node("source", 1.0, fixed=True, pressure0=7.0)
    piston = Piston("piston", ((1, 0.3),), length=10.0, friction=2.0, load=-0.3 * ATMOSPHERE)
    network = Network((AIR, source), (), pistons=(piston,))
    solution = solve(network, Settings(horizon=1.0, quiet_rate=0.0, compiled="no"))
    speed = 0.3 * (7.0 - ATMOSPHERE) / 2.0
    assert solution.positions[-1, 0] == pytest.approx(speed * 1.0, rel=1e-6)


def test_a_piston_against_a_spring_approaches_force_over_stiffness() -> None:
    source = Node("source", 1.0, fixed=True, pressure0=7.0)
    piston = Piston("piston", ((1, 0.3),), length=10.0, friction=2.0, load=-0.3 * ATMOSPHERE, spring=4.0)
    network = Network((AIR, source), (), pistons=(piston,))
    solution = solve(network, Settings(rtol=1e-6, atol=1e-6, horizon=0.7, quiet_rate=0.0, compiled="no"))
    force = 0.3 * (7.0 - ATMOSPHERE)
    assert solution.positions[-1, 0] == pytest.approx(
        force / 4.0 * (1.0 - math.exp(-0.7 * 4.0 / 2.0)), rel=1e-4
    )


def test_a_cylinder_strokes_to_its_stop_and_takes_the_air_of_its_filled_side() -> None:
    # 63 mm bore, 20 mm rod, 200 mm stroke
    cap, rod, stroke = 0.31157, 0.28017, 2.0
    nodes = (
        AIR,
        Node("supply", 1.0, fixed=True, pressure0=7.0),
        Node("cap side", 0.05),
        Node("rod side", 0.05 + rod * stroke),
    )
    passages = (Passage("in", 1, 2, 2.0, 0.3), Passage("out", 3, 0, 2.0, 0.3))
    load = -(cap - rod) * ATMOSPHERE
    piston = Piston("piston", ((2, cap), (3, -rod)), stroke, friction=0.05, load=load)
    network = Network(nodes, passages, pistons=(piston,))
    solution = solve(network, Settings(horizon=10.0, compiled="no"))
    assert solution.status == "equilibrium"
    assert solution.positions[-1, 0] == pytest.approx(stroke, rel=2e-3)  # the stop gives 1 per mil
    assert solution.net[0] == pytest.approx((0.05 + cap * stroke) * 7.0 - 0.05 * ATMOSPHERE, rel=2e-3)
    assert solution.net[1] == pytest.approx(rod * stroke * ATMOSPHERE, rel=5e-3)
    assert mass_balance(network, solution) < 1e-5


def test_a_levelling_height_settles_where_the_bag_carries_the_load() -> None:
    from pneudraw.flow.network import Term

    area, carried, wanted = 3.0, 12.0, 1.5  # dm2, kN, dm
    height = 3  # the state after the three nodes
    low = Term(((height, -1.0),), wanted - 0.05, band=0.1)
    high = Term(((height, 1.0),), -wanted - 0.05, band=0.1)
    nodes = (AIR, Node("supply", 1.0, fixed=True, pressure0=9.0), Node("bag", 2.0))
    passages = (Passage("in", 1, 2, 0.5, 0.3, terms=(low,)), Passage("out", 2, 0, 0.5, 0.3, terms=(high,)))
    piston = Piston("height", ((2, area),), 3.0, friction=1.0, load=-area * ATMOSPHERE - carried)
    network = Network(nodes, passages, pistons=(piston,))
    solution = solve(network, Settings(horizon=120.0, compiled="no"))
    assert solution.status == "equilibrium"
    assert solution.pressures[-1, 2] - ATMOSPHERE == pytest.approx(carried / area, abs=0.01)
    assert abs(solution.positions[-1, 0] - wanted) < 0.06  # within the dead band and a little


def test_a_ramped_input_is_followed_and_its_corners_are_met_exactly() -> None:
    bench = Bench()
    supply = bench.node("supply", 1.0, 8.0, fixed=True)
    delivery = bench.node("delivery", 0.5)
    pedal = bench.signal("pedal", (0.5, 0.0), (0.6, 0.5), (3.0, 0.5), (3.0, 0.0))
    bench.foot_valve(pedal, supply, delivery)
    solution = solve(bench.network(), Settings(horizon=8.0, compiled="no"))
    for corner in (0.5, 0.6, 3.0):
        assert corner in solution.times
    from pneudraw.flow.solution import pressure_at

    assert pressure_at(solution, delivery, 0.49) == pytest.approx(ATMOSPHERE, abs=1e-6)
    # the seat closes over the last 0.12 bar below 4 bar, and is nearly shut for good before it
    assert 3.9 < pressure_at(solution, delivery, 2.9) - ATMOSPHERE < 4.0
    assert solution.pressures[-1, delivery] - ATMOSPHERE < 0.1
    assert solution.status == "equilibrium"


def test_a_signal_may_jump() -> None:
    signal = Signal("switch", ((1.0, 0.0), (1.0, 1.0)))
    from pneudraw.flow.network import signal_at

    assert signal_at(signal, 1.0, after=False)[0] == 0.0
    assert signal_at(signal, 1.0)[0] == 1.0
