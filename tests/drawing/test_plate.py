"""Plates of the catalogue."""

from __future__ import annotations

import pytest
from lxml import etree

from pneudraw.drawing import plates, to_svg
from pneudraw.drawing.plate import plate
from pneudraw.drawing.shapes import Text, box_of, leaves
from tests.drawing.measure import inside, overlapping_texts
from tests.drawing.scene import library

KINDS = tuple(library().kinds[name] for name in library().kinds)


def test_every_kind_is_on_a_plate_once_with_its_name() -> None:
    names = [group.name for sheet in plates(KINDS) for group in sheet.shapes if hasattr(group, "name")]
    assert names == [kind.name for kind in KINDS]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_all_ports_are_numbered(kind) -> None:  # type: ignore[no-untyped-def]
    words = [item.text for item in leaves(plate(kind).items) if isinstance(item, Text)]
    for port in kind.ports:
        assert port.id in words
    assert kind.name in words


def test_nothing_overlaps_and_nothing_leaves_the_plate() -> None:
    for sheet in plates(KINDS):
        assert overlapping_texts(sheet) == []
        for shape in sheet.shapes:
            box = box_of(shape)
            assert box is not None
            assert inside(box, (0, 0, sheet.width, sheet.height))
        etree.fromstring(to_svg(sheet).encode())


def test_a_sheet_can_be_made_small() -> None:
    few = plates(KINDS[:4], width=120, height=120)
    assert len(few) > 1
    assert all(sheet.height <= 120 for sheet in few[:-1]) or any(k.size[1] * 2.5 > 80 for k in KINDS[:4])
