"""What-if as words: the matrix of failures, brakes and cylinders as text, plain data and a drawing."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.matrix import Cell, Column, Matrix
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.whatif import ENOUGH, REMAINS, Failure, Remains, WhatIf
from pneudraw.flow.whatif_work import Moves
from pneudraw.library.model import Place
from pneudraw.teach.naming import caption, listed
from pneudraw.teach.telling import WIDTH

_TRAILER = {
    "none": "",
    "answers": "answers the pedal",
    "brakes itself": "brakes itself",
    "by the knob": "only by its knob",
    "unprotected": "UNPROTECTED",
}
_MOVES = {"moves": "moves", "weak": "weak", "still": "-", "stays": "stays out", "partly": "partly"}
BRAKES = (
    "Ready to drive, engine stopped; a minute after the failure the pedal is pressed fully. Shown is each brake's"
    " service force in % of the sound vehicle's; S: its spring is on."
)
CYLINDERS = (
    "The supply stays on; a minute after the failure what works the cylinders is worked, half a minute later let go."
    " Shown is what each cylinder then does: moves, as it should; weak, so but with"
    " less than half its force; - not at all; stays out, it does not come back;"
    " partly, not to its ends; !, it moved before anybody worked it."
)
DOUBTFUL = "?: not certain, it comes out otherwise when computed ten times as finely."
MOST_TAGS = 3  # brakes named one by one


def about(found: WhatIf) -> tuple[str, ...]:
    """Return what was done, and how the cells are read."""
    out = [BRAKES] if found.sound.brakes or not found.sound.moves else []
    out += [CYLINDERS] if found.sound.moves else []
    return (*out, DOUBTFUL) if any(f.doubtful for f in every(found)) else tuple(out)


def every(found: WhatIf) -> tuple[Failure, ...]:
    """Return the sound vehicle, then the failures."""
    return (found.sound, *found.failures)


def what(circuit: Circuit, failure: Failure, ends: bool = False) -> str:
    """Name a failure: ``line feed1 broken``, ``prim lost (Primary reservoir)``; with the line's ``ends`` if wanted."""
    if failure.sort == Place.STORAGE.value:
        part = circuit.part(failure.target)
        named = part is not None and part.name
        return (
            f"{failure.target} lost ({part.name})" if part is not None and named else f"{failure.target} lost"
        )
    if failure.sort != "line":
        return failure.name
    line = next(line for line in circuit.lines if line.tag == failure.target)
    where = f" ({', '.join(end.name for end in line.ends)})" if ends else ""
    return f"line {failure.target} broken{where}"


def columns(found: WhatIf) -> tuple[tuple[str, str], ...]:
    """Return the columns: what stands above each, and what it is of (``brake``, ``cylinder`` or empty).

    The towing vehicle's brakes come before the trailer's.
    """
    heads = [(brake.part, "brake") for brake in _sorted(found.sound.brakes)]
    if heads:
        heads += [("all", "brake"), ("springs first", "")]
    heads += [(one.part, "cylinder") for one in found.sound.moves]
    heads.append(("warned", ""))
    return (*heads, ("trailer", "")) if found.sound.trailer != "none" else tuple(heads)


def _sorted(brakes: Iterable[Remains]) -> list[Remains]:
    return sorted(brakes, key=lambda brake: brake.trailer)


def cells(found: WhatIf, failure: Failure) -> tuple[Cell, ...]:
    """Return a failure's cells, one for each column; what is gone is shaded, what is dangerous black."""
    out = [_brake(brake, failure) for brake in _sorted(failure.brakes)]
    if out:
        out += [Cell(text=f"{failure.share * 100:.0f}", shade="gone" if failure.share <= REMAINS else "")]
        out += [Cell(text=_springs(found, failure.springs))]
    out += [_moves(one, failure) for one in failure.moves]
    out.append(Cell(text=("yes" if failure.warned else "no") + _doubt("warned", failure)))
    if found.sound.trailer != "none":
        bad = "bad" if failure.trailer == "unprotected" else ""
        out.append(Cell(text=_TRAILER[failure.trailer] + _doubt("trailer", failure), shade=bad))
    return tuple(out)


def _doubt(name: str, failure: Failure) -> str:
    return " ?" if name in failure.doubtful else ""


def _brake(brake: Remains, failure: Failure) -> Cell:
    gone = brake.share <= REMAINS
    text = "-" if gone else f"{brake.share * 100:.0f}"
    text += (" S" if brake.part in failure.springs_after else "") + _doubt(brake.part, failure)
    return Cell(text=text, shade="gone" if gone else "")


def _moves(one: Moves, failure: Failure) -> Cell:
    text = _MOVES[one.word] + (" !" if one.alone else "") + _doubt(one.part, failure)
    return Cell(text=text, shade="bad" if one.alone else "" if one.word == "moves" else "gone")


def _springs(found: WhatIf, tags: tuple[str, ...]) -> str:
    """``lr, rr``; ``all 6`` or ``6`` where they are many."""
    if len(tags) <= MOST_TAGS:
        return ", ".join(tags) or "-"
    all_springs = max(len(f.springs_after) for f in every(found))
    return f"{'all ' if len(tags) == all_springs else ''}{len(tags)}"


def tell_what_if(circuit: Circuit, found: WhatIf) -> str:
    """Return the matrix as text, and below it which failures leave no brake, or a cylinder still."""
    head = ["", *(head for head, _ in columns(found))]
    rows = [[what(circuit, f), *(cell.text for cell in cells(found, f))] for f in every(found)]
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]

    def put(row: list[str]) -> str:
        return "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()

    out = [f"{circuit.title or circuit.name}: what if", ""]
    out += [row for text in about(found) for row in textwrap.wrap(text, WIDTH)]
    out += ["", put(head), *map(put, rows), ""]
    out += [row for text in conclusions(circuit, found) for row in textwrap.wrap(text, WIDTH)]
    out += [f"{f.name}: not followed to its end: {f.message}" for f in every(found) if f.message]
    return "\n".join([*out, "", *CAUTIONS]) + "\n"


def conclusions(circuit: Circuit, found: WhatIf) -> tuple[str, ...]:
    """Return sentences: the worst failures, those that leave a trailer unprotected, those that nothing warns of."""

    def named(failures: Iterable[Failure]) -> str:
        return ", ".join(what(circuit, failure) for failure in failures)

    out: list[str] = []
    if found.sound.share and found.failures:
        worst = min(f.share for f in found.failures)
        least = named(f for f in found.failures if f.share <= worst + 0.005)
        out.append(f"Least service force after a single failure: {worst * 100:.0f} % ({least}).")
    elif not found.sound.moves:
        out.append("There is no service brake here that a failure could take.")
    for words, failures in _warnings(found):
        if failures:
            out.append(f"{words}: {named(failures)}.")
    if found.unmoved:
        tags = listed(found.unmoved)
        out.append(f"Not moved by what works the machine, alone or together, and so not shown: {tags}.")
    return tuple(out)


def _warnings(found: WhatIf) -> list[tuple[str, list[Failure]]]:
    failures = found.failures
    out: list[tuple[str, list[Failure]]] = []
    if found.sound.share:
        out += [
            ("No service brake remains after", [f for f in failures if not any(b.served for b in f.brakes)]),
            ("The trailer is left without any braking after", _with_trailer(found, "unprotected")),
            (
                "The trailer neither answers the pedal nor brakes itself, but pulling the trailer supply knob still"
                " applies its brakes, after",
                _with_trailer(found, "by the knob"),
            ),
            (
                "More than half of the service force is gone, and nothing warns, after",
                [f for f in failures if f.share < ENOUGH and not f.warned],
            ),
        ]
    out += [
        (f"{one.part} does not move any more after", [f for f in failures if f.moves[place].word == "still"])
        for place, one in enumerate(found.sound.moves)
    ]
    out += [
        (f"{one.part} moves before anybody works it after", [f for f in failures if f.moves[place].alone])
        for place, one in enumerate(found.sound.moves)
    ]
    return out


def _with_trailer(found: WhatIf, word: str) -> list[Failure]:
    return [failure for failure in found.failures if failure.trailer == word]


def what_if_dict(circuit: Circuit, found: WhatIf) -> dict[str, Any]:
    """Return it as plain data: N, kPa, shares of the sound vehicle's force, shares of a cylinder's stroke.

    ``doubtful``: brakes and cylinders, ``warned`` or ``trailer`` that come out otherwise at a tenth of the tolerance.
    """
    return {
        "circuit": circuit.title,
        "sound": _failure_dict(found.sound),
        "failures": [_failure_dict(f) for f in found.failures],
        "unmoved": list(found.unmoved),
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
        "cylinders": [
            {
                "part": m.part,
                "does": m.word,
                "moved_before": m.alone,
                "before": round(m.before, 3) + 0.0,
                "worked": round(m.worked, 3) + 0.0,
                "let_go": round(m.after, 3) + 0.0,
                "force_share": round(m.force, 3) + 0.0,
            }
            for m in failure.moves
        ],
        "reservoirs_kpa": {tag: round(p * 100, 1) + 0.0 for tag, p in failure.stores.items()},
        "warned": failure.warned,
        "trailer": failure.trailer,
        "message": failure.message,
        "doubtful": list(failure.doubtful),
    }


_GROUPS = {"brake": "Service force, %", "cylinder": "Cylinders", "": "Otherwise"}


def what_if_matrix(circuit: Circuit, found: WhatIf) -> Matrix:
    """Return the matrix to draw."""
    heads = []
    for head, of in columns(found):
        part = circuit.part(head) if of else None
        heads.append(Column(head if part is None else f"{head}  {caption(part)}", _GROUPS[of]))
    against = f"{len(found.sound.brakes)} brakes"
    if found.sound.moves:
        against = f"{len(found.sound.brakes)} brakes and {len(found.sound.moves)} cylinders"
    return Matrix(
        f"{circuit.name}-what-if",
        circuit.title or circuit.name,
        "What if: every line broken, every reservoir lost",
        f"Matrix of {len(found.failures)} failures against {against}.",
        tuple(what(circuit, f, ends=True) for f in every(found)),
        tuple(heads),
        tuple(cells(found, f) for f in every(found)),
        (),
        (*about(found), *conclusions(circuit, found)),
        CAUTIONS,
    )
