"""Machines: faults of cylinders and their valves are seen by where the piston stands, and how fast it got there."""

from __future__ import annotations

from functools import cache

import pytest

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.diagnosis import Table, read_observation, remaining
from pneudraw.flow.run import Options
from pneudraw.flow.strokes import stand
from pneudraw.flow.symptoms import Reference
from pneudraw.flow.whatif import WhatIf, what_if
from pneudraw.flow.working import cylinders, worked
from pneudraw.teach.fault_finding import tell_find, tell_tree
from pneudraw.teach.fault_table import table_matrix, tell_table
from pneudraw.teach.symptoms import tell_symptoms, to_dict
from pneudraw.teach.what_if import conclusions, tell_what_if, what_if_dict

COMPILED = Options(compiled="yes")

#: a clamp that a button works; a press whose strokes are throttled where the air leaves
PRESS = """circuit "A clamp and a press"
  pressure bar

parts
  air    air-source                "Compressed-air supply"
  unit   service-unit              "Service unit"
  start  valve-3-2-button          "Clamp button"
  main   valve-5-2-solenoid        "Press valve"
  out    one-way-flow-control      "Speed out"
  back   one-way-flow-control      "Speed back"
  press  cylinder-double-acting    "Press"
  clamp  cylinder-single-acting    "Clamp"

lines
  air -> unit
  unit.2 -> main.1, start.1
  button:  start.2 -> clamp.1
  main.4 -> back.2
  head:    back.1 -> press.1
  main.2 -> out.2
  rod:     out.1 -> press.2
"""

#: a valve that remembers, worked by its two coils in turn
TWICE = """circuit "A pusher"
  pressure bar

parts
  air    air-source
  main   valve-5-2-solenoid-twice  "Main valve"
  push   cylinder-double-acting    "Pusher"

lines
  air -> main.1
  main.4 -> push.1
  main.2 -> push.2
"""

#: both hands are needed
BOTH_HANDS = """circuit "Both hands"
  pressure bar

parts
  air    air-source
  left   valve-3-2-button
  right  valve-3-2-button
  both   dual-pressure-valve
  c      cylinder-single-acting

lines
  air -> left.1, right.1
  left.2 -> both.11
  right.2 -> both.12
  both.2 -> c.1
"""


@cache
def circuit(text: str = PRESS) -> Circuit:
    reading = api.read_text(text)
    assert reading.circuit is not None, reading.diagnostics
    return reading.circuit


@cache
def known(text: str = PRESS) -> Reference:
    return api.sound_vehicle(circuit(text), COMPILED)


@cache
def table() -> Table:
    return api.fault_table(circuit(), options=COMPILED, known=known(), processes=1)


@cache
def failures(text: str = PRESS) -> WhatIf:
    return what_if(circuit(text), COMPILED, 1)


def words(fault: str, text: str = PRESS) -> dict[str, str]:
    """What is otherwise with a fault, of the pistons: ``W press`` -> ``in``."""
    from pneudraw.flow.faults import find_fault

    setting = find_fault(circuit(text), fault).setting
    found = api.fault_symptoms(circuit(text), (setting,), (), COMPILED, known(text), twice=False)
    return {f"{o.letter} {o.place}": o.word for o in found.wrong if o.what in ("position", "speed")}


def test_a_machine_is_watched_at_rest_worked_and_let_go_by_all_and_by_each() -> None:
    assert [c.letter for c in known().vehicle.conditions] == [
        *("B", "R", "W", "O", "Wstart", "Ostart", "Wmain", "Omain"),
    ]
    rest = known().vehicle.condition("R")
    assert rest is not None
    assert "pedal" not in rest.text
    assert [c.letter for c in known(TWICE).vehicle.conditions] == ["B", "R", "W", "O"]


def test_a_vehicle_has_no_such_conditions_nor_cylinders() -> None:
    truck = api.read("circuits/basic-single.pneu").circuit
    assert truck is not None
    assert worked(truck) == ()
    assert cylinders(truck) == ()


def test_the_sound_machine_goes_out_when_worked_and_comes_back_when_let_go() -> None:
    for text, tags in ((PRESS, ("press", "clamp")), (TWICE, ("push",)), (BOTH_HANDS, ("c",))):
        seen = known(text).signs
        assert [(s.place, stand(s.end)) for s in seen["W"].strokes] == [(tag, "out") for tag in tags]
        assert [(s.place, stand(s.end)) for s in seen["O"].strokes] == [(tag, "in") for tag in tags]
    alone = {s.place: stand(s.end) for s in known().signs["Wstart"].strokes}
    assert alone == {"press": "in", "clamp": "out"}
    assert [stand(s.end) for s in known(BOTH_HANDS).signs["Wleft"].strokes] == ["in"]  # one hand does nothing


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        ("main.does-not-shift", {"W press": "in", "Wmain press": "in"}),
        ("start.does-not-shift", {"W clamp": "in", "Wstart clamp": "in"}),
        ("out.orifice-blocked", {"W press": "between", "Wmain press": "between"}),
        ("out.check-stuck-open", {"W press": "fast", "Wmain press": "fast"}),
        ("back.check-stuck-open", {"O press": "fast", "Omain press": "fast"}),
        (
            "line:head.blocked",
            {"W press": "in", "O press": "out", "Wmain press": "in", "Omain press": "out"},
        ),
    ],
)
def test_a_fault_is_seen_by_where_the_piston_stands_or_how_fast_it_got_there(
    fault: str, expected: dict[str, str]
) -> None:
    assert words(fault) == expected


def test_a_broken_return_spring_is_seen_only_when_the_button_is_let_go() -> None:
    found = words("clamp.spring-broken")
    assert set(found) == {"O clamp", "Ostart clamp"}
    assert set(found.values()) == {"out"}  # nothing drives the rod home


def test_a_leaking_piston_seal_blows_at_the_valves_exhaust_and_the_valve_is_good() -> None:
    from pneudraw.flow.faults import find_fault

    setting = find_fault(circuit(), "press.piston-seal-leaks").setting
    found = api.fault_symptoms(circuit(), (setting,), ("R", "Wmain"), COMPILED, known(), twice=False)
    heard = {(o.letter, o.place): o.word for o in found.wrong if o.what == "air"}
    assert heard == {("R", "main.5"): "steady", ("Wmain", "main.3"): "steady"}
    assert "Press valve (main) blows in R, but is good" in " ".join(tell_symptoms(circuit(), found).split())


def test_symptoms_are_told_in_words_and_as_data() -> None:
    from pneudraw.flow.faults import find_fault

    def shown(name: str) -> tuple[str, dict[str, object]]:
        setting = find_fault(circuit(), name).setting
        found = api.fault_symptoms(circuit(), (setting,), ("R", "W", "O"), COMPILED, known(), twice=False)
        return " ".join(tell_symptoms(circuit(), found).split()), to_dict(circuit(), found)

    text, data = shown("main.does-not-shift")
    assert "Press (press) is in and does not move (sound: out)." in text
    assert "As on a sound machine in: R, O." in text
    conditions = data["conditions"]
    assert isinstance(conditions, list)
    press = conditions[1]["cylinders"][0]
    assert (press["part"], press["end_mm"], press["sound_end_mm"]) == ("press", 0.0, 200.0)
    assert "Press (press) is too fast: it takes 0." in shown("out.check-stuck-open")[0]
    assert "Press (press) stands in between, " in shown("out.orifice-blocked")[0]


def test_fault_finding_asks_where_the_cylinder_stands() -> None:
    found = table()
    left = remaining(found, (read_observation(found, "W:press=in"),))
    assert {row.fault.name for row in left} >= {"main.does-not-shift", "line:head.blocked"}
    assert not any(row.fault.name.startswith(("clamp.", "start.", "out.")) for row in left)
    slow = remaining(found, (read_observation(found, "Wmain:press=late"),))
    assert "air.weak" in [row.fault.name for row in slow]
    question = read_observation(found, "W:press=in")
    assert "Is Press (press) in? Yes." in tell_find(circuit(), found, (question,), left, ())
    from pneudraw.flow.diagnosis import of_rows_subset, tree

    assert "Press (press)" in tell_tree(circuit(), found, tree(of_rows_subset(found, left), left))


def test_the_table_tells_and_draws_positions() -> None:
    text = tell_table(circuit(), table())
    assert "press in" in text
    assert "press fast" in text
    assert "sound machine" in text
    matrix = table_matrix(circuit(), table())
    signs = {cell.sign for row in matrix.cells for cell in row}
    assert signs >= {"left", "right", "both"}


def test_what_if_tells_which_cylinders_still_move() -> None:
    found = failures()
    does = {f.target: {m.part: m.word for m in f.moves} for f in found.failures}
    assert {m.word for m in found.sound.moves} == {"moves"}
    assert found.unmoved == ()
    assert does["button"]["press"] == "moves"
    assert does["button"]["clamp"] != "moves"
    assert does["head"] == {"press": "weak", "clamp": "moves"}
    assert does["L1"] == {"press": "weak", "clamp": "weak"}  # the supply itself is broken
    text = tell_what_if(circuit(), found)
    assert "service brake" not in text
    assert [line.split() for line in text.splitlines() if line.startswith("nothing failed")] == [
        ["nothing", "failed", "moves", "moves", "no"]
    ]
    data = what_if_dict(circuit(), found)
    assert [c["does"] for c in data["sound"]["cylinders"]] == ["moves", "moves"]


def test_what_if_notices_a_cylinder_that_moves_by_itself() -> None:
    """A pilot-worked valve that loses the pilot line that holds it: the cylinder goes without anybody near it."""
    text = """circuit "Held back"
  pressure bar
parts
  air    air-source
  hold   valve-3-2-solenoid-open   "Hold"
  main   valve-5-2-pilot           "Main"
  c      cylinder-double-acting    "Gate"
lines
  air -> hold.1, main.1
  pilot:  hold.2 -> main.14
  main.2 -> c.1
  main.4 -> c.2
"""
    found = failures(text)
    alone = {f.target: f.moves[0].alone for f in found.failures}
    assert alone["pilot"]
    assert not found.sound.moves[0].alone
    assert any("moves before anybody works it after" in words for words in conclusions(circuit(text), found))


def test_a_cylinder_that_both_hands_move_is_watched_with_both() -> None:
    found = failures(BOTH_HANDS)
    assert [(m.part, m.word) for m in found.sound.moves] == [("c", "moves")]
    assert found.unmoved == ()


#: a lever with a middle, and a valve with two coils and a middle; the reservoir has a gauge
MIDDLES = """circuit "Middles"
  pressure bar

parts
  air    air-source
  tank   reservoir                    "Reservoir"  volume=10L
  g      gauge
  lever  valve-5-3-lever
  turn   rotary-actuator              "Turner"
  coils  valve-5-3-solenoid-closed
  slide  cylinder-cushioned           "Slide"

lines
  air -> tank
  tank.a -> g
  tank.2 -> lever.1, coils.1
  lever.4 -> turn.1
  lever.2 -> turn.2
  coils.4 -> slide.1
  coils.2 -> slide.2
"""


def test_a_valve_with_a_middle_is_worked_to_both_ends() -> None:
    seen = known(MIDDLES).signs
    for letters in (("W", "O"), ("Wlever", "Olever")):
        assert [{s.place: stand(s.end) for s in seen[letter].strokes}["turn"] for letter in letters] == [
            "out",
            "in",
        ]
    assert [{s.place: stand(s.end) for s in seen[letter].strokes}["slide"] for letter in ("W", "O")] == [
        "out",
        "in",
    ]
    found = failures(MIDDLES)
    assert found.unmoved == ()
    assert {m.word for m in found.sound.moves} == {"moves"}


def test_a_machines_reservoir_is_watched_with_the_supply_shut_off() -> None:
    from pneudraw.flow.faults import find_fault

    setting = find_fault(circuit(MIDDLES), "tank.leaks").setting
    found = api.fault_symptoms(
        circuit(MIDDLES), (setting,), ("R", "C"), COMPILED, known(MIDDLES), twice=False
    )
    needles = {(o.letter, o.place): o.word for o in found.wrong if o.what == "needle"}
    assert needles[("C", "tank")] == "falls fast"
    assert ("R", "tank") not in needles  # the supply makes up for it
    text = tell_symptoms(circuit(MIDDLES), found)
    assert "Reservoirs, fall in bar/min, supply shut off" in text
    assert "engine stopped" not in text
