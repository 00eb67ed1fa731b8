"""Vehicles that are alike are drawn alike: laid out once, put down as often as they are used."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pneudraw.layout import Block, Hint, LabelSpec, Layout, NetSpec, PortSpec, Problem, SymbolSpec, lay_out
from pneudraw.layout.blocks import patterns
from tests.layout.circuits import fleet, mangled, vehicle
from tests.layout.scoring import corners_of, crossings_of, faults_of

slow = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


def check(problem: Problem) -> Layout:
    """Lay out and hold the result against the problem."""
    layout = lay_out(problem)
    assert faults_of(problem, layout) == []
    assert layout.faults == ()
    assert crossings_of(layout) == layout.crossings
    assert corners_of(layout) == layout.corners
    return layout


def picture(layout: Layout, block: Block) -> tuple[list[object], list[object], list[object]]:
    """Symbols, ports and labels of a block as drawn, seen from its first symbol."""
    place = {name: i for i, name in enumerate(block.symbols)}
    placed = {symbol.id: symbol for symbol in layout.symbols}
    x, y = placed[block.symbols[0]].x, placed[block.symbols[0]].y
    return (
        [(s.x - x, s.y - y, s.transform) for s in (placed[name] for name in block.symbols)],
        sorted(
            (place[p.symbol], p.port, p.x - x, p.y - y, p.side) for p in layout.ports if p.symbol in place
        ),
        sorted(
            (place[a.symbol], round(a.x - x, 2), round(a.y - y, 2), round(a.width, 2), a.anchor)
            for a in layout.labels
            if a.symbol in place
        ),
    )


def lines(problem: Problem, layout: Layout, block: Block) -> dict[object, object]:
    """The lines that stay in a block, by what they join, seen from its first symbol."""
    place = {name: i for i, name in enumerate(block.symbols)}
    first = next(symbol for symbol in layout.symbols if symbol.id == block.symbols[0])
    return {
        tuple((place[name], port) for name, port in net.terminals): tuple(
            tuple((x - first.x, y - first.y) for x, y in points) for points in route.lines
        )
        for net, route in zip(problem.nets, layout.routes, strict=True)
        if all(name in place for name, _ in net.terminals)
    }


def outline(layout: Layout, block: Block) -> tuple[float, float, float, float]:
    """The box round the symbols and labels of a block."""
    boxes = [(s.x, s.y, s.x + s.width, s.y + s.height) for s in layout.symbols if s.id in block.symbols]
    words = [(a.x, a.y, a.x + a.width, a.y + a.height) for a in layout.labels if a.symbol in block.symbols]
    every = [*boxes, *words]
    return (
        min(b[0] for b in every),
        min(b[1] for b in every),
        max(b[2] for b in every),
        max(b[3] for b in every),
    )


@pytest.mark.parametrize("module", [False, True], ids=["neutral", "module"])
@pytest.mark.parametrize("count", [2, 3, 5])
def test_like_vehicles_are_drawn_alike(count: int, module: bool) -> None:
    problem = fleet(3, vehicles=count, ties=2, module=module)
    layout = check(problem)
    first, *others = problem.blocks
    inner = lines(problem, layout, first)
    for other in others:
        assert picture(layout, other) == picture(layout, first)
        same = lines(problem, layout, other)
        assert len(same.keys() & inner.keys()) > 10
        assert all(same[ends] == inner[ends] for ends in same.keys() & inner.keys())


def test_a_longer_label_in_one_vehicle_moves_nothing_but_itself() -> None:
    """Room is kept for the longest of the labels that correspond; each stands flush with its own symbol in it."""
    problem = fleet(5, vehicles=2, module=True)
    longer = tuple(
        replace(spec, label=LabelSpec(spec.label.width + 5, spec.label.height + 3))
        if spec.label is not None and spec.id in problem.blocks[1].symbols[::3]
        else spec
        for spec in problem.symbols
    )
    problem = replace(problem, symbols=longer)
    layout = check(problem)
    first, second = (picture(layout, block) for block in problem.blocks)
    assert first[:2] == second[:2]
    assert first[2] != second[2]
    for spec, label in zip(problem.symbols, layout.labels, strict=True):
        assert spec.label is not None
        assert (label.symbol, label.width) == (spec.id, pytest.approx(spec.label.width, abs=1e-5))


@slow
@given(st.integers(0, 10_000), st.integers(2, 4), st.integers(0, 6), st.booleans(), st.integers(0, 1))
def test_no_drawing_with_blocks_has_a_fault(
    seed: int, vehicles: int, ties: int, module: bool, trailers: int
) -> None:
    check(fleet(seed, vehicles, ties, module, trailers))


@slow
@given(st.integers(0, 10_000), st.integers(0, 40), st.booleans(), st.data())
def test_nor_has_one_of_any_symbols_that_are_kept_together(
    seed: int, swaps: int, module: bool, data: st.DataObject
) -> None:
    problem = mangled(vehicle(seed, trailers=seed % 2, module=module).problem(), seed, swaps)
    names = data.draw(st.permutations([spec.id for spec in problem.symbols]))
    cut = data.draw(st.integers(2, len(names) - 2))
    check(replace(problem, blocks=(Block(tuple(names[:cut]), kept=True),)))


def test_the_same_problem_gives_the_same_layout() -> None:
    problem = fleet(5, vehicles=3, module=True)
    assert repr(lay_out(problem)) == repr(lay_out(problem))


@pytest.mark.parametrize("module", [False, True], ids=["neutral", "module"])
def test_there_is_room_round_a_block_for_a_frame_and_over_it_for_a_title(module: bool) -> None:
    """Nothing foreign but the lines that go in and out comes nearer than the spacing says."""
    problem = fleet(5, vehicles=3, module=module)
    layout = check(problem)
    room = problem.spacing
    for block in problem.blocks:
        left, top, right, bottom = outline(layout, block)
        left, right = left - room.block, right + room.block
        top, bottom = top - room.block - room.title, bottom + room.block
        foreign = [s for s in layout.symbols if s.id not in block.symbols]
        assert not any(
            s.x < right and left < s.x + s.width and s.y < bottom and top < s.y + s.height for s in foreign
        )
        words = [a for a in layout.labels if a.symbol not in block.symbols]
        assert not any(
            a.x < right and left < a.x + a.width and a.y < bottom and top < a.y + a.height for a in words
        )
        away = {net.id for net in problem.nets if not any(s in block.symbols for s, _ in net.terminals)}
        assert not any(
            left < x < right and top < y < bottom
            for route in layout.routes
            if route.net in away
            for points in route.lines
            for x, y in points
        )


def _part(name: str, kind: str = "valve") -> SymbolSpec:
    ports = (PortSpec("in", "W", 2, "in"), PortSpec("out", "E", 2, "out"), PortSpec("up", "N", 2))
    return SymbolSpec(name, 4, 4, ports, kind)


def _train(*nets: tuple[tuple[str, str], ...], kept: bool = False) -> Problem:
    """Two blocks of three parts in a row, a1 a2 a3 and b1 b2 b3, parts s and t outside, and more lines."""
    names = ["s", *(f"{block}{i}" for block in "ab" for i in (1, 2, 3)), "t"]
    inner = [((f"{block}{i}", "out"), (f"{block}{i + 1}", "in")) for block in "ab" for i in (1, 2)]
    return Problem(
        tuple(_part(name) for name in names),
        tuple(NetSpec(f"n{i}", ends) for i, ends in enumerate([*inner, *nets])),
        blocks=tuple(Block(tuple(f"{block}{i}" for i in (1, 2, 3)), kept) for block in "ab"),
    )


def _alike(problem: Problem) -> bool:
    layout = check(problem)
    return len({repr(picture(layout, block)) for block in problem.blocks}) == 1


def test_the_last_of_a_train_is_like_the_others_although_nothing_is_coupled_behind_it() -> None:
    problem = _train((("s", "out"), ("a1", "in")), (("a3", "out"), ("b1", "in")))
    assert [pattern.members for pattern in patterns(problem)[1]] == [[0, 1]]
    assert _alike(problem)


def test_a_line_that_only_one_of_two_has_behind_it_ends_at_its_last_port_in_the_other() -> None:
    problem = _train((("s", "out"), ("a1", "in")))
    tee = tuple(
        replace(net, terminals=(*net.terminals, ("t", "in"))) if net.id == "n1" else net
        for net in problem.nets
    )
    problem = replace(problem, nets=tee)
    assert [pattern.members for pattern in patterns(problem)[1]] == [[0, 1]]
    assert _alike(problem)


def test_a_line_may_go_in_at_one_end_and_visit_several_parts() -> None:
    problem = _train((("s", "out"), ("a1", "in"), ("a2", "up"), ("a3", "up"), ("b1", "in"), ("t", "in")))
    problem = replace(problem, blocks=tuple(replace(block, kept=True) for block in problem.blocks))
    check(problem)


def test_vehicles_with_different_lines_inside_are_not_made_alike() -> None:
    problem = _train((("s", "out"), ("a1", "in"), ("b1", "in")), (("a1", "up"), ("a3", "up")))
    assert patterns(problem)[1] == []
    plain = replace(problem, blocks=())
    assert lay_out(problem) == lay_out(plain)


def test_nor_are_vehicles_of_different_parts() -> None:
    problem = _train((("s", "out"), ("a1", "in"), ("b1", "in")))
    other = tuple(replace(spec, width=6) if spec.id == "b2" else spec for spec in problem.symbols)
    assert patterns(replace(problem, symbols=other))[1] == []


def test_the_authors_wishes_come_first() -> None:
    """A group of parts inside and outside a vehicle cannot be drawn if the vehicle is drawn apart."""
    problem = _train((("s", "out"), ("a1", "in"), ("b1", "in")))
    assert [pattern.members for pattern in patterns(problem)[1]] == [[0, 1]]
    for word in ("group", "column", "mirror"):
        assert patterns(replace(problem, hints=(Hint(word, ("a3", "t")),)))[1] == []
    for hint in (Hint("near", ("a3",), "t"), Hint("order", ("t", "a1")), Hint("side", ("b1", "t"), "top")):
        hinted = replace(problem, hints=(hint,))
        assert patterns(hinted)[1]
        assert _alike(hinted)
    inside = tuple(Hint("order", (f"{block}1", f"{block}3")) for block in "ab")
    assert _alike(replace(problem, hints=inside))
    assert patterns(replace(problem, hints=inside[:1]))[1] == []


def test_one_vehicle_is_laid_out_apart_only_if_asked_for() -> None:
    problem = fleet(2, vehicles=2)
    one = replace(problem, blocks=problem.blocks[:1])
    assert lay_out(one) == lay_out(replace(problem, blocks=()))
    kept = replace(one, blocks=(replace(one.blocks[0], kept=True),))
    layout = check(kept)
    left, top, right, bottom = outline(layout, kept.blocks[0])
    foreign = [s for s in layout.symbols if s.id not in kept.blocks[0].symbols]
    assert foreign
    assert not any(
        s.x < right and left < s.x + s.width and s.y < bottom and top < s.y + s.height for s in foreign
    )


def test_blocks_of_symbols_that_are_not_there_or_in_another_block_change_nothing() -> None:
    problem = fleet(2, vehicles=2)
    more = (*problem.blocks, Block(("nobody", "nothing")), Block(problem.blocks[0].symbols, kept=True))
    assert lay_out(replace(problem, blocks=more)) == lay_out(problem)


def test_a_port_in_two_lines_is_named_as_a_fault_inside_a_block_too() -> None:
    problem = _train((("s", "out"), ("a1", "in")), (("a1", "in"), ("t", "in")))
    assert any("a1.in" in fault for fault in lay_out(problem).faults)


def test_a_symbol_on_the_rim_has_nothing_beyond_it() -> None:
    problem = vehicle(3, axles=2).problem()
    left = SymbolSpec("LEFT", 0, 0, (PortSpec("1", "E", 0, "out"),), rim="W")
    right = SymbolSpec("RIGHT", 0, 0, (PortSpec("1", "W", 0, "in"),), rim="E")
    first, second = problem.nets[0], problem.nets[-1]
    nets = tuple(
        replace(net, terminals=(*net.terminals, ("LEFT" if net is first else "RIGHT", "1")))
        if net in (first, second)
        else net
        for net in problem.nets
    )
    problem = replace(problem, symbols=(*problem.symbols, left, right), nets=nets)
    layout = check(problem)
    at = {s.id: s.x for s in layout.symbols}
    assert all(at["LEFT"] <= s.x and s.x + s.width <= at["RIGHT"] for s in layout.symbols)
