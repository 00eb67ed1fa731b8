"""What-if as a page: no script, no picture, everything of the netlist escaped."""

from __future__ import annotations

from html import escape

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.matrix import Cell
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.whatif import Failure, WhatIf
from pneudraw.teach.naming import caption
from pneudraw.teach.symptoms import force_text
from pneudraw.teach.telling import pressure_text
from pneudraw.teach.what_if import about, cells, columns, conclusions, every, what

_STYLE = """
@page { size: landscape; margin: 12mm; }
body { font-family: sans-serif; margin: 2em; color: #000; background: #fff; }
p { max-width: 60em; } table { border-collapse: collapse; }
th, td { border: 1px solid #767676; padding: 0.2em 0.5em; text-align: center; white-space: nowrap; }
thead th { position: sticky; top: 0; background: #fff; vertical-align: bottom; }
thead th { font-weight: normal; white-space: normal; }
thead th span { display: block; font-weight: bold; }
th[scope=row] { text-align: left; font-weight: normal; white-space: normal; min-width: 18em; max-width: 30em; }
th[scope=row] small { color: #444; }
tbody tr:first-child > * { border-bottom: 3px solid #000; }
td.gone { background: #d9d9d9; font-weight: bold; } td.bad { background: #000; color: #fff; font-weight: bold; }
@media print {
  body { margin: 0; font-size: 9pt; } thead th { position: static; } tr { break-inside: avoid; }
  td.gone, td.bad { print-color-adjust: exact; }
}
"""


def what_if_page(circuit: Circuit, found: WhatIf) -> str:
    """Return a page that needs nothing else. Resting on a row's name shows the pressures left in the reservoirs."""
    title = escape(circuit.title or circuit.name)
    heads = "".join(_head(circuit, found, head, of) for head, of in columns(found))
    body = "\n".join(_row(circuit, found, failure) for failure in every(found))
    words = "".join(f"<p>{escape(text)}</p>" for text in (*conclusions(circuit, found), *CAUTIONS))
    first = "".join(f"<p>{escape(text)}</p>" for text in about(found))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width">\n'
        f"<title>{title}: what if</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>{title}: what if</h1>\n{first}\n<table>\n"
        f"<thead><tr><td></td>{heads}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>\n"
        f"{words}\n</body>\n</html>\n"
    )


def _head(circuit: Circuit, found: WhatIf, head: str, of: str) -> str:
    part = circuit.part(head) if of else None
    if part is None:
        return f'<th scope="col"><span>{escape(head)}</span></th>'
    force = next((b.service for b in found.sound.brakes if b.part == head), None)
    more = caption(part) if force is None else f"{caption(part)}, {force_text(force, circuit.unit)}"
    return f'<th scope="col"><span>{escape(head)}</span>{escape(more)}</th>'


def _row(circuit: Circuit, found: WhatIf, failure: Failure) -> str:
    stores = "; ".join(f"{tag} {pressure_text(p, circuit.unit)}" for tag, p in failure.stores.items())
    short, long = what(circuit, failure), what(circuit, failure, ends=True)
    more = f"<small>{escape(long.removeprefix(short))}</small>" if long != short else ""
    name = f'<th scope="row" title="{escape(stores)}">{escape(short)}{more}</th>'
    return f"<tr>{name}{''.join(_td(cell) for cell in cells(found, failure))}</tr>"


def _td(cell: Cell) -> str:
    shade = f' class="{cell.shade}"' if cell.shade else ""
    return f"<td{shade}>{escape(cell.text)}</td>"
