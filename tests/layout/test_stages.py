"""The stages of the engine one by one."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.layout import NetSpec, PortSpec, Problem, SymbolSpec
from pneudraw.layout.check import check
from pneudraw.layout.columns import Flow, assign
from pneudraw.layout.crossings import total_crossings
from pneudraw.layout.engine import safe_plan
from pneudraw.layout.frame import Frame
from pneudraw.layout.lines import polylines, web
from pneudraw.layout.model import prepare
from pneudraw.layout.order import arrange, spread
from pneudraw.layout.places import draw
from pneudraw.layout.plan import count, make_plan
from pneudraw.layout.repair import mend
from pneudraw.layout.search import local_search
from pneudraw.layout.shapes import shape, shapes
from pneudraw.layout.straight import make_rows, part_rows
from pneudraw.layout.tracks import Trunk, assign_tracks
from tests.layout.circuits import mangled, vehicle

CORNERED = SymbolSpec("V", 6, 4, (PortSpec("a", "W", 1), PortSpec("b", "N", 5), PortSpec("c", "E", 3)))


@pytest.mark.parametrize(
    ("transform", "size", "a", "b"),
    [
        ("r0", (6, 4), ("W", 0, 1), ("N", 5, 0)),
        ("mx", (6, 4), ("E", 6, 1), ("N", 1, 0)),
        ("my", (6, 4), ("W", 0, 3), ("S", 5, 4)),
        ("r90", (4, 6), ("N", 3, 0), ("E", 4, 5)),
        ("r180", (6, 4), ("E", 6, 3), ("S", 1, 4)),
        ("r270", (4, 6), ("S", 1, 6), ("W", 0, 1)),
        ("mx90", (4, 6), ("S", 3, 6), ("E", 4, 1)),
    ],
)
def test_a_turned_symbol(
    transform: str, size: tuple[int, int], a: tuple[str, int, int], b: tuple[str, int, int]
) -> None:
    """Worked by hand: mirror first, then quarter turns clockwise."""
    made = shape(CORNERED, transform)
    assert (made.width, made.height) == size
    assert (made.sides[0], made.xs[0], made.ys[0]) == a
    assert (made.sides[1], made.xs[1], made.ys[1]) == b


def test_positions_that_look_the_same_are_kept_once() -> None:
    check_valve = SymbolSpec(
        "C", 6, 4, (PortSpec("1", "W", 2), PortSpec("2", "E", 2)), transforms=("r0", "my", "mx")
    )
    assert [s.transform for s in shapes(check_valve)] == ["r0", "mx"]


def _frame(problem: Problem) -> Frame:
    model = prepare(problem, problem.spacing)
    frame = Frame(model, assign(model, Flow(model, model.base)), model.base)
    arrange(frame, None)
    return frame


def test_columns_follow_the_flow() -> None:
    problem = vehicle(1, axles=2).problem()
    model = prepare(problem, problem.spacing)
    flow = Flow(model, model.base)
    col = assign(model, flow)
    assert all(col[a] < col[b] for a in flow.roots for b in flow.succ[a])
    assert min(col[u] for u in flow.roots) == 0


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.lists(st.floats(-50, 50), min_size=12, max_size=12))
def test_spread_keeps_order_and_distance_and_stays_near(wanted: list[float]) -> None:
    frame = _frame(vehicle(2).problem())
    column = max(frame.order, key=len)
    wanted = wanted[: len(column)] + [0.0] * (len(column) - len(wanted))
    spread(frame, column, wanted, [1.0] * len(column))
    for a, b in pairwise(column):
        assert frame.y[b] - frame.y[a] >= frame.sep(a, b) - 1e-9
    free = all(
        v + frame.sep(a, b) <= w for a, b, v, w in zip(column, column[1:], wanted, wanted[1:], strict=False)
    )
    if free:
        assert [frame.y[g] for g in column] == pytest.approx(wanted)


def test_the_search_never_adds_crossings() -> None:
    for seed in range(6):
        frame = _frame(mangled(vehicle(seed, trailers=1).problem(), seed, 10))
        before = total_crossings(frame)
        after = local_search(frame)
        assert after <= before
        assert after == total_crossings(frame)


def test_crossings_are_counted_before_they_are_drawn() -> None:
    """The count on channels and tracks, on which layouts are compared, is that of the finished drawing."""
    for seed in range(6):
        for module in (False, True):
            problem = vehicle(seed, axles=2, trailers=seed % 2, module=module).problem()
            plan = make_plan(_frame(problem))
            faults, webs, crossings = check(draw(plan), plan.frame.model)
            assert faults == []
            assert plan.crossings == crossings
            assert plan.corners == sum(len(w.corners()) for w in webs)


def _trunk(net: int, left: tuple[int, ...], right: tuple[int, ...]) -> Trunk:
    return Trunk(net, min(left + right), max(left + right), left, right)


def test_a_fan_of_trunks_does_not_cross() -> None:
    fan = assign_tracks([_trunk(0, (0,), (4,)), _trunk(1, (2,), (6,)), _trunk(2, (4,), (8,))], 1)
    assert fan.crossings == 0
    assert fan.track == {0: 2, 1: 1, 2: 0}


def test_a_trunk_inside_another_crosses_it_once() -> None:
    assert assign_tracks([_trunk(0, (0,), (10,)), _trunk(1, (4,), (6,))], 1).crossings == 1


def test_trunks_that_do_not_meet_share_a_track() -> None:
    tracks = assign_tracks([_trunk(0, (0,), (3,)), _trunk(1, (10,), (14,))], 1)
    assert tracks.count == 1


def test_level_arms_from_both_sides_decide_the_order() -> None:
    """The left arm must end before the right arm of the other net begins."""
    tracks = assign_tracks([_trunk(0, (0,), (5,)), _trunk(1, (5,), (9,))], 1)
    assert tracks.clashes == ()
    assert tracks.track[1] < tracks.track[0]


def test_track_order_is_as_good_as_trying_all() -> None:
    trunks = [_trunk(0, (0, 6), (3,)), _trunk(1, (2,), (8,)), _trunk(2, (4,), (1, 9))]
    best = assign_tracks(trunks, 1).crossings

    def inside(t: Trunk, values: tuple[int, ...]) -> int:
        return sum(t.lo < v < t.hi for v in values)

    def cost(order: tuple[Trunk, ...]) -> int:
        return sum(inside(a, b.left) + inside(b, a.right) for a, b in combinations(order, 2))

    assert best == min(cost(order) for order in permutations(trunks))


def test_lines_are_traced_from_end_to_tee() -> None:
    found = polylines(web([(0, 0, 4, 0), (4, 0, 8, 0), (4, 0, 4, 5), (4, 5, 9, 5)]))
    assert sorted(found) == [((0, 0), (4, 0)), ((4, 0), (4, 5), (9, 5)), ((4, 0), (8, 0))]


def test_a_line_through_a_symbol_is_found_and_mended() -> None:
    ports = (PortSpec("w", "W", 2), PortSpec("e", "E", 2))
    symbols = tuple(SymbolSpec(n, 4, 4, ports) for n in "ABC")
    problem = Problem(
        symbols, (NetSpec("n", (("A", "e"), ("C", "w"))), NetSpec("m", (("B", "e"), ("C", "e"))))
    )
    plan = make_plan(_frame(problem))
    model, drawn = plan.frame.model, draw(plan)
    drawn.boxes = [(0, 0, 4, 4), (10, 0, 4, 4), (20, 0, 4, 4)]
    drawn.ports = [[(x, 2, "W"), (x + 4, 2, "E")] for x in (0, 10, 20)]
    drawn.pieces = [
        [(4, 2, 20, 2)],
        [(14, 2, 17, 2), (17, 2, 17, 6), (17, 6, 27, 6), (27, 2, 27, 6), (24, 2, 27, 2)],
    ]
    faults, webs, _ = check(drawn, model)
    assert {f.text for f in faults} >= {"line 0 runs through or along symbol 1"}
    left, _ = mend(drawn, model, faults, webs)
    assert left == []


def test_checks_see_what_is_wrong() -> None:
    problem = vehicle(1, axles=1).problem()
    plan = make_plan(_frame(problem))
    model = plan.frame.model
    fine = draw(plan)
    assert check(fine, model)[0] == []
    broken = draw(plan)
    broken.pieces[0] = broken.pieces[0][1:] if len(broken.pieces[0]) > 1 else []
    assert check(broken, model)[0]
    moved = draw(plan)
    moved.boxes[0] = moved.boxes[2]
    assert any("overlap" in f.text for f in check(moved, model)[0])
    joined = draw(plan)
    joined.pieces[1] = joined.pieces[1] + joined.pieces[0]
    assert any("lie on each other" in f.text for f in check(joined, model)[0])


def test_the_safe_plan_has_no_fault_even_for_a_tangle() -> None:
    for seed in range(3):
        problem = mangled(vehicle(seed, axles=2, trailers=1, module=seed % 2 == 1).problem(), seed, 80)
        plan = safe_plan(prepare(problem, problem.spacing))
        assert plan.conflicts == 0
        assert check(draw(plan), plan.frame.model)[0] == []


def test_rows_of_two_nets_that_would_lie_on_each_other_are_moved_apart() -> None:
    """Each of two nets must end before the other begins: no order of their trunks does it, so one row gives way."""
    ports = (PortSpec("a", "E", 2, "out"), PortSpec("b", "E", 6, "out"))
    left = SymbolSpec("L", 4, 8, ports)
    right = SymbolSpec("R", 4, 8, (PortSpec("a", "W", 2, "in"), PortSpec("b", "W", 6, "in")))
    problem = Problem(
        (left, right), (NetSpec("n", (("L", "a"), ("R", "b"))), NetSpec("m", (("L", "b"), ("R", "a"))))
    )
    frame = _frame(problem)
    rows = make_rows(frame)
    rows.y[:] = [0, 0]
    assert count(frame, rows).conflicts == 1
    a, b = next(pair for tracks in count(frame, rows).tracks for pair in tracks.clashes)
    part_rows(rows, 1, a, b, 1)
    assert count(frame, rows).conflicts == 0


def test_a_wide_symbol_pushes_only_what_is_level_with_it() -> None:
    """Two chains one above the other: a wide box in the upper one leaves the lower one short."""
    ports = (PortSpec("w", "W", 2, "in"), PortSpec("e", "E", 2, "out"))
    size = {"A": 4, "B": 4, "C": 4, "D": 30, "E": 4}
    symbols = tuple(SymbolSpec(name, width, 4, ports) for name, width in size.items())
    nets = (
        NetSpec("1", (("A", "e"), ("D", "w"), ("B", "w"))),
        NetSpec("2", (("D", "e"), ("E", "w"))),
        NetSpec("3", (("B", "e"), ("C", "w"))),
    )
    plan = make_plan(_frame(Problem(symbols, nets)))
    boxes = dict(zip("ABCDE", draw(plan).boxes, strict=True))
    assert boxes["B"][0] == boxes["D"][0]
    assert boxes["C"][0] - (boxes["B"][0] + 4) == boxes["E"][0] - (boxes["D"][0] + 30) == 3


def test_like_symbols_of_a_column_stand_in_line_where_that_costs_no_width() -> None:
    """The same, with C and E of one kind but C's chain the shorter: C may move out to E."""
    ports = (PortSpec("w", "W", 2, "in"), PortSpec("e", "E", 2, "out"))
    size = {"A": 4, "B": 4, "C": 4, "D": 30, "E": 4}
    symbols = tuple(
        SymbolSpec(name, width, 4, ports, "brake" if name in "CE" else name) for name, width in size.items()
    )
    nets = (
        NetSpec("1", (("A", "e"), ("D", "w"), ("B", "w"))),
        NetSpec("2", (("D", "e"), ("E", "w"))),
        NetSpec("3", (("B", "e"), ("C", "w"))),
    )
    boxes = dict(zip("ABCDE", draw(make_plan(_frame(Problem(symbols, nets)))).boxes, strict=True))
    assert boxes["C"][0] == boxes["E"][0] == boxes["D"][0] + 33
