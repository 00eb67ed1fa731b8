"""Valves drawn from their position boxes, by the composition rules of ISO 1219-1 as textbooks give them."""

from __future__ import annotations

from pathlib import Path

import pytest

from pneudraw.diagnostics import render_text
from pneudraw.library.model import Arrow, Circle, Kind, Polyline, Stroke
from pneudraw.library.reader import load

HEAD = """
title = "Trial"
summary = "A trial."
text = "A trial."
standard = "our own"
place = "control"
size = [{size}]
"""
SEAT = """
[parameters.seat]
default = "1 L/(s.bar)"
least = "0.1 L/(s.bar)"
most = "10 L/(s.bar)"
text = "seat"
source = "common practice, no source"

[inputs.solenoid]
title = "solenoid"
positions = ["off", "on"]
rest = "off"
purpose = "solenoid"
"""
VALVE = """
[valve]
at = [3, 1]
below = ["1", "3"]
above = ["2"]
boxes = ["1>2", "2>3"]
left = ["solenoid"]
right = ["spring"]
opens = ["2 * solenoid - 1", "1 - 2 * solenoid"]
conductance = "seat"
"""
PORTS = """
[ports]
1 = { role = "supply", at = [8, 6], faces = "down", title = "supply" }
2 = { role = "delivery", at = [8, 0], faces = "up", title = "outlet" }
3 = { role = "exhaust", at = [10, 6], faces = "down", title = "exhaust" }
"""


def made(folder: Path, text: str, name: str = "trial") -> tuple[Kind | None, list[str]]:
    (folder / f"{name}.toml").write_text(text, "utf-8")
    library, mistakes = load([folder])
    return library.get(name), [render_text(mistake) for mistake in mistakes]


def good(folder: Path, text: str) -> Kind:
    kind, mistakes = made(folder, text)
    assert kind is not None, "\n".join(mistakes)
    return kind


def boxes_of(strokes: tuple[Stroke, ...]) -> list[tuple[float, float, float, float]]:
    found = [
        s for s in strokes if isinstance(s, Polyline) and s.closed and len(s.points) == 4 and s.fill == "none"
    ]
    xs = [[x for x, _ in s.points] for s in found]
    ys = [[y for _, y in s.points] for s in found]
    return [(min(x), min(y), max(x), max(y)) for x, y in zip(xs, ys, strict=True)]


LYING = HEAD.format(size="13, 6") + VALVE + PORTS + SEAT


def test_boxes_stand_side_by_side_and_are_of_one_size(tmp_path: Path) -> None:
    kind = good(tmp_path, LYING)
    assert {(3, 1, 7, 5), (7, 1, 11, 5)} <= set(boxes_of(kind.strokes))


def test_arrows_keep_the_places_of_the_ports_in_every_box(tmp_path: Path) -> None:
    """1 below left, 3 below right, 2 above 1 (composition rules)."""
    arrows = [s.points for s in good(tmp_path, LYING).strokes if isinstance(s, Arrow)]
    assert arrows == [((4, 5), (4, 1)), ((8, 1), (10, 5))]


def test_ports_in_no_way_get_a_bar(tmp_path: Path) -> None:
    lines = [s.points for s in good(tmp_path, LYING).strokes if isinstance(s, Polyline) and not s.closed]
    assert ((6, 5), (6, 4)) in lines, "3 in the box of the solenoid"
    assert ((8, 5), (8, 4)) in lines, "1 in the box of the spring"


def test_lines_join_the_rest_box_only(tmp_path: Path) -> None:
    """ISO 1219-1:2012, foreword: no port extensions on boxes that are not in the initial position."""
    kind = good(tmp_path, LYING)
    ends = {point for s in kind.strokes if isinstance(s, Polyline) and not s.closed for point in s.points}
    assert {(8, 6), (8, 0)} <= ends
    assert not {(4, 6), (4, 0), (6, 6)} & ends
    third = kind.port("3")
    assert third is not None
    assert third.joined == (Polyline(((10, 5), (10, 6))),)
    assert third.unjoined[0] == Polyline(((9.5, 5), (10.5, 5), (10, 6)), closed=True, fill="white")


def test_passages_follow_from_the_boxes(tmp_path: Path) -> None:
    kind = good(tmp_path, LYING)
    assert [(p.name, p.start, p.end) for p in kind.passages] == [("1-2", "1", "2"), ("2-3", "2", "3")]
    assert kind.passages[0].conditions[0].form.text == "2 * solenoid - 1"


def test_an_upright_valve_is_the_lying_one_turned_a_quarter(tmp_path: Path) -> None:
    """Its left end becomes the upper one; what was below is on the left."""
    ports = (
        PORTS.replace('at = [8, 6], faces = "down"', 'at = [0, 8], faces = "left"')
        .replace('at = [8, 0], faces = "up"', 'at = [6, 8], faces = "right"')
        .replace('at = [10, 6], faces = "down"', 'at = [0, 10], faces = "left"')
    )
    valve = VALVE.replace("at = [3, 1]", 'stands = "upright"\nat = [1, 3]')
    kind = good(tmp_path, HEAD.format(size="6, 13") + valve + ports + SEAT)
    arrows = [s.points for s in kind.strokes if isinstance(s, Arrow)]
    assert arrows == [((1, 4), (5, 4)), ((5, 8), (1, 10))]


def test_an_inner_pilot_starts_at_the_stub_with_a_dot_and_is_dashed(tmp_path: Path) -> None:
    valve = VALVE.replace('right = ["spring"]', 'right = ["pilot 2", "spring"]\ngraduating = true')
    valve = valve.replace('opens = ["2 * solenoid - 1", "1 - 2 * solenoid"]\nconductance = "seat"\n', "")
    ways = """
[[passages]]
from = "1"
to = "2"
conductance = "seat"
opens = "solenoid"

[[passages]]
from = "2"
to = "3"
conductance = "seat"
opens = "0 - solenoid"
"""
    ports = PORTS.replace("6]", "8]")
    kind = good(tmp_path, HEAD.format(size="14, 8") + valve.replace("[3, 1]", "[3, 2]") + ports + SEAT + ways)
    assert Circle((8, 1), 0.25, "black") in kind.strokes
    dashed = [s.points for s in kind.strokes if isinstance(s, Polyline) and s.style == "dashed"]
    assert dashed == [((8, 1), (13, 1), (13, 3), (12, 3))]
    lines = [s.points for s in kind.strokes if isinstance(s, Polyline)]
    assert ((3, 1.5), (11, 1.5)) in lines, "the two lines of a graduating valve"
    assert ((3, 6.5), (11, 6.5)) in lines


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('boxes = ["1>2", "2>3"]', 'boxes = ["1>2", "2>9"]', "`9` has no place at this valve"),
        ('boxes = ["1>2", "2>3"]', 'boxes = ["1>2", "1>3"]', "`1>3` would run along the edge of the box"),
        ('boxes = ["1>2", "2>3"]', 'boxes = ["1>2", "2to3"]', "`2to3` is no path"),
        ('boxes = ["1>2", "2>3"]', 'boxes = ["1>2"]', "a valve has from 2 to 5 boxes"),
        ('left = ["solenoid"]', 'left = ["solenod"]', "unknown drawing element `solenod`"),
        ('left = ["solenoid"]', 'left = ["pilot 7"]', "unknown port `7`"),
        ('below = ["1", "3"]', 'below = ["1", "5"]', "`5` is neither a port nor a chamber"),
        (
            "at = [3, 1]",
            "at = [4, 1]",
            "port `1` is not in line with its place at the rest box, which is at x = 9",
        ),
        (
            'opens = ["2 * solenoid - 1", "1 - 2 * solenoid"]',
            'opens = ["solenoid"]',
            "`opens` wants 2 entries",
        ),
        ('right = ["spring"]', 'right = ["spring"]\nrest = 3', "`rest` is the number of a box, 1 to 2"),
        ('conductance = "seat"', 'conductance = "seet"', "unknown name `seet`"),
        ('conductance = "seat"', 'conductance = "seat"\ncolour = "red"', "unknown key `colour`"),
    ],
)
def test_mistakes_in_a_valve_are_told_at_their_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in LYING
    kind, mistakes = made(tmp_path, LYING.replace(old, new, 1))
    assert kind is None
    assert any(said in mistake for mistake in mistakes), "\n".join(mistakes)
    assert all("trial.toml" in mistake for mistake in mistakes)


# --- like ---------------------------------------------------------------------------------------------


def test_a_kind_like_another_has_its_behaviour_and_its_own_drawing(tmp_path: Path) -> None:
    (tmp_path / "first.toml").write_text(LYING, "utf-8")
    kind = good(tmp_path, 'like = "first"\ntitle = "Second"\n')
    assert kind.title == "Second"
    assert [p.name for p in kind.passages] == ["1-2", "2-3"]


def test_a_kind_can_not_be_like_one_that_is_not_there_or_is_a_copy_itself(tmp_path: Path) -> None:
    good(tmp_path, LYING)
    (tmp_path / "copy.toml").write_text('like = "trial"\n', "utf-8")
    assert "there is no kind `nobody` to be like" in "".join(made(tmp_path, 'like = "nobody"\n', "other")[1])
    assert "`copy` is itself like another kind" in "".join(made(tmp_path, 'like = "copy"\n', "other")[1])


# --- pistons ------------------------------------------------------------------------------------------

PISTON = """
[[chambers]]
name = "head"
title = "head side"
volume = "0.1 L"

[[pistons]]
name = "piston"
title = "piston"
areas = { head = "30 cm2" }
travel = "100 mm"
friction = "force * time / way"
load = "force * solenoid"

[parameters.force]
default = "100 N"
least = "1 N"
most = "1000 N"
text = "force"
source = "common practice, no source"

[parameters.time]
default = "1 s"
least = "0.1 s"
most = "10 s"
text = "time"
source = "common practice, no source"

[parameters.way]
default = "100 mm"
least = "1 mm"
most = "1000 mm"
text = "way"
source = "common practice, no source"
"""


def test_a_piston_is_read_with_its_dimensions(tmp_path: Path) -> None:
    piston = good(tmp_path, LYING + PISTON).pistons[0]
    assert piston.areas[0][0] == "head"
    assert piston.friction.dimension == "damping"
    assert piston.load is not None
    assert piston.load.dimension == "force"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("areas = { head", "areas = { haed", "unknown chamber `haed`"),
        ('travel = "100 mm"', 'travel = "1 bar"', "`1 bar` is a pressure, not a length"),
        ('"force * time / way"', '"force"', "`force` is a force, not a damping"),
        ('"force * solenoid"', '"force * solenoid + p1 * 0"', "cannot be added"),
        ('name = "piston"', 'name = "Piston"', "`Piston` is no name"),
    ],
)
def test_mistakes_in_a_piston_are_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    kind, mistakes = made(tmp_path, (LYING + PISTON).replace(old, new, 1))
    assert kind is None
    assert any(said in mistake for mistake in mistakes), "\n".join(mistakes)
