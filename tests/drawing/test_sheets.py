"""A circuit too large for its paper on several sheets: complete, readable, and every cut line found again."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.drawing import Arrangement, SheetOptions, Tints, arrange, draw_sheets
from pneudraw.drawing.frame import LETTERS, field_at
from pneudraw.drawing.shapes import Circle, Group, Polygon, Sheet, Strokes, box_of
from pneudraw.drawing.tints import BranchTint, LineTint, Style
from tests.drawing.measure import groups, inside, overlapping_texts, struck_texts, texts
from tests.drawing.scene import random_circuit, training_rig
from tests.drawing.test_any_circuit import any_tints

CIRCUITS = Path(__file__).parents[2] / "circuits"
SPLIT = (("basic-single", "A4"), ("tractor-semitrailer", "A3"))


@cache
def arranged(name: str, paper: str) -> tuple[Circuit, SheetOptions, Arrangement]:
    circuit = api.read(CIRCUITS / f"{name}.pneu").circuit
    assert circuit is not None
    options = SheetOptions(paper=paper)
    return circuit, options, arrange(circuit, options)


def sheets(name: str, paper: str, tints: Tints | None = None) -> tuple[Sheet, ...]:
    circuit, options, arrangement = arranged(name, paper)
    return draw_sheets(circuit, options, tints, arrangement)


def flowing(circuit: Circuit) -> Tints:
    """Air from the first end of every line into the others."""
    return Tints(
        tuple(
            LineTint(
                line.tag,
                Style.HOLDS,
                tuple(
                    BranchTint(end.name, Style.CARRIES, 1.0 if k else 1.0 - len(line.ends))
                    for k, end in enumerate(line.ends)
                ),
                order,
            )
            for order, line in enumerate(circuit.lines, start=1)
        ),
        state="Everything moves",
        steps=tuple(f"{line.ends[0].part.tag} > {line.ends[-1].part.tag}" for line in circuit.lines),
    )


def flags(sheet: Sheet) -> dict[str, Group]:
    return {group.name: group for group in groups(sheet.shapes, "flag")}


@pytest.mark.parametrize(("name", "paper"), SPLIT)
def test_every_part_is_on_one_sheet_of_the_paper_asked_for(name: str, paper: str) -> None:
    made = sheets(name, paper)
    assert len(made) > 1
    assert {sheet.paper for sheet in made} == {paper}
    drawn = [group.name for sheet in made for group in groups(sheet.shapes, "part")]
    assert sorted(drawn) == sorted(part.tag for part in arranged(name, paper)[0].parts)


@pytest.mark.parametrize(("name", "paper"), SPLIT)
def test_a_cut_line_carries_tag_sheet_and_field_at_both_ends(name: str, paper: str) -> None:
    """ISO 1219-2, figure 2: a line that continues carries its code, the other sheet's number and grid field."""
    circuit, _, _ = arranged(name, paper)
    made = sheets(name, paper)
    home = {group.name: n for n, s in enumerate(made, start=1) for group in groups(s.shapes, "part")}
    for line in circuit.lines:
        spread = sorted({home[end.part.tag] for end in line.ends})
        flagged = [n for n, sheet in enumerate(made, start=1) if line.tag in flags(sheet)]
        assert flagged == (spread if len(spread) > 1 else [])
        for here in flagged:
            flag = flags(made[here - 1])[line.tag]
            words = [item.text for item in flag.items if hasattr(item, "text")]
            assert line.tag in words
            expected = []
            for there in spread:
                if there != here:
                    other = made[there - 1]
                    outline = next(i for i in flags(other)[line.tag].items if isinstance(i, Polygon))
                    left, top, right, bottom = box_of(outline) or (0.0, 0.0, 0.0, 0.0)
                    field = field_at(
                        paper, other.width, other.height, ((left + right) / 2, (top + bottom) / 2)
                    )
                    expected.append(f"{there}/{field}" if field else f"{there}")
            assert " ".join(expected) in words


def test_fields_are_counted_as_they_are_printed() -> None:
    """ISO 5457: letters from the top, numbers from the left (from memory); read off the frame's own lettering."""
    (sheet, *_) = sheets("basic-single", "A4")
    (frame,) = groups(sheet.shapes, "frame")
    marks = {(t.text, round(t.at[0]), round(t.at[1])) for t in frame.items if hasattr(t, "text")}
    for text, x, y in marks:
        found = field_at("A4", sheet.width, sheet.height, (x, y - 1.75))
        assert text in (found[0], found[1:])
    assert "I" not in LETTERS
    assert "O" not in LETTERS


@pytest.mark.parametrize(("name", "paper"), SPLIT)
def test_every_sheet_is_clean_readable_and_of_one_scale(name: str, paper: str) -> None:
    circuit, _, _ = arranged(name, paper)
    for tints in (None, flowing(circuit)):
        made = sheets(name, paper, tints)
        assert len({sheet.module for sheet in made}) == 1
        for number, sheet in enumerate(made, start=1):
            assert overlapping_texts(sheet) == []
            assert struck_texts(sheet) == []
            said = [text.text for text in texts(sheet)]
            assert any(text.startswith(f"{number} of {len(made)}") for text in said) or paper == "slide"
            assert any("licensed practice" in " ".join(said[i : i + 4]) for i in range(len(said)))
            (picture,) = groups(sheet.shapes, "diagram")
            assert min(text.height for text in texts(sheet)) >= 2.5 - 1e-9
            box = box_of(picture)
            assert box is not None
            assert sheet.frame is not None
            assert inside(box, sheet.frame)


@pytest.mark.parametrize(("name", "paper"), SPLIT)
def test_a_trace_moves_nothing_and_goes_on_where_it_was_cut(name: str, paper: str) -> None:
    circuit, _, _ = arranged(name, paper)
    blank, moving = sheets(name, paper), sheets(name, paper, flowing(circuit))
    for still, traced in zip(blank, moving, strict=True):
        assert places(still) == places(traced)
        for tag in flags(traced):
            (line,) = [group for group in groups(traced.shapes, "line") if group.name == tag]
            assert "carries air" in line.desc


def places(sheet: Sheet) -> dict[str, tuple[float, float]]:
    """Where each symbol is, in modules from the first one."""
    found = {}
    for group in groups(sheet.shapes, "part"):
        lines = tuple(item for item in group.items if isinstance(item, Strokes | Circle))
        box = box_of(Group("", "", lines)) if lines else None
        if box is not None:
            found[group.name] = box[:2]
    x0, y0 = next(iter(found.values()))
    return {
        tag: (round((x - x0) / sheet.module, 2), round((y - y0) / sheet.module, 2))
        for tag, (x, y) in found.items()
    }


def test_few_lines_are_cut() -> None:
    """A dozen lines between the two halves of a truck would be a puzzle, no drawing. Our own bound."""
    for name, paper in SPLIT:
        circuit, _, arrangement = arranged(name, paper)
        cut = {flag.line for view in arrangement.views for flag in view.flags}
        assert len(cut) <= len(circuit.lines) / 2


def test_air_that_only_passes_on_another_sheet_is_not_shown_at_the_flag() -> None:
    name, paper = "tractor-semitrailer", "A3"
    circuit, _, arrangement = arranged(name, paper)
    view = arrangement.views[0]
    here = {part.tag for part in view.circuit.parts}
    line = next(ln for f in view.flags for ln in circuit.lines if ln.tag == f.line)
    still = LineTint(line.tag, Style.HOLDS, tuple(
        BranchTint(end.name, Style.HOLDS) for end in line.ends if end.part.tag in here
    ) + tuple(
        BranchTint(end.name, Style.CARRIES, 1.0 if k else -1.0)
        for k, end in enumerate(end for end in line.ends if end.part.tag not in here)
    )[:2])  # fmt: skip
    if sum(branch.flow for branch in still.branches):
        still = LineTint(line.tag, Style.HOLDS)
    made = sheets(name, paper, Tints((still,)))[0]
    (drawn,) = [group for group in groups(made.shapes, "line") if group.name == line.tag]
    assert "carries" not in drawn.desc


def test_what_fits_is_not_split() -> None:
    for paper in ("auto", "A3", "A2"):
        assert len(arrange(training_rig(), SheetOptions(paper=paper)).views) == 1
    assert len(arranged("two-axle-truck", "auto")[2].views) == 1


def test_the_reduced_set_keeps_its_letters_large() -> None:
    """ISO 1219-1: a set with M = 2.0 mm besides that with 2.5 mm, never mixed on a sheet (from memory)."""
    for name, paper in SPLIT:
        letters = {view.letters for view in arranged(name, paper)[2].views}
        assert len(letters) == 1
        assert letters <= {1.0, 1.25}


def test_the_same_circuit_gives_the_same_sheets() -> None:
    circuit, options, arrangement = arranged("basic-single", "A4")
    assert arrange(circuit, options) == arrangement


def test_a_bare_picture_is_never_split() -> None:
    (sheet,) = draw_sheets(training_rig(), SheetOptions(paper="bare"))
    assert sheet.frame is None


def test_steps_stand_on_the_sheets_they_happen_on_with_their_numbers() -> None:
    circuit, _, _ = arranged("basic-single", "A4")
    steps = flowing(circuit).steps
    for sheet in sheets("basic-single", "A4", flowing(circuit)):
        here = {group.name for group in groups(sheet.shapes, "part")}
        (words,) = groups(sheet.shapes, "words")
        numbers = [int(m[1]) for t in texts_of(words) if (m := re.fullmatch(r"(\d+)\.", t))]
        mine = [n for n, step in enumerate(steps, start=1) if here & set(step.split())]
        assert numbers == mine[: len(numbers)]
        assert len(numbers) == len(mine) or any("left out" in message for message in sheet.messages)


@pytest.mark.parametrize("seed", [2, 5, 11, 19])
@pytest.mark.parametrize("paper", ["A4", "slide"])
def test_circuits_put_together_at_random_are_split_cleanly_too(seed: int, paper: str) -> None:
    circuit = random_circuit(seed)
    made = draw_sheets(circuit, SheetOptions(paper=paper, codes=seed % 2 == 0), any_tints(circuit, seed))
    drawn = [group.name for sheet in made for group in groups(sheet.shapes, "part")]
    assert sorted(drawn) == sorted(part.tag for part in circuit.parts)
    for sheet in made:
        assert overlapping_texts(sheet) == []
        assert struck_texts(sheet) == []


def texts_of(group: Group) -> list[str]:
    return [item.text for item in group.items if hasattr(item, "text")]
