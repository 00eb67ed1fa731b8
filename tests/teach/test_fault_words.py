"""Faults told, tabled, drawn and put on a page: what a person reads agrees with what was computed."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from functools import cache

import pytest
from lxml import etree, html

from pneudraw.drawing import to_svg
from pneudraw.drawing.matrix import draw_matrix
from pneudraw.drawing.shapes import Text, leaves, text_box
from pneudraw.flow.diagnosis import (
    GROUPS,
    Question,
    Table,
    read_observation,
    remaining,
    suggestions,
    table,
    tree,
)
from pneudraw.flow.faults import all_faults, find_fault
from pneudraw.flow.run import Options
from pneudraw.flow.symptoms import Symptoms, symptoms
from pneudraw.flow.whatif import what_if
from pneudraw.teach.fault_finding import ask, find_dict, tell_find, tell_tree
from pneudraw.teach.fault_table import table_csv, table_dict, table_matrix, tell_table
from pneudraw.teach.finding_sheet import draw_tree
from pneudraw.teach.symptoms import innocent, owner_of, tell_list, tell_symptoms, to_dict
from pneudraw.teach.what_if import tell_what_if, what_if_dict, what_if_matrix
from pneudraw.teach.what_if_page import what_if_page
from tests.flow.rigs import BENCH, bench, circuit

COMPILED = Options(compiled="yes")


def found(name: str) -> Symptoms:
    fault = find_fault(bench().vehicle.circuit, name).setting
    return symptoms(bench(), (fault,), (), COMPILED)


@cache
def every() -> Table:
    known = bench()
    return table(known, all_faults(known.vehicle.circuit), ("P", "PS", "R", "S"), COMPILED, 1)


def test_a_leaking_centre_seal_is_told_where_it_is_heard_and_what_to_leave_alone() -> None:
    text = tell_symptoms(bench().vehicle.circuit, found("lr.centre-seal-leaks"))
    assert "Left rear (lr): seal between spring and service side leaks." in text
    assert "Air all the time at port 3 of Foot valve (foot)" in text
    assert re.search(r"Service reservoir \(tank\) falls fast: .* psi/min", " ".join(text.split()))
    assert "Foot valve (foot) blows in R, but is good" in " ".join(text.split())
    assert "Chock the wheels" in text


def test_the_part_at_fault_is_never_called_good() -> None:
    rig = bench().vehicle.circuit
    for name in ("foot.exhaust-leaks", "park.exhaust-leaks", "line:hold.leaks"):
        assert not any(name.split(".")[0] in text.split(" blows")[0] for text in innocent(rig, found(name)))


@pytest.mark.parametrize(
    ("place", "owner"),
    [("foot.3", "foot"), ("lr/service", "lr"), ("line:hold", ""), ("tl.trel.3", "tl.trel")],
)
def test_an_outlet_belongs_to_its_part(place: str, owner: str) -> None:
    assert owner_of(place) == owner


def test_plain_data_have_the_numbers_of_the_text() -> None:
    data = json.loads(json.dumps(to_dict(bench().vehicle.circuit, found("tank.leaks"))))
    parked = next(c for c in data["conditions"] if c["condition"] == "P")
    tank = next(g for g in parked["gauges"] if g["place"] == "tank")
    lost = tank["settled_kpa"] - tank["end_kpa"]
    assert tank["fall_kpa_per_min"] == pytest.approx(lost, abs=0.2)  # watched for a minute
    assert any("tank/body" in a["place"] for a in parked["air"])


def test_the_list_names_every_fault_once() -> None:
    rig = bench().vehicle.circuit
    text = tell_list(rig, all_faults(rig))
    for fault in all_faults(rig):
        assert len(re.findall(rf"^   {re.escape(fault.name)} ", text, re.MULTILINE)) == 1


# --- table ------------------------------------------------------------------------------------------


def test_the_table_as_text_data_and_values_hold_the_same() -> None:
    rig = bench().vehicle.circuit
    text, data = tell_table(rig, every()), table_dict(rig, every())
    rows = list(csv.DictReader(io.StringIO(table_csv(every()))))
    assert [r["fault"] for r in rows[1:]] == [f["name"] for f in data["faults"]]
    for fault, values in zip(data["faults"], rows[1:], strict=True):
        assert fault["name"] in text
        for o in fault["wrong"]:
            assert values[f"{o['condition']} {o['what']} {o['place']}"] == o["word"]
    for group in data["alike"]:
        assert all(name in text for name in group)


def test_the_matrix_is_drawn_without_colour_and_nothing_leaves_the_sheet() -> None:
    sheet = draw_matrix(table_matrix(bench().vehicle.circuit, every()))
    svg = to_svg(sheet)
    assert svg == to_svg(sheet)
    etree.fromstring(svg.encode())
    assert {c.lower() for c in re.findall(r"#[0-9a-fA-F]{6}", svg)} <= {"#000000", "#ffffff", "#bdbdbd"}
    for shape in leaves(sheet.shapes):
        if isinstance(shape, Text):
            left, top, right, bottom = text_box(shape)
            assert left >= 0
            assert top >= 0
            assert right <= sheet.width
            assert bottom <= sheet.height


def test_every_fault_that_shows_has_a_row_in_the_matrix_with_a_sign() -> None:
    matrix = table_matrix(bench().vehicle.circuit, every())
    assert all(any(cell.sign or cell.text for cell in row) for row in matrix.cells)
    assert len(matrix.rows) == len(matrix.cells)


# --- finding ----------------------------------------------------------------------------------------


def test_every_question_that_can_be_asked_is_a_sentence() -> None:
    rig = bench().vehicle.circuit
    for key in every().normal:
        for word in GROUPS.get(key[1], {}):
            text = ask(rig, every(), Question(key, word))
            assert text.endswith("?")
            assert "{" not in text
            assert text[0].isupper()


def test_what_was_observed_what_remains_and_what_is_next_are_told() -> None:
    rig = bench().vehicle.circuit
    answers = (read_observation(every(), "R:foot.3=blows"),)
    rows = remaining(every(), answers)
    best = suggestions(every(), rows, tuple(q for q, _ in answers))
    text = tell_find(rig, every(), answers, rows, best)
    assert f"{len(rows)} of {len(every().rows)} faults remain possible." in text
    assert "lr.centre-seal-leaks" in text
    assert str(best[0].question) in text
    data = find_dict(rig, every(), answers, rows, best)
    assert data["remaining"] == [r.fault.name for r in rows]


def test_observations_that_no_single_fault_gives_are_said_to_be_so() -> None:
    rig = bench().vehicle.circuit
    answers = tuple(
        read_observation(every(), t) for t in ("R:park.3=blows", "R:foot.3=blows", "R:tank=holds")
    )
    rows = remaining(every(), answers)
    assert rows == ()
    assert "No single fault" in tell_find(rig, every(), answers, rows, suggestions(every(), rows))


def test_the_tree_names_every_fault_as_text_and_as_a_sheet() -> None:
    rig = bench().vehicle.circuit
    small = [r for r in every().rows if r.fault.setting.target in ("lr", "park")]
    made = tree(every(), small)
    text = tell_tree(rig, every(), made)
    drawn = to_svg(draw_tree(rig, every(), made))
    for r in small:
        assert r.fault.name in text
        assert r.fault.name in drawn
    assert drawn == to_svg(draw_tree(rig, every(), made))


# --- what if ----------------------------------------------------------------------------------------

HOSTILE = BENCH.replace('"Left rear"', "\"<script>alert(1)</script> & 'x'\"").replace(
    "Bench: one spring brake", "<b>Bench</b>"
)


def test_the_page_escapes_what_the_netlist_says_and_needs_no_script() -> None:
    rig = circuit(HOSTILE)
    page = what_if_page(rig, what_if(rig, COMPILED, 1))
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "http" not in page
    tree_of_page = html.fromstring(page)
    assert tree_of_page.xpath("//table//tbody/tr")
    assert tree_of_page.xpath("count(//b)") == 0


def test_what_comes_out_otherwise_more_finely_has_a_question_mark_in_every_form() -> None:
    rig = bench().vehicle.circuit
    result = what_if(rig, COMPILED, 1)
    assert not any(f.doubtful for f in (result.sound, *result.failures))
    assert "?" not in tell_what_if(rig, result)
    first, *others = result.failures
    result = replace(result, failures=(replace(first, doubtful=("lr", "warned")), *others))
    assert "not certain" in tell_what_if(rig, result)
    for cells in (
        [cell.text for cell in what_if_matrix(rig, result).cells[1]],
        [
            cell.text_content()
            for cell in html.fromstring(what_if_page(rig, result)).xpath("//tbody/tr[2]/td")
        ],
    ):
        assert sum(text.endswith(" ?") for text in cells) == 2
    assert what_if_dict(rig, result)["failures"][0]["doubtful"] == ["lr", "warned"]


def test_what_if_is_the_same_in_every_form() -> None:
    rig = bench().vehicle.circuit
    result = what_if(rig, COMPILED, 1)
    text, page, data = tell_what_if(rig, result), what_if_page(rig, result), what_if_dict(rig, result)
    matrix = what_if_matrix(rig, result)
    assert len(matrix.rows) == len(data["failures"]) + 1
    rows = html.fromstring(page).xpath("//tbody/tr")
    for row, name in zip(rows, matrix.rows, strict=True):
        assert row[0].text_content() == name  # a line's ends are said where there is room
        assert row[0].text in text
    etree.fromstring(to_svg(draw_matrix(matrix)).encode())
    lost = next(f for f in data["failures"] if f["target"] == "tank" and f["sort"] == "storage")
    assert lost["service_share"] < 0.05
    assert lost["springs_at_end"] == ["lr"]


def test_a_circuit_without_brakes_is_told_and_drawn_without_them() -> None:
    rig = circuit('circuit "bare"\nparts\n  tank reservoir\n  cap plug\nlines\n  tank.1 -- cap\n')
    result = what_if(rig, COMPILED, 1)
    assert "no service brake here" in tell_what_if(rig, result)
    etree.fromstring(to_svg(draw_matrix(what_if_matrix(rig, result))).encode())


def test_a_table_computed_twice_names_what_is_not_certain_on_the_sheet_too() -> None:
    rig, found = bench().vehicle.circuit, every()
    assert not any("Not certain" in note for note in table_matrix(rig, found).notes)
    first = next(row for row in found.rows if row.wrong)
    unsure = replace(first, doubtful=first.wrong[:1])
    found = replace(found, rows=tuple(unsure if row is first else row for row in found.rows))
    (note,) = [note for note in table_matrix(rig, found).notes if "Not certain" in note]
    assert first.fault.name in note
    assert f"{first.fault.name}: {first.wrong[0].letter}" in tell_table(rig, found)
