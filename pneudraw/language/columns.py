"""Setting statements in columns, for the printer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from pneudraw.language.tree import Notes

INDENT = "  "
#: stands in a cell for the space behind a comma where the statement may go on in the next line; it is one
#: character wide like the space, and cannot come from a netlist
COMMA = ",\x01"
_WIDEST_GAP = 40  # a cell longer than the shortest by more than this does not move the others


@dataclass(frozen=True)
class Row:
    """A statement in cells. Cell i of every row begins in the same column; an empty cell is skipped."""

    cells: tuple[str, ...]
    notes: Notes


def print_rows(rows: Sequence[Row], indent: str, gap: str = "  ") -> Iterator[str]:
    """Yield the lines of statements: columns are aligned between empty lines."""
    run: list[Row] = []
    for row in rows:
        if "" in row.notes.before and run:
            yield from _run(run, indent, gap)
            run = []
        run.append(row)
    yield from _run(run, indent, gap)


def _run(rows: Sequence[Row], indent: str, gap: str) -> Iterator[str]:
    texts = [row.cells[0] for row in rows]
    broken = [bool(row.notes.breaks) for row in rows]
    for column in range(1, max((len(row.cells) for row in rows), default=0)):
        texts = _column(
            texts, [row.cells[column] if column < len(row.cells) else "" for row in rows], broken, gap
        )
    comments = ["" if split else row.notes.after for row, split in zip(rows, broken, strict=True)]
    texts = _column(texts, comments, broken, "  ")
    for row, text in zip(rows, texts, strict=True):
        for remark in row.notes.before:
            yield indent + remark if remark else ""
        yield from _broken(text, row.notes, indent) if row.notes.breaks else [indent + _plain(text)]


def _column(texts: Sequence[str], cells: Sequence[str], broken: Sequence[bool], gap: str) -> list[str]:
    """Return the texts with the cells put behind them, one under the other.

    Once a line end has gone into a text it is no longer aligned: what follows stands in another line.
    """
    inside = [
        bool(cell) and not (split and COMMA in text)
        for text, cell, split in zip(texts, cells, broken, strict=True)
    ]
    lengths = [len(text) for text, aligned in zip(texts, inside, strict=True) if aligned]
    most = min(lengths, default=0) + _WIDEST_GAP
    width = max((length for length in lengths if length <= most), default=0)
    out: list[str] = []
    for text, cell, aligned in zip(texts, cells, inside, strict=True):
        if cell:
            text = (text.ljust(width) if aligned else text) + gap + cell
        out.append(text)
    return out


def _plain(text: str) -> str:
    return text.replace(COMMA, ", ")


def _broken(text: str, notes: Notes, indent: str) -> Iterator[str]:
    """Yield the lines of a statement that its author broke behind some of its commas."""
    at = {item.comma: item for item in notes.breaks}
    pieces = text.split(COMMA)
    deeper = indent + 2 * INDENT
    line = indent
    for number, piece in enumerate(pieces):
        line += piece
        if number == len(pieces) - 1:
            break
        item = at.get(number)
        if item is None:
            line += ", "
            continue
        yield with_comment(line + ",", item.comment)
        for comment in item.lines:
            yield deeper + comment
        line = deeper
    yield with_comment(line, notes.after)


def with_comment(text: str, comment: str) -> str:
    """Return a line and the comment at its end, if there is one."""
    return f"{text}  {comment}" if comment else text


def print_remarks(remarks: Iterable[str], indent: str) -> Iterator[str]:
    """Yield comment lines and empty lines."""
    for remark in remarks:
        yield indent + remark if remark else ""
