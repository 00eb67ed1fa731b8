"""How single valves behave, seat by seat: statements from air-brake manuals, tried at given pressures."""

from __future__ import annotations

import pytest

from pneudraw.units import PSI
from tests.library.laws import kind, opening, passage, value

BAR = 1e5


def open_share(name: str, way: str, **at: float) -> float:
    """Opening of a passage; pressures p... in bar gauge, everything else as it is."""
    part = kind(name)
    scaled = {
        key: number * BAR if key.startswith("p") and key != "pedal" else number for key, number in at.items()
    }
    scaled.pop("pushed", None)
    if "pushed" in at:
        scaled["pushed"] = at["pushed"]
    if "asked" in at:
        scaled["asked"] = at["asked"] * BAR
    return opening(part, passage(part, way), scaled)


def test_a_check_valve_passes_forward_and_holds_backward() -> None:
    assert open_share("check-valve", "1-2", p1=8, p2=7) == 1
    assert open_share("check-valve", "1-2", p1=7, p2=8) == 0
    assert open_share("check-valve", "1-2", p1=8, p2=8) == 0


def test_a_relay_applies_holds_and_releases() -> None:
    assert open_share("relay-valve", "1-2", p1=8, p4=5, p2=2) == 1
    assert open_share("relay-valve", "2-3", p1=8, p4=5, p2=2) == 0
    lap = {"p1": 8.0, "p4": 5.0, "p2": 4.8}  # 4 psi crack below the signal
    assert open_share("relay-valve", "1-2", **lap) == 0
    assert open_share("relay-valve", "2-3", **lap) == 0
    assert open_share("relay-valve", "2-3", p1=8, p4=0, p2=5) == 1


def test_a_relay_follows_a_reservoir_that_is_lost() -> None:
    assert open_share("relay-valve", "2-1", p1=1, p4=5, p2=4.7) == 1


def test_the_pedal_sets_a_pressure() -> None:
    assert open_share("foot-valve", "11-21", p11=8, p21=1, asked=3) == 1
    assert open_share("foot-valve", "11-21", p11=8, p21=3.02, asked=3) == 0
    assert open_share("foot-valve", "21-31", p21=3.02, asked=3) == 0
    assert open_share("foot-valve", "21-31", p21=3.5, asked=3) == 1


def test_the_secondary_follows_the_primary() -> None:
    assert open_share("foot-valve", "12-22", p12=8, p21=3, p22=1, asked=3) == 1
    assert open_share("foot-valve", "12-22", p12=8, p21=3, p22=2.95, asked=3) == 0


def test_the_pedal_works_the_secondary_when_the_primary_is_lost() -> None:
    """With either circuit lost the other is still worked through the dead section (driver manuals)."""
    assert open_share("foot-valve", "12-22", p12=8, p21=0, p22=1, asked=3) == 1
    assert open_share("foot-valve", "22-32", p12=8, p21=0, p22=1, asked=3) == 0


def test_pedal_up_vents_both_circuits() -> None:
    assert open_share("foot-valve", "21-31", p21=3, p22=3, asked=0) == 1
    assert open_share("foot-valve", "22-32", p21=0, p22=3, asked=0) == 1


def test_full_pedal_travel_asks_for_more_than_the_reservoirs_hold() -> None:
    part = kind("foot-valve")
    asked = part.curves[0]
    assert value(part, asked.points[-1][1]) >= 125 * PSI  # governor cut-out
    assert value(part, asked.points[0][1]) == 0


def test_the_knob_springs_out_when_its_supply_is_lost() -> None:
    part = kind("park-valve")
    memory = part.memories[0]
    assert value(part, memory.to_zero[0], {"p1": 30 * PSI}) > 0
    assert value(part, memory.to_zero[0], {"p1": 60 * PSI}) < 0
    assert not memory.to_one, "it never goes in by itself"
    assert memory.input == "knob"
    assert part.inputs[0].positions == ("out", "in")
    assert memory.start == 0


def test_park_valve_out_vents_the_springs_and_in_feeds_them() -> None:
    assert open_share("park-valve", "2-3", pushed=0) == 1
    assert open_share("park-valve", "1-2", pushed=0) == 0
    assert open_share("park-valve", "1-2", pushed=1) == 1
    assert open_share("park-valve", "2-3", pushed=1) == 0


def test_the_governor_latches_between_cut_in_and_cut_out() -> None:
    part = kind("governor")
    memory = part.memories[0]
    for psi, to_one, to_zero in ((130, True, False), (110, False, False), (95, False, True)):
        at = {"p1": psi * PSI}
        assert (value(part, memory.to_one[0], at) > 0) is to_one
        assert (value(part, memory.to_zero[0], at) > 0) is to_zero
    assert memory.purpose == "governor"


def test_a_double_check_valve_passes_the_higher() -> None:
    assert open_share("double-check-valve", "11-2", p11=8, p12=6) == 1
    assert open_share("double-check-valve", "12-2", p11=8, p12=6) == 0
    assert open_share("double-check-valve", "12-2", p11=0, p12=6) == 1
    assert open_share("double-check-valve", "11-2", p11=7, p12=7) == open_share(
        "double-check-valve", "12-2", p11=7, p12=7
    )


def test_a_quick_release_vents_on_the_spot() -> None:
    assert open_share("quick-release", "1-under", p1=5, p_under=1) == 1
    assert open_share("quick-release", "under-3", p1=5, p_under=5) == 0
    assert open_share("quick-release", "under-3", p1=0, p_under=5) == 1


def test_the_dryer_purges_on_the_governors_signal_and_holds_the_reservoirs() -> None:
    assert open_share("air-dryer", "wet-3", p4=8) == 1
    assert open_share("air-dryer", "wet-3", p4=0) == 0
    assert open_share("air-dryer", "wet-2", p_wet=0, p2=8) == 0


def test_the_compressor_idles_on_the_signal() -> None:
    assert open_share("compressor", "0-head", engine=1, p4=0) == 1
    assert open_share("compressor", "0-head", engine=1, p4=8) == 0
    assert open_share("compressor", "0-head", engine=0, p4=0) == 0


def test_anti_compounding_the_higher_signal_rules() -> None:
    name = "spring-relay-valve"
    assert open_share(name, "1-2", p1=8, p2=0, p41=0, p42=5) == 1
    assert open_share(name, "2-3", p2=7, p41=8, p42=0) == 0
    assert open_share(name, "2-3", p2=7, p41=0, p42=0) == 1


def modulated(primary: float, secondary: float, delivery: float) -> tuple[float, float]:
    at = {"p1": 8.0, "p4": 8.0, "p2": delivery, "p41": primary, "p42": secondary}
    name = "spring-brake-modulator"
    return open_share(name, "1-2", **at), open_share(name, "2-3", **at)


def test_the_modulator_lets_the_springs_on_only_with_the_primary_lost() -> None:
    limit = part_limit() / BAR
    assert modulated(4, 4, limit)[1] == 0, "normal application: springs stay off"
    assert modulated(0, 4, limit)[1] == 1, "primary lost: spring air is let out"
    assert modulated(0, 4, limit - 3.05) == (0, 0), "until the difference, less the offset, is balanced"


def part_limit() -> float:
    limit = kind("spring-brake-modulator").parameter("limit")
    assert limit is not None
    return limit.default.value


def test_tractor_protection_closes_the_service_line_without_supply() -> None:
    assert open_share("tractor-protection-valve", "4-22", p21=8) == 1
    assert open_share("tractor-protection-valve", "4-22", p21=1) == 0


def test_the_trailer_brakes_itself_when_the_supply_is_lost() -> None:
    name = "trailer-relay-emergency-valve"
    assert open_share(name, "12-2", p1=0, p12=8, p2=0, p4=0) == 1
    assert open_share(name, "12-2", p1=8, p12=8, p2=0, p4=0) == 0
    assert open_share(name, "1-12", p1=0, p12=8) == 0, "no air back through the torn line (49 CFR 393.43)"
    assert open_share("trailer-spring-valve", "22-3", p1=0, p22=7) == 1


def test_a_lost_trailer_reservoir_does_not_take_the_supply_line_below_70_psi() -> None:
    """49 CFR 571.121 S5.8.2: the way to the reservoir is shut before that."""
    name = "trailer-spring-valve"
    assert open_share(name, "1-21", p1=68 * PSI / BAR, p21=0) == 0
    assert open_share(name, "1-21", p1=110 * PSI / BAR, p21=5) == 1


def test_an_anti_lock_modulator_without_current_is_a_piece_of_pipe() -> None:
    assert open_share("abs-modulator", "1-2", hold=0, dump=0) == 1
    assert open_share("abs-modulator", "2-3", hold=0, dump=0) == 0
    assert open_share("abs-modulator", "1-2", hold=1, dump=1) == 0
    assert open_share("abs-modulator", "2-3", hold=1, dump=1) == 1


@pytest.mark.parametrize(("applied", "passed"), [(20, 10), (40, 20), (50, 40), (60, 60)])
def test_the_ratio_valve_holds_back_half_until_40_psi_and_nothing_from_60(
    applied: float, passed: float
) -> None:
    """Common practice, no source: half at low pressure, equal above 40 to 60 psi."""
    just_below = open_share("ratio-valve", "1-2", p1=applied * PSI / BAR, p2=passed * PSI / BAR - 0.15)
    just_above = open_share("ratio-valve", "1-2", p1=applied * PSI / BAR, p2=passed * PSI / BAR + 0.01)
    assert just_below == 1
    assert just_above == 0


def test_the_ratio_valve_is_wide_open_in_hard_braking() -> None:
    assert open_share("ratio-valve", "1-2", p1=90 * PSI / BAR, p2=90 * PSI / BAR) == 1


def test_an_automatic_drain_spits_only_when_the_pressure_falls() -> None:
    assert open_share("drain-auto", "sump-atmosphere", p1=8, p_sump=7.9) == 0
    assert open_share("drain-auto", "sump-atmosphere", p1=7.7, p_sump=7.95) == 1


def test_a_safety_valve_is_shut_at_cut_out_and_open_above_its_setting() -> None:
    assert open_share("safety-valve", "1-3", p1=125 * PSI / BAR) == 0
    assert open_share("safety-valve", "1-3", p1=160 * PSI / BAR) > 0.5
