"""What-if as words: the matrix of failures and brakes as text, plain data, a drawing and a page."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.matrix import Cell, Column, Matrix
from pneudraw.flow.whatif import ENOUGH, REMAINS, Failure, Remains, WhatIf
from pneudraw.library.model import Place
from pneudraw.teach.cautions import SHORT
from pneudraw.teach.naming import caption
from pneudraw.teach.symptoms import force_text
from pneudraw.teach.telling import pressure_text

_TRAILER = {
    "none": "",
    "answers": "answers the pedal",
    "brakes itself": "brakes itself",
    "by the knob": "only by its knob",
    "unprotected": "UNPROTECTED",
}
ABOUT = (
    "Ready to drive, engine stopped; a minute after the failure the pedal is pressed fully. Shown is each brake's"
    " service force in % of the sound vehicle's; S: its spring is on."
)


def _cell(brake: Remains, failure: Failure) -> str:
    service = "-" if brake.share <= REMAINS else f"{brake.share * 100:.0f}"
    return service + (" S" if brake.part in failure.springs_after else "")


def _what(circuit: Circuit, failure: Failure) -> str:
    if failure.sort == Place.STORAGE.value:
        part = circuit.part(failure.target)
        return (
            f"{failure.target} lost"
            if part is None or not part.name
            else f"{failure.target} lost ({caption(part)})"
        )
    return f"line {failure.target} broken" if failure.sort == "line" else failure.name


def _columns(circuit: Circuit, found: WhatIf) -> list[str]:
    heads = [brake.part for brake in found.sound.brakes] + ["all", "springs first", "warned"]
    return [*heads, "trailer"] if found.sound.trailer != "none" else heads


def _cells(circuit: Circuit, found: WhatIf, failure: Failure) -> list[str]:
    cells = [_cell(brake, failure) for brake in failure.brakes]
    cells.append(f"{failure.share * 100:.0f}")
    cells.append(", ".join(failure.springs) or "-")
    cells.append("yes" if failure.warned else "no")
    if found.sound.trailer != "none":
        cells.append(_TRAILER[failure.trailer])
    return cells


def tell_what_if(circuit: Circuit, found: WhatIf) -> str:
    """Return the matrix as text, and below it which failures leave no service brake or an unprotected trailer."""
    head = ["", *_columns(circuit, found)]
    every = (found.sound, *found.failures)
    rows = [[_what(circuit, f), *_cells(circuit, found, f)] for f in every]
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]

    def put(row: list[str]) -> str:
        return "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()

    out = [f"{circuit.title or circuit.name}: what if", "", *_wrap(ABOUT), "", put(head), *map(put, rows), ""]
    out += [row for text in conclusions(circuit, found) for row in _wrap(text)]
    out += [f"{f.name}: not followed to its end: {f.message}" for f in every if f.message]
    return "\n".join([*out, "", *SHORT]) + "\n"


def _wrap(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, 96)


def conclusions(circuit: Circuit, found: WhatIf) -> tuple[str, ...]:
    """Return sentences: the worst failures, those that leave a trailer unprotected, those that nothing warns of."""
    if not found.sound.share or not found.failures:
        return ("There is no service brake here that a failure could take.",)

    def named(failures: Iterable[Failure]) -> str:
        return ", ".join(_what(circuit, failure) for failure in failures)

    worst = min(f.share for f in found.failures)
    out = [
        f"Least service force after a single failure: {worst * 100:.0f} %"
        f" ({named(f for f in found.failures if f.share <= worst + 0.005)})."
    ]
    for words, failures in (
        (
            "No service brake remains after",
            [f for f in found.failures if not any(b.served for b in f.brakes)],
        ),
        ("The trailer is left without any braking after", _with_trailer(found, "unprotected")),
        (
            "The trailer neither answers the pedal nor brakes itself, but pulling the trailer supply knob still"
            " applies its brakes, after",
            _with_trailer(found, "by the knob"),
        ),
        (
            "More than half of the service force is gone, and nothing warns, after",
            [f for f in found.failures if f.share < ENOUGH and not f.warned],
        ),
    ):
        if failures:
            out.append(f"{words}: {named(failures)}.")
    return tuple(out)


def _with_trailer(found: WhatIf, word: str) -> list[Failure]:
    return [failure for failure in found.failures if failure.trailer == word]


def what_if_dict(circuit: Circuit, found: WhatIf) -> dict[str, Any]:
    """Return it as plain data: N, kPa, shares of the sound vehicle's force."""
    return {
        "circuit": circuit.title,
        "sound": _failure_dict(found.sound),
        "failures": [_failure_dict(f) for f in found.failures],
    }


def _failure_dict(failure: Failure) -> dict[str, Any]:
    return {
        "name": failure.name,
        "target": failure.target,
        "sort": failure.sort,
        "service_share": round(failure.share, 3),
        "brakes": [
            {
                "part": b.part,
                "service_n": round(b.service),
                "service_share": round(b.share, 3),
                "spring_before_n": round(b.spring_before),
                "spring_n": round(b.spring),
                "on_trailer": b.trailer,
            }
            for b in failure.brakes
        ],
        "springs_before_pedal": list(failure.springs),
        "springs_at_end": list(failure.springs_after),
        "reservoirs_kpa": {tag: round(p * 100, 1) + 0.0 for tag, p in failure.stores.items()},
        "warned": failure.warned,
        "trailer": failure.trailer,
        "message": failure.message,
    }


def what_if_matrix(circuit: Circuit, found: WhatIf) -> Matrix:
    """Return the matrix to draw."""
    every = (found.sound, *found.failures)
    brakes = [b.part for b in found.sound.brakes]
    columns = []
    for head in _columns(circuit, found):
        part = circuit.part(head) if head in brakes else None
        name = head if part is None else f"{head}  {caption(part)}"
        columns.append(Column(name, "Service force, %" if head in brakes or head == "all" else "Otherwise"))
    return Matrix(
        f"{circuit.name}-what-if",
        circuit.title or circuit.name,
        "What if: every line broken, every reservoir lost",
        f"Matrix of {len(found.failures)} failures against {len(brakes)} brakes.",
        tuple(_what(circuit, f) for f in every),
        tuple(columns),
        tuple(tuple(Cell(text=text) for text in _cells(circuit, found, f)) for f in every),
        (),
        (ABOUT, *conclusions(circuit, found), *SHORT),
    )


_STYLE = """
body { font-family: sans-serif; margin: 2em; color: #000; background: #fff; }
table { border-collapse: collapse; } caption { text-align: left; margin-bottom: 0.6em; }
th, td { border: 1px solid #999; padding: 0.2em 0.5em; text-align: center; }
th[scope=row] { text-align: left; font-weight: normal; white-space: nowrap; }
td.gone { background: #ddd; font-weight: bold; } td.bad { background: #000; color: #fff; font-weight: bold; }
thead th { position: sticky; top: 0; background: #fff; }
@media print { thead th { position: static; } body { margin: 0; } }
"""


def what_if_page(circuit: Circuit, found: WhatIf) -> str:
    """Return a page that needs nothing else: no script, no picture, everything of the netlist escaped."""
    title = escape(circuit.title or circuit.name)
    heads = []
    for head in _columns(circuit, found):
        part = circuit.part(head)
        words = (
            head
            if part is None
            else f"{head} {caption(part)}, {force_text(_full(found, head), circuit.unit)}"
        )
        heads.append(f'<th scope="col">{escape(words)}</th>')
    body = []
    for failure in (found.sound, *found.failures):
        cells = "".join(_td(text) for text in _cells(circuit, found, failure))
        stores = "; ".join(f"{tag} {pressure_text(p, circuit.unit)}" for tag, p in failure.stores.items())
        row = f'<th scope="row" title="{escape(stores)}">{escape(_what(circuit, failure))}</th>'
        body.append(f"<tr>{row}{cells}</tr>")
    notes = "".join(f"<p>{escape(text)}</p>" for text in (*conclusions(circuit, found), *SHORT))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{title}: what if</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>{title}: what if</h1>\n<table>\n<caption>{escape(ABOUT)}</caption>\n"
        f"<thead><tr><td></td>{''.join(heads)}</tr></thead>\n<tbody>\n"
        + "\n".join(body)
        + "\n</tbody>\n</table>\n"
        f"{notes}\n</body>\n</html>\n"
    )


def _full(found: WhatIf, tag: str) -> float:
    return next((b.service for b in found.sound.brakes if b.part == tag), 0.0)


def _td(text: str) -> str:
    name = (
        "bad" if text == _TRAILER["unprotected"] else "gone" if text.startswith("-") and text != "-" else ""
    )
    name = name or ("gone" if text == "-" else "")
    return f'<td class="{name}">{escape(text)}</td>' if name else f"<td>{escape(text)}</td>"
