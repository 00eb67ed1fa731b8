"""Laws of brake valves, run on a bench, against hand calculations of their force balance.

The settings are those of the kinds; their sources stand in the kind files.
"""

from __future__ import annotations

import pytest

from pneudraw.units import PSI
from tests.library.bench import bench, gauge
from tests.library.laws import kind

BAR = 1e5


def setting(name: str, parameter: str) -> float:
    """A default of a kind: bar, or a pure number."""
    found = kind(name).parameter(parameter)
    assert found is not None
    return found.default.value / (BAR if found.default.dimension == "pressure" else 1.0)


@pytest.mark.parametrize("signal", [1.0, 3.0, 6.0])
def test_a_relay_delivers_its_signal_less_the_crack_pressure(signal: float) -> None:
    runs = bench(
        f"""
        air air-source pressure=8bar
        sig air-source pressure={signal}bar
        relay relay-valve
        tank reservoir volume=1L
        end plug
        """,
        "air -> relay.1\nsig -> relay.4\nrelay.2 -> tank -> end",
        'on "On" from empty for 60s: air on, sig on',
    )
    assert gauge(runs["on"], "tank.1") == pytest.approx(signal - setting("relay-valve", "crack"), abs=0.06)


def test_a_relay_keeps_a_little_when_it_releases_slowly() -> None:
    """It vents while delivery is above signal - crack + lap: with no signal nothing is left, as lap is below crack."""
    assert setting("relay-valve", "lap") < setting("relay-valve", "crack")
    runs = bench(
        "air air-source pressure=8bar\nsig valve-3-2-lever\nrelay relay-valve\ntank reservoir volume=1L\nend plug",
        "air -> relay.1, sig.1\nsig.2 -> relay.4\nrelay.2 -> tank -> end",
        'on "On" from empty for 60s: air on, sig on\noff "Off" from on for 60s: sig off',
    )
    assert gauge(runs["on"], "tank.1") > 7
    assert gauge(runs["off"], "tank.1") < 0.05


@pytest.mark.parametrize("psi", [20, 30, 80])
def test_a_ratio_valve_halves_low_pressures_and_passes_high_ones(psi: int) -> None:
    """Common practice, no source: half up to 40 psi, everything above 60 psi."""
    runs = bench(
        f"air air-source pressure={psi}psi\nratio ratio-valve\ntank reservoir volume=1L\nend plug",
        "air -> ratio.1\nratio.2 -> tank -> end",
        'on "On" from empty for 60s: air on',
    )
    expected = psi * (0.5 if psi <= 40 else 1.0) * PSI / BAR
    assert gauge(runs["on"], "tank.1") == pytest.approx(expected, abs=0.15)


@pytest.mark.parametrize(("supply", "opened"), [("20psi", False), ("60psi", True)])
def test_tractor_protection_passes_the_signal_above_its_opening_pressure_only(
    supply: str, opened: bool
) -> None:
    """49 CFR 393.43 wants it shut between 45 and 20 psi (from memory); this one is set to 40 psi."""
    runs = bench(
        f"""
        sup air-source pressure={supply}
        sig air-source pressure=5bar
        tp tractor-protection-valve
        tank reservoir volume=1L
        end plug
        blind plug
        """,
        "sup -> tp.1\nsig -> tp.4\ntp.21 -> blind\ntp.22 -> tank -> end",
        'on "On" from empty for 60s: sup on, sig on',
    )
    assert (gauge(runs["on"], "tank.1") > 4.8) is opened
    assert opened or gauge(runs["on"], "tank.1") == pytest.approx(0, abs=0.01)


def test_a_lost_trailer_supply_line_applies_the_trailer_from_its_own_reservoir() -> None:
    """Boyle: p1 V1 = p2 (V1 + V2); 20 L at 7 bar into 1 L and pipes leave about 6.6 bar gauge in both."""
    runs = bench(
        """
        sup air-source pressure=7bar
        cock shut-off-cock-vented
        emg trailer-relay-emergency-valve
        tank reservoir volume=20L
        load reservoir volume=1L
        sig plug
        e1 plug
        e2 plug
        """,
        "sup -> cock -> emg.1\nemg.12 -> tank -> e1\nsig -> emg.4\nemg.2 -> load -> e2",
        """
        fill "Fill" from empty for 200s: sup on
        torn "Supply lost" from fill for 60s: cock closed
        """,
    )
    before, after = gauge(runs["fill"], "tank.1"), gauge(runs["torn"], "tank.1")
    assert gauge(runs["fill"], "load.1") < 0.1
    assert gauge(runs["torn"], "load.1") == pytest.approx(after, abs=0.4)
    assert after == pytest.approx((before + 1) * 20 / 21 - 1, abs=0.15)


@pytest.mark.parametrize("pedal", [2.0, 4.0])
def test_a_spring_brake_modulator_takes_the_lost_pressure_off_the_springs(pedal: float) -> None:
    """Force balance: hold-off = limit - (secondary - primary - offset), with the primary lost."""
    name = "spring-brake-modulator"
    runs = bench(
        f"""
        air air-source pressure=8bar
        park air-source pressure=8bar
        second air-source pressure={pedal}bar
        mod {name}
        tank reservoir volume=1L
        end plug
        """,
        "air -> mod.1\npark -> mod.4\nsecond -> mod.42\nmod.2 -> tank -> end",
        """
        drive "Driving" from empty for 60s: air on, park on
        brake "Braking, primary lost" from drive for 60s: second on
        """,
    )
    limit, offset = setting(name, "limit"), setting(name, "offset")
    assert gauge(runs["drive"], "tank.1") == pytest.approx(limit, abs=0.15)
    assert gauge(runs["brake"], "tank.1") == pytest.approx(limit - (pedal - offset), abs=0.2)


@pytest.mark.parametrize(
    ("first", "second", "park", "signal"),
    [
        (3.0, 0.01, 7.0, 2.8),
        (2.0, 4.0, 7.0, 3.8),
        (0.01, 0.01, 7.0, 0.0),
        (0.01, 0.01, 3.0, 3.5),
        (5.0, 0.01, 4.0, 4.8),
    ],
)
def test_a_trailer_control_valve_follows_whatever_asks_for_most(
    first: float, second: float, park: float, signal: float
) -> None:
    """Signal = the highest of 41 - crack, 42 - crack and 6.5 bar - parking pressure; none below 0."""
    runs = bench(
        f"""
        air air-source pressure=8bar
        one air-source pressure={first}bar
        two air-source pressure={second}bar
        park air-source pressure={park}bar
        tcv trailer-control-valve
        tank reservoir volume=1L
        end plug
        """,
        "air -> tcv.11\none -> tcv.41\ntwo -> tcv.42\npark -> tcv.43\ntcv.22 -> tank -> end",
        """
        drive "Driving" from empty for 60s: park on, air on, one off, two off
        brake "Braking" from drive for 60s: one on, two on
        """,
    )
    assert gauge(runs["brake"], "tank.1") == pytest.approx(signal, abs=0.15)
