"""Parts list and line list as tables on sheets of their own; columns after ISO 1219-2, annex B (its choice is ours)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pneudraw.circuit.captions import settings, show
from pneudraw.circuit.model import Circuit, Line, Part
from pneudraw.drawing.frame import frame, frame_box
from pneudraw.drawing.options import LEAST_MODULE, PAPERS, SheetOptions
from pneudraw.drawing.shapes import Group, Shape, Sheet, Text, line, rectangle
from pneudraw.drawing.titleblock import WIDTH, block_height, title_block
from pneudraw.lettering import shorten, wrap

TEXT, PITCH = 2.5, 3.9  # mm
PAD = 1.2
AIR = 1.4  # mm above and below the lines of a row
GAP = 6.0  # mm between frame, tables and title block

Cells = tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Column heads with their share of the width, and rows of texts; the first column is set bold."""

    title: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[Cells, ...]


def list_sheets(circuit: Circuit, options: SheetOptions, marks: Mapping[str, str]) -> tuple[Sheet, ...]:
    """Return the sheets of the lists, if they are wanted on their own; ``options.sheet`` is the number of the first."""
    if options.lists != "own":
        return ()
    paper = options.paper if options.paper in PAPERS and options.paper != "slide" else "A4"
    width, height = PAPERS[paper]  # portrait: a table is read downwards
    tables = (parts_table(circuit, marks), lines_table(circuit))
    pages = _pages(tables, frame_box(paper, width, height), block_height(paper))
    return tuple(
        _sheet(circuit, replace(options, sheet=number), paper, page)
        for number, page in enumerate(pages, start=options.sheet)
    )


def parts_table(circuit: Circuit, marks: Mapping[str, str]) -> Table:
    """Return the parts list, in the order of the codes if there are any, else of the tags."""
    coded = bool(marks)
    heads = [("Code", 0.1)] if coded else []
    heads += [("Part", 0.13), ("Qty", 0.05), ("Designation", 0.28), ("Data", 0.22), ("Symbol", 0.12)]
    spare = 1 - sum(share for _, share in heads)  # a tenth or more: to be written in by hand
    rows = (
        _part(part, circuit.unit, marks.get(part.tag) if coded else None) for part in _sorted(circuit, marks)
    )
    return Table("Parts list", (*heads, ("Remark", spare)), tuple(rows))


def lines_table(circuit: Circuit) -> Table:
    """Return the line list: what each line joins, what it is, its length and bore."""
    heads = (("Line", 0.15), ("Joins", 0.43), ("Sort", 0.18), ("Length", 0.12), ("Bore", 0.12))
    return Table("Line list", heads, tuple(_line(one) for one in circuit.lines))


def _sorted(circuit: Circuit, marks: Mapping[str, str]) -> list[Part]:
    def key(part: Part) -> tuple[tuple[int, int, str], ...]:
        return natural(marks.get(part.tag, part.tag))

    return sorted(circuit.parts, key=key)


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts as a person does: ``P1.2`` before ``P1.10``."""
    pieces: list[str] = []
    for char in text:
        if pieces and pieces[-1][-1].isdecimal() is char.isdecimal():
            pieces[-1] += char
        else:
            pieces.append(char)
    return tuple((0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces)


def _part(part: Part, unit: str, code: str | None) -> Cells:
    name = part.name or part.kind.title
    kind = "" if name == part.kind.title else f" ({part.kind.title[:1].lower()}{part.kind.title[1:]})"
    symbol = "composed" if "composed" in part.kind.standard.lower() else "ISO 1219-1"
    cells = (part.tag, "1", f"{name}{kind}", "; ".join(settings(part, unit)), symbol, "")
    return cells if code is None else (code, *cells)


def _line(one: Line) -> Cells:
    sort = f"{'control' if one.control else 'working'}{', hose' if one.hose else ''}"
    length = show(one.length, "psi") if one.length is not None else ""
    bore = show(one.bore, "psi") if one.bore is not None else ""
    return one.tag, " - ".join(end.name for end in one.ends), sort, length, bore


def _pages(
    tables: Sequence[Table], box: tuple[float, float, float, float], block: float
) -> list[list[Shape]]:
    left, top, right, bottom = box
    inner, low = right - left - 2 * GAP, bottom - block - GAP
    pages: list[list[Shape]] = []
    y = low
    for table in tables:
        widths = [share * inner for _, share in table.columns]
        head = [name for name, _ in table.columns]
        started = False
        for cells in table.rows:
            lines = [
                _wrapped(cell, wide, k == 0) for k, (cell, wide) in enumerate(zip(cells, widths, strict=True))
            ]
            high = max(map(len, lines)) * PITCH + 2 * AIR - (PITCH - TEXT)
            need = high if started else high + 22
            if y + need > low:  # always so before the first page
                pages.append([])
                y, started = top + GAP, False
            if not started:
                name = table.title if not _continued(pages, table.title) else f"{table.title}, continued"
                pages[-1].append(Text((left + GAP, y + 5), name, 5.0, bold=True))
                y += 8
                heads = [_wrapped(word, wide, True) for word, wide in zip(head, widths, strict=True)]
                y = _row(pages[-1], heads, widths, left + GAP, y, PITCH + 2 * AIR - (PITCH - TEXT), True)
                started = True
            y = _row(pages[-1], lines, widths, left + GAP, y, high, False)
        y += GAP
    return pages


def _continued(pages: Sequence[Sequence[Shape]], title: str) -> bool:
    return any(
        isinstance(item, Text) and item.height == 5.0 and item.text.startswith(title)
        for page in pages
        for item in page
    )


def _wrapped(text: str, wide: float, bold: bool) -> tuple[str, ...]:
    room = wide - 2 * PAD
    return tuple(shorten(one, room, TEXT, bold) for one in wrap(text, room, TEXT)) or ("",)


def _row(
    page: list[Shape],
    cells: Sequence[Sequence[str]],
    widths: Sequence[float],
    x: float,
    y: float,
    high: float,
    head: bool,
) -> float:
    thick = 0.35 if head else 0.18
    page.append(rectangle((x, y, x + sum(widths), y + high), thick))
    for number, (lines, wide) in enumerate(zip(cells, widths, strict=True)):
        if number:
            page.append(line((x, y), (x, y + high), thick))
        for k, words in enumerate(lines):
            at = (x + PAD, y + AIR + TEXT + k * PITCH)
            page.append(Text(at, words, TEXT, bold=head or number == 0))
        x += wide
    return y + high


def _sheet(circuit: Circuit, options: SheetOptions, paper: str, items: Sequence[Shape]) -> Sheet:
    width, height = PAPERS[paper]
    box = frame_box(paper, width, height)
    wide = min(WIDTH, box[2] - box[0])
    block = title_block(circuit, "", options, box[2], box[3], wide, paper, "Parts and lines")
    title = options.title or circuit.title or circuit.name
    return Sheet(
        circuit.name,
        title,
        f"Lists of the parts and lines, sheet {options.sheet} of {options.sheets}.",
        width,
        height,
        LEAST_MODULE,
        paper,
        (frame(paper, width, height), Group("table", "", tuple(items), "Lists"), block),
        box,
    )


def beside(circuit: Circuit, marks: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield tag and words of every part, for a list in columns beside the drawing."""
    for part in _sorted(circuit, marks):
        words = "; ".join((part.name or part.kind.title, *settings(part, circuit.unit)))
        yield (f"{marks[part.tag]} {part.tag}" if part.tag in marks else part.tag), words
