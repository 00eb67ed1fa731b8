"""The contact sheet of the gallery: every circuit in every state, small, side by side, each with its title."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape, quoteattr

from pneudraw.drawing import Sheet, to_png, to_svg
from pneudraw.drawing.shapes import (
    BLACK,
    Circle,
    Group,
    Polygon,
    Shape,
    Strokes,
    Text,
    box_of,
    leaves,
    moved,
    rectangle,
)
from pneudraw.lettering import shorten

WIDTH = 420.0  # mm, A3
MARGIN, GAP = 10.0, 4.0
COLUMNS = 5
TITLE = 2.5  # mm
HIGH = 0.62  # of a thumbnail's width
DENSITIES = (150.0, 120.0, 96.0, 75.0)  # dots per inch, the first that gives a small enough file
LARGEST = 1_500_000  # bytes
READABLE = 0.45  # mm


@dataclass(frozen=True)
class Thumb:
    """A picture of the gallery: its file, its title and its sheet. ``first``: it begins a circuit."""

    file: str
    title: str
    sheet: Sheet
    first: bool


def contact_svg(thumbs: Sequence[Thumb]) -> str:
    """Return a page of the gallery's own files, each a link to itself: a few bytes for each picture."""
    wide, high = _cell()
    cells = _cells(thumbs)
    titles = tuple(
        Text(
            (x, y + high + TITLE + 1.2),
            shorten(thumb.title, wide, TITLE, bold=thumb.first),
            TITLE,
            bold=thumb.first,
        )
        for thumb, (x, y) in zip(thumbs, cells, strict=True)
    )
    desc = f"{len(thumbs)} diagrams, each with a link to its file"
    page = to_svg(replace(contact_sheet((), True), desc=desc, height=_tall(cells), shapes=titles))
    out = []
    for thumb, (x, y) in zip(thumbs, cells, strict=True):
        file, title = quoteattr(thumb.file), escape(thumb.title)
        out.append(
            f"<a href={file}><title>{title}</title><image href={file} "
            f'x="{x:g}" y="{y:g}" width="{wide:g}" height="{high:g}"/></a>'
        )
    return page.removesuffix("</svg>") + "\n".join(out) + "\n</svg>\n"


def contact_sheet(thumbs: Sequence[Thumb], colour: bool) -> Sheet:
    """Return the same as one sheet, the diagrams alone without their frames; in grey as a copier sees it."""
    wide, high = _cell()
    cells = _cells(thumbs)
    items: list[Shape] = []
    for thumb, (x, y) in zip(thumbs, cells, strict=True):
        diagram = next(s for s in thumb.sheet.shapes if isinstance(s, Group) and s.role == "diagram")
        left, top, right, bottom = box_of(diagram) or (0.0, 0.0, 1.0, 1.0)
        scale = min((wide - 2) / (right - left), (high - 2) / (bottom - top))
        dx = x + (wide - (right - left) * scale) / 2 - left * scale
        dy = y + (high - (bottom - top) * scale) / 2 - top * scale
        shown: Shape = moved(bolder(diagram, scale), scale, dx, dy)
        items += [rectangle((x, y, x + wide, y + high), 0.18), shown if colour else grey(shown)]
        words = shorten(thumb.title, wide, TITLE, bold=thumb.first)
        items.append(Text((x, y + high + TITLE + 1.2), words, TITLE, bold=thumb.first))
    desc = f"{len(thumbs)} diagrams"
    return Sheet(
        "contact-sheet", "All circuits in all states", desc, WIDTH, _tall(cells), 1.0, "plate", tuple(items)
    )


def contact_png(thumbs: Sequence[Thumb], colour: bool) -> bytes | None:
    """Return the contact sheet as a picture of at most 1.5 MB; None if it would be larger at every density."""
    sheet = contact_sheet(thumbs, colour)
    for density in DENSITIES:
        data = to_png(sheet, density)
        if len(data) <= LARGEST:
            return data
    return None


def bolder(shape: Shape, scale: float) -> Shape:
    """The shape with lines twice as wide, and without the small lettering where nobody could read it."""
    if isinstance(shape, Group):
        kept = (item for item in shape.items if not _unreadable(item, scale))
        return replace(shape, items=tuple(bolder(item, scale) for item in kept))
    return replace(shape, width=2 * shape.width) if isinstance(shape, Strokes | Polygon | Circle) else shape


def _unreadable(shape: Shape, scale: float) -> bool:
    small = isinstance(shape, Group) and shape.role in ("label", "numbers", "badge")
    return small and all(t.height * scale < READABLE for t in leaves((shape,)) if isinstance(t, Text))


def grey(shape: Shape) -> Shape:
    """The shape in the grey of its colours (ITU-R BT.601)."""
    if isinstance(shape, Group):
        return replace(shape, items=tuple(grey(item) for item in shape.items))
    changes = {
        name: _grey(value)
        for name in ("colour", "fill")
        if isinstance(value := getattr(shape, name, None), str) and value != BLACK
    }
    return replace(shape, **changes)  # type: ignore[arg-type]


def _grey(colour: str) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + f"{round(0.299 * red + 0.587 * green + 0.114 * blue):02x}" * 3


def _cell() -> tuple[float, float]:
    wide = (WIDTH - 2 * MARGIN - (COLUMNS - 1) * GAP) / COLUMNS
    return round(wide, 2), round(wide * HIGH, 2)


def _cells(thumbs: Sequence[Thumb]) -> list[tuple[float, float]]:
    """Places row by row; every circuit begins a row."""
    wide, high = _cell()
    out: list[tuple[float, float]] = []
    row, column = 0, -1
    for number, thumb in enumerate(thumbs):
        column += 1
        if column == COLUMNS or (thumb.first and number):
            row, column = row + 1, 0
        out.append((round(MARGIN + column * (wide + GAP), 2), round(MARGIN + row * (high + TITLE + 5), 2)))
    return out


def _tall(cells: Sequence[tuple[float, float]]) -> float:
    return round(max((y for _, y in cells), default=0.0) + _cell()[1] + TITLE + 5 + MARGIN, 2)
