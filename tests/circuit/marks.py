"""Netlists with their mistakes marked: what must be said stands under its culprit in a comment of carets.

::

    lines
      relay.5 -> lf
    #       ^ unknown-port: ports: 1 (supply)

Each mark is one message: its code, and behind the colon words that its text or its help must hold. Nothing else may be
said, and the marks printed for a terminal must stand where the carets stand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from textwrap import dedent

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import Diagnostic, render_text

_MARK = re.compile(r"#( *)(\^+) ([a-z-]+)(?:: (.*))?\Z")


@dataclass(frozen=True)
class Mark:
    """A place in a text and what must be said about it."""

    line: int
    column: int
    width: int
    code: str
    words: str


def marks(text: str) -> tuple[Mark, ...]:
    """Return the marks of a text, in the order of the places they point at."""
    found: list[Mark] = []
    culprit = 0
    for number, line in enumerate(text.split("\n"), start=1):
        match = _MARK.match(line)
        if match is None:
            culprit = number
        else:
            column = len(match[1]) + 2
            found.append(Mark(culprit, column, len(match[2]), match[3], match[4] or ""))
    return tuple(sorted(found, key=lambda mark: (mark.line, mark.column)))


def as_mark(diagnostic: Diagnostic) -> Mark:
    """Return where a message points, read off what is printed for a terminal; the words are all it says."""
    printed = render_text(diagnostic).split("\n")
    place = re.fullmatch(r" *--> .*:(\d+):(\d+)", printed[1])
    assert place is not None, printed
    number, column = int(place[1]), int(place[2])
    gutter = printed[3].index(" | ") + 3
    carets = re.match(r" *(\^+)", printed[4][gutter:].expandtabs(1))
    assert carets is not None, printed
    assert int(printed[3][: gutter - 3]) == number, printed
    assert len(carets[0]) - len(carets[1]) == column - 1, (
        printed
    )  # the caret stands in the column that is named
    assert diagnostic.message == diagnostic.message.strip(), printed
    assert not diagnostic.message.endswith("."), printed
    assert diagnostic.message[0] == "`" or diagnostic.message[0].islower(), printed
    return Mark(number, column, len(carets[1]), diagnostic.code, f"{diagnostic.message} / {diagnostic.help}")


def check(text: str, folder: Path | None = None, name: str = "netlist") -> tuple[Diagnostic, ...]:
    """Check that exactly what is marked in a netlist is said; with a folder it is read from a file there."""
    text = dedent(text)
    if folder is None:
        reading = api.read_text(text, name)
    else:
        path = folder / "circuit.pneu"
        path.write_text(text, "utf-8")
        reading = api.read(path)
    said = [as_mark(diagnostic) for diagnostic in reading.diagnostics]
    wanted = marks(text)
    shown = "\n\n".join(render_text(diagnostic) for diagnostic in reading.diagnostics)
    assert [(m.line, m.column, m.width, m.code) for m in said] == [
        (m.line, m.column, m.width, m.code) for m in wanted
    ], shown
    for mark, message in zip(wanted, said, strict=True):
        assert mark.words in message.words, shown
    assert (reading.circuit is None) == bool(wanted), shown
    return reading.diagnostics


def built(text: str, name: str = "netlist") -> Circuit:
    """Return the circuit of a netlist without mistakes."""
    reading = api.read_text(dedent(text), name)
    assert reading.diagnostics == (), "\n\n".join(render_text(d) for d in reading.diagnostics)
    assert reading.circuit is not None
    return reading.circuit


def topology(circuit: Circuit) -> frozenset[frozenset[str]]:
    """Return which ports are joined, without order and tags of lines."""
    return frozenset(frozenset(end.name for end in line.ends) for line in circuit.lines)
