"""The table of faults against observations: as text, plain data, comma-separated values, and as a matrix to draw."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.matrix import Cell, Column, Matrix
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.diagnosis import Key, Row, Table, alike
from pneudraw.flow.strokes import POSITION, SPEED
from pneudraw.flow.symptoms import AIR, NEEDLE, Observation
from pneudraw.teach.naming import subject
from pneudraw.teach.symptoms import observation_dict

_SIGNS = {
    (AIR, "steady"): "disc",
    (AIR, "long"): "ring",
    (AIR, "puff"): "dot",
    (AIR, "faint"): "bar",
    (AIR, "quiet"): "cross",
    (NEEDLE, "falls"): "down",
    (NEEDLE, "falls fast"): "DOWN",
    (NEEDLE, "stays up"): "up",
    ("brake", "off"): "square",
    ("brake", "weak"): "half",
    ("brake", "on"): "SQUARE",
    (POSITION, "in"): "left",
    (POSITION, "out"): "right",
    (POSITION, "between"): "both",
}
_LETTERS = {
    "drops more": "d",
    "drops less": "u",
    "slow": "s",
    "never": "n",
    "over": "o",
    "late": "l",
    "fast": "f",
    "low": "<",
    "high": ">",
}


def short(o: Observation) -> str:
    """Say an observation in a few characters: ``air relay.3 steady``, ``prim falls``."""
    if o.what in (NEEDLE, POSITION, SPEED):
        return f"{o.place} {o.word}"
    return f"{o.what} {o.place} {o.word}"


def told(circuit: Circuit, row: Row) -> tuple[Observation, ...]:
    """Leave the needles out that only repeat their reservoir."""
    stores = {(o.letter, o.word) for o in row.wrong if o.what == NEEDLE and circuit.part(o.place) is not None}
    return tuple(
        o
        for o in row.wrong
        if o.what != NEEDLE or circuit.part(o.place) is not None or (o.letter, o.word) not in stores
    )


def tell_table(circuit: Circuit, found: Table) -> str:
    """Return the table as text: each fault, or group of faults that look the same, with what is otherwise."""
    letters = ", ".join(c.letter for c in found.conditions)
    out = [
        f"{circuit.title or circuit.name}: faults and what is otherwise than on the sound {subject(circuit)}",
        "",
    ]
    wide = max((len(c.letter) for c in found.conditions), default=0)
    out += [f"{c.letter:{max(6, wide)}} {c.text}" for c in found.conditions]
    out.append("")
    groups = alike(found)
    hidden = [row for group in groups for row in group if not row.wrong]
    for group in groups:
        if not group[0].wrong:
            continue
        out += [f"{row.fault.name}  {row.fault.title}" for row in group]
        if len(group) > 1:
            out.append("   these cannot be told apart by any of the observations")
        for condition in found.conditions:
            words = [short(o) for o in told(circuit, group[0]) if o.letter == condition.letter]
            if words:
                out.append(f"   {condition.letter:{max(5, wide)}} {'; '.join(words)}")
        out.append("")
    if hidden:
        out.append(f"These show in nothing that was looked at ({letters}):")
        out += [f"   {row.fault.name}  {row.fault.title}" for row in hidden]
        out.append("")
    same = [group for group in groups if len(group) > 1 and group[0].wrong]
    if same:
        out.append("Cannot be told apart:")
        out += [f"   {', '.join(row.fault.name for row in group)}" for group in same]
        out.append("")
    doubtful = [(row, o) for row in found.rows for o in row.doubtful]
    if doubtful:
        out.append("Not certain: these come out otherwise when computed ten times as finely")
        out += [f"   {row.fault.name}: {o.letter} {short(o)}" for row, o in doubtful]
        out.append("")
    out += [f"{row.fault.name}: not followed to its end: {m}" for row in found.rows for m in row.messages]
    return "\n".join([*out, *CAUTIONS]) + "\n"


def table_dict(circuit: Circuit, found: Table) -> dict[str, Any]:
    """Return the table as plain data; only what is otherwise than on the sound vehicle is listed."""
    return {
        "circuit": circuit.title,
        "conditions": [{"condition": c.letter, "title": c.title, "text": c.text} for c in found.conditions],
        "faults": [
            {
                "name": row.fault.name,
                "title": row.fault.title,
                "wrong": [observation_dict(o) for o in row.wrong],
                "messages": list(row.messages),
                "doubtful": [observation_dict(o) for o in row.doubtful],
            }
            for row in found.rows
        ],
        "alike": [[row.fault.name for row in group] for group in alike(found) if len(group) > 1],
    }


def key_name(key: Key) -> str:
    """Name an observation as a column: ``R air relay.3``."""
    return " ".join(key)


def table_csv(found: Table) -> str:
    """Return the table as comma-separated values: a row a fault, a column an observation, words in the cells."""
    keys = list(found.normal)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["fault", "title", *(key_name(key) for key in keys)])
    writer.writerow(["(sound)", "", *(found.normal[key] for key in keys)])
    for row in found.rows:
        own = {o.key: o.word for o in row.wrong}
        writer.writerow([row.fault.name, row.fault.title, *(own.get(key, found.normal[key]) for key in keys)])
    return out.getvalue()


def table_matrix(circuit: Circuit, found: Table) -> Matrix:
    """Return the table as a matrix: a row for each group of faults that look the same, only columns that tell."""
    groups = [group for group in alike(found) if group[0].wrong]
    shown = {_merged(o) for group in groups for o in told(circuit, group[0])}
    merged = dict.fromkeys(_merged(Observation(*key, "", "")) for key in found.normal)
    keys = [key for key in merged if key in shown]
    cells = []
    used: dict[tuple[str, str], None] = {}
    for group in groups:
        own = {_merged(o): o for o in group[0].wrong}
        cells.append(tuple(_cell(own.get(key)) for key in keys))
        used |= {(_sort(own[key].what), own[key].word): None for key in keys if key in own}
    titles = {c.letter: c.title for c in found.conditions}
    quiet = [row.fault.name for row in found.rows if not row.wrong]
    notes = []
    if quiet:
        notes.append(f"In no observation shown: {', '.join(quiet)}.")
    unsure = [row.fault.name for row in found.rows if row.doubtful]
    if unsure:
        notes.append(f"Not certain, some of it comes out otherwise ten times as finely: {', '.join(unsure)}.")
    notes += [f"{c.letter}: {c.text}" for c in found.conditions]
    return Matrix(
        f"{circuit.name}-faults",
        circuit.title or circuit.name,
        f"Faults, and what is otherwise than on the sound {subject(circuit)}",
        f"Matrix of {len(groups)} faults or groups of faults that look alike against {len(keys)} observations.",
        tuple(_names(group) for group in groups),
        tuple(
            Column(f"{_WHATS.get(key[1], key[1])} {key[2]}".strip(), key[0], titles[key[0]]) for key in keys
        ),
        tuple(cells),
        tuple(_legend(used)),
        tuple(notes),
        CAUTIONS,
    )


def _merged(o: Observation) -> Key:
    """Holes of lines and of chambers share a column: each belongs to one fault or two."""
    hole = o.what == AIR and ("/" in o.place or ":" in o.place)
    return (o.letter, AIR, "at the hole") if hole else o.key


_WHATS = {NEEDLE: "", POSITION: "", "stop-lamp": "lamp"}


def _names(group: tuple[Row, ...]) -> str:
    first = group[0].fault.name
    return first if len(group) == 1 else f"{first} and {len(group) - 1} alike"


def _sort(what: str) -> str:
    return "brake" if what in ("service", "spring") else what


def _cell(o: Observation | None) -> Cell:
    if o is None:
        return Cell()
    sign = _SIGNS.get((_sort(o.what), o.word), "")
    return Cell(sign, "" if sign else _LETTERS.get(o.word, o.word), short(o))


def _legend(used: dict[tuple[str, str], None]) -> Iterator[tuple[Cell, str]]:
    for what, word in sorted(used):
        name = {NEEDLE: "needle", POSITION: "cylinder", SPEED: "cylinder", "stop-lamp": "stop lamp"}.get(
            what, what
        )
        yield _cell(Observation("", "service" if what == "brake" else what, "", word, "")), f"{name} {word}"
