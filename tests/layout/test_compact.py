"""Drawings that go onto a sheet: room for labels, height and width, order of the parts list, groups that repeat."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.layout import LabelSpec, Layout, NetSpec, PortSpec, Problem, Spacing, SymbolSpec, lay_out
from pneudraw.layout.columns import Flow, assign
from pneudraw.layout.frame import Frame
from pneudraw.layout.from_circuit import problem as problem_of
from pneudraw.layout.heights import extent, least_height, squeeze
from pneudraw.layout.model import prepare
from pneudraw.layout.order import arrange
from pneudraw.layout.repeats import repeats
from pneudraw.layout.spots import Surroundings, choose
from pneudraw.layout.straight import balance, make_rows, straighten
from tests.layout.circuits import vehicle
from tests.layout.scoring import faults_of

COURSE = sorted((Path(__file__).parents[2] / "circuits").glob("*.pneu"))
LABEL = LabelSpec(8.0, 2.8)
ROOM = Spacing(pitch=2, line_body=2, body_gap=4, label_air=0.8)


def _circuit(text: str) -> Circuit:
    circuit = api.read_text(text).circuit
    assert circuit is not None
    return circuit


def test_a_label_stands_above_its_symbol_if_nothing_is_there() -> None:
    spot = choose(0, (0, 0, 10, 6), LABEL, ROOM, Surroundings(10, 6, [(0, 0, 10, 6)]))
    assert spot is not None
    assert (spot.side, spot.left) == ("N", 1.0)
    assert spot.bottom == pytest.approx(-0.8)


def test_a_label_gives_way_to_lines_on_all_sides() -> None:
    """A reservoir with a line up, a drain below and its row to both sides."""
    around = Surroundings(10, 6, [(0, 0, 10, 6), (2, 8, 4, 14)])
    around.lines += [(5, -1000, 5, 0), (3, 6, 3, 8), (-1000, 3, 0, 3), (10, 3, 1000, 3)]
    around.bottom = 14.0
    spot = choose(0, (0, 0, 10, 6), LABEL, ROOM, around)
    assert spot is not None
    assert (spot.side, spot.left) == ("S", 4.8)


boxes = st.tuples(st.integers(-12, 12), st.integers(-12, 12), st.integers(1, 8), st.integers(1, 8)).map(
    lambda b: (b[0], b[1], b[0] + b[2], b[1] + b[3])
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(boxes, max_size=6), st.sets(st.sampled_from("NESW")))
def test_no_label_is_meant_to_stand_on_anything_or_on_a_side_to_avoid(
    others: list[tuple[int, int, int, int]], avoid: set[str]
) -> None:
    around = Surroundings(6, 6, [(0, 0, 6, 6), *others])
    spot = choose(0, (0, 0, 6, 6), LABEL, ROOM, around, frozenset(avoid))
    if spot is None:
        return
    assert spot.side not in avoid
    for x1, y1, x2, y2 in [(0, 0, 6, 6), *others]:
        apart = max(x1 - spot.right, spot.left - x2, y1 - spot.bottom, spot.top - y2)
        assert apart >= 0.8 - 1e-5


@pytest.mark.parametrize("seed", range(4))
def test_height_is_taken_out_but_no_distance(seed: int) -> None:
    problem = vehicle(seed, axles=3, trailers=1, module=True).problem()
    model = prepare(problem, problem.spacing)
    frame = Frame(model, assign(model, Flow(model, model.base)), model.base)
    arrange(frame, None)
    rows = make_rows(frame)
    straighten(frame, rows)
    balance(frame, rows)
    before = extent(frame, rows)
    least = least_height(frame, rows)[0]
    classes = [
        [rows.y[p] - rows.y[members[0]] for p in members] if members else [] for members in rows.members
    ]
    squeeze(frame, rows, 0)
    assert extent(frame, rows) == least <= before
    for p, q in enumerate(rows.below):
        assert q < 0 or rows.y[q] - rows.y[p] >= rows.room[p]
    for members, was in zip(rows.members, classes, strict=True):
        assert [rows.y[p] - rows.y[members[0]] for p in members] == was


def test_a_page_makes_drawings_smaller() -> None:
    """On the mean of several trucks; single ones may come out either way (no outside source: regression only)."""
    page = (150.0, 100.0)

    def scale(layout: Layout) -> float:
        return max(layout.width / page[0], layout.height / page[1])

    free, fitted = [], []
    for seed in range(4):
        problem = vehicle(seed, axles=2, module=True).problem()
        free.append(scale(lay_out(problem)))
        layout = lay_out(replace(problem, page=page))
        assert faults_of(problem, layout) == []
        fitted.append(scale(layout))
    assert sum(fitted) < 0.97 * sum(free)


def test_branches_come_in_the_order_of_the_parts_list() -> None:
    """Two axles with two brakes each: front above rear, left above right, however the lines are listed."""
    valve = (PortSpec("1", "W", 4, "in"), PortSpec("21", "N", 4, "out"), PortSpec("22", "S", 4, "out"))
    brake = (PortSpec("1", "W", 3, "in"),)
    names = ("front", "rear")
    symbols = [SymbolSpec("foot", 6, 6, (PortSpec("2", "E", 3, "out"),), "foot")]
    symbols += [SymbolSpec(name, 8, 8, valve, "valve") for name in names]
    symbols += [SymbolSpec(f"{name} {hand}", 12, 6, brake, "brake") for name in names for hand in ("l", "r")]
    nets = [NetSpec("service", (("foot", "2"), ("rear", "1"), ("front", "1")))]
    for name in names:
        nets.append(NetSpec(f"{name}-r", ((name, "22"), (f"{name} r", "1"))))
        nets.append(NetSpec(f"{name}-l", ((name, "21"), (f"{name} l", "1"))))
    pairs = tuple((f"{name} l", f"{name} r") for name in names)
    layout = lay_out(Problem(tuple(symbols), tuple(nets), pairs))
    y = {s.id: s.y for s in layout.symbols}
    assert y["front l"] < y["front"] < y["front r"] < y["rear l"] < y["rear"] < y["rear r"]


WHEEL_ENDS = """
circuit "Four like wheel ends"
  rules none

assembly wheel-end  type=24
  parts
    qr  quick-release
    ch  service-chamber  type=type
    g   gauge
  lines
    qr.21 -> ch
    qr.22 -> g

parts
  s      air-source
  tank   reservoir
  foot   foot-valve-single
  relay  relay-valve
  w1, w2, w3, w4  wheel-end

lines
  s -> tank.1
  tank.2 -> foot.1, relay.1
  foot.2 -> relay.4
  relay.2 -> w1.qr.1, w2.qr.1, w3.qr.1, w4.qr.1
"""


def test_four_like_wheel_ends_are_drawn_alike_one_below_the_other() -> None:
    layout = api.lay_out(_circuit(WHEEL_ENDS))
    at = {s.id: s for s in layout.symbols}

    def picture(end: str) -> list[tuple[int, int, str]]:
        valve = at[f"{end}.qr"]
        return [
            (at[f"{end}.{part}"].x - valve.x, at[f"{end}.{part}"].y - valve.y, at[f"{end}.{part}"].transform)
            for part in ("qr", "ch", "g")
        ]

    assert picture("w1") == picture("w2") == picture("w3") == picture("w4")
    for above, below in pairwise(("w1", "w2", "w3", "w4")):
        assert at[f"{above}.qr"].x == at[f"{below}.qr"].x
        assert at[f"{above}.qr"].y < at[f"{below}.qr"].y


def test_groups_that_repeat_are_found_by_their_structure() -> None:
    problem = problem_of(_circuit(WHEEL_ENDS))
    found = repeats(prepare(problem, problem.spacing))
    names = [{problem.symbols[s].id for pair in group.symbols for s in pair} for group in found]
    assert names == [
        {f"w{i}.{part}" for i in pair for part in ("qr", "ch")} for pair in ((1, 2), (2, 3), (3, 4))
    ]


def test_only_the_joined_bosses_of_a_reservoir_may_change_places() -> None:
    circuit = _circuit(WHEEL_ENDS.replace("  s -> tank.1", "  s -> tank.1\n  tank.a -> w1.qr.22, w2.qr.22"))
    tank = next(spec for spec in problem_of(circuit).symbols if spec.id == "tank")
    assert {port.id for port in tank.ports} == {"1", "2", "a"}
    assert [port.id for port in tank.ports if port.alike] == ["a"]


@pytest.mark.parametrize("path", COURSE, ids=lambda path: path.stem)
def test_the_supply_row_is_straight(path: Path) -> None:
    """Compressor, dryer, reservoirs: what reads like a sentence stands in a row (common practice, no source)."""
    circuit = api.read(path).circuit
    assert circuit is not None
    problem = problem_of(circuit)
    layout = lay_out(problem)
    y = {(p.symbol, p.port): p.y for p in layout.ports}
    for net in problem.nets:
        if net.kind == "row" and len(net.terminals) == 2:
            assert y[net.terminals[0]] == y[net.terminals[1]], net.id


@pytest.mark.parametrize("path", COURSE, ids=lambda path: path.stem)
def test_labels_keep_off_lines_symbols_and_one_another(path: Path) -> None:
    circuit = api.read(path).circuit
    assert circuit is not None
    layout = api.lay_out(circuit)
    assert layout.faults == ()
    solid: list[tuple[float, float, float, float]] = [
        (s.x, s.y, s.x + s.width, s.y + s.height) for s in layout.symbols
    ]
    for route in layout.routes:
        for line in route.lines:
            for (x1, y1), (x2, y2) in pairwise(line):
                solid.append((min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)))
    words = [(a.x, a.y, a.x + a.width, a.y + a.height) for a in layout.labels]
    for i, (left, top, right, bottom) in enumerate(words):
        for a, b, c, d in [*solid, *words[:i]]:
            assert max(a - right, left - c, b - bottom, top - d) >= 0.8 - 0.01, layout.labels[i].symbol


def test_a_throttle_that_lies_backwards_in_its_line_is_mirrored_and_cylinders_stand_on_the_right() -> None:
    doors = api.read(Path(__file__).parents[2] / "circuits" / "bus-doors.pneu").circuit
    assert doors is not None
    layout = lay_out(problem_of(doors))
    at = {symbol.id: symbol for symbol in layout.symbols}
    assert {at[tag].transform for tag in ("fc", "fo", "rc", "ro")} <= {"mx", "r180"}
    assert all(at[tag].x > at["fc"].x > at["valve"].x > at["src"].x for tag in ("front", "rear"))
    assert {at[tag].transform for tag in ("front", "rear")} == {"r0"}  # rods level, to the right
