"""The title block: the fields of ISO 7200 and what a circuit diagram has to say besides (ISO 1219-2)."""

from __future__ import annotations

from collections.abc import Sequence

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import SheetOptions
from pneudraw.drawing.shapes import Box, Group, Shape, Text, line, rectangle
from pneudraw.lettering import shorten, text_width

WIDTH = 180.0  # mm at most; ISO 5457 (from memory)
GREY = "#595959"  # of the field names: L* 37, dark enough for a copier
TEXT = 2.5
PAD = 1.5
TITLE_ROW, ROW = 9.0, 5.6
DOCUMENT_TYPE = "Pneumatic circuit diagram"
SYMBOLS = "Symbols after ISO 1219-1; composed"

Field = tuple[float, str, str]  # share of the width, name of the field, its text


def block_height(paper: str) -> float:
    """Return the height of the title block [mm]; a slide needs none of the fields of an office."""
    return TITLE_ROW + (2 if paper == "slide" else 4) * ROW


def title_block(
    circuit: Circuit,
    state: str,
    options: SheetOptions,
    right: float,
    bottom: float,
    width: float,
    paper: str,
    document: str = DOCUMENT_TYPE,
) -> Group:
    """Return the title block in the lower right corner of the frame."""
    left, top = right - width, bottom - block_height(paper)
    items: list[Shape] = [rectangle((left, top, right, bottom), 0.5)]
    title = options.title or circuit.title or circuit.name
    items += _title(title, options.subtitle, (left, top, right, top + TITLE_ROW))
    sheet = f"{options.sheet} of {options.sheets}, {paper}, {options.language}"
    rows: Sequence[Sequence[Field]] = (
        ((1.0, "State shown" if state else "", state),),
        (
            (0.29, "", document),
            (0.30, "Pressures", f"{circuit.unit}, gauge"),
            (0.41, "", SYMBOLS),
        ),
        ((0.59, "Owner", options.owner), (0.29, "No.", options.number), (0.12, "Rev.", options.revision)),
        (
            (0.29, "Made by", options.creator),
            (0.30, "Approved by", options.approved),
            (0.18, "Date", options.date),
            (0.23, "Sheet", sheet),
        ),
    )
    y = top + TITLE_ROW
    for fields in rows[:2] if paper == "slide" else rows:
        items.append(line((left, y), (right, y), 0.25))
        x = left
        for number, (share, name, text) in enumerate(fields):
            if number:
                items.append(line((x, y), (x, y + ROW), 0.25))
            items += _field(name, text, (x, y, x + share * width, y + ROW))
            x += share * width
        y += ROW
    return Group(
        "title-block", "", tuple(items), "Title block", f"{title}. State shown: {state}" if state else title
    )


def _title(title: str, subtitle: str, box: Box) -> list[Shape]:
    left, top, right, bottom = box
    room = right - left - 2 * PAD
    if subtitle:
        shown = shorten(subtitle, room / 2, TEXT)
        rest = text_width(shown, TEXT)
        room -= rest + 3
    height = next((h for h in (5.0, 3.5, TEXT) if text_width(title, h, bold=True) <= room), TEXT)
    baseline = (top + bottom + height) / 2 - 0.2
    out: list[Shape] = [
        Text((left + PAD, baseline), shorten(title, room, height, bold=True), height, bold=True)
    ]
    if subtitle:
        out.append(Text((right - PAD, baseline), shown, TEXT, "end"))
    return out


def _field(name: str, text: str, box: Box) -> list[Shape]:
    left, top, right, bottom = box
    baseline = (top + bottom + TEXT) / 2
    out: list[Shape] = []
    x = left + PAD
    if name:
        out.append(Text((x, baseline), name, TEXT, colour=GREY))
        x += text_width(name, TEXT) + 1.5
    if text:
        out.append(Text((x, baseline), shorten(text, right - x - 0.8, TEXT), TEXT))
    return out
