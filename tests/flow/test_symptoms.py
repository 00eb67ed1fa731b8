"""Symptoms are computed, compared with the sound vehicle, and put into words by thresholds that are written down."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pneudraw.flow.conditions import sound
from pneudraw.flow.faults import all_faults, find_fault
from pneudraw.flow.run import Options
from pneudraw.flow.signs import Air, Needle, Push
from pneudraw.flow.symptoms import (
    FALLS,
    FAST,
    P,
    Reference,
    Symptoms,
    air_word,
    doubts,
    needle_words,
    push_words,
    reference,
    symptoms,
    symptoms_with_doubts,
)
from tests.flow.rigs import BENCH, bench, circuit, semi

FAST_RUNS = Options(compiled="yes")


def seen(known: Reference, name: str, letter: str, size: float | None = None) -> Symptoms:
    fault = find_fault(known.vehicle.circuit, name, size).setting
    return symptoms(known, (fault,), (letter,), FAST_RUNS)


@pytest.mark.parametrize("known", [bench, semi])
def test_without_a_fault_nothing_is_wrong(known: object) -> None:
    assert callable(known)
    assert symptoms(known(), (), (), FAST_RUNS).wrong == ()


def test_a_leak_of_0_61_mm_takes_3_psi_a_minute_from_100_litres_at_8_bar() -> None:
    # worked example: q = V R = 0.345 L/s, choked, C = q / p = 0.0382 L/(s.bar), a hole of 0.61 mm with Cd 0.65;
    # sonic conductance of a hole: C = 0.1992 Cd A (ISO 6358 reference state, from memory)
    text = BENCH.replace("volume=800in3", "volume=100L").replace(
        "air    air-source", "air    air-source  pressure=8bar"
    )
    known = reference(sound(circuit(text), FAST_RUNS), FAST_RUNS)
    needle = next(
        n for n in seen(known, "tank.leaks", "P", 0.00061).seen[0].signs.needles if n.place == "tank"
    )
    assert needle.fall * 60 / P == pytest.approx(3.0, rel=0.04)


def test_what_leaves_is_what_the_needle_loses() -> None:
    # gas law at constant temperature: free air (1 bar, 20 C) = volume x fall of pressure; 800 in3 = 13.11 L, and the
    # lines and the hold-off side hang on it, so the air is a little more
    found = seen(bench(), "tank.leaks", "P").seen[0].signs
    air = next(a for a in found.air if a.place == "tank/body")
    needle = next(n for n in found.needles if n.place == "tank")
    assert air.litres == pytest.approx(13.11 * (needle.start - needle.read), rel=0.1)


def test_the_words_do_not_depend_on_the_order_of_the_netlist() -> None:
    head, rest = BENCH.split("parts\n")
    parts, lines = rest.split("\nlines\n")
    rows = "\n".join(reversed([row for row in parts.split("\n") if row.strip()]))
    other = reference(sound(circuit(f"{head}parts\n{rows}\n\nlines\n{lines}"), FAST_RUNS), FAST_RUNS)
    for name in ("lr.centre-seal-leaks", "park.exhaust-leaks", "line:hold.broken", "foot.inlet-leaks"):
        for letter in ("P", "R", "S", "K"):
            one = {(o.key, o.word) for o in seen(bench(), name, letter).wrong}
            two = {(o.key, o.word) for o in seen(other, name, letter).wrong}
            assert one == two, (name, letter)


def test_a_bench_without_pedal_knob_or_engine_has_only_the_conditions_it_can_have() -> None:
    letters = {c.letter for c in bench().vehicle.conditions}
    assert {"P", "PS", "R", "S", "L", "K", "N", "Dtank", "F"} <= letters
    assert not letters & {"T", "TS", "Q", "H", "X", "U", "V"}
    parts, lines = "  air air-source\n  tank reservoir\n  cap plug\n", "  air -> tank.1\n  tank.2 -> cap\n"
    bare = f'circuit "bare"\nparts\n{parts}lines\n{lines}'
    only = sound(circuit(bare), FAST_RUNS).conditions
    assert [c.letter for c in only] == ["B", "R"]


# --- thresholds -------------------------------------------------------------------------------------


def needle(start: float, settled: float, read: float) -> Needle:
    return Needle("tank", start, settled, read, (settled - read) / 60, (), ())


@pytest.mark.parametrize(
    ("per_minute", "word"),
    [(0.9, "holds"), (1.1, "falls"), (9.9, "falls"), (10.1, "falls fast"), (-3.0, "holds")],
)
def test_a_needle_falls_from_1_psi_a_minute_and_fast_from_10(per_minute: float, word: str) -> None:
    still = needle(8.0, 8.0, 8.0)
    assert needle_words("R", needle(8.0, 8.0, 8.0 - per_minute * P), still) == (word, "holds")
    assert pytest.approx(10 * FALLS) == FAST


def test_a_needle_that_lost_its_air_before_the_watch_fell_fast() -> None:
    assert needle_words("R", needle(8.0, 0.1, 0.0), needle(8.0, 8.0, 8.0))[0] == "falls fast"


def test_a_greater_drop_at_once_is_no_leak() -> None:
    sound_drop = needle(8.0, 7.4, 7.4)
    assert needle_words("S", needle(8.0, 7.2, 7.2), sound_drop)[0] == "drops more"
    assert needle_words("S", needle(8.0, 7.9, 7.9), sound_drop)[0] == "drops less"


@pytest.mark.parametrize(
    ("air", "word"),
    [
        (None, "quiet"),
        (Air("x.3", "x", 0.05, 0.01, 0.0, 1.0), "quiet"),  # half a decilitre
        (Air("x.3", "x", 5.0, 0.5, 0.0, 20.0), "puff"),
        (Air("x.3", "x", 5.0, 9.0, 0.0, 2.0), "long"),
        (Air("x.3", "x", 5.0, 60.0, 0.06, 0.2), "steady"),
        (Air("x.3", "x", 3.0, 0.0, 0.04, 0.045), "quiet"),  # soap would show it, no ear does
    ],
)
def test_what_an_ear_says_of_an_outlet(air: Air | None, word: str) -> None:
    assert air_word(air, None) == word


def test_a_puff_of_less_than_a_fifth_is_faint() -> None:
    usual = Air("x.3", "x", 10.0, 0.5, 0.0, 50.0)
    assert air_word(Air("x.3", "x", 2.0, 0.5, 0.0, 9.0), usual) == "faint"


@pytest.mark.parametrize(
    ("end", "time", "word"),
    [(1000.0, 0.3, "on"), (800.0, 0.3, "weak"), (20.0, None, "off"), (1000.0, 1.0, "late")],
)
def test_a_brake_is_on_weak_late_or_off(end: float, time: float | None, word: str) -> None:
    usual = Push("lr", "service", 0.0, 1000.0, 1000.0, 0.3, 7.0)
    assert push_words(Push("lr", "service", 0.0, end, end, time, 7.0), usual, 1000.0) == (word, "on")


# --- what is not certain ----------------------------------------------------------------------------


def test_plain_faults_come_out_the_same_at_a_tenth_of_the_tolerance() -> None:
    known = bench()
    for name in ("lr.centre-seal-leaks", "line:hold.broken", "foot.exhaust-leaks"):
        fault = find_fault(known.vehicle.circuit, name).setting
        assert symptoms_with_doubts(known, (fault,), ("P", "R", "S"), FAST_RUNS).doubtful == ()


def test_a_word_that_changes_at_a_finer_tolerance_is_doubtful() -> None:
    coarse = seen(bench(), "tank.leaks", "P")
    one = coarse.seen[0]
    changed = tuple(replace(o, word="holds") if o.place == "tank" else o for o in one.observations)
    fine = replace(coarse, seen=(replace(one, observations=changed),))
    assert [o.place for o in doubts(coarse, fine)] == ["tank"]
    assert doubts(coarse, coarse) == ()


def test_every_run_of_a_bench_with_any_fault_can_be_followed_to_its_end() -> None:
    known = bench()
    for fault in all_faults(known.vehicle.circuit):
        assert symptoms(known, (fault.setting,), (), FAST_RUNS).messages == (), fault.name


def test_a_state_of_the_netlist_is_a_condition_of_its_own() -> None:
    text = (
        BENCH
        + '\nstates\n  half "Half application" from ready for 20 s: foot 50%\n  odd from half: foot 0%\n'
    )
    known = reference(sound(circuit(text), FAST_RUNS), FAST_RUNS)
    letters = [c.letter for c in known.vehicle.conditions]
    assert letters[-2:] == ["half", "odd"]
    wrong = {(o.what, o.place, o.word) for o in seen(known, "foot.exhaust-leaks", "half").wrong}
    assert ("air", "foot.3", "steady") in wrong
    assert ("air", "foot.3", "steady") not in {
        (o.what, o.place, o.word) for o in seen(known, "foot.exhaust-leaks", "odd").wrong
    }
