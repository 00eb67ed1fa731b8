"""Charts: every curve where its numbers say, every name readable, nothing told by colour alone."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.drawing.axes import Scale, number, rounded, step_for, ticks
from pneudraw.drawing.chart import Chart, ChartCurve, ChartOptions, Event, Level, Panel, Stretch, draw_chart
from pneudraw.drawing.curves import LOOKS, along, dashed, look_of, simplified, spread
from pneudraw.drawing.shapes import (
    BLACK,
    WHITE,
    Circle,
    Polygon,
    Sheet,
    Strokes,
    Text,
    box_of,
    leaves,
    text_box,
)
from pneudraw.drawing.svg import to_svg
from tests.drawing.measure import groups, inside, overlapping_texts, texts

finite = st.floats(-1e3, 1e3, allow_nan=False).map(lambda v: round(v, 3))
points = st.lists(st.tuples(finite, finite), min_size=2, max_size=60)


def falling(begin: float, end: float, top: float) -> tuple[tuple[float, float], ...]:
    """A curve with a corner: flat, then down on a quarter wave."""
    steps = 40
    return tuple(
        (begin + (end - begin) * i / steps, top * math.cos(max(0.0, i / steps - 0.25) * 2))
        for i in range(steps + 1)
    )


def chart(curves: int = 3, panels: int = 1, stretches: int = 1, events: int = 3, levels: int = 1) -> Chart:
    spans = tuple(Stretch(i * 2.0, i * 2.0 + 2.0, f"State number {i + 1}") for i in range(stretches))
    made = tuple(
        ChartCurve(
            f"c{i}",
            (f"Caption of curve {i}", f"tag{i}: {100 - i} units"),
            tuple(falling(s.begin, s.end, 100.0 - 7 * i) for s in spans),
        )
        for i in range(curves)
    )
    marks = tuple(Level(30.0 + 20 * i, f"level {i} after 0.27 s", ((0, 1.0),)) for i in range(levels))
    return Chart(
        "test",
        "A chart of the school",
        "and what it shows",
        "description",
        "time, s",
        spans,
        tuple(Panel(f"Quantity {i}, units", made, marks if i == 0 else ()) for i in range(panels)),
        tuple(Event(0, 2.0 * i / max(1, events), f"{i} s: something moves") for i in range(events)),
        notes=(("Caution", ("Chock the wheels.",)),),
    )


def pumped(times: int) -> Chart:
    """A pedal pressed and let up again and again, and at the end something new."""
    moves = [Event(0, 2.0 * i / (times + 1), f"pedal {'down' if i % 2 else 'up'}") for i in range(times)]
    return replace(chart(), events=(*moves, Event(0, 1.98, "a knob springs out")))


SHAPES = [
    pumped(80),
    chart(),
    chart(curves=8, events=12, levels=3),
    chart(curves=1, panels=3, events=0, levels=0),
    chart(curves=5, stretches=2, events=6, levels=2),
    chart(curves=6, panels=2, stretches=3, events=30),
]


# --- on the paper -----------------------------------------------------------------------------------


@pytest.mark.parametrize("made", SHAPES)
@pytest.mark.parametrize("paper", ["A4", "A3", "letter", "slide"])
def test_everything_is_on_the_sheet(made: Chart, paper: str) -> None:
    sheet = draw_chart(made, ChartOptions(paper))
    for shape in leaves(sheet.shapes):
        box = box_of(shape)
        assert box is None or inside(box, (0, 0, sheet.width, sheet.height)), shape


@pytest.mark.parametrize("made", SHAPES)
def test_no_lettering_lies_on_other_lettering(made: Chart) -> None:
    assert overlapping_texts(draw_chart(made)) == []


@pytest.mark.parametrize("made", SHAPES)
def test_no_lettering_is_smaller_than_two_and_a_half_millimetres(made: Chart) -> None:
    """ISO 3098 heights; 2.5 mm as the smallest on a sheet is common practice."""
    assert min(text.height for text in texts(draw_chart(made))) >= 2.5 - 1e-9


def test_a_sheet_is_as_large_as_its_paper_lying_sideways() -> None:
    sheet = draw_chart(chart())  # ISO 216: A4 is 210 x 297 mm
    assert (sheet.width, sheet.height) == (297.0, 210.0)
    assert sheet.messages == ()


def test_a_sheet_that_needs_more_than_its_paper_says_so() -> None:
    sheet = draw_chart(chart(panels=3, events=30))
    assert sheet.height > 210
    assert "more than A4" in sheet.messages[0]


def test_a_curve_lies_where_its_numbers_say() -> None:
    """Read back from the drawing by its own ticks, as with a ruler."""
    sheet = draw_chart(chart(curves=1, events=0, levels=0))
    (panel,) = groups(sheet.shapes, "panel")
    labels = [s for s in panel.items if isinstance(s, Text) and not s.upward]
    up = {float(t.text): t.at[1] - t.height / 2 for t in labels if t.anchor == "end" and t.text != "time, s"}
    across = {float(t.text): t.at[0] for t in labels if t.anchor == "middle"}
    (curve,) = groups(sheet.shapes, "curve")
    (line,) = [s for s in curve.items if isinstance(s, Strokes)]
    chain = line.chains[0]
    per_unit = (up[100.0] - up[0.0]) / 100.0
    per_second = across[2.0] - across[1.0]
    for x, y in falling(0.0, 2.0, 100.0)[::8]:
        place = (across[1.0] + (x - 1.0) * per_second, up[0.0] + y * per_unit)
        nearest = min(_distance(place, a, b) for a, b in pairwise(chain))
        assert nearest < 0.05


def _distance(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    length = math.dist(a, b)
    share = (
        0.0 if length == 0 else ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / length**2
    )
    share = min(1.0, max(0.0, share))
    return math.dist(p, (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))


def test_a_dot_marks_where_a_curve_meets_a_level() -> None:
    sheet = draw_chart(chart(levels=2))
    (panel,) = groups(sheet.shapes, "panel")
    dots = [s for s in panel.items if isinstance(s, Circle)]
    assert len(dots) == 4  # a ring and a point for each of two


def test_states_of_like_length_share_a_scale_and_a_short_one_does_not_vanish() -> None:
    def widths(lengths: tuple[float, ...]) -> list[float]:
        spans, at = [], 0.0
        for length in lengths:
            spans.append(Stretch(at, at + length, "state"))
            at += length
        curve = ChartCurve("c", ("c",), tuple(((s.begin, 0.0), (s.end, 1.0)) for s in spans))
        sheet = draw_chart(Chart("t", "t", "", "", "s", tuple(spans), (Panel("p", (curve,)),)))
        (drawn,) = groups(sheet.shapes, "curve")
        (line,) = [s for s in drawn.items if isinstance(s, Strokes)]
        chain = line.chains[0]
        return [chain[1][0] - chain[0][0], chain[3][0] - chain[2][0]]

    one, other = widths((2.0, 1.0))
    assert one / other == pytest.approx(2.0, rel=0.01)
    long, short = widths((150.0, 1.0))
    assert short > 0.2 * long


# --- without colour ---------------------------------------------------------------------------------


def test_what_happens_again_and_again_is_numbered_once_if_there_is_no_room_to_number_it_each_time() -> None:
    def boxes(made: Chart) -> list[str]:
        (events,) = groups(draw_chart(made, ChartOptions("A4")).shapes, "events")
        return [item.text for item in leaves(events.items) if isinstance(item, Text)]

    assert boxes(pumped(4)) == ["1", "2", "1", "2", "3"]
    assert boxes(pumped(80)) == ["1", "2", "3"]


def test_no_two_curves_of_a_panel_have_dashes_and_marker_in_common() -> None:
    signs = [(look.dashes, look.marker, look.filled) for look in LOOKS]
    assert len(set(signs)) == len(signs) == 8
    for one, other in combinations(LOOKS, 2):
        assert one.marker != other.marker or one.filled != other.filled
    for one, other in combinations(LOOKS[:4], 2):  # few curves differ in both
        assert one.dashes != other.dashes
        assert one.marker != other.marker


def test_every_curve_carries_its_marker_and_so_does_its_name() -> None:
    sheet = draw_chart(chart(curves=8))
    curves, labels = list(groups(sheet.shapes, "curve")), list(groups(sheet.shapes, "label"))
    assert len(curves) == len(labels) == 8
    for place, (curve, label) in enumerate(zip(curves, labels, strict=True)):
        kind = Circle if look_of(place).marker == "circle" else Polygon
        assert any(isinstance(s, kind) for s in curve.items)
        assert sum(isinstance(s, kind) for s in label.items) == 1
        assert any(isinstance(s, Text) and f"curve {place}" in s.text for s in label.items)


def inks(sheet: Sheet) -> set[str]:
    found = set()
    for shape in leaves(sheet.shapes):
        found.add(shape.colour)
        if isinstance(shape, Polygon | Circle) and shape.fill:
            found.add(shape.fill)
    return found


def test_without_colours_all_ink_is_black_white_or_the_grid() -> None:
    grey = {c for c in inks(draw_chart(chart(), ChartOptions(colour=False))) if c not in (BLACK, WHITE)}
    assert all(c[1:3] == c[3:5] == c[5:7] for c in grey)
    assert any(len({c[1:3], c[3:5], c[5:7]}) > 1 for c in inks(draw_chart(chart())))


def test_the_same_chart_is_the_same_bytes() -> None:
    assert to_svg(draw_chart(chart(curves=5, stretches=2))) == to_svg(
        draw_chart(chart(curves=5, stretches=2))
    )


def test_words_on_a_level_do_not_run_out_of_the_panel() -> None:
    sheet = draw_chart(chart(levels=3))
    (panel,) = groups(sheet.shapes, "panel")
    frame = max(
        (box_of(s) for s in panel.items if isinstance(s, Polygon) and s.width > 0.3),
        key=lambda b: b[2] - b[0] if b else 0,
    )
    assert frame is not None
    words = [s for s in panel.items if isinstance(s, Text) and s.text.startswith("level")]
    assert len(words) == 3
    assert all(inside(text_box(text), frame) for text in words)


# --- axes and lines ---------------------------------------------------------------------------------


@given(finite, finite, st.integers(2, 12))
def test_an_axis_holds_its_numbers_between_round_ends(a: float, b: float, most: int) -> None:
    low, high = min(a, b), max(a, b)
    first, last, step = rounded(low, high, most)
    slack = 0.0101 * (max(high, 0.0) - min(low, 0.0)) + 1e-9
    assert first <= low + slack
    assert last >= high - slack
    assert first <= 0.0 <= last
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert any(math.isclose(mantissa, m) for m in (1, 2, 5))
    assert len(ticks(first, last, step)) <= most + 3


def test_ticks_are_written_with_the_decimals_they_need() -> None:
    assert [number(t, 0.2) for t in ticks(0, 0.6, step_for(0.6, 3))] == ["0.0", "0.2", "0.4", "0.6"]
    assert [number(t, 50) for t in ticks(0, 100, 50)] == ["0", "50", "100"]


@given(finite, st.floats(0.1, 100), finite, st.floats(0.1, 100), finite)
def test_a_scale_is_straight(low: float, span: float, start: float, length: float, value: float) -> None:
    scale = Scale(low, low + span, start, start + length)
    assert scale(low) == pytest.approx(start)
    assert scale(low + span) == pytest.approx(start + length)
    assert scale(value + 1) - scale(value) == pytest.approx(length / span, rel=1e-6, abs=1e-6)


@given(points)
def test_a_simplified_chain_stays_close_and_keeps_its_ends(chain: list[tuple[float, float]]) -> None:
    kept = simplified(chain, 0.5)
    assert kept[0] == chain[0]
    assert kept[-1] == chain[-1]
    assert set(kept) <= set(chain)
    for point in chain:
        assert min(_distance(point, a, b) for a, b in pairwise(kept)) <= 0.5 + 1e-6


@given(points)
def test_dashes_lie_on_the_chain_and_have_their_lengths(chain: list[tuple[float, float]]) -> None:
    total = sum(math.dist(a, b) for a, b in pairwise(chain))
    pieces = dashed(chain, (4.0, 1.5))
    lengths = [sum(math.dist(a, b) for a, b in pairwise(piece)) for piece in pieces]
    assert all(length <= 4.0 + 1e-6 for length in lengths)
    assert all(length == pytest.approx(4.0, abs=1e-6) for length in lengths[:-1])
    whole = math.floor(total / 5.5)
    rest = min(4.0, total - whole * 5.5)
    assert sum(lengths) == pytest.approx(whole * 4.0 + rest, rel=1e-6, abs=1e-5)


def test_markers_stand_at_even_distances_along_a_curve() -> None:
    found = along(((0.0, 0.0), (10.0, 0.0), (10.0, 10.0)), 2.0, 6.0)
    assert found == ((2.0, 0.0), (8.0, 0.0), (10.0, 4.0), (10.0, 10.0))


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(1, 9)), min_size=1, max_size=9))
def test_names_are_spread_without_overlap_in_their_order(items: list[tuple[float, float]]) -> None:
    wanted, sizes = [w for w, _ in items], [s for _, s in items]
    middles = spread(wanted, sizes, 0.0, 100.0)
    order = sorted(range(len(items)), key=lambda i: (wanted[i], i))
    for a, b in pairwise(order):
        assert middles[b] - middles[a] >= (sizes[a] + sizes[b]) / 2 - 1e-6
    assert all(s / 2 - 1e-6 <= m <= 100 - s / 2 + 1e-6 for m, s in zip(middles, sizes, strict=True))
    if len(items) == 1:
        assert middles[0] == pytest.approx(min(100 - sizes[0] / 2, max(sizes[0] / 2, wanted[0])))
