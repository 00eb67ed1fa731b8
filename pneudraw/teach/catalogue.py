"""The catalogue in words: what a kind is, its ports, parameters with their sources, inputs and faults."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from pneudraw.library.model import Input, Kind, Parameter

WIDTH = 92


def summary(kinds: Sequence[Kind]) -> str:
    """Return one line a kind."""
    wide = max((len(kind.name) for kind in kinds), default=0)
    rows = [f"{kind.name:{wide}}  {kind.summary}" for kind in kinds]
    return "\n".join(textwrap.fill(row, WIDTH, subsequent_indent=" " * (wide + 2)) for row in rows) + "\n"


def describe(kind: Kind) -> str:
    """Return all that a person may want to know of a kind, as text."""
    out = [f"{kind.title}  ({kind.name})", "", *_wrapped(kind.summary), ""]
    out += [*_wrapped(" ".join(kind.text.split())), ""]
    out += _table(
        "Ports",
        (
            (port.id, port.role.value, port.title + (", may stay closed" if port.optional else ""))
            for port in kind.ports
        ),
    )
    out += _table("Parameters", (_parameter(p) for p in kind.parameters))
    out += _table("The operator sets", ((i.name, _positions(i), i.text or i.title) for i in kind.inputs))
    out += _table("Faults that can be put in", ((f.name, "", f.title) for f in kind.faults))
    out += _wrapped(f"Symbol: {kind.standard}")
    return "\n".join(out) + "\n"


def _parameter(parameter: Parameter) -> tuple[str, str, str]:
    default = f"by {parameter.by}" if parameter.by else str(parameter.default)
    bounds = [
        f"from {parameter.least}" if parameter.least else "",
        f"to {parameter.most}" if parameter.most else "",
    ]
    if parameter.choices:
        bounds = [", ".join(f"{choice:g}" for choice in parameter.choices)]
    between = " ".join(word for word in bounds if word)
    extra = f" ({between})" if between else ""
    return parameter.name, default, f"{parameter.text}{extra}. Source: {parameter.source}"


def _positions(inp: Input) -> str:
    return ", ".join(inp.positions) if inp.positions else "0% to 100%"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH)


def _table(title: str, rows: Iterable[tuple[str, str, str]]) -> list[str]:
    cells = list(rows)
    if not cells:
        return []
    first = max(len(a) for a, _, _ in cells)
    second = max(len(b) for _, b, _ in cells)
    out = [title]
    for a, b, c in cells:
        lead = f"  {a:{first}}  " + (f"{b:{second}}  " if second else "")
        out += textwrap.wrap(lead + c, WIDTH, subsequent_indent=" " * len(lead), drop_whitespace=True)
    return [*out, ""]


def to_dict(kind: Kind) -> dict[str, Any]:
    """Return a kind as plain data."""
    return {
        "name": kind.name,
        "title": kind.title,
        "summary": kind.summary,
        "text": " ".join(kind.text.split()),
        "place": kind.place.value,
        "symbol": kind.standard,
        "ports": [
            {"id": p.id, "role": p.role.value, "title": p.title, "optional": p.optional} for p in kind.ports
        ],
        "parameters": [
            {
                "name": p.name,
                "default": str(p.default),
                "by": p.by,
                "least": str(p.least) if p.least else None,
                "most": str(p.most) if p.most else None,
                "choices": list(p.choices),
                "text": p.text,
                "source": p.source,
            }
            for p in kind.parameters
        ],
        "inputs": [
            {"name": i.name, "title": i.title, "positions": list(i.positions), "purpose": i.purpose}
            for i in kind.inputs
        ],
        "faults": [{"name": f.name, "title": f.title, "text": f.text} for f in kind.faults],
    }
