"""A whole sheet: everything inside the frame, nothing on anything else, all of it readable and explained."""

from __future__ import annotations

import dataclasses

import pytest

from pneudraw.drawing import SheetOptions, Tints, draw
from pneudraw.drawing.shapes import Circle, Group, Polygon, Sheet, Strokes, box_of, leaves, text_box
from pneudraw.drawing.tints import Badge, BranchTint, LineTint, Style
from tests.drawing.measure import (
    box_of_group,
    groups,
    inside,
    overlap,
    overlapping_texts,
    struck_texts,
    texts,
)
from tests.drawing.scene import laid_out, training_rig
from tests.drawing.tints_of_rig import APPLY, RELEASE

PAPERS = ("auto", "A3", "tabloid", "slide", "A2")
SHEETS = [(paper, tints) for paper in PAPERS for tints in (None, APPLY, RELEASE)]


def sheet(tints: Tints | None = None, **wishes: object) -> Sheet:
    return draw(training_rig(), laid_out(), SheetOptions(**wishes), tints)  # type: ignore[arg-type]


def said(made: Sheet) -> str:
    return " ".join(text.text for text in texts(made))


@pytest.mark.parametrize(("paper", "tints"), SHEETS)
def test_everything_lies_inside_the_frame(paper: str, tints: Tints | None) -> None:
    made = sheet(tints, paper=paper, lists="beside")
    assert made.frame is not None
    for role in ("diagram", "words", "title-block"):
        box = box_of_group(made, role)
        assert inside(box, tuple(v + d for v, d in zip(made.frame, (-0.3, -0.3, 0.3, 0.3), strict=True))), (
            role
        )  # type: ignore[arg-type]
    for text in texts(made):
        assert inside(text_box(text), (0, 0, made.width, made.height)), text.text


@pytest.mark.parametrize(("paper", "tints"), SHEETS)
def test_diagram_words_and_title_block_do_not_touch(paper: str, tints: Tints | None) -> None:
    made = sheet(tints, paper=paper)
    boxes = [box_of_group(made, role) for role in ("diagram", "words", "title-block")]
    assert not overlap(boxes[0], boxes[1])
    assert not overlap(boxes[0], boxes[2])
    assert not overlap(boxes[1], boxes[2])


@pytest.mark.parametrize(("paper", "tints"), SHEETS)
def test_no_text_lies_on_another_or_on_a_line(paper: str, tints: Tints | None) -> None:
    """ISO 1219-2, 4.3: text never lies on lines or symbols (from memory)."""
    made = sheet(tints, paper=paper, port_numbers="all", line_tags=True)
    assert overlapping_texts(made) == []
    assert struck_texts(made) == []


@pytest.mark.parametrize("tints", [None, APPLY, RELEASE])
def test_no_lettering_is_smaller_than_two_and_a_half_millimetres(tints: Tints | None) -> None:
    """ISO 3098 heights; 2.5 mm as the smallest on the sheet is common practice."""
    made = sheet(tints, port_numbers="all")
    assert min(text.height for text in texts(made)) >= 2.5 - 1e-9


def test_all_symbol_and_flow_lines_have_one_width() -> None:
    """ISO 1219-1: one line width for symbols and flow lines, a tenth of the module (from memory)."""
    made = sheet()
    widths = {
        round(shape.width / made.module, 6)
        for role in ("part", "line")
        for group in groups(made.shapes, role)
        for shape in leaves(group.items)
        if isinstance(shape, Strokes)
    }
    assert widths == {0.1}


def test_connections_lie_on_the_grid_of_modules() -> None:
    """ISO 81714-1: connection points on the module grid (from memory)."""
    made = sheet()
    dots = [s for g in groups(made.shapes, "line") for s in leaves(g.items) if type(s).__name__ == "Circle"]
    (x0, y0) = dots[0].centre  # type: ignore[union-attr]
    for dot in dots:
        if dot.radius / made.module > 0.3:  # type: ignore[union-attr]
            x, y = dot.centre  # type: ignore[union-attr]
            assert (x - x0) / made.module == pytest.approx(round((x - x0) / made.module), abs=1e-6)
            assert (y - y0) / made.module == pytest.approx(round((y - y0) / made.module), abs=1e-6)


def test_control_lines_are_dashed_and_working_lines_are_not() -> None:
    """ISO 1219-1: pilot lines dashed, working lines continuous."""
    made = sheet()
    lines = {group.name: group for group in groups(made.shapes, "line")}
    for tag, dashed in (("signal", True), ("unload", True), ("feed", False), ("charge", False)):
        chains = [c for s in lines[tag].items if isinstance(s, Strokes) for c in s.chains]
        assert (len(chains) > 4) is dashed, tag


def test_an_open_exhaust_has_its_triangle_and_a_venting_one_is_filled() -> None:
    def triangle(made: Sheet, tag: str) -> Polygon:
        (part,) = [g for g in groups(made.shapes, "part") if g.name == tag]
        return [s for s in part.items if isinstance(s, Polygon) and len(s.points) == 3][-1]

    assert triangle(sheet(APPLY), "relay").fill == "#ffffff"
    assert triangle(sheet(RELEASE), "relay").fill == "#009E73"
    assert triangle(sheet(RELEASE, colour=False), "relay").fill == "#000000"
    assert triangle(sheet(RELEASE), "gov").fill == "#ffffff"


def test_tints_move_nothing() -> None:
    """The same symbols at the same places relative to each other, blank and with a trace."""

    def places(made: Sheet) -> list[tuple[str, float, float]]:
        boxes = [(group.name, box_of(group)) for group in groups(made.shapes, "part")]
        first = boxes[0][1]
        assert first is not None
        out = []
        for name, box in boxes:
            assert box is not None
            out.append(
                (
                    name,
                    round((box[0] - first[0]) / made.module, 6),
                    round((box[1] - first[1]) / made.module, 6),
                )
            )
        return out

    assert places(sheet()) == places(sheet(APPLY)) == places(sheet(RELEASE))


def heads(group: Group) -> list[Polygon]:
    return [s for s in group.items if isinstance(s, Polygon) and len(s.points) == 3]


def test_arrows_point_the_way_the_air_goes() -> None:
    """Applying fills the chambers (towards the right here), releasing empties them."""

    def directions(tints: Tints, tag: str) -> set[int]:
        made = sheet(tints)
        (line,) = [g for g in groups(made.shapes, "line") if g.name == tag]
        level = [h for h in heads(line) if abs(h.points[0][1] - (h.points[1][1] + h.points[2][1]) / 2) < 1e-6]
        return {1 if h.points[0][0] > h.points[1][0] else -1 for h in level}

    made = sheet()
    middle = {g.name: box_of(g) for g in groups(made.shapes, "part")}
    assert middle["lr"] is not None
    assert middle["relay"] is not None
    assert middle["lr"][0] > middle["relay"][0]
    assert directions(APPLY, "service") == {1}
    assert directions(RELEASE, "service") == {-1}


def test_filled_heads_for_air_going_in_and_open_ones_for_air_going_out() -> None:
    for tints, fill in ((APPLY, "#D55E00"), (RELEASE, "#ffffff")):
        (line,) = [g for g in groups(sheet(tints).shapes, "line") if g.name == "service"]
        found = heads(line)
        assert found
        assert {head.fill for head in found} == {fill}


def test_every_moving_piece_that_is_long_enough_has_an_arrow() -> None:
    made = sheet(APPLY)
    for tag in ("feed", "signal", "service"):
        (line,) = [g for g in groups(made.shapes, "line") if g.name == tag]
        assert heads(line), tag
        assert "number" in line.desc


def test_lines_at_rest_have_no_arrows_and_no_number() -> None:
    made = sheet(APPLY)
    for tag in ("L1", "charge", "unload"):
        (line,) = [g for g in groups(made.shapes, "line") if g.name == tag]
        assert not heads(line)
        assert "number" not in line.desc


def test_the_legend_explains_what_occurs_and_nothing_else() -> None:
    blank, apply, release = said(sheet()), said(sheet(APPLY)), said(sheet(RELEASE))
    assert "working line" in blank
    assert "carries air" not in blank
    assert "carries air, the way of the arrow" in apply
    assert "vents" not in apply
    assert "holds pressure" in apply
    assert "vents" in release
    assert "exhaust letting air out" in release
    assert "carries air" not in release
    assert "order in which the air arrives" in apply
    assert "hose" in blank
    without = draw(dataclasses.replace(training_rig(), lines=training_rig().lines[:2]), laid_out())
    assert "hose" not in said(without)
    assert "dashed" not in said(without)


def test_symbols_that_the_standard_does_not_have_are_named() -> None:
    text = said(sheet())
    assert "Composed from elements of ISO 1219-1" in text
    assert "relay valve" in text


def test_the_title_block_says_what_the_standards_ask_for() -> None:
    """ISO 7200 fields; ISO 1219-2: the state shown, if it is not the one at rest, and the standard used."""
    made = sheet(
        RELEASE, owner="Tarn Vale Trade School", creator="I. Sample", number="TV-7", revision="B", sheet=2, sheets=5,
        approved="A. Sample", date="12 March",
    )  # fmt: skip
    (block,) = groups(made.shapes, "title-block")
    words = [item.text for item in leaves(block.items) if hasattr(item, "text")]
    for text in ("Training rig with relay valve", "Pneumatic circuit diagram", "Service release", "psi, gauge",
                 "Symbols after ISO 1219-1; composed", "Tarn Vale Trade School", "I. Sample", "TV-7", "B", "A. Sample",
                 "12 March"):  # fmt: skip
        assert text in words
    assert any(word.startswith("2 of 5") for word in words)


def test_no_date_is_printed_unless_given() -> None:
    (block,) = groups(sheet().shapes, "title-block")
    words = [item.text for item in leaves(block.items) if hasattr(item, "text")]
    assert words[words.index("Date") + 1] == "Sheet"


@pytest.mark.parametrize("tints", [None, APPLY])
def test_cautions_are_on_every_sheet(tints: Tints | None) -> None:
    text = said(sheet(tints))
    assert "Chock the wheels" in text
    assert "licensed practice" in text


def test_the_steps_stand_beside_the_drawing_numbered() -> None:
    words = [text.text for text in texts(sheet(APPLY))]
    assert "How the air goes" in words
    assert "1." in words
    assert "2." in words


def test_the_parts_list_names_every_part_once() -> None:
    (words,) = groups(sheet(lists="beside").shapes, "words")
    tags = [item.text for item in leaves(words.items) if getattr(item, "bold", False)]
    for part in training_rig().parts:
        assert tags.count(part.tag) == 1


def test_port_numbers_can_be_switched_off() -> None:
    assert not list(groups(sheet(port_numbers="none").shapes, "numbers"))
    some = [g.name for g in groups(sheet(port_numbers="useful").shapes, "numbers")]
    every = [g.name for g in groups(sheet(port_numbers="all").shapes, "numbers")]
    assert "relay" in some
    assert "gauge" not in some
    assert "gauge" in every


def test_a_bare_picture_has_no_frame_and_no_words() -> None:
    made = sheet(APPLY, paper="bare")
    assert made.frame is None
    assert not list(groups(made.shapes, "title-block"))
    for shape in made.shapes:
        box = box_of(shape)
        assert box is not None
        assert inside(box, (0, 0, made.width, made.height))


def test_a_badge_without_room_is_reported() -> None:
    tints = dataclasses.replace(APPLY, badges=(Badge("lr.1", "8 bar"),) * 90)
    assert any("no room" in message for message in sheet(tints).messages)


def test_a_tint_for_something_that_is_not_there_does_no_harm() -> None:
    strange = LineTint("nowhere", Style.CARRIES, (BranchTint("x.1", Style.CARRIES, 1.0),), 1)
    assert sheet(Tints(lines=(strange,), vents=("y.3",))).shapes


def test_a_hose_keeps_its_arc_in_place_whatever_happens_in_it() -> None:
    """ISO 1219-1: a flexible line is an arc between two dots (from memory)."""

    def dots(made: Sheet) -> list[tuple[float, float]]:
        (line,) = [g for g in groups(made.shapes, "line") if g.name == "service"]
        (part,) = [g for g in groups(made.shapes, "part") if g.name == "relay"]
        box = box_of(part)
        assert box is not None
        small = [s for s in line.items if isinstance(s, Circle) and s.radius < 0.3 * made.module]
        return [
            (round((s.centre[0] - box[0]) / made.module, 3), round((s.centre[1] - box[1]) / made.module, 3))
            for s in small
        ]

    assert len(dots(sheet())) == 2
    assert dots(sheet()) == dots(sheet(APPLY)) == dots(sheet(RELEASE))


def test_a_line_gets_its_tag_beside_it_on_request() -> None:
    tags = {group.name: box_of(group) for group in groups(sheet(line_tags=True).shapes, "tag")}
    left_out = {line.tag for line in training_rig().lines} - set(tags)
    assert len(left_out) <= 2  # short lines between symbols; each of them is reported
    assert all(any(f"`{tag}`" in message for message in sheet(line_tags=True).messages) for tag in left_out)
    assert not list(groups(sheet().shapes, "tag"))


def test_a_fault_is_marked_on_its_line_and_explained() -> None:
    made = sheet(APPLY)
    (mark,) = groups(made.shapes, "fault")
    (line,) = [g for g in groups(made.shapes, "line") if g.name == "unload"]
    zigzag = next(s for s in mark.items if isinstance(s, Strokes))
    on, across = box_of(line), box_of(zigzag)
    assert on is not None
    assert across is not None
    assert overlap(on, across)
    assert "F: fault" in said(made)
    assert "F: fault" not in said(sheet(RELEASE))


def test_a_badge_stands_by_its_port() -> None:
    made = sheet(APPLY)
    badges = {group.name: box_of(group) for group in groups(made.shapes, "badge")}
    chamber = next(box_of(g) for g in groups(made.shapes, "part") if g.name == "lr")
    assert set(badges) == {"tank", "lr.1"}
    badge = badges["lr.1"]
    assert badge is not None
    assert chamber is not None
    near = tuple(v + d * made.module for v, d in zip(chamber, (-10, -10, 10, 10), strict=True))
    assert overlap(badge, near)  # type: ignore[arg-type]


def test_black_and_white_is_black_and_white() -> None:
    inks = {getattr(s, "colour", None) for s in leaves(sheet(APPLY, colour=False).shapes)}
    assert inks <= {"#000000", "#595959"}
