"""Circuits put together at random are drawn cleanly too, with any tints."""

from __future__ import annotations

from random import Random

import pytest
from lxml import etree

from pneudraw.circuit.model import Circuit
from pneudraw.drawing import SheetOptions, Tints, draw, to_svg
from pneudraw.drawing.shapes import box_of, leaves
from pneudraw.drawing.tints import Badge, BranchTint, LineTint, Mark, Style
from pneudraw.layout import lay_out
from pneudraw.layout.from_circuit import problem
from tests.drawing.measure import inside, overlapping_texts, struck_texts
from tests.drawing.scene import random_circuit

STYLES = (Style.CARRIES, Style.VENTS, Style.HOLDS, Style.EMPTY)


def any_tints(circuit: Circuit, seed: int) -> Tints:
    chance = Random(seed)
    lines = []
    for order, line in enumerate(circuit.lines):
        branches = tuple(
            BranchTint(end.name, chance.choice(STYLES), chance.uniform(-1, 1))
            for end in line.ends
            if chance.random() < 0.9
        )
        lines.append(LineTint(line.tag, chance.choice(STYLES), branches, chance.choice((None, order))))
    return Tints(
        tuple(lines),
        tuple(f"{part.tag}.3" for part in circuit.parts),
        tuple(Badge(part.tag, "8.3 bar") for part in circuit.parts),
        tuple(Mark(line.tag, "F1") for line in circuit.lines[:1]),
    )


@pytest.mark.parametrize("seed", [9, 22, 24, 76, 103, 201, 202, 203])
def test_nothing_touches_and_nothing_leaves_the_sheet(seed: int) -> None:
    circuit = random_circuit(seed)
    layout = lay_out(problem(circuit))
    for tints in (None, any_tints(circuit, seed)):
        options = SheetOptions(
            lists="beside" if seed % 2 == 0 else "none", line_tags=seed % 3 == 0, port_numbers="all"
        )
        sheet = draw(circuit, layout, options, tints)
        assert overlapping_texts(sheet) == []
        assert struck_texts(sheet) == []
        for shape in leaves(sheet.shapes[1:]):
            box = box_of(shape)
            assert box is None or inside(box, (0, 0, sheet.width, sheet.height))
        etree.fromstring(to_svg(sheet).encode())
