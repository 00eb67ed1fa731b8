"""The figures in the rules are those of the regulations, to the last unit."""

from __future__ import annotations

import pytest

from tests.rules.circuits import TRACTOR_AND_TRAILER, TRUCK
from tests.rules.helpers import changed, structural, told

#: 49 CFR 571.121 S5.1.2.1 with the chamber volumes of its Table V (from memory): two type 20 and two type 30
#: chambers hold 2 x 54 + 2 x 89 = 286 in3, so all reservoirs together must hold 12 times that, 3432 in3
TRUCK_LEAST = 3432
#: two type 20 and four type 30: 464 in3, 5568 in3
TRACTOR_LEAST = 5568
#: S5.2.1.1 (from memory): a trailer's reservoir holds 8 times its chambers; four type 30: 356 in3, 2848 in3
TRAILER_LEAST = 2848


def truck(supply: int) -> str:
    """The truck with 1600 in3 in each service reservoir."""
    return changed(
        TRUCK,
        ("  wet    reservoir          volume=1200in3", f"  wet    reservoir          volume={supply}in3"),
    )


def test_a_truck_with_twelve_times_its_chambers_has_enough() -> None:
    assert told(structural(truck(TRUCK_LEAST - 3200))) == []


def test_a_truck_with_a_cubic_inch_less_has_not() -> None:
    assert told(structural(truck(TRUCK_LEAST - 3200 - 1))) == [("reservoirs-too-small", "wet")]


@pytest.mark.parametrize(("less", "expected"), [(0, []), (1, [("reservoirs-too-small", "wet")])])
def test_a_tractor_is_counted_without_its_trailer(less: int, expected: list[tuple[str, str]]) -> None:
    text = changed(TRACTOR_AND_TRAILER, ("volume=1500in3", f"volume={TRACTOR_LEAST - 2400 - 1700 - less}in3"))
    assert told(structural(text)) == expected


@pytest.mark.parametrize(("less", "expected"), [(0, []), (1, [("reservoirs-too-small", "ttank")])])
def test_a_trailer_needs_eight_times_its_own(less: int, expected: list[tuple[str, str]]) -> None:
    text = changed(TRACTOR_AND_TRAILER, ("volume=2900in3", f"volume={TRAILER_LEAST - less}in3"))
    assert told(structural(text)) == expected


@pytest.mark.parametrize(("cut_in", "expected"), [(100, []), (99, [("cut-in-too-low", "gov")])])
def test_cut_in_is_100_psi_or_more(cut_in: int, expected: list[tuple[str, str]]) -> None:
    """49 CFR 571.121 S5.1.1.1, trucks (61 FR 6173, in force since 1 March 1997)."""
    text = changed(TRUCK, ("cut_in=100psi", f"cut_in={cut_in}psi"))
    assert told(structural(text)) == expected


@pytest.mark.parametrize(("setting", "expected"), [(60, []), (59, [("warning-too-low", "low1")])])
def test_the_warning_is_on_below_60_psi(setting: int, expected: list[tuple[str, str]]) -> None:
    """49 CFR 571.121 S5.1.5."""
    text = changed(
        TRUCK, ("  low1   low-pressure-switch\n", f"  low1   low-pressure-switch setting={setting}psi\n")
    )
    assert told(structural(text)) == expected


@pytest.mark.parametrize("rules", ["un", "none"])
def test_figures_of_one_regulation_are_not_asked_of_another(rules: str) -> None:
    text = changed(
        TRUCK,
        ("  rules    us\n", f"  rules    {rules}\n"),
        ("cut_in=100psi", "cut_in=80psi"),
        ("  prim   reservoir          volume=1600in3", "  prim   reservoir          volume=300in3"),
    )
    assert told(structural(text)) == []


@pytest.mark.parametrize(("rules", "severity"), [("us", "warning"), ("un", "note"), ("none", "note")])
def test_what_only_practice_asks_for_is_a_note(rules: str, severity: str) -> None:
    text = changed(
        TRUCK,
        ("  rules    us\n", f"  rules    {rules}\n"),
        ("  prim.d -> dprim.1\n", ""),
        ("  dprim  drain-valve\n", ""),
    )
    assert [(found.code, found.severity.value) for found in structural(text)] == [("no-drain", severity)]


def test_a_bench_set_up_needs_no_vehicle_equipment() -> None:
    text = """
circuit "Bench"
  rules us
parts
  s air-source
  t reservoir
  v foot-valve-single
  c service-chamber
lines
  s.2 -> t.1
  t.2 -> v.1
  v.2 -> c.1
"""
    assert structural(text) == ()


def test_quantities_are_told_as_the_user_wrote_them() -> None:
    text = changed(TRUCK, ("cut_in=100psi", "cut_in=6.5bar"))
    (found,) = structural(text)
    assert "6.5bar" in found.message


def test_the_message_names_the_regulation() -> None:
    text = changed(TRUCK, ("cut_in=100psi", "cut_in=80psi"))
    (found,) = structural(text)
    assert found.source == "49 CFR 571.121 S5.1.1.1"
