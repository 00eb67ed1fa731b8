"""The flow law and the conductances, held to libraries written by others and to what the law itself demands.

Oracles: `fluids` (IEC 60534, API 520, Fanno friction factors), `CoolProp` (air), scipy's integrator for a pipe.
"""

from __future__ import annotations

import doctest
import importlib
import math

import fluids
import pytest
from CoolProp import CoolProp
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from pneudraw.flow import conductance as c
from pneudraw.flow import iso6358 as flow
from pneudraw.flow.arrays import LAMINAR, laminar

UNIT = 1e8  # dm3/(s.bar) per m3/(s.Pa)


@pytest.mark.parametrize("name", ["iso6358", "conductance", "receiver", "machines"])
def test_the_examples_in_the_formulas_docstrings_are_right(name: str) -> None:
    results = doctest.testmod(importlib.import_module(f"pneudraw.flow.{name}"))
    assert results.attempted >= 2
    assert results.failed == 0


def test_the_critical_ratio_is_that_of_fluids() -> None:
    assert flow.critical_ratio(1.4) * 1e6 == pytest.approx(fluids.P_critical_flow(P=1e6, k=1.4), rel=1e-12)
    assert pytest.approx(flow.critical_ratio(1.4), abs=1e-6) == flow.IDEAL_RATIO


def test_the_reference_density_lies_between_humid_and_dry_air() -> None:
    dry = CoolProp.PropsSI("D", "T", 293.15, "P", 1e5, "Air")
    humid = 1.0 / CoolProp.HAPropsSI("Vha", "T", 293.15, "P", 1e5, "R", 0.65)
    assert humid < flow.REFERENCE_DENSITY < dry
    assert dry - humid < 0.01


def test_air_is_ideal_enough_at_brake_pressures_and_its_heat_ratio_is_1_4() -> None:
    assert CoolProp.PropsSI("Z", "T", 293.15, "P", 9e5, "Air") == pytest.approx(1.0, abs=4e-3)
    ratio = CoolProp.PropsSI("C", "T", 293.15, "P", 1e5, "Air") / CoolProp.PropsSI(
        "O", "T", 293.15, "P", 1e5, "Air"
    )
    assert pytest.approx(ratio, rel=2e-3) == flow.HEAT_RATIO


@pytest.mark.parametrize(("back", "slack"), [(5e5, 1e-4), (7.84e5, 1e-3)])
def test_the_nozzle_flow_is_the_one_api_520_sizes_the_same_area_for(back: float, slack: float) -> None:
    mass = flow.nozzle_mass_flow(1e-3, 1e6, 360.0, back, gas_constant=287.0)
    area = fluids.safety_valve.API520_A_g(
        m=mass, T=360.0, Z=1.0, MW=8314.462618 / 287.0, k=1.4, P1=1e6, P2=back, Kd=1.0, Kb=1.0, Kc=1.0
    )
    assert area == pytest.approx(1e-3, rel=slack)  # API prints its coefficients to four digits


@given(st.floats(0.5283, 0.999))
def test_the_ellipse_follows_the_isentropic_nozzle_within_half_a_percent(r: float) -> None:
    exact = flow.nozzle_mass_flow(1e-5, 9e5, 293.15, 9e5 * r)
    bore = math.sqrt(4e-5 / math.pi)
    iso = flow.mass_flow(9e5, 9e5 * r, c.orifice(bore, 1.0), flow.IDEAL_RATIO)
    assert -5e-3 < iso / exact - 1.0 < 1e-4


def test_temperature_thins_the_flow_with_its_root() -> None:
    cold, hot = (flow.mass_flow(8e5, 1e5, 1e-8, 0.3, temperature=t) for t in (293.15, 4 * 293.15))
    assert hot == pytest.approx(cold / 2.0)


@pytest.mark.parametrize(("p1", "p2"), [(1e5, 2e5), (0.0, 0.0), (-1e5, -2e5)])
def test_a_flow_against_the_pressure_or_from_nothing_is_refused(p1: float, p2: float) -> None:
    with pytest.raises(ValueError, match="pressures"):
        flow.mass_flow(p1, p2, 1e-8, 0.3)


@given(st.floats(0.0, 0.9), st.floats(0.3, 1.0))
def test_the_laminar_cubic_meets_the_ellipse_in_value_and_slope_and_never_falls(b: float, m: float) -> None:
    a1, a3 = laminar(b, m)
    y = 1.0 - LAMINAR
    step = 1e-8
    slope = (flow.flow_function(LAMINAR - step, b, m) - flow.flow_function(LAMINAR, b, m)) / step
    assert (a1 + a3 * y * y) * y == pytest.approx(flow.flow_function(LAMINAR, b, m), rel=1e-9)
    assert a1 + 3.0 * a3 * y * y == pytest.approx(slope, rel=1e-3)  # finite difference
    assert min(a1, a1 + 3.0 * a3 * y * y) > 0.0


@given(st.floats(0.05, 0.9), st.floats(0.001, 0.95), st.floats(0.3, 1.0))
def test_the_critical_ratio_is_found_again_from_one_subsonic_point(b: float, place: float, m: float) -> None:
    r = b + (1.0 - b) * place
    phi = flow.flow_function(r, b, m)
    assert flow.critical_ratio_from_test(r, phi, m) == pytest.approx(b, abs=1e-4)


# IEC 60534 through fluids, Kv sized for the choked flow of a conductance
@pytest.mark.parametrize("xt", [0.53, 0.6, 0.7, 0.75, 0.8])
def test_a_flow_coefficient_with_xt_becomes_the_conductance_of_iec_60534(xt: float) -> None:
    normal = 28.9647 * 101325.0 / (8314.462618 * 273.15)  # kg per normal m3
    q = flow.mass_flow(7e5, 1e5, 1e-8, 0.3) / normal  # C = 1 dm3/(s.bar) choked
    kv = fluids.control_valve.size_control_valve_g(
        T=293.15, MW=28.9647, mu=1.82e-5, gamma=1.4, Z=1.0, P1=7e5, P2=1e5, Q=q, xT=xt
    )
    kv = kv if isinstance(kv, float) else kv["Kv"]
    cv = fluids.control_valve.Kv_to_Cv(kv)
    assert c.from_cv_xt(cv, xt) * UNIT == pytest.approx(1.0, rel=1e-3)  # printed to three digits


def test_kv_and_cv_convert_as_in_fluids_and_the_default_is_the_middle_of_iec() -> None:
    assert pytest.approx(fluids.control_valve.Kv_to_Cv(1.0), rel=1e-7) == c.CV_PER_KV
    assert c.from_kv(1.0)[0] == pytest.approx(c.from_cv(fluids.control_valve.Kv_to_Cv(1.0))[0], rel=1e-7)
    assert c.from_cv_xt(1.0, 0.53) < c.from_cv(1.0)[0] < c.from_cv_xt(1.0, 0.8)


def fanno_mass_flow(bore: float, length: float, p1: float, p2: float) -> float:
    """Adiabatic flow with friction in a smooth tube with a sharp entrance, solved from the textbook relations."""
    area = math.pi / 4.0 * bore * bore
    k, r, t0 = 1.4, 287.05, 293.15

    def fanno(m: float) -> float:
        g = (k + 1.0) * m * m / (2.0 + (k - 1.0) * m * m)
        return (1.0 - m * m) / (k * m * m) + (k + 1.0) / (2.0 * k) * math.log(g)

    def exit_state(m1: float) -> tuple[float, float, float]:
        t1 = t0 / (1.0 + 0.2 * m1 * m1)
        p_in = p1 * (t1 / t0) ** 3.5
        rho, v = p_in / (r * t1), m1 * math.sqrt(k * r * t1)
        reynolds = rho * v * bore / 1.82e-5
        factor = fluids.friction.friction_factor(Re=reynolds, eD=0.0)
        left = fanno(m1) - factor * length / bore - 0.5
        mass = rho * v * area
        if left <= 0.0:
            return mass, math.inf, 1.0  # longer than it can be: chokes before the end
        m2 = brentq(lambda m: fanno(m) - left, m1, 1.0 - 1e-12) if left > 1e-12 else 1.0
        t2 = t0 / (1.0 + 0.2 * m2 * m2)
        p_out = p_in * m1 / m2 * math.sqrt(t2 / t1)
        return mass, p_out, m2

    low, high = 1e-4, 1.0
    for _ in range(60):
        m1 = 0.5 * (low + high)
        _, p_out, _ = exit_state(m1)
        low, high = (low, m1) if p_out == math.inf or p_out < p2 else (m1, high)
    return exit_state(low)[0]


@pytest.mark.parametrize("bore", [0.004, 0.006, 0.009, 0.012, 0.015])
@pytest.mark.parametrize("length", [0.5, 3.0, 10.0])
def test_the_tube_formula_agrees_with_pipe_flow_with_friction(bore: float, length: float) -> None:
    conductance, ratio = c.tube(bore, length)
    choked = fanno_mass_flow(bore, length, 9e5, 1e4) / (flow.REFERENCE_DENSITY * 9e5)
    # smooth walls are the upper bound of what a tube can pass; the formula stays 2 to 12 % below, on the safe side
    assert -0.13 < conductance / choked - 1.0 < -0.02
    assert 0.0 < ratio < 0.65


@pytest.mark.parametrize(
    ("bore", "length", "conductance", "ratio"),
    [(0.006, 3.0, 2.17, 0.29), (0.009, 6.0, 4.54, 0.27), (0.012, 3.0, 11.7, 0.39), (0.015, 10.0, 13.3, 0.28)],
)
def test_the_tube_formula_gives_its_worked_samples(
    bore: float, length: float, conductance: float, ratio: float
) -> None:
    got, b = c.tube(bore, length)  # samples worked by hand from the formula, three digits
    assert got * UNIT == pytest.approx(conductance, rel=4e-3)
    assert b == pytest.approx(ratio, abs=6e-3)


def through_both(first: tuple[float, float], second: tuple[float, float], p1: float, p2: float) -> float:
    """The flow through two passages in series, from the pressure between them at which both pass the same."""

    def excess(p: float) -> float:
        return flow.free_flow(p1, p, *first) - flow.free_flow(p, p2, *second)

    p = brentq(excess, p2, p1, xtol=1e-14 * p1)
    return flow.free_flow(p1, p, *first)


PASSAGE = st.tuples(st.floats(0.05, 20.0), st.floats(0.05, 0.5))


@given(PASSAGE, PASSAGE)
def test_the_choked_conductance_of_two_in_series_is_exact(
    first: tuple[float, float], second: tuple[float, float]
) -> None:
    conductance, _ = c.series(first, second)
    assert through_both(first, second, 1.0, 1e-9) == pytest.approx(conductance, rel=1e-6)


@given(PASSAGE, PASSAGE, st.floats(0.05, 0.98))
def test_two_in_series_pass_what_the_formula_says_within_its_error(
    first: tuple[float, float], second: tuple[float, float], r: float
) -> None:
    equivalent = flow.free_flow(1.0, r, *c.series(first, second))
    assert equivalent == pytest.approx(through_both(first, second, 1.0, r), rel=0.03)  # b is approximate


@given(PASSAGE, PASSAGE, st.floats(0.05, 0.98))
def test_two_in_parallel_pass_what_the_formula_says_within_its_error(
    first: tuple[float, float], second: tuple[float, float], r: float
) -> None:
    both = flow.free_flow(1.0, r, *first) + flow.free_flow(1.0, r, *second)
    assert flow.free_flow(1.0, r, *c.parallel(first, second)) == pytest.approx(both, rel=0.04)


def test_the_smaller_restriction_upstream_chokes_alone_but_downstream_does_not() -> None:
    assert c.series((1.0, 0.3), (4.0, 0.3))[0] == 1.0
    assert c.series((4.0, 0.3), (1.0, 0.3))[0] < 1.0


def test_a_leak_is_found_again_as_the_hole_that_makes_it() -> None:
    rate = 3 * 6894.757 / 60  # 3 psi/min
    leak = c.leak_conductance(rate, 0.1, 9.01325e5)
    bore = math.sqrt(4.0 / math.pi * c.orifice_area(leak, 0.65))
    assert c.leak_flow(rate, 0.1) * 1e3 == pytest.approx(0.3447, abs=1e-4)
    assert bore == pytest.approx(0.613e-3, rel=2e-3)
    assert c.orifice(bore, 0.65) == pytest.approx(leak)


# 7 to 6 bar absolute over C, dm3/min(ANR): evaluated by hand from the flow function
@pytest.mark.parametrize(
    ("ratio", "nominal"),
    [
        (0.1, 227.06),
        (0.2, 239.53),
        (0.25, 246.58),
        (0.3, 254.27),
        (0.4, 272.03),
        (0.5, 293.94),
        (0.528, 301.03),
    ],
)
def test_nominal_flow_over_conductance(ratio: float, nominal: float) -> None:
    assert c.nominal_flow(1e-8, ratio) * 60e3 == pytest.approx(nominal, abs=6e-3)


def test_the_emptying_time_is_the_integral_it_claims_to_be() -> None:
    from pneudraw.flow.receiver import emptying_time

    for b in (0.0, 0.2, 0.5, 0.7):
        time, _ = quad(
            lambda p, b=b: 1.0 / (p * flow.flow_function(1.0 / p, b)), 1.2, 9.0, epsabs=1e-12, limit=200
        )
        assert emptying_time(1.0, 9.0, 1.2, 1.0, b) == pytest.approx(time, rel=1e-7)
