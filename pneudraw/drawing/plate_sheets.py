"""The printed catalogue: every symbol, chapter by chapter, on framed sheets with a title and a key to the marks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pneudraw.drawing.frame import frame, frame_box
from pneudraw.drawing.plate import (
    GAP,
    MODULE,
    PITCH,
    TEXT,
    Item,
    basis_mark,
    cell_size,
    grid_height,
    plate,
    row_height,
    rows_of,
)
from pneudraw.drawing.shapes import Group, Shape, Sheet, Text, line, moved, rectangle
from pneudraw.lettering import shorten, text_width, wrap
from pneudraw.library.model import Basis, Drawing, Kind
from pneudraw.library.model import Group as Chapter

PAPERS = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm; ISO 216, US letter from memory
PAD = 3.0  # mm inside the frame
HEADING = 3.5  # mm, lettering of a chapter's heading
HEADING_ROW = 8.0
LEAST_FILL = 0.6  # share of a page that must be used before its rows are spread over it
TITLE_ROW, FIELD_ROW = 8.0, 5.6
GREY = "#595959"  # of field names

#: chapters in the order of the catalogue
TITLES = {
    Chapter.LINES: "Lines and general marks",
    Chapter.SOURCES: "Sources, drives and storage",
    Chapter.TREATMENT: "Air treatment",
    Chapter.CHECKS: "Check, flow control and exhaust valves",
    Chapter.PRESSURE: "Pressure valves",
    Chapter.BOXES: "Position boxes of directional valves",
    Chapter.ELEMENTS: "Actuating elements of valves",
    Chapter.DIRECTIONAL: "Directional control valves",
    Chapter.CONTROL: "Driver's valves",
    Chapter.MODULATION: "Relay and modulating valves",
    Chapter.TRAILER: "Trailer valves and couplings",
    Chapter.BRAKES: "Brake chambers",
    Chapter.CYLINDERS: "Cylinders, motors, air springs, vacuum",
    Chapter.INSTRUMENTS: "Instruments and warning",
    Chapter.FITTINGS: "Cocks, hoses and fittings",
}
MARKS = {
    Basis.CONFIRMED: "form confirmed in open texts",
    Basis.MEMORY: "form from memory of the standard",
    Basis.COMPOSED: "composed from the standard's elements",
    Basis.OWN: "form of our own",
}
RESTS = "What a drawing rests on:"
NOTES = (
    "Symbols after ISO 1219-1 and IEC 60617, drawn at rest: no pressure, hands off. Sizes, and port numbers (ISO 11727"
    " on industrial valves, ISO 6786 on vehicle units), are from memory: check a mark against the standard before you"
    " call a drawing conforming. What is composed, or our own, belongs in the legend. Grid: M = 2.5 mm; darker frame:"
    " the symbol's box.",
)


@dataclass(frozen=True)
class _Row:
    """A row of cells on a page; ``heading`` stands above it."""

    items: tuple[Item, ...]
    heading: str

    @property
    def height(self) -> float:
        return row_height(self.items) + (HEADING_ROW if self.heading else 0.0)


def catalogue(kinds: Iterable[Kind], drawings: Iterable[Drawing], paper: str = "A4") -> tuple[Sheet, ...]:
    """Return the sheets of the whole catalogue; ValueError for a paper that is none of :data:`PAPERS`."""
    if paper not in PAPERS:
        raise ValueError(f"no paper `{paper}` for plates; one of {', '.join(PAPERS)}")
    width, height = PAPERS[paper]
    left, top, right, bottom = frame_box(paper, width, height)
    key = _key(left + PAD, right - PAD)
    key_height = key[1]
    block = TITLE_ROW + FIELD_ROW
    room = bottom - block - key_height - 2 * PAD - top
    pages = _pages(_rows((*kinds, *drawings), right - left - 2 * PAD), room)
    sheets: list[Sheet] = []
    for number, rows in enumerate(pages, start=1):
        items: list[Shape] = [frame(paper, width, height)]
        items += _page(rows, (left + PAD, top + PAD, right - PAD, top + PAD + room))
        items += [moved(shape, 1.0, 0.0, bottom - block - key_height) for shape in key[0]]
        chapters = tuple(dict.fromkeys(title for row in rows if (title := _chapter(row))))
        title = "; ".join(chapters)
        items.append(_block(title, number, len(pages), paper, (left, bottom - block, right, bottom)))
        names = ", ".join(item.title for row in rows for item in row.items)
        sheets.append(
            Sheet(
                f"symbols-{number}",
                f"Symbols: {title}",
                names,
                width,
                height,
                MODULE,
                paper,
                tuple(items),
                (left, top, right, bottom),
            )
        )
    return tuple(sheets)


def _chapter(row: _Row) -> str:
    return TITLES[row.items[0].group]


def _rows(items: tuple[Item, ...], width: float) -> list[_Row]:
    """Rows of like height, chapter by chapter; symbols that are no parts keep the order of their file."""
    out: list[_Row] = []
    for chapter, title in TITLES.items():
        own = [item for item in items if item.group is chapter]
        parts = sorted((i for i in own if isinstance(i, Kind)), key=lambda i: (_step(i), i.name))
        others = [item for item in own if isinstance(item, Drawing)]
        for number, row in enumerate(rows_of((*parts, *others), width, even=True)):
            heading = title if number == 0 else ""
            out.append(_Row(tuple(row), heading))
    return out


def _step(item: Item) -> int:
    """Height class: neighbours in a row should be about as high as each other."""
    return item.size[1] // 5


def _pages(rows: list[_Row], room: float) -> list[list[_Row]]:
    """The rows on as few pages as they need, each about as full as the others."""
    pages = _filled(rows, room)
    low, high = 0.0, room
    for _ in range(12):
        middle = (low + high) / 2
        if len(_filled(rows, middle)) <= len(pages):
            high = middle
        else:
            low = middle
    return _filled(rows, high)


def _filled(rows: list[_Row], room: float) -> list[list[_Row]]:
    pages: list[list[_Row]] = []
    used = 0.0
    for row in rows:
        if not pages or used + row.height > room:
            first = row if row.heading else _Row(row.items, f"{_chapter(row)}, continued")
            pages.append([first])
            used = first.height + GAP
        else:
            pages[-1].append(row)
            used += row.height + GAP
    return pages


def _page(rows: list[_Row], box: tuple[float, float, float, float]) -> list[Shape]:
    """The rows of a page, spread over its height and each over its width."""
    left, top, right, bottom = box
    spare = bottom - top - sum(row.height for row in rows)
    gap = GAP
    if len(rows) > 1 and spare < (1 - LEAST_FILL) * (bottom - top):
        gap = min(5 * GAP, spare / (len(rows) - 1))
    out: list[Shape] = []
    y = top
    for row in rows:
        if row.heading:
            out.append(Text((left, y + HEADING), row.heading, HEADING, bold=True))
            out.append(line((left, y + HEADING + 2.0), (right, y + HEADING + 2.0), 0.18))
        top_of_row = y + (HEADING_ROW if row.heading else 0.0)
        grid = max(grid_height(item) for item in row.items)
        widths = [cell_size(item)[0] for item in row.items]
        between = (right - left - sum(widths)) / (len(widths) + 1)
        x = left + between
        for item, wide in zip(row.items, widths, strict=True):
            out.append(moved(plate(item), 1.0, x, top_of_row + grid - grid_height(item)))
            x += wide + between
        y += row.height + gap
    return out


def _key(left: float, right: float) -> tuple[tuple[Shape, ...], float]:
    """The key to the marks and the note, from y = 0; and its height [mm]."""
    out: list[Shape] = [line((left, 0.0), (right, 0.0), 0.18)]
    y = 2.0
    out.append(Text((left, y + TEXT), RESTS, TEXT, bold=True))
    x = left + text_width(RESTS, TEXT, True) + 3.0
    for basis, words in MARKS.items():
        wide = 3.5 + text_width(words, TEXT)
        if x > left and x + wide > right:
            x, y = left, y + PITCH
        out += basis_mark(basis, x + 1.0, y + TEXT / 2)
        out.append(Text((x + 3.0, y + TEXT), words, TEXT))
        x += wide + 3.0
    y += PITCH
    for note in NOTES:
        for words in wrap(note, right - left, TEXT):
            out.append(Text((left, y + TEXT), words, TEXT))
            y += PITCH
    return (Group("key", "", tuple(out), "Key to the marks"),), y + 1.0


def _block(title: str, number: int, count: int, paper: str, box: tuple[float, float, float, float]) -> Group:
    left, top, right, bottom = box
    height = next((h for h in (HEADING, TEXT) if text_width(title, h, True) <= right - left - 4), TEXT)
    items: list[Shape] = [rectangle(box, 0.5)]
    baseline = top + (TITLE_ROW + height) / 2
    items.append(
        Text((left + 2, baseline), shorten(title, right - left - 4, height, True), height, bold=True)
    )
    y = top + TITLE_ROW
    items.append(line((left, y), (right, y), 0.25))
    fields = (
        (0.34, "", "Catalogue of symbols"),
        (0.36, "Symbols", "after ISO 1219-1"),
        (0.30, "Sheet", f"{number} of {count}, {paper}, en"),
    )
    x = left
    for place, (share, name, words) in enumerate(fields):
        if place:
            items.append(line((x, y), (x, bottom), 0.25))
        start = x + 2
        if name:
            items.append(Text((start, (y + bottom + TEXT) / 2), name, TEXT, colour=GREY))
            start += text_width(name, TEXT) + 1.5
        items.append(Text((start, (y + bottom + TEXT) / 2), words, TEXT))
        x += share * (right - left)
    return Group("title-block", "", tuple(items), "Title block", f"{title}. Sheet {number} of {count}")
