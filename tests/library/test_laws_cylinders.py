"""Cylinders and air springs against hand calculations and printed examples of air consumption.

Printed consumption counts the swept volume at supply pressure over that of the atmosphere. What flows in besides is
the filling of the dead volume, from atmospheric to supply pressure; it is taken off here.
"""

from __future__ import annotations

import math

import pytest

from pneudraw.flow.run import Run
from pneudraw.units import LBF, PSI
from tests.library.bench import bench, gauge, passed, position

FT3 = 28.316846592  # dm3
OUT_AND_IN = """
    rest "In" from empty: air on, valve off
    out "Out" from rest: valve on
    back "In again" from out: valve off
"""


def double_stroke(cylinder: str, pressure: str, atmosphere: float = 1e5) -> float:
    """Air that one double stroke takes [dm3(ANR)], its dead volumes of 2 mL left out."""
    runs = bench(
        f"""
        air air-source pressure={pressure}
        valve valve-5-2-solenoid
        cyl cylinder-double-acting dead=2mL takes=0.02s {cylinder}
        """,
        "air -> valve.1\nvalve.4 -> cyl.1\nvalve.2 -> cyl.2",
        OUT_AND_IN,
        atmosphere,
    )
    assert position(runs["rest"]) == pytest.approx(0, abs=0.5)
    assert position(runs["back"]) == pytest.approx(0, abs=0.5)
    dead = 2 * 0.002 * gauge(runs["out"], "cyl/head")
    return passed(runs["out"], "cyl:1-head") + passed(runs["back"], "cyl:2-annulus") - dead


def test_the_air_of_a_double_stroke_is_that_of_the_catalogue() -> None:
    """A cylinder catalogue page: bore 63, rod 20, stroke 50 mm, 6 bar gauge: 2.072 dm3. The stop gives a little."""
    assert double_stroke("bore=63mm rod=20mm stroke=50mm", "6bar") == pytest.approx(2.072, rel=1e-2)


def test_thirty_double_strokes_of_two_by_four_inches() -> None:
    """A cylinder maker's question page: 2 in x 4 in, 80 psig, 30 double strokes a minute, no rod: 2.81 scfm."""
    air = 14.7 * PSI
    used = double_stroke("bore=2in rod=0mm stroke=4in", "80psi", air)
    assert used / (air / 1e5) * 30 / FT3 == pytest.approx(2.81, rel=1e-2)


def test_a_single_acting_cylinder_stands_where_its_spring_balances_the_air() -> None:
    """p A = preload + k x: 0.3 bar on 31.17 cm2 is 93.5 N; less 60 N, over 90 N in 50 mm: 18.6 mm."""
    runs = bench(
        "air air-source pressure=0.5bar\nreg pressure-regulator setting=0.3bar\ncyl cylinder-single-acting",
        "air -> reg -> cyl",
        'on "On" from empty for 60s: air on',
    )
    force = gauge(runs["on"], "cyl/head") * 1e5 * math.pi / 4 * 0.063**2
    assert gauge(runs["on"], "cyl/head") == pytest.approx(0.3, abs=0.02)
    assert position(runs["on"]) == pytest.approx((force - 60) / 90 * 50, abs=0.3)


@pytest.mark.parametrize("bore", [32, 125, 400])
def test_a_piston_goes_to_its_stop_and_no_further_however_hard_it_is_pushed(bore: int) -> None:
    """At 20 bar even the largest leaves its rod side some of its last 30 mL of room."""
    runs = bench(
        f"air air-source pressure=20bar capacity=50L/s\ncyl cylinder-double-acting bore={bore}mm rod=10mm dead=30mL",
        "air -> cyl.1",
        'on "On" from empty for 300s: air on',
    )
    assert gauge(runs["on"], "cyl/head") == pytest.approx(20, abs=0.2)
    over = (position(runs["on"]) - 200) * 1e-3  # m
    assert 0 <= over * math.pi / 4 * (bore * 1e-3) ** 2 < 0.3 * 30e-6


SPRING_RETURN = """
    air air-source pressure=0.5bar
    reg pressure-regulator setting=0.3bar
    valve valve-3-2-solenoid
    cyl cylinder-single-acting {load} dead=0.4L
"""
HOLDING_BACK = """
    on "On" from empty for 60s: air on, valve on{fault}
    off "Vented" from on for 60s: valve off
"""


def spring_return(load: str, fault: str) -> tuple[float, float, float]:
    """Air in the head [bar] and the rod [mm] of a cylinder at 0.3 bar, and the rod once it is vented."""
    lines = "air -> reg -> valve.1\nvalve.2 -> cyl"
    runs = bench(SPRING_RETURN.format(load=load), lines, HOLDING_BACK.format(fault=fault))
    return gauge(runs["on"], "cyl/head"), position(runs["on"]), position(runs["off"])


def test_a_broken_return_spring_neither_holds_back_at_first_nor_at_the_end() -> None:
    """0.3 bar on 31.17 cm2 is 93.5 N. Less 60 N the sound spring gives way 90 N in 50 mm: it stands at 18.6 mm and
    goes home. Broken, nothing holds against the air, and nothing drives the rod home."""
    pressure, stands, goes_home = spring_return("", "")
    assert stands == pytest.approx((pressure * 1e5 * math.pi / 4 * 0.063**2 - 60) / 90 * 50, abs=0.3)
    assert goes_home == pytest.approx(0, abs=0.3)
    _, stands, stays = spring_return("", ", fault cyl.spring-broken")
    assert stands == pytest.approx(50, abs=0.3)
    assert stays == pytest.approx(50, abs=0.3)


def test_with_a_broken_return_spring_the_rod_lifts_what_the_preload_kept_it_from_lifting() -> None:
    """93.5 N less the 60 N of the preload cannot lift 50 N; without them 43.5 N are left over, and lift it."""
    pressure, stands, _ = spring_return("load=50N", "")
    assert 50 < pressure * 1e5 * math.pi / 4 * 0.063**2 < 110
    assert stands == pytest.approx(0, abs=0.3)
    _, stands, falls = spring_return("load=50N", ", fault cyl.spring-broken")
    assert stands == pytest.approx(50, abs=0.3)
    assert falls == pytest.approx(0, abs=0.3)  # by the load


def test_a_load_too_heavy_for_the_air_is_not_lifted() -> None:
    """6 bar on a 63 mm piston is 1870 N."""
    for load, arrives in (("1700N", True), ("2000N", False)):
        runs = bench(
            f"air air-source pressure=6bar\nvalve valve-3-2-button\ncyl cylinder-double-acting load={load}",
            "air -> valve.1\nvalve.2 -> cyl.1",
            'push "Push" from empty for 30s: air on, valve down',
        )
        assert (position(runs["push"]) > 195) is arrives


def test_a_free_piston_moves_at_force_over_friction() -> None:
    """With wide ports, 2 bar on 31.17 cm2 (623 N) against 300 N x 2 s / 0.2 m: 208 mm/s."""
    runs = bench(
        """
        air air-source pressure=2bar
        tank reservoir volume=200L
        cock shut-off-cock bore=80L/(s.bar)
        cyl cylinder-double-acting rod=0mm takes=2s boss=80L/(s.bar)
        """,
        "air -> tank -> cock -> cyl.1 bore=25mm",
        """
        fill "Fill" from empty for 60s: air on, cock closed
        go "Go" from fill: cock open
        """,
    )
    rows = runs["go"].solution
    place, time = rows.positions[:, 0] * 100, rows.times
    inside = (place > 60) & (place < 160)
    speed = (place[inside][-1] - place[inside][0]) / (time[inside][-1] - time[inside][0])
    assert speed == pytest.approx(623.5 / (300 * 2 / 0.2) * 1e3, rel=0.05)


def test_cushioning_slows_the_end_of_the_stroke() -> None:
    runs = bench(
        """
        air air-source pressure=6bar
        valve valve-5-2-solenoid
        cyl cylinder-cushioned cushion=40mm needle=0.02L/(s.bar) takes=0.05s
        """,
        "air -> valve.1\nvalve.4 -> cyl.1\nvalve.2 -> cyl.2",
        OUT_AND_IN,
    )
    rows = runs["out"].solution
    place, speed = rows.positions[:, 0] * 100, rows.speeds[:, 0] * 100
    assert max(speed[place > 190]) < 0.25 * max(speed[place < 140])
    assert position(runs["out"]) == pytest.approx(200, abs=1)


@pytest.mark.parametrize(
    ("centre", "ends"), [("closed", "holds"), ("exhausted", "falls"), ("pressurised", "creeps out")]
)
def test_what_the_centre_of_a_five_three_valve_does_to_a_loaded_cylinder(centre: str, ends: str) -> None:
    """Half way out with 150 N on the rod, then the current is cut. 6 bar on the 20 mm rod's area is 188 N."""
    runs = bench(
        f"""
        air air-source pressure=6bar
        valve valve-5-3-solenoid-{centre}
        cyl cylinder-double-acting load=150N takes=4s
        """,
        "air -> valve.1\nvalve.4 -> cyl.1\nvalve.2 -> cyl.2",
        """
        in "In" from empty: air on, valve.coil12 on
        half "Half out" from in for 60s: valve.coil12 off, valve.coil14 on at 0.1s, valve.coil14 off at 0.6s
        """,
    )
    run = runs["half"]
    at_cut = position_at(run, 0.65)
    assert 20 < at_cut < 180
    end = position(run)
    if ends == "falls":
        assert end == pytest.approx(0, abs=1)
    elif ends == "creeps out":
        assert end == pytest.approx(200, abs=1)
    else:  # trapped air is a spring: the piston swings to where both sides and the load balance, and stays
        assert end == pytest.approx(balanced(run, 0.65, 150), abs=2)


def balanced(run: Run, time: float, load: float) -> float:
    """Where a 63/20 x 200 piston comes to rest [mm] on the air shut in at a time: p V stays on either side."""
    head, rod = math.pi / 4 * 0.63**2, math.pi / 4 * (0.63**2 - 0.20**2)  # dm2
    nodes = run.plumbing.network.nodes
    names = [node.name for node in nodes]
    now = run.solution.pressures[run.solution.times <= time][-1]
    x = position_at(run, time) / 100

    def shut_in(places: str, swept: float) -> tuple[float, float]:
        spots = [names.index(place) for place in places.split()]
        volumes = [nodes[spot].volume for spot in spots]
        air = sum(now[spot] * volume for spot, volume in zip(spots, volumes, strict=True))
        return float(air + now[spots[-1]] * swept * x), sum(volumes)

    air1, volume1 = shut_in("valve.4 cyl.1 cyl/head", head)
    air2, volume2 = shut_in("valve.2 cyl.2 cyl/annulus", -rod)
    low, high = 0.0, 2.0
    for _ in range(60):
        x = (low + high) / 2
        force = air1 / (volume1 + head * x) * head - air2 / (volume2 - rod * x) * rod  # kN
        if force - (head - rod) * run.plumbing.atmosphere > load / 1000:
            low = x
        else:
            high = x
    return x * 100


def position_at(run: Run, time: float) -> float:
    rows = run.solution
    return float(rows.positions[rows.times <= time][-1][0]) * 100


def test_a_leaking_piston_seal_passes_air_at_the_end_of_the_stroke() -> None:
    """A hole of 1 mm with 6 bar before it: 0.1017 x 7 = 0.71 dm3(ANR)/s (ISO 6358, choked); less the valve's share."""
    runs = bench(
        "air air-source pressure=6bar\nvalve valve-5-2-solenoid\ncyl cylinder-double-acting",
        "air -> valve.1\nvalve.4 -> cyl.1\nvalve.2 -> cyl.2",
        """
        out "Out" from empty: air on, valve on
        worn "Worn" from out for 5s: fault cyl.piston-seal-leaks
        """,
    )
    names = [passage.name for passage in runs["worn"].plumbing.network.passages]
    flow = runs["worn"].solution.flow_end[names.index("cyl:piston-seal-leaks")]
    assert float(flow) == pytest.approx(0.71, rel=0.03)


# --- air suspension -----------------------------------------------------------------------------------


def test_a_levelled_air_spring_carries_its_load_at_its_height() -> None:
    """p = load / area: 12 kN on 300 cm2 are 4 bar, half of it 2 bar; the height stays within the closed middle."""
    runs = bench(
        "air air-source pressure=8bar\nspring levelled-air-spring",
        "air -> spring.1",
        """
        up "Up" from empty for 120s: air on
        unloaded "Half unloaded" from up for 120s: spring 50%
        """,
    )
    for name, bar in (("up", 4.0), ("unloaded", 2.0)):
        assert gauge(runs[name], "spring/bellows") == pytest.approx(bar, abs=0.02)
        assert position(runs[name]) == pytest.approx(150, abs=300 * 0.05)
    assert passed(runs["unloaded"], "spring:bellows-3") > 10, "air was let out to come down again"


def test_a_released_check_holds_a_cylinder_when_its_hose_bursts() -> None:
    """The load rests on trapped air: it sinks by the compression only, p1 V1 = p2 V2."""
    runs = bench(
        """
        air air-source pressure=6bar
        valve valve-3-2-button
        hose flexible-hose
        hold check-valve-piloted
        cyl cylinder-double-acting load=1000N
        """,
        "air -> valve.1\nvalve.2 -> hose -> hold -> cyl.1",
        """
        up "Up" from empty: air on, valve down
        burst "Burst" from up for 20s: fault hose.burst
        """,
    )
    assert position(runs["up"]) == pytest.approx(200, abs=1)
    assert gauge(runs["burst"], "hold.1") < 2
    assert position(runs["burst"]) > 195
    assert gauge(runs["burst"], "cyl/head") * 1e5 * math.pi / 4 * 0.063**2 > 1000


def test_force_units_agree() -> None:
    """1 lbf = 4.448 N (exact by the inch-pound agreement): 100 psi on 30 in2 are 3000 lbf."""
    assert pytest.approx(3000 * LBF, rel=1e-6) == 100 * PSI * 30 * 0.0254**2
