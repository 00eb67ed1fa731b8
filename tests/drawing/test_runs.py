"""Which way the air goes in each piece of a branched line: by counting what the ends take."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.drawing.runs import Flowing, flowing, pieces
from pneudraw.drawing.tints import BranchTint, LineTint, Style

C, H, E, V = Style.CARRIES, Style.HOLDS, Style.EMPTY, Style.VENTS


def comb(count: int) -> tuple[dict[str, tuple[float, float]], tuple[tuple[tuple[float, float], ...], ...]]:
    """A trunk from left to right with teeth hanging down: end 0 at the left, the last end at the right."""
    trunk = ((0.0, 0.0), (10.0 * (count - 1), 0.0))
    teeth = tuple(((10.0 * k, 0.0), (10.0 * k, 5.0)) for k in range(1, count - 1))
    ends = {"e0": trunk[0], f"e{count - 1}": trunk[1]}
    ends |= {f"e{k + 1}": tooth[1] for k, tooth in enumerate(teeth)}
    return ends, (trunk, *teeth)


def shown(ends: dict[str, tuple[float, float]], lines: object, tint: LineTint) -> tuple[Flowing, ...]:
    return flowing(pieces(lines, tuple(ends.values()), ()), ends, tint)  # type: ignore[arg-type]


@settings(deadline=None, max_examples=100)
@given(st.lists(st.integers(-9, 9).map(float), min_size=2, max_size=9))
def test_a_trunk_carries_what_the_ends_beyond_it_take(flows: list[float]) -> None:
    """Conservation of mass: what goes in comes out."""
    flows = [*flows, -sum(flows)]
    ends, lines = comb(len(flows))
    tint = LineTint("x", H, tuple(BranchTint(f"e{k}", C, flow) for k, flow in enumerate(flows)))
    for item in shown(ends, lines, tint):
        (x0, y0), (x1, y1) = item.piece.start, item.piece.end
        if y0 == y1:  # of the trunk: ends 0..k lie on its left
            rightwards = sum(flows[round(max(x0, x1) / 10) :])
            assert item.flow == abs(rightwards)
            assert item.way * (1 if x1 > x0 else -1) == (rightwards > 0) - (rightwards < 0)


def test_every_stretch_of_the_line_is_in_one_piece() -> None:
    ends, lines = comb(5)
    found = pieces(lines, tuple(ends.values()), ())
    assert len(found) == 4 + 3
    assert sum(abs(a[0] - b[0]) + abs(a[1] - b[1]) for p in found for a, b in p.runs()) == 40 + 15


def test_corners_do_not_cut_a_piece() -> None:
    (piece,) = pieces([((0, 0), (4, 0), (4, 4), (9, 4))], ((0, 0), (9, 4)), ())
    assert piece.points == ((0, 0), (4, 0), (4, 4), (9, 4))


def test_a_gauge_on_a_moving_line_only_holds() -> None:
    ends, lines = comb(3)  # e0 feeds e2 past a gauge at e1
    tint = LineTint("x", H, (BranchTint("e0", C, -2), BranchTint("e1", H), BranchTint("e2", C, 2)))
    by_end = {
        item.piece.end if item.piece.end in ends.values() else item.piece.start: item
        for item in shown(ends, lines, tint)
    }
    assert by_end[ends["e0"]].style is C
    assert by_end[ends["e2"]].style is C
    assert by_end[ends["e1"]].style is H
    assert by_end[ends["e1"]].way == 0


def test_air_that_fills_only_the_pipe_still_has_a_direction() -> None:
    """A signal line into a closed end: something comes in, and (almost) nothing goes out."""
    tint = LineTint("x", H, (BranchTint("e0", C, -1.0), BranchTint("e1", C, 0.0)))
    ends = {"e0": (0.0, 0.0), "e1": (8.0, 0.0)}
    (item,) = shown(ends, [((0.0, 0.0), (8.0, 0.0))], tint)
    assert item.style is C
    assert item.way == (1 if item.piece.start == (0.0, 0.0) else -1)


def test_venting_goes_back_the_way_it_came() -> None:
    tint = LineTint("x", E, (BranchTint("e0", V, 1.0), BranchTint("e1", V, -1.0)))
    ends = {"e0": (0.0, 0.0), "e1": (8.0, 0.0)}
    (item,) = shown(ends, [((0.0, 0.0), (8.0, 0.0))], tint)
    assert item.style is V
    assert item.way == (-1 if item.piece.start == (0.0, 0.0) else 1)


def test_without_a_tint_a_line_is_plain() -> None:
    ends, lines = comb(4)
    found = flowing(pieces(lines, tuple(ends.values()), ()), ends, None)
    assert {item.style for item in found} == {Style.PLAIN}


def test_a_ring_of_pipe_ends() -> None:
    """No layout makes one, but a drawing must not hang on it."""
    ring = (((0.0, 0.0), (4.0, 0.0), (4.0, 4.0)), ((4.0, 4.0), (0.0, 4.0), (0.0, 0.0)))
    ends = {"a": (0.0, 0.0), "b": (4.0, 4.0)}
    tint = LineTint("x", H, (BranchTint("a", C, -1.0), BranchTint("b", C, 1.0)))
    assert len(shown(ends, ring, tint)) == 2
