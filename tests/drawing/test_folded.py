"""A long circuit on one sheet in bands: cut where a person would cut it, complete, and every cut line found again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.course import circuits_folder
from pneudraw.circuit.model import Circuit
from pneudraw.drawing import Arrangement, Sheet, SheetOptions, Tints, arrange, draw_sheets, to_svg
from pneudraw.drawing.areas import web
from pneudraw.drawing.diagram import extent
from pneudraw.drawing.drafting import Drafting
from pneudraw.drawing.folding import by_vehicle, folded, strips
from pneudraw.drawing.frame import field_at
from pneudraw.drawing.shapes import Group, Polygon, Strokes, Text, box_of
from pneudraw.drawing.tints import BranchTint, LineTint, Style
from pneudraw.drawing.view import HERE, View
from pneudraw.layout.result import Layout
from tests.drawing.measure import groups, overlap, overlapping_texts, struck_texts, texts
from tests.drawing.scene import random_circuit
from tests.drawing.test_any_circuit import any_tints
from tests.drawing.test_sheets import flowing, places

ROAD_TRAIN = Path(__file__).parent / "circuits" / "two-trailers.pneu"
LINKS = 7
MACHINES = f"""
circuit "A row of machines"
parts
  comp  compressor  "Compressor"
  tank  reservoir   "Receiver"
{
    "".join(
        f'''
  u{k}  service-unit              "Service unit"
  r{k}  reservoir                 "Buffer"
  g{k}  gauge                     "Gauge"
  v{k}  valve-5-2-solenoid-twice  "Valve"
  c{k}  cylinder-double-acting    "Cylinder"
  n{k}  check-valve               "Check valve"'''
        for k in range(1, LINKS + 1)
    )
}
  end   plug
lines
  comp.2 -> tank.1
{
    "".join(
        f'''
  main{k}: {f"n{k - 1}.2" if k > 1 else "tank.2"} -> u{k}.1
  u{k}.2 -> r{k}.1
  r{k}.a -> g{k}.1
  r{k}.b -> v{k}.1
  v{k}.4 -> c{k}.1
  v{k}.2 -> c{k}.2
  r{k}.2 -> n{k}.1'''
        for k in range(1, LINKS + 1)
    )
}
  n{LINKS}.2 -> end.1
"""


@cache
def circuit(name: str) -> Circuit:
    reading = api.read(ROAD_TRAIN) if name == "road train" else api.read_text(MACHINES)
    assert reading.circuit is not None, reading.diagnostics
    return reading.circuit


@cache
def arranged(name: str) -> Arrangement:
    return arrange(circuit(name))


def view(name: str) -> View:
    (found,) = arranged(name).views
    return found


def sheet(name: str, tints: Tints | None = None) -> Sheet:
    (found,) = draw_sheets(circuit(name), None, tints, arranged(name))
    return found


BOTH = pytest.mark.parametrize("name", ["road train", "machines"])


def band_of(found: View) -> dict[str, int]:
    return {tag: number for number, tags in enumerate(found.bands, start=1) for tag in tags}


def band_boxes(found: View) -> list[tuple[float, float, float, float]]:
    """The box of each band, its flags and frames included."""
    boxes = []
    for number, tags in enumerate(found.bands, start=1):
        own = {*tags, *(flag.id for flag in found.flags if flag.band == number)}
        layout = found.layout
        lines = tuple(line for line in found.circuit.lines if all(e.part.tag in tags for e in line.ends))
        frames = tuple(frame for frame in found.frames if frame.name.partition(":")[0] == prefix(tags))
        part = Layout(
            tuple(s for s in layout.symbols if s.id in own),
            (),
            tuple(r for r in layout.routes if r.net in {line.tag for line in lines}),
            (),
            tuple(label for label in layout.labels if label.symbol in own),
            0,
            0,
        )
        boxes.append(extent(View(found.circuit, part, found.letters, frames=frames)))
    return boxes


def prefix(tags: Sequence[str]) -> str:
    return tags[0].partition(".")[0]


def test_a_combination_of_vehicles_is_folded_at_the_couplings() -> None:
    found = view("road train")
    home = band_of(found)
    assert len(found.bands) == 3
    assert {flag.line for flag in found.flags} == {"redline", "blueline", "redline2", "blueline2"}
    assert all(home[part.tag] == 1 for part in found.circuit.parts if "." not in part.tag)
    assert all(home[tag] == 1 + int(tag[2]) for tag in home if tag.startswith("tl"))
    assert sheet("road train").paper == "A2"


def test_every_vehicle_has_its_frame_when_folded() -> None:
    assert [frame.name[:4] for frame in view("road train").frames] == ["tl1:", "tl2:"]
    assert sheet("road train").messages == ()


def test_like_trailers_come_out_alike() -> None:
    layout = view("road train").layout
    at = {symbol.id: symbol for symbol in layout.symbols}
    dx, dy = at["tl2.valve"].x - at["tl1.valve"].x, at["tl2.valve"].y - at["tl1.valve"].y
    for tag, one in at.items():
        if tag.startswith("tl1."):
            other = at["tl2." + tag[4:]]
            assert (other.x - one.x, other.y - one.y, other.transform) == (dx, dy, one.transform)


def test_a_row_of_machines_is_cut_across_its_main_line() -> None:
    """It needs an A0, or an A1 in the reduced set, in one piece; an A3 folded."""
    assert {flag.line.rstrip("1234567") for flag in view("machines").flags} == {"main"}
    assert sheet("machines").paper == "A3"


def test_so_do_trailers_with_different_couplings_beside_them() -> None:
    train = api.read(circuits_folder() / "tractor-two-trailers.pneu").circuit
    assert train is not None
    (found,) = arrange(train).views
    assert [len(tags) for tags in found.bands] == [30, 12, 12]
    at = {s.id: (s.x, s.y, s.transform) for s in found.layout.symbols}
    words = {label.symbol: (label.x, label.y) for label in found.layout.labels}
    (x1, y1, _), (x2, y2, _) = at["t1.tank"], at["t2.tank"]
    for tag in (tag.removeprefix("t1.") for tag in at if tag.startswith("t1.")):
        (xa, ya, turn_a), (xb, yb, turn_b) = at[f"t1.{tag}"], at[f"t2.{tag}"]
        assert (xa - x1, ya - y1, turn_a) == (xb - x2, yb - y2, turn_b)
        (ua, va), (ub, vb) = words[f"t1.{tag}"], words[f"t2.{tag}"]
        assert (ua - x1, va - y1) == pytest.approx((ub - x2, vb - y2), abs=0.5)  # t1 is narrower than t2


@BOTH
def test_the_bands_follow_one_another_the_way_of_the_air(name: str) -> None:
    found = view(name)
    boxes = band_boxes(found)
    assert len(boxes) > 1
    for (left, top, right, bottom), (x0, y0, _, _) in pairwise(boxes):
        assert y0 > bottom or (y0 >= top - 4 and x0 > right > left)
    starts = [box[0] for box in boxes if box[0] < boxes[0][0] + 20]
    assert max(starts) - min(starts) <= 1  # flush left
    for flag in found.flags:
        assert flag.out is (flag.goals[0].band > flag.band)


@BOTH
def test_nothing_of_a_band_reaches_into_another(name: str) -> None:
    boxes = band_boxes(view(name))
    assert not [(a, b) for k, a in enumerate(boxes) for b in boxes[k + 1 :] if overlap(a, b)]


@BOTH
def test_every_flag_names_the_field_in_which_its_other_end_stands(name: str) -> None:
    made, found = sheet(name), view(name)
    drawn = list(groups(made.shapes, "flag"))
    assert len(drawn) == len(found.flags)
    for line in {flag.line for flag in found.flags}:
        pair = [group for group in drawn if group.name == line]
        (ends,) = (one.ends for one in found.circuit.lines if one.tag == line)
        assert len(pair) == len({band_of(found)[end.part.tag] for end in ends})
        fields = [field(made, group) for group in pair]
        for number, group in enumerate(pair):
            others = sorted(fields[:number] + fields[number + 1 :])
            reference, tag = words_of(group)
            assert tag == line
            assert sorted(reference.split()) == others


def field(made: Sheet, flag: Group) -> str:
    (outline,) = (item for item in flag.items if isinstance(item, Polygon))
    left, top, right, bottom = box_of(outline) or (0.0, 0.0, 0.0, 0.0)
    return field_at(made.paper, made.width, made.height, ((left + right) / 2, (top + bottom) / 2))


@BOTH
def test_every_part_and_every_end_of_a_line_is_drawn_once(name: str) -> None:
    found = view(name)
    drawn = [group.name for group in groups(sheet(name).shapes, "part")]
    assert sorted(drawn) == sorted(part.tag for part in found.circuit.parts)
    assert sorted(tag for band in found.bands for tag in band) == sorted(drawn)
    ports = {(port.symbol, port.port): (port.x, port.y) for port in found.layout.ports}
    routes = {route.net: route.lines for route in found.layout.routes}
    assert sorted(routes) == sorted(line.tag for line in found.circuit.lines if len(line.ends) > 1)
    for line in found.circuit.lines:
        tips = [point for points in routes.get(line.tag, ()) for point in (points[0], points[-1])]
        names = [(end.part.tag, end.port.id) for end in line.ends]
        names += [(flag.id, "1") for flag in found.flags if flag.line == line.tag]
        assert all(tips.count(ports[name]) == 1 for name in names if len(line.ends) > 1)


@BOTH
def test_blank_and_traced_it_is_clean_and_readable(name: str) -> None:
    for tints in (None, flowing(circuit(name))):
        made = sheet(name, tints)
        assert overlapping_texts(made) == []
        assert struck_texts(made) == []
        assert min(text.height for text in texts(made)) >= 2.5 - 1e-9
        assert "goes on in this grid field" in " ".join(text.text for text in texts(made))


@BOTH
def test_no_state_moves_anything(name: str) -> None:
    still, moving = sheet(name), sheet(name, flowing(circuit(name)))
    assert still.paper == moving.paper
    assert places(still) == places(moving)


@BOTH
def test_air_flows_on_through_the_flags(name: str) -> None:
    """On either side of the fold a line that carries air carries it into, or out of, its flag."""
    traced, plain = sheet(name, flowing(circuit(name))), sheet(name)
    pairs = list(zip(groups(traced.shapes, "flag"), groups(plain.shapes, "flag"), strict=True))
    assert pairs
    for here, blank in pairs:
        assert here.name == blank.name
        assert stub(here).width > stub(blank).width
        assert stub(here).colour != stub(blank).colour


def words_of(group: Group) -> list[str]:
    return [item.text for item in group.items if isinstance(item, Text)]


def stub(group: Group) -> Strokes:
    return next(item for item in group.items if isinstance(item, Strokes))


def test_air_that_stays_in_one_band_is_not_shown_at_the_flag() -> None:
    """From the coupling's valve to its cock within the first trailer, nothing from the tractor."""
    tint = LineTint(
        "redline",
        Style.HOLDS,
        (
            BranchTint("gs.2", Style.HOLDS),
            BranchTint("tl1.valve.1", Style.CARRIES, -1.0),
            BranchTint("tl1.cs.1", Style.CARRIES, 1.0),
        ),
    )
    made, found = sheet("road train", Tints((tint,))), view("road train")
    ends = [g for g in groups(made.shapes, "flag") if g.name == "redline"]
    assert len(ends) == 2
    widths = {stub(group).width for group in ends}
    carried = sheet("road train", flowing(found.circuit))
    (heavy, _) = (stub(g).width for g in groups(carried.shapes, "flag") if g.name == "redline")
    assert heavy not in widths


def test_it_is_not_folded_if_that_is_not_wanted() -> None:
    found = arrange(circuit("machines"), SheetOptions(fold=False))
    assert all(not one.bands for one in found.views)
    assert len(found.views) > 1  # an A1 is more than is taken unasked
    assert found.paper == "A3"
    made = draw_sheets(circuit("machines"), SheetOptions(fold=False), None, found)
    assert {one.paper for one in made} == {"A3"}
    assert "sheets of `A3`" in made[0].messages[0]
    assert all(goal.sheet != HERE for one in found.views for flag in one.flags for goal in flag.goals)


def test_a_paper_asked_for_is_folded_onto_before_it_is_split_over_several() -> None:
    (found,) = arrange(circuit("machines"), SheetOptions(paper="A3")).views
    assert found.bands


def test_what_fits_a_sheet_of_the_copier_is_not_folded() -> None:
    for name in ("basic-single", "two-axle-truck"):
        read = api.read(Path(__file__).parents[2] / "circuits" / f"{name}.pneu").circuit
        assert read is not None
        found = arrange(read)
        assert [one.bands for one in found.views] == [()]
        assert draw_sheets(read, None, None, found)[0].paper == "A3"


def test_a_bare_picture_is_never_folded() -> None:
    (found,) = arrange(circuit("machines"), SheetOptions(paper="bare")).views
    assert found.bands == ()


@BOTH
def test_the_same_circuit_gives_the_same_bytes(name: str) -> None:
    again = draw_sheets(circuit(name), None, None, arrange(circuit(name)))
    assert [to_svg(one) for one in again] == [to_svg(sheet(name))]


@pytest.mark.parametrize("seed", [2, 9, 22, 76, 103])
def test_circuits_put_together_at_random_fold_cleanly_too(seed: int) -> None:
    made = random_circuit(seed)
    drafting = Drafting(made, SheetOptions(), {}, 1.0)
    bands = strips(web(made, drafting.whole().layout), 2)
    if not bands:
        tags = [part.tag for part in made.parts]
        bands = (tuple(tags[: len(tags) // 2]), tuple(tags[len(tags) // 2 :]))  # anywhere
    for found in folded(drafting, bands):
        tints = any_tints(made, seed)
        for some in (None, tints):
            (one,) = draw_sheets(made, SheetOptions(paper="A1"), some, Arrangement((found,), (), "A1"))
            assert overlapping_texts(one) == []
            assert struck_texts(one) == []
            drawn = [group.name for group in groups(one.shapes, "part")]
            assert sorted(drawn) == sorted(part.tag for part in made.parts)


def test_vehicles_come_in_the_order_they_are_coupled_in() -> None:
    train = circuit("road train")
    back = [part for part in train.parts if part.tag.startswith("tl2.")]
    front = [part for part in train.parts if not part.tag.startswith("tl2.")]
    turned = replace(train, parts=(*back, *front))
    assert [prefix(tags) for tags in by_vehicle(turned)[1:]] == ["tl1", "tl2"]


def test_a_coupling_listed_with_the_tractor_stands_with_the_trailer_it_hangs_on() -> None:
    """So that between two trailers only the two lines are cut, and the trailer's frame goes round it."""
    train = api.read(ROAD_TRAIN.parents[3] / "circuits" / "tractor-two-trailers.pneu").circuit
    assert train is not None
    _, first, second = by_vehicle(train)
    assert [tag for tag in first if not tag.startswith("t1.")] == ["gs2", "gc2"]
    assert [tag for tag in second if not tag.startswith("t2.")] == ["ps", "pc"]
    for found in folded(Drafting(train, SheetOptions(), {}, 1.25), by_vehicle(train)):
        assert {flag.line for flag in found.flags} == {"red1", "blue1", "red2", "blue2"}
        assert [frame.name[:3] for frame in found.frames] == ["t1:", "t2:"]
