"""Every circuit of the course, blank and with a trace-like tint on every line: nothing touches, nothing is lost."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from lxml import etree

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.drawing import SheetOptions, Tints, draw, to_svg
from pneudraw.drawing.shapes import Circle, Polygon, Strokes, box_of, leaves, text_box
from pneudraw.drawing.tints import Badge, BranchTint, LineTint, Style
from pneudraw.layout.result import Layout
from pneudraw.library.model import Role
from tests.drawing.measure import groups, inside, overlap, overlapping_texts, struck_texts, texts

CIRCUITS = tuple(sorted((Path(__file__).parents[2] / "circuits").glob("*.pneu")))


@cache
def laid_out(path: Path) -> tuple[Circuit, Layout]:
    circuit = api.read(path).circuit
    assert circuit is not None
    return circuit, api.lay_out(circuit)


def everything_moves(circuit: Circuit, style: Style) -> Tints:
    """Air from the first end of every line into all others; a badge at every brake; every exhaust open."""
    sign = 1.0 if style is Style.CARRIES else -1.0
    lines = tuple(
        LineTint(
            line.tag,
            Style.HOLDS,
            tuple(
                BranchTint(end.name, style, sign * (1.0 if index else 1.0 - len(line.ends)))
                for index, end in enumerate(line.ends)
            ),
            order,
        )
        for order, line in enumerate(circuit.lines, start=1)
    )
    exhausts = tuple(
        f"{part.tag}.{port.id}"
        for part in circuit.parts
        for port in part.kind.ports
        if port.role is Role.EXHAUST
    )
    badges = tuple(Badge(part.tag, "8.3 bar") for part in circuit.parts if part.kind.brake is not None)
    return Tints(lines, exhausts, badges, state="Everything moves")


@pytest.mark.parametrize("style", [None, Style.CARRIES, Style.VENTS])
@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_a_sheet_is_clean(path: Path, style: Style | None) -> None:
    circuit, layout = laid_out(path)
    tints = everything_moves(circuit, style) if style is not None else None
    sheet = draw(circuit, layout, SheetOptions(lists="beside"), tints)
    assert sheet.frame is not None
    assert sheet.module >= 2.5
    assert overlapping_texts(sheet) == []
    assert struck_texts(sheet) == []
    for shape in leaves(sheet.shapes[1:]):
        box = box_of(shape)
        assert box is None or inside(box, (0, 0, sheet.width, sheet.height))
    root = etree.fromstring(to_svg(sheet).encode())
    lettering = list(root.iter("{http://www.w3.org/2000/svg}text"))
    assert len(lettering) == len(texts(sheet))
    assert all(
        text.get("fill-opacity") == "0" for text in lettering
    )  # all of it in shapes, with no font needed


@pytest.mark.parametrize("style", [Style.CARRIES, Style.VENTS])
@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_numbers_and_arrows_cover_nothing(path: Path, style: Style) -> None:
    """No number's circle on a text, a symbol or another one; every arrow head on a line and off the symbols."""
    circuit, layout = laid_out(path)
    sheet = draw(circuit, layout, SheetOptions(), everything_moves(circuit, style))
    rings, heads = [], []
    for line in groups(sheet.shapes, "line"):
        rings += [box_of(s) for s in line.items if isinstance(s, Circle) and s.radius > sheet.module]
        heads += [box_of(s) for s in line.items if isinstance(s, Polygon)]
    assert len(rings) == len(circuit.lines)
    symbols = [box_of(group) for group in groups(sheet.shapes, "part")]
    words = [
        text_box(t) for role in ("label", "numbers") for g in groups(sheet.shapes, role) for t in texts_of(g)
    ]
    for index, ring in enumerate(rings):
        assert ring is not None
        for other in (*rings[index + 1 :], *symbols, *words, *heads):
            assert other is not None
            assert not overlap(ring, other)
    for head in heads:
        for other in symbols:
            assert head is not None
            assert other is not None
            assert not overlap(head, other)


def texts_of(group: object) -> list[object]:
    return [item for item in leaves(group.items) if hasattr(item, "anchor")]  # type: ignore[attr-defined]


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_every_line_of_the_netlist_is_drawn_from_end_to_end(path: Path) -> None:
    circuit, layout = laid_out(path)
    sheet = draw(circuit, layout, SheetOptions(paper="bare"))
    ports = {(port.symbol, port.port): (port.x, port.y) for port in layout.ports}
    origin_x, origin_y = min(s.x for s in layout.symbols), min(s.y for s in layout.symbols)
    drawn = {group.name: group for group in groups(sheet.shapes, "line")}
    assert origin_x >= 0
    assert origin_y >= 0
    for line in circuit.lines:
        chains = [c for s in drawn[line.tag].items if isinstance(s, Strokes) for c in s.chains]
        if len(line.ends) < 2:
            continue
        tips = {(round(x, 3), round(y, 3)) for chain in chains for x, y in (chain[0], chain[-1])}
        first = ports[line.ends[0].part.tag, line.ends[0].port.id]
        # the shift from modules to the page, from the first end; all others must agree
        shifts = {(round(x - first[0] * 2.5, 2), round(y - first[1] * 2.5, 2)) for x, y in tips}
        for end in line.ends[1:]:
            x, y = ports[end.part.tag, end.port.id]
            shifts &= {(round(a - x * 2.5, 2), round(b - y * 2.5, 2)) for a, b in tips}
        assert shifts, line.tag


def test_there_are_circuits_to_look_at() -> None:
    assert len(CIRCUITS) >= 2
    assert all(texts(draw(*laid_out(path))) for path in CIRCUITS[:1])
