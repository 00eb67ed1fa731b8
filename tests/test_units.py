"""Units against their definitions: every figure here comes from outside the program, its source beside it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from pneudraw.units import UNITS, Quantity, UnitError, convert, gauge, parse_quantity, show, units_of

#: SI sizes by CODATA / the international yard and pound agreement of 1959, as scipy has them
OUTSIDE = {
    "psi": constants.psi,
    "bar": constants.bar,
    "in": constants.inch,
    "ft": constants.foot,
    "in3": constants.inch**3,
    "in2": constants.inch**2,
    "lbf": constants.lbf,
    "min": constants.minute,
    "L": constants.liter,
    "ft3/min": constants.foot**3 / constants.minute,
    "kPa": 1e3,
    "MPa": 1e6,
    "mbar": 100.0,
    "mm": 1e-3,
    "cm": 1e-2,
    "mL": 1e-6,
    "cm3": 1e-6,
    "cm2": 1e-4,
    "mm2": 1e-6,
    "ms": 1e-3,
    "kN": 1e3,
    "%": 0.01,
    "L/s": 1e-3,
    "L/min": 1e-3 / 60,
    "L/(s.bar)": 1e-3 / constants.bar,
}


@pytest.mark.parametrize("unit", sorted(OUTSIDE))
def test_a_unit_has_the_size_it_has_elsewhere(unit: str) -> None:
    assert parse_quantity(f"1{unit}").value == pytest.approx(OUTSIDE[unit], rel=1e-9)


def test_no_unit_is_left_out_of_that_comparison() -> None:
    assert set(UNITS) - set(OUTSIDE) == {"Pa", "m3", "m", "m2", "s", "N"}  # SI itself


@pytest.mark.parametrize(
    ("written", "si"),
    [
        ("100psi", 689475.7),  # 100 psi = 689.5 kPa: 49 CFR 571.121 prints 100 psi as 689 kPa (from memory)
        ("60 psi", 413685.4),  # 60 psi, the low-pressure warning of 49 CFR 571.121 S5.1.5: 414 kPa
        ("1600in3", 0.0262193),  # 1 in3 = 16.387064 cm3
        ("9.5mm", 0.0095),
        ("30%", 0.3),
        ("0.3", 0.3),
        ("1.5min", 90.0),
        (".5 bar", 5e4),
        ("2.e1kPa", 2e4),
        ("-3 psi", -20684.27),
        ("  12 L ", 0.012),
    ],
)
def test_quantities_as_they_are_written(written: str, si: float) -> None:
    assert parse_quantity(written).value == pytest.approx(si, rel=1e-6)


def test_a_quantity_remembers_its_dimension_and_its_words() -> None:
    assert parse_quantity("12 L") == Quantity(0.012, "volume", "12 L")
    assert parse_quantity("20").dimension == "number"
    assert str(parse_quantity("8 bar abs")) == "8 bar abs"


def test_a_pressure_is_a_gauge_pressure_unless_it_says_abs() -> None:
    assert not parse_quantity("8bar").absolute
    absolute = parse_quantity("8 bar abs")
    assert absolute.absolute
    assert gauge(absolute.value) == pytest.approx(800_000 - 101_325)  # standard atmosphere, ISO 2533


@pytest.mark.parametrize(
    ("written", "word"),
    [
        ("", ""),
        ("psi", "psi"),
        ("100 pounds", "pounds"),
        ("100psia", "psia"),
        ("100 PSI", "PSI"),
        ("3/8in", "3/8in"),
        ("1,5bar", "1,5bar"),
        ("--3bar", "--3bar"),
        ("3bar bar", "3bar bar"),
        ("3L abs", "L"),
        ("nan", "nan"),
        ("inf", "inf"),
        ("1e999", "1e999"),
        ("1e13Pa", "1e13"),
        ("3\x00bar", "3\x00bar"),
    ],
)
def test_what_is_no_quantity_says_which_word_is_wrong(written: str, word: str) -> None:
    with pytest.raises(UnitError) as raised:
        parse_quantity(written)
    assert raised.value.word == word


@given(st.floats(-1e9, 1e9), st.sampled_from(sorted(UNITS)))
def test_there_and_back_again_is_the_same_number(number: float, unit: str) -> None:
    quantity = parse_quantity(f"{number!r}{unit}")
    assert math.isfinite(quantity.value)
    assert convert(quantity.value, unit) == pytest.approx(number, rel=1e-12, abs=1e-300)
    assert quantity.dimension == UNITS[unit][0]


@given(st.text(max_size=40))
def test_any_text_is_a_quantity_or_a_unit_error(text: str) -> None:
    try:
        value = parse_quantity(text).value
    except UnitError:
        value = 0.0
    assert math.isfinite(value)


def test_the_units_of_a_dimension_are_named_for_help_texts() -> None:
    assert units_of("pressure") == ("Pa", "kPa", "MPa", "bar", "mbar", "psi")
    assert units_of("time") == ("s", "ms", "min")
    assert units_of("number") == ()


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (8.62e5, "bar", "8.62 bar"),
        (1.2345e6, "Pa", "1234500 Pa"),
        (0.3, "%", "30 %"),
        (100 * constants.psi, "psi", "100 psi"),
        (2e-5, "m", "0.00002 m"),
        (1.23456e-9, "m3", "0.00000000123 m3"),
        (0.0, "bar", "0 bar"),
    ],
)
def test_quantities_are_shown_in_plain_digits(value: float, unit: str, text: str) -> None:
    assert show(value, unit) == text
