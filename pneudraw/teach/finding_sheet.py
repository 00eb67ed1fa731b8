"""A decision tree on a sheet: an outline in columns, lines from each question to its two answers.

The sheet is the smallest A size on which all of it finds room. Where a column ends within the tree, the next repeats
in grey the questions that are still open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import CAUTIONS, PAPERS
from pneudraw.drawing.shapes import BLACK, Group, Shape, Sheet, Text, line
from pneudraw.flow.diagnosis import Table, Tree
from pneudraw.lettering import text_width, wrap
from pneudraw.teach.fault_finding import branches

HEIGHT, PITCH, GAP = 2.5, 3.7, 0.8  # mm: lettering, its lines, more from row to row
STEP, MARGIN, GUTTER = 4.5, 12.0, 8.0  # mm
HEAD = 18.0  # mm, for the title
LEAST_COLUMN = 118.0  # mm
GREY = "#6e6e6e"
SIZES = (
    *(("A4", False), ("A4", True), ("A3", True), ("A2", True), ("A1", True), ("A0", True)),
)  # paper, lying


@dataclass(frozen=True)
class _Row:
    """A question or a leaf: its depth, ``yes`` or ``no``, its text; notes have depth -1."""

    level: int
    word: str
    text: str
    ink: str = BLACK

    @property
    def bold(self) -> bool:
        return self.text.startswith("->")


@dataclass(frozen=True)
class _Placed:
    """A row in a column, its lines, and the baseline of the first [mm]."""

    row: _Row
    lines: tuple[str, ...]
    column: int
    y: float


def draw_tree(circuit: Circuit, found: Table, tree: Tree, depth: int = 99) -> Sheet:
    """Return the decision tree as a sheet; ``messages`` says so if it needs more than A0."""
    rows = [_Row(*one) for one in branches(circuit, found, tree, depth)]
    asked = {row.text.partition(":")[0] for row in rows if not row.bold}
    texts = [f"{c.letter}: {c.text}" for c in found.conditions if c.letter in asked]
    notes = [_Row(-1, "", text) for text in (*texts, *CAUTIONS)]
    title = circuit.title or circuit.name
    for paper, lying in SIZES:
        short, long = PAPERS[paper]
        width, height = (long, short) if lying else (short, long)
        columns = max(1, int((width - 2 * MARGIN + GUTTER) / (LEAST_COLUMN + GUTTER)))
        wide = (width - 2 * MARGIN + GUTTER) / columns - GUTTER
        placed = _placed(rows, notes, wide, height - MARGIN)
        if placed[-1].column < columns:
            messages: tuple[str, ...] = ()
            break
    else:
        width = MARGIN + (placed[-1].column + 1) * (wide + GUTTER)
        messages = (f"the sheet is {width:.0f} by {height:.0f} mm, larger than A0; ask less, or set --depth",)
    heading = (
        Text((MARGIN, MARGIN + 5.0), title, 5.0, bold=True),
        Text((MARGIN, MARGIN + 11.0), f"Fault finding: {len(tree.rows)} faults, yes or no", 3.5),
    )
    groups = (
        Group("heading", "", heading),
        Group("tree", "", tuple(_shapes([p for p in placed if p.row.level >= 0], wide))),
        Group("words", "", tuple(_shapes([p for p in placed if p.row.level < 0], wide)), "Notes"),
    )
    desc = f"Decision tree of {len(tree.rows)} faults."
    return Sheet(
        f"{circuit.name}-finding", title, desc, width, height, HEIGHT, "bare", groups, None, messages
    )


def _placed(rows: Sequence[_Row], notes: Sequence[_Row], wide: float, bottom: float) -> list[_Placed]:
    """Put the rows into columns of a width, one below the other."""
    out: list[_Placed] = []
    column, y = 0, MARGIN + HEAD
    open_rows: list[_Row] = []
    for row in (*rows, *notes):
        if row.level < 0 and out and out[-1].row.level >= 0:
            y += 2 * PITCH
        lines = _lines(row, wide)
        if y + (len(lines) - 1) * PITCH > bottom:
            column, y = column + 1, MARGIN + HEAD
            for above in open_rows[: max(row.level, 0)]:
                again = replace(above, ink=GREY)
                out.append(_Placed(again, _lines(again, wide), column, y))
                y += len(out[-1].lines) * PITCH + GAP
        out.append(_Placed(row, lines, column, y))
        y += len(lines) * PITCH + GAP
        if row.level >= 0:
            open_rows = [*open_rows[: row.level], row]
    return out


def _lines(row: _Row, wide: float) -> tuple[str, ...]:
    return tuple(wrap(row.text, wide - _indent(row), HEIGHT, bold=row.bold))


def _indent(row: _Row) -> float:
    answer = text_width(row.word, HEIGHT, bold=True) + 1.5 if row.word else 0.0
    return max(row.level, 0) * STEP + answer


def _shapes(placed: Sequence[_Placed], wide: float) -> Iterator[Shape]:
    above: dict[int, float] = {}
    column = -1
    for one in placed:
        if one.column != column:
            column, above = one.column, {}
        row, left, y = one.row, MARGIN + one.column * (wide + GUTTER), one.y
        x = left + max(row.level, 0) * STEP
        if row.level > 0:
            stem, middle = x - STEP + 1.2, y - HEIGHT / 2
            yield line((stem, above.get(row.level - 1, y - PITCH)), (stem, middle), 0.18)
            yield line((stem, middle), (x - 0.8, middle), 0.18)
        if row.level >= 0:
            above[row.level] = y + (len(one.lines) - 1) * PITCH + 1.2
        if row.word:
            yield Text((x, y), row.word, HEIGHT, bold=True, colour=row.ink)
        for number, text in enumerate(one.lines):
            at = (left + _indent(row), y + number * PITCH)
            yield Text(at, text, HEIGHT, bold=row.bold, colour=row.ink)
