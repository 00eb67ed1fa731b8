"""Laws of valves, run on a bench, against hand calculations."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest

from pneudraw.library import expression
from pneudraw.library.model import Kind, Valve
from pneudraw.units import PSI
from tests.library.bench import bench, gauge, passed, position
from tests.library.laws import KINDS, kind, opening, passage

BAR = 1e5
DERIVED = [(k, valve) for k in KINDS for valve in k.valves if valve.derived]


# --- directional valves -------------------------------------------------------------------------------


def open_ways(kind: Kind, valve: Valve, at: dict[str, float]) -> set[frozenset[str]]:
    return {
        frozenset((p.start, p.end))
        for p in kind.passages
        if {p.start, p.end} <= set(valve.ports) and opening(kind, p, at) > 0.99
    }


@pytest.mark.parametrize(("kind", "valve"), DERIVED, ids=[k.name for k, _ in DERIVED])
def test_a_directional_valve_is_always_in_one_of_its_boxes(kind: Kind, valve: Valve) -> None:
    """Whatever is switched on, the open ways are those of one box; every box is reached; it starts at rest."""
    names = {name for p in kind.passages for c in p.conditions for name in expression.names(c.form)}
    pilots = [name for name in sorted(names) if name.startswith("p") and name[1:].isdigit()]
    inputs = [item for item in kind.inputs if item.name in names]
    values: list[list[float]] = [[0.0, 6 * BAR] for _ in pilots]
    values += [[float(v) for v in range(len(item.positions))] for item in inputs]
    values += [[0.0, 1.0] for _ in kind.memories]
    words = [*pilots, *(item.name for item in inputs), *(memory.name for memory in kind.memories)]
    boxes = [{frozenset((path.start, path.end)) for path in box} for box in valve.boxes]
    seen = []
    for combination in product(*values):
        ways = open_ways(kind, valve, dict(zip(words, combination, strict=True)))
        assert ways in boxes
        seen.append(boxes.index(ways))
    assert set(seen) == set(range(len(boxes)))
    rest = {item.name: item.rest for item in inputs} | {
        memory.name: float(memory.start) for memory in kind.memories
    }
    assert open_ways(kind, valve, rest) == boxes[valve.rest]


@pytest.mark.parametrize(
    ("name", "pilot", "joined"),
    [
        ("valve-3-2-pilot", "p12", "1-2"),
        ("valve-2-2-pilot", "p12", "1-2"),
        ("valve-5-2-pilot", "p14", "1-4"),
        ("valve-5-3-pilot", "p14", "1-4"),
        ("valve-5-3-pilot", "p12", "1-2"),
    ],
)
def test_a_pilot_port_is_named_after_what_it_joins(name: str, pilot: str, joined: str) -> None:
    """ISO 11727: pressure at 12 joins 1 to 2, at 14 joins 1 to 4."""
    part = kind(name)
    ways = [way for way in part.passages if way.name.partition("~")[0] == joined]
    assert max(opening(part, way, {pilot: 6 * BAR}) for way in ways) == 1
    assert max(opening(part, way, {}) for way in ways) == (
        1 if joined == "1-2" and name == "valve-5-2-pilot" else 0
    )


def test_a_twice_piloted_valve_keeps_what_came_last() -> None:
    """A puff at 14 sends the cylinder out, and it stays out; a puff at 12 brings it back."""
    runs = bench(
        """
        air air-source pressure=6bar
        start valve-3-2-button
        stop valve-3-2-button
        memory valve-5-2-pilot-twice
        cyl cylinder-double-acting
        """,
        """
        air -> start.1, stop.1, memory.1
        start.2 -> memory.14
        stop.2 -> memory.12
        memory.4 -> cyl.1
        memory.2 -> cyl.2
        """,
        """
        rest "Rest" from empty: air on
        puff "Puff at 14" from rest: start down, start up at 0.5s
        back "Puff at 12" from puff: stop down, stop up at 0.5s
        """,
    )
    assert [round(position(runs[name]), -1) for name in ("rest", "puff", "back")] == [0, 200, 0]
    assert gauge(runs["puff"], "memory.14") < 0.1


# --- pressure valves ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("supply", "delivered"), [(2.0, 2.0), (4.0, 4.0), (8.0, 4.0)])
def test_a_limiting_valve_passes_the_lower_of_supply_and_setting(supply: float, delivered: float) -> None:
    runs = bench(
        f"air air-source pressure={supply}bar\nlim pressure-regulator setting=4bar\ntank reservoir volume=1L\nend plug",
        "air -> lim -> tank -> end",
        'on "On" from empty for 60s: air on',
    )
    assert gauge(runs["on"], "tank.1") == pytest.approx(delivered, abs=0.05)


def test_a_limiting_valve_gives_its_air_back() -> None:
    runs = bench(
        """
        air air-source pressure=8bar
        cock shut-off-cock-vented
        lim pressure-regulator setting=4bar
        tank reservoir volume=1L
        end plug
        """,
        "air -> cock -> lim -> tank -> end",
        'on "On" from empty for 60s: air on\noff "Off" from on for 60s: cock closed',
    )
    assert gauge(runs["on"], "tank.1") == pytest.approx(4, abs=0.05)
    assert gauge(runs["off"], "tank.1") < 0.4  # what the seat needs to lift


@pytest.mark.parametrize(("sort", "end"), [("pressure-reducer", 3.3), ("pressure-regulator", 6.0)])
def test_only_a_relieving_regulator_vents_what_it_did_not_ask_for(sort: str, end: float) -> None:
    """A by-pass fills the tank to 6 bar and is closed. Set to 3 bar, one lets it down to its vent."""
    runs = bench(
        f"air air-source pressure=6bar\ncock shut-off-cock\nreg {sort} setting=3bar\n"
        "tank reservoir volume=1L\nend plug",
        "air -> cock, reg.1\ncock -> tank, reg.2\ntank -> end",
        'on "On" from empty for 60s: air on\noff "Off" from on for 200s: cock closed',
    )
    assert gauge(runs["on"], "tank.1") > 5.5
    assert gauge(runs["off"], "tank.1") == pytest.approx(end, abs=0.1)


def test_a_sequence_valve_opens_at_its_setting() -> None:
    for supply, reached in ((3.5, 0.0), (5.0, 5.0)):
        runs = bench(
            f"air air-source pressure={supply}bar\nseq sequence-valve opens=4bar\ntank reservoir volume=1L\nend plug",
            "air -> seq -> tank -> end",
            'on "On" from empty for 60s: air on',
        )
        assert gauge(runs["on"], "tank.1") == pytest.approx(reached, abs=0.05)


def test_four_circuits_close_at_their_opening_pressure_over_one_and_the_help() -> None:
    """Force balance of one closing body: p1 + h p2 = opens; a broken circuit has p2 = 0, a full one p2 = p1.

    6.9 bar opening and 30 % help: the sound circuits close at 6.9 / 1.3 = 5.3 bar, 0.2 bar of band above at most.
    """
    runs = bench(
        """
        air air-source pressure=8bar
        cv check-valve
        four four-circuit-protection-valve opens=6.9bar help=30%
        t1 reservoir volume=20L
        t2 reservoir volume=20L
        e1 plug
        e2 plug
        """,
        "air -> cv -> four.1\nfour.21 -> t1 -> e1\nfour.22 -> t2 -> e2",
        """
        fill "Fill" from empty for 120s: air on
        off "Off" from fill: air off
        break "Circuit 1 breaks" from off for 900s: fault t1.leaks 3mm
        """,
    )
    assert gauge(runs["fill"], "t2.1") == pytest.approx(8, abs=0.3)
    assert gauge(runs["break"], "t1.1") < 0.5
    assert 5.2 < gauge(runs["break"], "t2.1") < 5.6


TWO_SOURCES = """
    air air-source pressure=8bar
    cv1 check-valve
    cv2 check-valve
    t1 reservoir volume=20L
    t2 reservoir volume=20L
    dcv double-check-valve
    t3 reservoir volume=2L
    e1 plug
    e2 plug
    e3 plug
"""
FED_BY_BOTH = """
    air -> cv1 -> t1 -> dcv.11
    air -> cv2 -> t2 -> dcv.12
    dcv.2 -> t3 -> e3
    t1.e -> e1
    t2.e -> e2
"""


@pytest.mark.parametrize(
    ("leak", "sound", "bore"), [("t1", "t2", "0.3mm"), ("t2", "t1", "0.3mm"), ("t1", "t2", "6mm")]
)
def test_a_double_check_valve_keeps_a_leak_small_or_large_to_its_own_circuit(
    leak: str, sound: str, bore: str
) -> None:
    """Equal sources, one of them leaks: the other gives the delivery what it needs, and no more.

    The delivery is full already, so the sound one loses nothing: not even the 0.03 bar that move the shuttle.
    """
    runs = bench(
        TWO_SOURCES,
        FED_BY_BOTH,
        f"""
        fill "Fill" from empty for 200s: air on
        off "Off" from fill for 10s: air off
        break "One leaks" from off for 600s: fault {leak}.leaks {bore}
        """,
    )
    before, after = runs["off"], runs["break"]
    assert gauge(after, f"{leak}.1") < gauge(before, f"{leak}.1") - 1
    assert gauge(after, f"{sound}.1") == pytest.approx(gauge(before, f"{sound}.1"), abs=0.01)
    assert gauge(after, "t3.1") == pytest.approx(gauge(before, "t3.1"), abs=0.03)


@pytest.mark.parametrize("side", ["one", "two"])
def test_a_double_check_valve_lets_the_delivered_air_back_the_way_it_came(side: str) -> None:
    runs = bench(
        """
        air air-source pressure=8bar
        one valve-3-2-lever
        two valve-3-2-lever
        dcv double-check-valve
        t3 reservoir volume=2L
        e3 plug
        """,
        "air -> one.1, two.1\none.2 -> dcv.11\ntwo.2 -> dcv.12\ndcv.2 -> t3 -> e3",
        f'on "On" from empty for 60s: air on, {side} on\noff "Off" from on for 60s: {side} off',
    )
    assert gauge(runs["on"], "t3.1") == pytest.approx(8, abs=0.01)
    assert gauge(runs["off"], "t3.1") < 0.01


def test_what_a_double_check_valve_delivers_comes_from_the_source_that_has_it() -> None:
    """Boyle: 20 L and the 2 L behind the valve share their air with 8 L more; the empty reservoir at 12 gets none."""
    runs = bench(
        """
        air air-source pressure=8bar
        cv check-valve
        t1 reservoir volume=20L
        t2 reservoir volume=20L
        dcv double-check-valve
        t3 reservoir volume=2L
        cock shut-off-cock bore=2L/(s.bar)
        t4 reservoir volume=8L
        e4 plug
        """,
        "air -> cv -> t1 -> dcv.11\nt2.2 -> dcv.12\ndcv.2 -> t3 -> cock -> t4 -> e4",
        """
        fill "Fill" from empty for 200s: air on, cock closed
        off "Off" from fill for 10s: air off
        draw "Draw" from off for 60s: cock open
        """,
    )
    level = gauge(runs["off"], "t1.1") * 22 / 30
    assert gauge(runs["draw"], "t1.1") == pytest.approx(level, abs=0.05)
    assert gauge(runs["draw"], "t4.1") == pytest.approx(level, abs=0.05)
    assert gauge(runs["draw"], "t2.2") < 0.001


@pytest.mark.parametrize("fault", ["leaks", "stuck-on-11", "stuck-on-12"])
def test_a_double_check_valve_that_leaks_or_sticks_shows_when_one_source_is_lost(fault: str) -> None:
    """11 is lost. Leaking across, the sound source falls too; stuck with 12 closed, the delivery goes with 11; stuck
    with 11 closed, all is well for now."""
    runs = bench(
        TWO_SOURCES,
        FED_BY_BOTH,
        f"""
        fill "Fill" from empty for 200s: air on
        off "Off" from fill for 10s: air off
        break "11 is lost" from off for 120s: fault dcv.{fault}, fault t1.leaks 6mm
        """,
    )
    before, after = runs["off"], runs["break"]
    assert gauge(after, "t1.1") < 1
    lost = gauge(before, "t2.1") - gauge(after, "t2.1")
    assert lost > 2 if fault == "leaks" else lost < 0.01
    if fault != "leaks":
        follows = {"stuck-on-11": "t2.1", "stuck-on-12": "t1.1"}[fault]
        assert gauge(after, "t3.1") == pytest.approx(gauge(after, follows), abs=0.05)


def test_a_dual_pressure_valve_passes_the_lower() -> None:
    for one, two in ((6, 3), (2, 5), (6, 0)):
        part = kind("dual-pressure-valve")
        at = {"p11": one * BAR, "p12": two * BAR}
        assert opening(part, passage(part, "11-2"), at) == (1 if one < two else 0)
        assert opening(part, passage(part, "12-2"), at) == (1 if two < one else 0)


def test_a_quick_exhaust_empties_in_the_time_of_its_own_seat() -> None:
    """Choked blow-down: t = V / C ln(p0 / p), 6 to 3 bar abs, 2 L through 1 dm3/(s.bar): 1.4 s (any gas text)."""
    runs = bench(
        """
        air air-source pressure=6bar
        cock valve-3-2-lever
        quick quick-exhaust-valve seat=1L/(s.bar)
        tank reservoir volume=2L
        end plug
        """,
        "air -> cock.1\ncock.2 -> quick -> tank bore=20mm length=0.1m\ntank -> end length=0.1m",
        'on "On" from empty: air on, cock on\noff "Off" from on: cock off',
    )
    run = runs["off"]
    names = [node.name for node in run.plumbing.network.nodes]
    spot, rows = names.index("tank.1"), run.solution
    falling, times = rows.pressures[::-1, spot], rows.times[::-1]
    start, half = (float(np.interp(at, falling, times)) for at in (6.0, 3.0))
    assert half - start == pytest.approx(2.04 / 1.0 * math.log(2), rel=0.03)  # 40 mL of pipe
    assert passed(run, "quick:2-3") > 0.9 * 2 * 6


# --- vehicle valves -----------------------------------------------------------------------------------


@pytest.mark.parametrize("signal", [0.0, 2.0, 5.0])
def test_an_inversion_valve_delivers_its_setting_less_the_signal(signal: float) -> None:
    runs = bench(
        f"""
        air air-source pressure=8bar
        sig air-source pressure={max(signal, 0.01)}bar
        inv inversion-valve setting=7bar
        tank reservoir volume=1L
        end plug
        """,
        "air -> inv.1\nsig -> inv.4\ninv.2 -> tank -> end",
        'fill "Fill" from empty for 60s: air on, sig off\non "On" from fill for 60s: sig on',
    )
    assert gauge(runs["on"], "tank.1") == pytest.approx(7 - signal, abs=0.15)


@pytest.mark.parametrize(("load", "share"), [("0%", 0.35), ("50%", 0.675), ("100%", 1.0)])
def test_a_load_sensing_valve_delivers_its_share_of_the_signal(load: str, share: float) -> None:
    """Share = empty + (1 - empty) x load, less the crack pressure of 0.25 bar."""
    runs = bench(
        f"""
        air air-source pressure=8bar
        sig air-source pressure=6bar
        lsv load-sensing-valve load={load}
        tank reservoir volume=1L
        end plug
        """,
        "air -> lsv.1\nsig -> lsv.4\nlsv.2 -> tank -> end",
        'on "On" from empty for 60s: air on, sig on',
    )
    assert gauge(runs["on"], "tank.1") == pytest.approx(6 * share - 0.25, abs=0.1)


def test_the_anti_lock_unit_holds_dumps_and_lets_the_pressure_come_back() -> None:
    """Scripted as a unit would: hold, dump for 100 ms, hold, let go.

    While dumping, 1 L empties through 3 dm3/(s.bar), choked: p = p0 exp(-t C / V), to 74 % in 0.1 s (any gas text).
    """
    runs = bench(
        """
        air air-source pressure=6bar
        abs abs-modulator seat=3L/(s.bar)
        tank reservoir volume=1L
        end plug
        """,
        "air -> abs.1\nabs.2 -> tank bore=20mm length=0.1m\ntank -> end length=0.1m",
        """
        on "On" from empty: air on
        hold "Hold" from on for 1s: abs.hold on
        dump "Dump" from hold for 1s: abs.dump on, abs.dump off at 0.1s
        again "Again" from dump: abs.hold off
        """,
    )
    assert gauge(runs["hold"], "tank.1") == pytest.approx(6, abs=0.05)
    volume = 1.0 + math.pi / 4 * 0.2**2 * 1 + 0.002
    expected = 7 * math.exp(-0.1 * 3 / volume) - 1
    assert gauge(runs["dump"], "tank.1") == pytest.approx(expected, abs=0.25)
    assert gauge(runs["again"], "tank.1") == pytest.approx(6, abs=0.05)


def test_a_detented_knob_is_pushed_out_by_its_pilot_only() -> None:
    """It does not care about its own supply (that is what the other park valve is for), but about the trip signal."""
    runs = bench(
        """
        air air-source pressure=8bar
        trip air-source pressure=4bar
        knob park-valve-detent trip=40psi
        tank reservoir volume=1L
        end plug
        """,
        "air -> knob.1\ntrip -> knob.4\nknob.2 -> tank -> end",
        """
        in "In" from empty for 30s: air on, knob in
        out "Tripped" from in for 30s: trip on
        """,
    )
    assert gauge(runs["in"], "tank.1") == pytest.approx(8, abs=0.1)
    assert gauge(runs["out"], "tank.1") < 0.1
    assert 4 * BAR > 40 * PSI


# --- vacuum -------------------------------------------------------------------------------------------


def test_a_vacuum_pump_ends_where_its_losses_eat_its_displacement() -> None:
    """1 - loss (pa/p - 1) = 0: with 11 % at pa / (1 + 1/0.11) = pa / 10.1."""
    runs = bench(
        "pump vacuum-pump\ncup suction-cup",
        "pump.1 -> cup",
        """
        held "Held" from empty for 60s: pump on
        off "Off" from held for 10s: pump off
        lost "Lost" from off: cup none
        """,
    )
    end = 1 / (1 + 1 / 0.11) - 1
    assert gauge(runs["held"], "cup/cup") == pytest.approx(end, abs=0.01)
    assert gauge(runs["off"], "cup/cup") == pytest.approx(end, abs=0.02)
    assert gauge(runs["lost"], "cup/cup") == pytest.approx(0, abs=0.01)


def test_an_ejector_holds_while_it_is_fed_and_uses_air_all_the_time() -> None:
    """End vacuum by the same law, 18 %; the jet takes C p = 0.3 x 7 = 2.1 dm3(ANR)/s, choked (ISO 6358)."""
    runs = bench(
        "air air-source pressure=6bar\nej ejector\ncup suction-cup",
        "air -> ej.1\nej.2 -> cup",
        'held "Held" from empty for 60s: air on',
    )
    assert gauge(runs["held"], "cup/cup") == pytest.approx(1 / (1 + 1 / 0.18) - 1, abs=0.01)
    names = [p.name for p in runs["held"].plumbing.network.passages]
    assert float(runs["held"].solution.flow_end[names.index("ej:1-atmosphere")]) == pytest.approx(
        2.1, rel=0.03
    )
