"""Defaults against regulations, standards and handbooks. Each figure names its source; units at the left."""

from __future__ import annotations

import pytest

from pneudraw.library.model import Kind
from pneudraw.units import CUBIC_INCH, LBF, PSI
from tests.library.laws import KINDS, kind, value

INCH = 0.0254
FT3_MIN = 0.3048**3 / 60

# 49 CFR 571.121 S5.1.2.1 Table V, in3 by chamber type (from memory; the table's type 24 stroke window is unsure,
# its volume is not)
TABLE_V = {9: 25, 12: 30, 14: 40, 16: 46, 18: 50, 20: 54, 24: 67, 30: 89, 36: 135}

# full strokes of clamp chambers, in; behind the limits of 49 CFR 393.47(e), SAE J1817 (from memory)
FULL_STROKES = {9: 1.75, 12: 1.75, 16: 2.25, 20: 2.25, 24: 2.25, 30: 2.50, 36: 3.00}

CHAMBERS = [kind("service-chamber"), kind("spring-brake")]
both = pytest.mark.parametrize("chamber", CHAMBERS, ids=lambda k: k.name)


def row(chamber: Kind, name: str) -> dict[float, float]:
    parameter = chamber.parameter(name)
    assert parameter is not None
    assert parameter.by == "type"
    return {number: quantity.value for number, quantity in parameter.table}


@both
def test_rated_volumes_are_table_v(chamber: Kind) -> None:
    assert row(chamber, "rated") == pytest.approx({t: v * CUBIC_INCH for t, v in TABLE_V.items()})


@both
def test_type_number_is_area_in_square_inches(chamber: Kind) -> None:
    """SAE J1469 usage, from memory; type 30 is 194 cm2."""
    assert row(chamber, "area") == pytest.approx({t: t * INCH**2 for t in TABLE_V})
    assert row(chamber, "area")[30] * 1e4 == pytest.approx(194, abs=0.5)


@both
def test_full_strokes(chamber: Kind) -> None:
    strokes = row(chamber, "full_stroke")
    for number, inches in FULL_STROKES.items():
        assert strokes[number] == pytest.approx(inches * INCH)
    for number in (14, 18):  # 49 CFR 571.121 Table V: 2.25 to 2.70 in
        assert 2.25 * INCH <= strokes[number] <= 2.70 * INCH


@both
def test_void_and_stroke_make_up_the_rated_volume(chamber: Kind) -> None:
    """The space ahead of the relaxed diaphragm belongs to the volume (49 CFR 571.121 S5.1.2.1, interpretation)."""
    for number in TABLE_V:
        full = (
            row(chamber, "void")[number] + row(chamber, "area")[number] * row(chamber, "full_stroke")[number]
        )
        assert full == pytest.approx(row(chamber, "rated")[number], rel=1e-6)


@both
def test_an_adjusted_brake_swallows_less_than_its_rated_volume(chamber: Kind) -> None:
    service = next(c for c in chamber.chambers if c.name == "service")
    applied = value(chamber, service.volume) + sum(value(chamber, s.by) for s in service.swells)
    assert brake_rated(chamber) * 0.5 < applied < brake_rated(chamber)


def brake_rated(chamber: Kind) -> float:
    assert chamber.brake is not None
    return value(chamber, chamber.brake.rated_volume)


def test_type_30_at_100_psi_gives_about_3000_lbf() -> None:
    """Driving Commercial Vehicles (British Columbia) p. 159; the return spring takes 3 % of it here."""
    chamber = kind("spring-brake")
    assert chamber.brake is not None
    assert chamber.brake.service is not None
    area = value(chamber, chamber.brake.service.area)
    force = (100 * PSI - value(chamber, chamber.brake.service.starts)) * area
    assert force == pytest.approx(3000 * LBF, rel=0.05)


def test_parking_spring_needs_60_to_67_psi_to_hold_off() -> None:
    """1800 lbf: TM 5-2330-305-14; 2000 lbf at most: Driving Commercial Vehicles p. 175. On 30 in2: 60 to 67 psi."""
    chamber = kind("spring-brake")
    assert chamber.brake is not None
    assert chamber.brake.spring is not None
    force, area = value(chamber, chamber.brake.spring.force), value(chamber, chamber.brake.spring.area)
    assert force * (1 + 1e-9) >= 1800 * LBF
    assert force <= 2000 * LBF
    assert force / area * (1 + 1e-9) >= 60 * PSI
    assert force / area <= 67 * PSI


def test_spring_side_takes_up_to_75_cubic_inches() -> None:
    """Area times stroke of a type 30: 75 in3 at full stroke (arithmetic); less when adjusted."""
    chamber = kind("spring-brake")
    side = next(c for c in chamber.chambers if c.name == "spring")
    assert 30 * CUBIC_INCH < sum(value(chamber, swell.by) for swell in side.swells) < 75 * CUBIC_INCH


def default(name: str, parameter: str) -> float:
    found = kind(name).parameter(parameter)
    assert found is not None
    return found.default.value


@pytest.mark.parametrize(
    ("name", "parameter", "least", "most"),
    [
        (
            "governor",
            "cut_in",
            100,
            105,
        ),  # 49 CFR 571.121 S5.1.1.1: 100 psi on trucks; TM 5-3825-226-24: 100-105
        ("governor", "cut_out", 120, 130),  # TM 5-3825-226-24: 125 +/- 5 psi; TM 9-2320-272-24-1: 120 to 127
        ("safety-valve", "opens", 140, 150.001),  # TM 9-2320-272-24-1: 150 psi; US Navy 14081: 140 to 150
        ("low-pressure-switch", "setting", 64, 76),  # TM 5-3820-256-24-4: 70 +/- 6 psi; 60 at least, S5.1.5
        ("stop-lamp-switch", "setting", 0.1, 6),  # 49 CFR 571.121 S5.1.7, from memory
        ("park-valve", "trip", 35, 45),  # TM 5-3825-226-24: 40 +/- 5 psi
        ("trailer-supply-valve", "trip", 20, 45),  # 49 CFR 393.43(b), from memory
        ("tractor-protection-valve", "opens", 20, 45),  # 49 CFR 393.43(b), from memory
        ("pressure-protection-valve", "opens", 60, 65.001),  # TM 9-2320-272-10
        ("relay-valve", "crack", 1.5, 5),  # common practice, no source
        ("spring-relay-valve", "crack", 1.5, 5),  # common practice, no source
        ("check-valve", "crack", 0.5, 2),  # common practice, no source
        ("quick-release", "difference", 1, 2),  # common practice, no source
        ("double-check-valve", "shift", 0.5, 3),  # 1 to 3 psi, common practice, no source
        ("foot-valve", "lead", 0, 3),  # common practice, no source
        ("foot-valve", "first", 4, 5.001),  # common practice, no source
        ("spring-brake-modulator", "limit", 90, 95.001),  # common practice, no source
        ("trailer-spring-valve", "opens", 60, 75),  # 70 psi stay in the supply line, 49 CFR 571.121 S5.8.2
        ("four-circuit-protection-valve", "opens", 94, 109),  # 6.5 to 7.5 bar, common practice, no source
        ("pressure-reducer", "setting", 60, 100),  # common practice, no source
    ],
)
def test_settings_psi(name: str, parameter: str, least: float, most: float) -> None:
    assert least <= default(name, parameter) / PSI <= most


def test_the_order_when_the_driver_fans_the_pedal_down() -> None:
    """Cut-in, warning, then the knobs, then the springs fully on: 49 CFR 393.43, 571.121 and common practice."""
    spring = kind("spring-brake")
    assert spring.brake is not None
    assert spring.brake.spring is not None
    gives_way = value(spring, spring.brake.spring.force) / value(spring, spring.brake.spring.area)
    warning = default("low-pressure-switch", "setting")
    assert default("governor", "cut_in") > warning > gives_way
    assert warning >= 60 * PSI
    assert gives_way > default("park-valve", "trip")


def test_protection_valves_close_where_they_should() -> None:
    """5 to 15 psi below opening, and 4.5 to 6 bar for four-circuit valves (common practice, no source)."""
    opens, help = default("pressure-protection-valve", "opens"), default("pressure-protection-valve", "help")
    assert 5 * PSI <= opens - opens / (1 + help) <= 15 * PSI
    name = "four-circuit-protection-valve"
    assert 4.5e5 <= default(name, "opens") / (1 + default(name, "help")) <= 6e5


def test_compressor_delivers_50_to_70_percent_of_its_displacement_at_100_psi() -> None:
    """Common practice, no source. The rating itself: MIL-T-28571G asks for 15.5 ft3/min or more."""
    compressor = kind("compressor")
    pump = next(p.displacement for p in compressor.passages if p.displacement is not None)
    ratio = (100 + 14.696) / 14.696
    share = default("compressor", "efficiency") * (1 - value(compressor, pump.falloff) * (ratio - 1))
    assert 0.5 <= share <= 0.7
    assert default("compressor", "displacement") >= 15.5 * FT3_MIN * (1 - 1e-9)


def test_compressor_is_large_enough_for_a_three_axle_truck() -> None:
    """49 CFR 571.121 S5.1.1: 85 to 100 psi in 25 s at the least reservoir volume, 5568 in3 for types 20 and 30."""
    rated = 2 * TABLE_V[20] + 4 * TABLE_V[30]
    assert 12 * rated == 5568
    needed = 12 * rated * CUBIC_INCH * 15 / 14.696 / 25  # m3/s of free air
    assert needed / FT3_MIN == pytest.approx(7.9, abs=0.05)
    compressor = kind("compressor")
    pump = next(p.displacement for p in compressor.passages if p.displacement is not None)
    delivered = value(compressor, pump.rate) * (1 - value(compressor, pump.falloff) * 100 / 14.696)
    assert delivered > needed


def test_dryer_purge_lasts_10_to_30_seconds() -> None:
    """Common practice, no source. Emptying a volume through a choked orifice: t = V / C ln(p0 / p), ISO 6358."""
    from math import log

    volume, orifice = default("air-dryer", "purge"), default("air-dryer", "orifice")
    assert 100 * CUBIC_INCH <= volume <= 500 * CUBIC_INCH
    time = volume / (orifice * 1e5) * log((120 + 14.7) / 14.7 / 1.9)  # while choked
    assert 10 <= time <= 30


def test_a_modulator_ignores_a_normal_release() -> None:
    """0.7 to 1 bar between the circuits, common practice, no source."""
    assert 0.7e5 <= default("spring-brake-modulator", "offset") <= 1e5


def test_a_type_number_outside_the_table_is_no_choice() -> None:
    for each in KINDS:
        parameter = each.parameter("type")
        if parameter is not None:
            assert parameter.choices == tuple(float(number) for number in TABLE_V)
