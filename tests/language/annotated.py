"""Cases as text: a netlist with every expected message under its culprit, marked by carets.

::

      comp => dry
    #      ^^ wrong-separator: `=>` does not join two ends
    #  = `->` joins in the direction of flow, `--` without a direction

The lines with carets (in column 1 the caret takes the place of the ``#``) and the help lines under them are
no part of the netlist. ``python -m tests.language.annotated FILE...`` writes them anew: read the difference
before keeping it.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from pneudraw.language.parser import parse
from pneudraw.source import Source

CASES = Path(__file__).parent / "cases"
_ADDED = re.compile(r"(#\s*|)\^+ [a-z-]+: |#  = ")


def without_marks(text: str) -> str:
    """Return the netlist of a case."""
    return "".join(line for line in text.splitlines(keepends=True) if not _ADDED.match(line))


def with_marks(netlist: str) -> str:
    """Return the netlist with every message that the parser gives under its place."""
    lines = netlist.splitlines(keepends=True)
    below: dict[int, list[str]] = {}
    for message in parse(Source("case", netlist))[1]:
        span = message.at.span
        column = span.column - 1
        lead = "".join("\t" if char == "\t" else " " for char in lines[span.line - 1][:column])
        carets = "^" * max(1, min(span.end, span.start + len(lines[span.line - 1]) - column) - span.start)
        added = below.setdefault(span.line, [])
        added.append(f"{'#' + lead[1:] if lead else ''}{carets} {message.code}: {message.message}\n")
        if message.help:
            added.append(f"#  = {message.help}\n")
    out: list[str] = []
    for number, line in enumerate(lines, start=1):
        out += [line, *below.get(number, ())]
    return "".join(out)


if __name__ == "__main__":
    for name in sys.argv[1:]:
        path = Path(name)
        path.write_text(with_marks(without_marks(path.read_text("utf-8"))), "utf-8")
