"""What the tests ask of a sheet: boxes of its texts and groups, and whether they touch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from pneudraw.drawing.shapes import Box, Group, Shape, Sheet, Strokes, Text, box_of, leaves, text_box


def groups(shapes: Iterable[Shape], role: str) -> Iterator[Group]:
    """All groups of a role, at any depth."""
    for shape in shapes:
        if isinstance(shape, Group):
            if shape.role == role:
                yield shape
            yield from groups(shape.items, role)


def texts(sheet: Sheet) -> list[Text]:
    """All lettering of a sheet."""
    return [shape for shape in leaves(sheet.shapes) if isinstance(shape, Text)]


def box_of_group(sheet: Sheet, role: str) -> Box:
    """The box of the only group of a role."""
    (group,) = groups(sheet.shapes, role)
    box = box_of(group)
    assert box is not None
    return box


def overlap(a: Box, b: Box, slack: float = 0.01) -> bool:
    """True if two boxes share more than a border."""
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack


def inside(a: Box, b: Box) -> bool:
    """True if ``a`` lies in ``b``."""
    return a[0] >= b[0] and a[1] >= b[1] and a[2] <= b[2] and a[3] <= b[3]


def inked(text: Text) -> Box:
    """The box of a text's ink: down to the baseline only if no letter of it has a tail."""
    left, top, right, bottom = text_box(text)
    return (left, top, right, bottom if set(text.text) & set("gjpqy,;()Q/_[]{}|$@") else text.at[1])


def overlapping_texts(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other."""
    boxes = [(text.text, inked(text)) for text in texts(sheet)]
    return [
        (one, other)
        for index, (one, a) in enumerate(boxes)
        for other, b in boxes[index + 1 :]
        if overlap(a, b)
    ]


def struck_texts(sheet: Sheet) -> list[str]:
    """Labels, numbers and badges of the diagram that a line of the circuit runs through."""
    dots = {
        (x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps)
        for group in groups(sheet.shapes, "line")
        for shape in group.items
        if isinstance(shape, Strokes)
        for chain in shape.chains
        for (x0, y0), (x1, y1) in pairwise(chain)
        for steps in (int(4 * (abs(x1 - x0) + abs(y1 - y0))) + 1,)  # at least every quarter of a mm
        for step in range(steps + 1)
    }
    found = []
    for role in ("label", "numbers", "badge"):
        for group in groups(sheet.shapes, role):
            for item in leaves(group.items):
                if isinstance(item, Text):
                    left, top, right, bottom = inked(item)
                    if any(left <= x <= right and top <= y <= bottom for x, y in dots):
                        found.append(item.text)
    return found
