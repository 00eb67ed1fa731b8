"""Curves and marks over time, held against the dense solution read in another way, and against what trucks do."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from pneudraw.flow.history import Curve, flow_at, usual_places
from pneudraw.flow.marks import Crossed, Flipped, InputMoved
from pneudraw.flow.places import Place, PlaceError, find, node_of
from pneudraw.flow.run import Run
from pneudraw.flow.sequence import SequenceError, read
from pneudraw.flow.trace import trace
from pneudraw.units import LBF
from tests.flow.states import ANTILOCK, ATMOSPHERE, P, circuit, over_time, runs


def spline(run: Run, node: int) -> CubicHermiteSpline:
    """The dense solution by another hand: scipy's cubic Hermite over the rows, each time once."""
    times, first = np.unique(run.solution.times[::-1], return_index=True)
    rows = len(run.solution.times) - 1 - first
    return CubicHermiteSpline(
        times, run.solution.pressures[rows, node] - ATMOSPHERE, run.solution.rates[rows, node]
    )


def curve(found: tuple[Curve, ...], place: str, quantity: str = "pressure", side: str = "") -> np.ndarray:
    (one,) = [c for c in found if (c.place, c.quantity, c.side) == (place, quantity, side)]
    return np.asarray(one.values)


# --- curves -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["lr/service", "lf/service", "prim/body", "relay.4"])
def test_a_curve_is_the_dense_solution(place: str) -> None:
    made = over_time("service-apply", place)
    (run,) = runs("service-apply")
    node = node_of(run.plumbing, find(circuit(), place)[0])
    by_scipy = spline(run, node)(np.asarray(made.times))
    # 0.02 bar: slopes that swing out are held back by the solution, not by scipy
    assert np.abs(curve(made.curves, place) - by_scipy).max() < 0.02
    assert np.median(np.abs(curve(made.curves, place) - by_scipy)) < 1e-6


@pytest.mark.parametrize("place", ["lr/service", "lr/spring", "wet/body"])
def test_straight_lines_between_the_samples_miss_no_corner(place: str) -> None:
    for states in ("service-apply+service-release", "park-release", "charging"):
        made = over_time(states, place)
        sampled = curve(made.curves, place)
        for stretch, run in zip(made.stretches, runs(states), strict=True):
            rows = slice(stretch.first, stretch.last + 1)
            times = np.asarray(made.times[rows]) - stretch.begin
            fine = np.linspace(0.0, times[-1], 5000)
            true = spline(run, node_of(run.plumbing, find(circuit(), place)[0]))(fine)
            # half a psi is what a dash gauge cannot show
            assert np.abs(np.interp(fine, times, sampled[rows]) - true).max() < 0.5 * P


def test_times_never_run_back_and_states_meet_end_to_end() -> None:
    made = over_time("service-apply+service-release+park-apply")
    assert list(made.times) == sorted(made.times)
    for one, other in zip(made.stretches, made.stretches[1:], strict=False):
        assert one.end == other.begin
        for c in made.curves:
            assert c.values[one.last] == pytest.approx(c.values[other.first], abs=1e-9)


def test_a_state_in_a_sequence_starts_from_the_one_before_it() -> None:
    """Parked with the pedal still down: service air and spring push together (why anti-compounding exists)."""
    made = over_time("service-apply+park-apply", "lr", show=("force",))
    alone = over_time("park-apply", "lr", show=("force",))
    assert made.stretches[1].start == "service-apply"
    assert curve(made.curves, "lr", "force", "service")[-1] > 2000 * LBF
    assert curve(made.curves, "lr", "force", "spring")[-1] > 1500 * LBF
    assert curve(alone.curves, "lr", "force", "service")[-1] == 0.0


def test_a_chamber_pushes_with_its_area_times_the_pressure_over_its_return_spring() -> None:
    # SAE J1469 (from memory): the type number is the effective area in in2; 3 psi push out: the kind's default
    made = over_time("service-apply", "lr", show=("pressure", "force"))
    pressure, force = (
        curve(made.curves, "lr/service") / P,
        curve(made.curves, "lr", "force", "service") / LBF,
    )
    assert np.abs(force - np.maximum(0.0, 30.0 * (pressure - 3.0))).max() < 0.5


@pytest.mark.parametrize("place", ["lr.11", "lf/service", "relay.3", "relay.2", "foot.31", "prim/body"])
@pytest.mark.parametrize("state", ["service-apply", "service-release"])
def test_the_area_under_a_flow_is_the_air_that_went_through(state: str, place: str) -> None:
    """Against the integrator's own quadrature, which balances the stored air."""
    (run,) = runs(state)
    where = find(circuit(), place)[0]
    flow, side = flow_at(run, where)
    area = float(np.trapezoid(flow, run.solution.times))
    total = 0.0
    for k, origin in enumerate(run.plumbing.origins):
        if origin.owner == where.tag and origin.sort == "passage":
            total += float(run.solution.net[k]) * ((origin.end == where.name) - (origin.start == where.name))
    expected = total if side == "out" or where.sort == "chamber" else -total
    # trapezes over the steps against the second-order rule with its inner stage
    assert area == pytest.approx(expected, rel=0.05, abs=0.05)


def test_an_exhaust_counts_what_comes_out() -> None:
    (run,) = runs("service-release")
    vented = next(e for e in trace(run).exhausts if (e.part, e.port) == ("relay", "3"))
    flow, side = flow_at(run, Place("relay", "3", "port"))
    assert side == "out"
    assert float(np.trapezoid(flow, run.solution.times)) == pytest.approx(vented.litres, rel=0.05)


# --- what is shown without asking -------------------------------------------------------------------


def test_reservoirs_are_shown_and_those_brake_chambers_that_move() -> None:
    def usual(state: str) -> list[str]:
        return [str(place) for place in usual_places(circuit(), runs(state))]

    tanks = ["wet/body", "prim/body", "sec/body"]
    service = ["lf/service", "rf/service", "lr/service", "rr/service"]
    assert usual("charging") == tanks
    assert usual("service-apply") == tanks + service
    assert usual("park-apply") == [*tanks, "lr/spring", "rr/spring"]
    assert usual("drained") == [*tanks, "lr/spring", "rr/spring"]


def test_a_place_is_a_port_a_chamber_a_part_or_a_line() -> None:
    def names(text: str) -> list[str]:
        return [str(place) for place in find(circuit(), text)]

    assert names("relay.4") == ["relay.4"]
    assert names("lr/spring") == ["lr/spring"]
    assert names("lr") == ["lr/service", "lr/spring"]
    assert names("prim") == ["prim/body"]
    assert names("low1") == ["low1.4"]
    assert names("service1") == ["foot.21"]


@pytest.mark.parametrize(
    ("text", "help"),
    [
        ("relai.4", "did you mean `relay`?"),
        ("relay.9", "ports: relay.1, relay.2, relay.3, relay.4"),
        ("lr/sprng", "did you mean `spring`?"),
        ("relay/service", "it has no chamber"),
        ("foot", "foot.11, foot.12, foot.21, foot.22"),
        ("wet.f", "ask for a port with a line"),
        ("", "name a port"),
    ],
)
def test_a_place_that_is_not_there_is_refused_with_what_there_is(text: str, help: str) -> None:
    with pytest.raises(PlaceError) as fault:
        find(circuit(), text)
    assert help in fault.value.help


@pytest.mark.parametrize("text", ["service-aply", "service-apply+", "ready+nothing", ""])
def test_a_state_that_is_not_there_is_refused(text: str) -> None:
    with pytest.raises(SequenceError):
        read(circuit(), text)
    with pytest.raises(SequenceError, match="no state `nowhere`"):
        read(circuit(), "ready", "nowhere")


# --- marks ------------------------------------------------------------------------------------------


def test_the_braking_clock_agrees_with_another_reading_of_the_solution() -> None:
    """60 psi on application, 5 psi on release, counted from the pedal: 49 CFR 571.121 S5.3.3, S5.3.4."""
    for state, level, rising in (("service-apply", 60, True), ("service-release", 5, False)):
        (run,) = runs(state)
        read_off = {c.place: c for c in over_time(state).happenings if isinstance(c, Crossed)}
        assert set(read_off) == {"lf/service", "rf/service", "lr/service", "rr/service"}
        for place, crossed in read_off.items():
            assert crossed.rising is rising
            assert crossed.level / P == pytest.approx(level)
            assert crossed.after == crossed.time  # the pedal moves at the beginning
            smooth = spline(run, node_of(run.plumbing, find(circuit(), place)[0]))
            other = brentq(lambda t, s=smooth, h=level: float(s(t)) - h * P, 1e-3, 1.5)
            assert crossed.time == pytest.approx(other, abs=1e-3)


def test_each_application_of_a_pumped_pedal_has_a_clock_of_its_own() -> None:
    found = [c for c in over_time("fanned").happenings if isinstance(c, Crossed) and c.place == "lf/service"]
    pressed = [c for c in found if c.rising]
    released = [c for c in found if not c.rising]
    assert len(released) == 15
    assert len(pressed) >= 8  # the later ones no longer reach 60 psi
    assert all(0.05 < c.after < 1.0 for c in (*pressed, *released))
    falling = [over_time("fanned").curves[1].values[i] for i in (0, -1)]
    assert falling[1] < falling[0] / 2


def test_fanning_down_warns_first_and_then_pops_the_knob() -> None:
    # the order of the thresholds when fanning down: common practice, no source. Warning at or above 60 psi:
    # 49 CFR 571.121 S5.1.5; knob out at 20 to 45 psi: 49 CFR 393.43(b) and driver manuals, from memory
    flips = [f for f in over_time("drained").happenings if isinstance(f, Flipped)]
    level = {f.part: f.level / P for f in flips if f.level is not None}
    order = [f.part for f in flips]
    assert 60 <= level["low1"] <= 80
    assert 20 <= level["park"] <= 45
    assert order.index("gov") < order.index("low1") < order.index("park")
    assert order.index("low2") < order.index("park")


def test_a_level_that_was_passed_is_the_pressure_there_and_then() -> None:
    for state in ("charging", "cycles", "drained"):
        (run,) = runs(state)
        flips = [f for f in over_time(state).happenings if isinstance(f, Flipped)]
        assert flips
        for flip in flips:
            assert flip.level is not None
            rows = run.solution.pressures[:, node_of(run.plumbing, find(circuit(), flip.place)[0])]
            there = float(np.interp(flip.time, run.solution.times, rows)) - ATMOSPHERE
            assert there == pytest.approx(flip.level, abs=0.3 * P)  # rows stand at every flip


def test_the_governor_cycles_between_its_two_pressures() -> None:
    # driver manuals: compressor starts near 100, stops near 125 psi (text as in US Navy 14081)
    flips = [f for f in over_time("cycles").happenings if isinstance(f, Flipped) and f.part == "gov"]
    assert [f.value for f in flips] == [0, 1, 0, 1]
    assert [round((f.level or 0) / P) for f in flips] == [100, 125, 100, 125]
    drains = [m for m in over_time("cycles").happenings if isinstance(m, InputMoved)]
    assert [(m.part, m.time, m.values[1]) for m in drains] == [
        ("dwet", 5.0, 1.0),
        ("dwet", 30.0, 0.0),
        ("dwet", 150.0, 1.0),
        ("dwet", 175.0, 0.0),
    ]


def test_a_knob_worked_by_hand_is_an_input_and_no_flip() -> None:
    found = over_time("park-apply").happenings
    assert [type(one).__name__ for one in found] == ["InputMoved"]


def test_hold_keeps_a_wheels_pressure_dump_lowers_it_and_neither_can_raise_it() -> None:
    """What anti-lock training manuals say of the two solenoids; common practice, no source."""
    made = over_time("cycling", "lf/service", "foot.2", text=ANTILOCK)
    times = np.asarray(made.times)
    wheel, asked = curve(made.curves, "lf/service"), curve(made.curves, "foot.2")

    def at(t: float) -> float:
        return float(np.interp(t, times, wheel))

    assert at(0.59) == pytest.approx(at(0.53), abs=0.01)  # hold
    assert at(0.74) < 0.4 * at(0.6)  # dump
    assert at(0.99) == pytest.approx(at(0.8), abs=0.05)  # hold
    assert at(1.07) > at(1.0) + 1.0  # let go for a moment
    assert at(1.41) < at(1.29) - 1.0
    assert at(2.5) > 0.95 * float(asked[-1])
    assert (wheel < asked.max() + 0.05).all()
