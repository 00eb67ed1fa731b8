"""Frames round groups and vehicles; identification codes; parts and line lists."""

from __future__ import annotations

import dataclasses
import re
from functools import cache
from pathlib import Path

import pytest
from shapely.geometry import Polygon as Region
from shapely.geometry import box as region_of

from pneudraw import api
from pneudraw.circuit.model import Circuit, Hint
from pneudraw.circuit.vehicles import vehicles
from pneudraw.drawing import SheetOptions, draw, draw_sheets
from pneudraw.drawing.codes import circuit_numbers, codes
from pneudraw.drawing.groups import frames, wanted
from pneudraw.drawing.shapes import box_of
from pneudraw.drawing.tables import lines_table, natural, parts_table
from pneudraw.layout.result import Layout
from pneudraw.lettering import text_width
from tests.drawing.measure import groups, inside, overlapping_texts, struck_texts, texts
from tests.drawing.scene import NOWHERE, laid_out, training_rig

CIRCUITS = Path(__file__).parents[2] / "circuits"


@cache
def combination() -> tuple[Circuit, Layout]:
    circuit = api.read(CIRCUITS / "tractor-semitrailer.pneu").circuit
    assert circuit is not None
    return circuit, api.lay_out(circuit)


def grouped(*groups: tuple[str, tuple[str, ...]]) -> Circuit:
    hints = tuple(Hint("group", name, parts, "", NOWHERE) for name, parts in groups)
    return dataclasses.replace(training_rig(), hints=hints)


@pytest.mark.parametrize("case", ["rig", "combination"])
def test_a_frame_goes_round_its_own_parts_and_no_others(case: str) -> None:
    circuit, layout = (
        combination()
        if case == "combination"
        else (grouped(("Rear axle", ("relay", "lr", "rr"))), laid_out())
    )
    made, messages = frames(circuit, layout, 1.0)
    assert made
    assert not messages
    asked = {group.name: set(group.tags) for group in wanted(circuit)}
    for frame in made:
        area = Region(frame.outline)
        for symbol in layout.symbols:
            body = region_of(symbol.x, symbol.y, symbol.x + symbol.width, symbol.y + symbol.height)
            own = symbol.id in asked[frame.name]
            assert area.contains(body) if own else area.disjoint(body), symbol.id
        for label in layout.labels:
            words = region_of(label.x, label.y, label.x + label.width, label.y + label.height)
            own = label.symbol in asked[frame.name]
            assert area.contains(words) if own else area.disjoint(words), label.symbol


def test_frames_never_run_on_the_lines_of_the_grid() -> None:
    circuit, layout = combination()
    for frame in frames(circuit, layout, 1.0)[0]:
        assert all(x % 1 == 0.5 and y % 1 == 0.5 for x, y in frame.outline)


def test_a_group_others_stand_in_is_left_without_a_frame_and_that_is_said() -> None:
    ends = ("comp", "lr")  # all the rest of the rig stands between them
    circuit = grouped(("Ends", ends))
    made, messages = frames(circuit, laid_out(), 1.0)
    if made:  # a notch may have been cut round every other part: then it holds for the frame as drawn
        area = Region(made[0].outline)
        assert all(
            area.disjoint(region_of(s.x, s.y, s.x + s.width, s.y + s.height))
            for s in laid_out().symbols
            if s.id not in ends
        )
    else:
        assert any("Ends" in message for message in messages)


def test_a_framed_sheet_has_titles_that_touch_nothing() -> None:
    sheet = draw(grouped(("Rear axle", ("relay", "lr", "rr"))), laid_out())
    (frame,) = groups(sheet.shapes, "group")
    assert [t.text for t in frame.items if hasattr(t, "text")] == ["Rear axle"]
    assert overlapping_texts(sheet) == []
    assert struck_texts(sheet) == []
    without = draw(grouped(("Rear axle", ("relay", "lr", "rr"))), laid_out(), SheetOptions(groups=False))
    assert not list(groups(without.shapes, "group"))


def test_a_used_circuit_is_a_vehicle_with_the_title_of_its_own_file() -> None:
    circuit, layout = combination()
    assert set(vehicles(circuit)) == {"tl"}
    assert all(tag.startswith("tl.") for tag in vehicles(circuit)["tl"])
    (frame,) = groups(draw(circuit, layout).shapes, "group")
    assert frame.name.startswith("tl: ")


def test_codes_are_formed_as_the_standard_says() -> None:
    """ISO 1219-2:2012, 5.1: module - medium circuit . component; the module is left out when there is only one."""
    alone, pair = codes(training_rig()), codes(combination()[0])
    assert all(re.fullmatch(r"P\d+\.\d+", code) for code in alone.values())
    assert all(re.fullmatch(r"[12]-P\d+\.\d+", code) for code in pair.values())
    for circuit, found in ((training_rig(), alone), (combination()[0], pair)):
        assert sorted(found) == sorted(part.tag for part in circuit.parts)
        assert len(set(found.values())) == len(found)


def test_the_supply_is_circuit_nought_and_each_service_reservoir_begins_one() -> None:
    """ISO 1219-2: circuits are counted from 0, 0 for what serves them all (from memory)."""
    truck = api.read(CIRCUITS / "two-axle-truck.pneu").circuit
    assert truck is not None
    number = circuit_numbers(truck)
    assert {number[tag] for tag in ("fil", "comp", "gov", "dry", "wet", "sv", "dwet")} == {0}
    assert number["prim"] == number["cv1"] == number["low1"] == 1
    assert number["sec"] == number["cv2"] == number["low2"] == 2


def test_components_of_a_circuit_are_counted_without_gaps() -> None:
    found = codes(combination()[0])
    by_circuit: dict[str, list[int]] = {}
    for code in found.values():
        circuit, _, number = code.partition(".")
        by_circuit.setdefault(circuit, []).append(int(number))
    for numbers in by_circuit.values():
        assert sorted(numbers) == list(range(1, len(numbers) + 1))


@pytest.mark.parametrize("given", [True, False])
def test_codes_stand_framed_beside_the_symbols_on_request(given: bool) -> None:
    circuit, options = training_rig(), SheetOptions(codes=True)
    (sheet,) = (draw(circuit, laid_out(), options),) if given else draw_sheets(circuit, options)
    said = [text.text for text in texts(sheet)]
    missing = [code for code in codes(circuit).values() if said.count(code) != 1]
    assert all(any(f"`{code}`" in message for message in sheet.messages) for code in missing)
    assert len(missing) <= (1 if given else 0)
    assert overlapping_texts(sheet) == []
    assert struck_texts(sheet) == []
    assert not set(codes(circuit).values()) & {t.text for t in texts(draw(circuit, laid_out()))}


def test_lists_on_sheets_of_their_own_hold_every_part_and_line_once() -> None:
    circuit, _ = combination()
    options = SheetOptions(paper="A3", lists="own", codes=True)
    made = [s for s in draw_sheets(circuit, options) if list(groups(s.shapes, "table"))]
    assert made
    words = [
        t for sheet in made for g in groups(sheet.shapes, "table") for t in g.items if hasattr(t, "text")
    ]
    bold = [t.text for t in words if t.bold]  # type: ignore[union-attr]
    for code in codes(circuit).values():
        assert bold.count(code) == 1
    for line in circuit.lines:
        assert bold.count(line.tag) == 1
    for sheet in made:
        assert overlapping_texts(sheet) == []
        (table,) = groups(sheet.shapes, "table")
        assert sheet.frame is not None
        box = box_of(table)
        assert box is not None
        assert inside(box, sheet.frame)


def test_columns_are_wide_enough_for_their_words() -> None:
    for table in (parts_table(combination()[0], codes(combination()[0])), lines_table(combination()[0])):
        assert sum(share for _, share in table.columns) == pytest.approx(1.0)
        for name, share in table.columns:
            assert text_width(name, 2.5, bold=True) < share * 168 - 2.4
        assert all(len(row) == len(table.columns) for row in table.rows)


def test_numbers_in_tags_are_sorted_as_numbers() -> None:
    assert sorted(["P1.10", "P1.2", "cv10", "cv2"], key=natural) == ["P1.2", "P1.10", "cv2", "cv10"]


def test_the_lists_beside_the_drawing_name_every_line() -> None:
    circuit = training_rig()
    (words,) = groups(draw(circuit, laid_out(), SheetOptions(lists="beside")).shapes, "words")
    bold = [t.text for t in words.items if getattr(t, "bold", False)]
    assert all(bold.count(line.tag) == 1 for line in circuit.lines)
