"""The sheets of a circuit: as many as its arrangement has, each telling where its lines go on, then the lists."""

from __future__ import annotations

from dataclasses import replace

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.arrangement import Arrangement, arrange
from pneudraw.drawing.codes import codes
from pneudraw.drawing.flags import tints_here
from pneudraw.drawing.frame import field_at
from pneudraw.drawing.options import SheetOptions
from pneudraw.drawing.shapes import Point, Sheet
from pneudraw.drawing.sheet import Prepared, draw_view, finish, prepare
from pneudraw.drawing.tables import list_sheets
from pneudraw.drawing.tints import Tints
from pneudraw.drawing.view import Flag, View


def draw_sheets(
    circuit: Circuit,
    options: SheetOptions | None = None,
    tints: Tints | None = None,
    arrangement: Arrangement | None = None,
) -> tuple[Sheet, ...]:
    """Return all sheets of a circuit, numbered. An ``arrangement`` made before with the same options is taken as it
    is: so every state is drawn on the same sheets, nothing moved.
    """
    options = options or SheetOptions()
    found = arrangement or arrange(circuit, options)
    lists = list_sheets(circuit, options, codes(circuit) if options.codes else {})
    count = len(found.views) + len(lists)
    if count == 1 or options.paper == "bare":
        return tuple(draw_view(view, options, tints and tints_here(tints, view)) for view in found.views)
    ready = [
        _prepared(view, replace(options, sheet=number, sheets=count), tints and tints_here(tints, view))
        for number, view in enumerate(found.views, start=1)
    ]
    module = min(one.plan.module for one in ready)  # symbols are of one size in the whole set
    ready = [replace(one, plan=replace(one.plan, module=module)) for one in ready]
    sheets = [finish(one, _references(one, ready)) for one in ready]
    numbered = list_sheets(
        circuit,
        replace(options, sheet=len(ready) + 1, sheets=count),
        codes(circuit) if options.codes else {},
    )
    return (*sheets, *numbered)


def _prepared(view: View, options: SheetOptions, tints: Tints | None) -> Prepared:
    """The sheet on the paper asked for; where a long story would ask for a larger one, its end is left out."""
    full = ready = prepare(view, options, tints)
    while not _as_asked(ready) and tints is not None and tints.steps:
        tints = replace(tints, steps=tints.steps[:-1], numbers=tints.numbers[:-1])
        ready = prepare(view, options, tints)
    if ready is full or not _as_asked(ready) or full.tints is None or tints is None:
        return full
    gone = full.tints.numbers[len(tints.steps) :]
    words = f"steps {gone[0]} to {gone[-1]} are" if len(gone) > 1 else f"step {gone[0]} is"
    return replace(ready, messages=(f"no room on sheet {options.sheet}: {words} left out",))


def _as_asked(ready: Prepared) -> bool:
    return ready.options.paper in ("auto", ready.plan.paper) and not ready.plan.messages


def _references(one: Prepared, all_sheets: list[Prepared]) -> dict[str, str]:
    """Where each of a sheet's lines goes on: ``"2/B3"``, or more of them."""
    return {
        flag.id: " ".join(_reference(flag, number, all_sheets[number - 1]) for number in flag.sheets)
        for flag in one.view.flags
    }


def _reference(flag: Flag, number: int, there: Prepared) -> str:
    place = _place(flag, there)
    paper = there.plan
    field = field_at(paper.paper, paper.width, paper.height, there.place(place)) if place else ""
    return f"{number}/{field}" if field else str(number)


def _place(flag: Flag, there: Prepared) -> Point | None:
    """The middle of the other end's flag, in the layout of its sheet."""
    return next(
        (
            (symbol.x + symbol.width / 2, symbol.y + symbol.height / 2)
            for symbol in there.view.layout.symbols
            if symbol.id == flag.id
        ),
        None,
    )
