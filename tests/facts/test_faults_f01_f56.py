"""The fault table f01 to f56 held against computed symptoms.

The rows are in :mod:`tests.facts.fault_rows`, each with its source. Where the computed vehicle does otherwise than the
table, the claim stands under ``differs`` with the reason, and a test holds that it still does: a better model then asks
for the claim to be moved. Not in the table: f32 and f53 (lines crossed) are circuits of their own below.

``python -m tests.facts.test_faults_f01_f56`` prints which rows agree.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.conditions import sound
from pneudraw.flow.diagnosis import GROUPS
from pneudraw.flow.faults import find_fault
from pneudraw.flow.run import Options, run
from pneudraw.flow.symptoms import Reference, Seen, reference, symptoms
from pneudraw.units import PSI
from tests.facts.fault_rows import ROWS, FaultRow

HERE = Path(__file__).parent / "circuits"
FILES = {
    "semi": HERE / "tractor-semitrailer.pneu",
    "emergency": HERE / "trailer-relay-emergency.pneu",
    "truck": HERE / "fault-truck.pneu",
}
OPTIONS = Options(compiled="yes")
P = PSI / 1e5  # bar per psi


@cache
def known(name: str) -> Reference:
    reading = api.read(FILES[name])
    assert reading.circuit is not None, reading.diagnostics
    return reference(sound(reading.circuit, OPTIONS), OPTIONS)


def circuit_of(name: str) -> Circuit:
    return known(name).vehicle.circuit


def resolved(name: str, text: str) -> str:
    """Put the line's tag for ``@lr.11``."""
    before, at, rest = text.partition("@")
    if not at or rest.startswith("any"):
        return text
    tag, port, *after = rest.split(".")
    line = circuit_of(name).line_at(tag, port)
    assert line is not None
    return ".".join([before + line.tag, *after])


@cache
def seen(name: str, faults: tuple[str, ...], letter: str) -> Seen:
    settings = tuple(find_fault(circuit_of(name), resolved(name, f)).setting for f in faults)
    return symptoms(known(name), settings, (letter,), OPTIONS).seen[0]


def holds(row: FaultRow, claim: str) -> bool:
    """Whether the computed vehicle does what a claim says."""
    letter, what, place, word = claim.split()
    found = seen(row.circuit, row.faults, letter)
    place = resolved(row.circuit, place)
    if place.startswith("@any"):
        but = place.partition("-but-")[2]
        own = {o.place: o.word for o in found.observations if o.what == what and o.place != but}
        return all(w in ("quiet", "puff", "faint") for w in own.values())
    default = "quiet" if what == "air" else ""
    said = next((o.word for o in found.observations if (o.what, o.place) == (what, place)), default)
    assert said, f"nothing is observed at {place} in {letter}"
    wanted = GROUPS[what][word.removeprefix("not-")]
    return (said not in wanted) if word.startswith("not-") else (said in wanted)


CLAIMS = [(row, claim) for row in ROWS for claim in row.claims]
DIFFERENT = [(row, claim, why) for row in ROWS for claim, why in row.differs]


@pytest.mark.parametrize(
    ("row", "claim"), CLAIMS, ids=[f"{r.id}-{i}-{c.replace(' ', '_')}" for i, (r, c) in enumerate(CLAIMS)]
)
def test_the_computed_symptom_is_the_one_described(row: FaultRow, claim: str) -> None:
    assert holds(row, claim), seen(row.circuit, row.faults, claim.split()[0]).wrong


@pytest.mark.parametrize(("row", "claim", "why"), DIFFERENT, ids=[f"{r.id}-{c}" for r, c, _ in DIFFERENT])
def test_where_the_computed_vehicle_differs_it_still_does(row: FaultRow, claim: str, why: str) -> None:
    assert why
    assert not holds(row, claim), "the model now agrees: move the claim to the row's claims"


def test_every_row_that_air_can_show_is_here() -> None:
    assert {row.id for row in ROWS} | set(TOLD) == {f"f{number:02d}" for number in range(1, 57)}


# --- rows told in numbers or by another circuit -----------------------------------------------------


def test_f01_less_is_lost_while_braking_and_nothing_once_both_sides_are_equal() -> None:
    # common practice, no source
    released = {a.place: a for a in seen("semi", ("lr.centre-seal-leaks",), "R").signs.air}["relay.3"]
    held = {a.place: a for a in seen("semi", ("lr.centre-seal-leaks",), "S").signs.air}["relay.3"]
    assert held.litres < 0.2 * released.litres
    assert abs(held.rate) < 0.01 < released.rate


def test_f06_the_wheel_with_the_broken_hose_goes_first_its_partner_follows() -> None:
    # common practice, no source
    pushes = {
        p.place: p for p in seen("truck", ("line:@lr.12.broken",), "R").signs.pushes if p.side == "spring"
    }
    first, second = pushes["lr"].time, pushes["rr"].time
    assert first is not None
    assert second is not None
    assert first <= second


def test_f08_parking_still_releases_by_the_other_circuit() -> None:
    # common practice, no source
    circuit = circuit_of("semi")
    fault = find_fault(circuit, "cv1.stuck-shut").setting
    done = run(circuit, ["park-release"], Options(compiled="yes", faults=(fault,)))["park-release"]
    node = done.plumbing.chamber_node["lr", "spring"]
    assert done.solution.pressures[-1][node] - done.plumbing.atmosphere > 60 * P


def test_f09_most_of_the_leak_stops_while_braking() -> None:
    # the table: stops (common practice, no source); see the row's `differs`
    parked = {a.place: a for a in seen("semi", ("relay.inlet-leaks",), "P").signs.air}["relay.3"]
    held = {a.place: a for a in seen("semi", ("relay.inlet-leaks",), "S").signs.air}["relay.3"]
    assert held.rate < 0.5 * parked.rate


def test_f30_the_tractor_keeps_more_than_20_psi() -> None:
    # SGI Saskatchewan, supply line rupture; 49 CFR 393.43: not below 20 psi, from memory
    needles = {n.place: n for n in seen("semi", ("line:tsupply.broken",), "R").signs.needles}
    assert needles["prim"].read > 20 * P
    assert needles["sec"].read > 20 * P


def test_f38_without_the_trip_the_tractor_goes_below_20_psi() -> None:
    # Alberta Transportation air brake test; the knob must spring out between 20 and 45 psi
    needles = {n.place: n for n in seen("semi", ("red.never-trips",), "T").signs.needles}
    assert needles["prim"].read < 20 * P


def test_f42_a_leaking_trailer_reservoir_leaves_70_psi_in_the_supply_line() -> None:
    # 49 CFR 571.121 S5.8.2 (NHTSA interpretation aiam5049): any single leakage failure of the service system, 70 psi
    # with a regulated 100 psi supply; here the tractor's engine runs after the knobs are pushed in
    found = seen("semi", ("ttank.leaks",), "N")
    needle = next(n for n in found.signs.needles if n.place == "prim")
    assert needle.read > 70 * P


def crossed(name: str, *pairs: tuple[str, str]) -> Reference:
    """The circuit with pieces of its text exchanged."""
    text = FILES[name].read_text("utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    reading = api.read_text(text)
    assert reading.circuit is not None, reading.diagnostics
    return reference(sound(reading.circuit, OPTIONS), OPTIONS)


def test_f32_with_the_couplings_crossed_the_trailer_never_charges_nor_lets_go() -> None:
    # Driving Commercial Vehicles (British Columbia) p. 182
    found = crossed(
        "semi", ("supc.2 -> tsv.1", "supc.2 -> trel.4"), ("serc.2 -> trel.4", "serc.2 -> tsv.1")
    ).signs["R"]
    needles = {n.place: n for n in found.needles}
    springs = {p.place: p for p in found.pushes if p.side == "spring"}
    assert needles["ttank"].read < 5 * P
    assert springs["tl"].end > 1000
    assert springs["tr"].end > 1000


def test_f53_with_the_gauge_lines_crossed_draining_the_primary_moves_the_wrong_needle() -> None:
    # TM 5-3820-256-24-4 p. 147
    found = crossed(
        "truck", ("prim.a -> dash.11", "prim.a -> dash.12"), ("sec.a -> dash.12", "sec.a -> dash.11")
    )
    needles = {n.place: n for n in found.signs["Dprim"].needles}
    assert needles["dash.12"].read < 5 * P
    assert needles["dash.11"].read > 100 * P
    right = {n.place: n for n in known("truck").signs["Dprim"].needles}
    assert right["dash.11"].read < 5 * P


# --- patterns (common practice, no source) ----------------------------------------------------------


def blows(name: str, fault: str, letter: str) -> bool:
    return any(
        o.what == "air" and o.word in ("steady", "long") and o.wrong
        for o in seen(name, (fault,), letter).observations
    )


@pytest.mark.parametrize(
    "fault",
    [
        "lr.centre-seal-leaks",
        "lr.spring-diaphragm-torn",
        "line:@lr.12.broken",
        "park.exhaust-leaks",
        "spr.shuttle-leaks",
    ],
)
def test_released_only_points_to_the_spring_side(fault: str) -> None:
    assert blows("semi", fault, "R")
    assert not blows("semi", fault, "P")


@pytest.mark.parametrize(
    "fault",
    [
        "lr.service-diaphragm-torn",
        "line:@lr.11.broken",
        "relay.exhaust-leaks",
        "foot.primary-exhaust-leaks",
        "absl.exhaust-leaks",
    ],
)
def test_applied_only_points_to_the_service_delivery_side(fault: str) -> None:
    assert blows("semi", fault, "S")
    assert blows("semi", fault, "PS")
    assert not blows("semi", fault, "P")
    assert not blows("semi", fault, "R")


@pytest.mark.parametrize("fault", ["prim.leaks", "dprim.leaks", "sv.leaks", "ttank.leaks"])
def test_always_points_to_reservoirs_drains_and_the_safety_valve(fault: str) -> None:
    assert all(blows("semi", fault, letter) for letter in ("P", "R", "S", "PS"))


def test_loaded_only_points_to_the_purge_valve_unloaded_only_to_the_unloader() -> None:
    assert blows("semi", "dry.purge-stuck-open", "B")
    assert not blows("semi", "dry.purge-stuck-open", "R")
    unloaded = {a.place for a in seen("semi", ("comp.unloader-leaks",), "U").signs.air}
    assert "comp.4" in unloaded
    assert all(a.rate == 0 or a.place != "comp.4" for a in known("semi").signs["U"].air)


def test_one_needle_for_one_circuit_both_for_what_hangs_on_both_none_for_the_supply_side() -> None:
    def falling(fault: str, letter: str) -> set[str]:
        found = seen("semi", (fault,), letter)
        return {
            o.place
            for o in found.wrong
            if o.what == "needle" and o.word in ("falls", "falls fast") and o.place in ("prim", "sec")
        }

    assert falling("dprim.left-open", "R") == {"prim"}
    assert falling("park.exhaust-leaks", "R") == {"prim", "sec"}
    assert falling("sv.leaks", "R") == set()


@pytest.mark.parametrize("name", ["semi", "truck"])
def test_fanning_down_first_warns_then_trips_the_knobs(name: str) -> None:
    # order when fanning down: warning, red knob, yellow knob, springs full on: common practice, no source
    latches = known(name).signs["F"].latches
    warned = max(m.time for m in latches if m.sort == "warning" and m.time is not None)
    knobs = [m.time for m in latches if m.sort == "knob" and m.time is not None]
    assert knobs
    assert warned < min(knobs)


#: rows told in tests of their own, beside or instead of claims
TOLD = {
    "f32": ("couplings crossed: the trailer never charges nor lets go", "semi, changed"),
    "f53": ("gauge lines crossed: the wrong needle moves", "truck, changed"),
}


def report() -> str:
    """Return the compact table of DEVELOPERS.md: which rows agree, which differ, and why."""
    out = ["| row | fault put in | circuit | claims | |", "|---|---|---|---|---|"]
    rows = [(row.id, row) for row in ROWS]
    lines = []
    for number, row in rows:
        good = sum(holds(row, claim) for claim in row.claims)
        every = len(row.claims) + len(row.differs)
        failing = [claim for claim in row.claims if not holds(row, claim)]
        why = [f"not `{claim}`: {reason}" for claim, reason in row.differs]
        why += [f"FAILS `{claim}`" for claim in failing]
        words = "; ".join(why) if why else "agrees"
        faults = ", ".join(f"`{fault}`" for fault in row.faults)
        lines.append((number, f"| {number} | {faults} | {row.circuit} | {good} of {every} | {words} |"))
    lines += [
        (n, f"| {n} | {words} | {circuit} | own test | agrees |") for n, (words, circuit) in TOLD.items()
    ]
    return "\n".join([*out, *(line for _, line in sorted(lines, key=lambda one: one[0]))])


if __name__ == "__main__":
    print(report())
