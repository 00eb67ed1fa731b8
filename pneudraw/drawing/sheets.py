"""The sheets of a circuit: as many as its arrangement has, each telling where its lines go on, then the lists."""

from __future__ import annotations

from dataclasses import replace

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.arrangement import Arrangement, arrange
from pneudraw.drawing.codes import codes
from pneudraw.drawing.flags import tints_here, told_of
from pneudraw.drawing.frame import field_at
from pneudraw.drawing.options import SheetOptions
from pneudraw.drawing.shapes import Point, Sheet
from pneudraw.drawing.sheet import Prepared, draw_view, finish, prepare
from pneudraw.drawing.tables import list_sheets
from pneudraw.drawing.tints import Tints
from pneudraw.drawing.view import HERE, Flag, Goal, View, flag_id


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
    flagged = any(view.flags for view in found.views)
    if options.paper == "bare" or (count == 1 and not flagged):
        sheets = [draw_view(view, options, tints and tints_here(tints, view)) for view in found.views]
        return _noted(sheets, found.messages)
    drawn = replace(options, paper=found.paper or options.paper)
    names = {part.tag for part in circuit.parts} | {line.tag for line in circuit.lines}
    loose = [n for n, step in enumerate(tints.steps) if not told_of(step, names)] if tints else []
    ready = [
        _prepared(
            view,
            replace(drawn, sheet=number, sheets=count),
            tints and tints_here(tints, view, loose if number == 1 else ()),
        )
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
    return (*_noted(sheets, found.messages), *numbered)


def _noted(sheets: list[Sheet], messages: tuple[str, ...]) -> tuple[Sheet, ...]:
    """The sheets, the first with what is to be said about all of them."""
    first, *others = sheets
    return (replace(first, messages=(*messages, *first.messages)), *others)


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
    """Where each of a sheet's lines goes on: ``"2/B3"``, on the sheet itself ``"B3"``, or more of them."""
    return {
        flag.id: " ".join(
            _reference(flag, goal, one if goal.sheet == HERE else all_sheets[goal.sheet - 1])
            for goal in flag.goals
        )
        for flag in one.view.flags
    }


def _reference(flag: Flag, goal: Goal, there: Prepared) -> str:
    place = _place(flag_id(flag.line, goal.band), there)
    paper = there.plan
    field = field_at(paper.paper, paper.width, paper.height, there.place(place)) if place else ""
    number = "" if goal.sheet == HERE else str(goal.sheet)
    return "/".join(filter(None, (number, field)))


def _place(flag: str, there: Prepared) -> Point | None:
    """The middle of the other end's flag, in the layout of its sheet."""
    return next(
        (
            (symbol.x + symbol.width / 2, symbol.y + symbol.height / 2)
            for symbol in there.view.layout.symbols
            if symbol.id == flag
        ),
        None,
    )
