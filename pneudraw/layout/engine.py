"""The engine from end to end: many arrangements tried, the best one drawn, checked, mended, labelled.

If a label finds no place or a fault cannot be mended, all is done again with more room; the last attempt stacks the
columns so that no two lines can clash.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pneudraw.layout.alike import in_list_order
from pneudraw.layout.chance import Chance
from pneudraw.layout.check import Fault, check
from pneudraw.layout.columns import Flow, assign
from pneudraw.layout.components import components, pack
from pneudraw.layout.frame import Frame
from pneudraw.layout.improve import improved
from pneudraw.layout.labels import Box, place_labels
from pneudraw.layout.lines import Web, polylines
from pneudraw.layout.model import Model, prepare
from pneudraw.layout.order import arrange
from pneudraw.layout.places import Drawn, bounds, draw
from pneudraw.layout.plan import Plan, count, make_plan
from pneudraw.layout.problem import Problem
from pneudraw.layout.repair import mend
from pneudraw.layout.result import Layout, PlacedLabel, PlacedPort, PlacedSymbol, Route
from pneudraw.layout.search import local_search
from pneudraw.layout.straight import make_rows
from pneudraw.layout.tuning import again, tuned

ATTEMPTS = 6
"""How often a layout is done again with more room before the safe one is taken."""

TURNS = 2
"""How often in a run changes of the arrangement and of the labels' places take turns."""


@dataclass(frozen=True)
class Finished:
    """One attempt: the drawing, its lines, labels by symbol, symbols without a place for theirs, and faults."""

    model: Model
    drawn: Drawn
    webs: list[Web]
    labels: list[tuple[int, Box, str]]
    unlabelled: list[int]
    faults: list[Fault]


@dataclass(frozen=True)
class Effort:
    """How much is tried: starts, changes after the best start, other places for labels, runs of both, rounds of local
    search, and whether groups are carried past several others in it."""

    starts: int
    tries: int
    labels: int = 0
    runs: int = 1
    rounds: int = 6
    carry: bool = True


def effort(groups: int) -> Effort:
    """What may be tried with so many groups (symbols and lines passing by) in the whole drawing.

    Fixed numbers, so that a layout does not depend on how fast the machine is. A try costs time in proportion to
    the groups, so small drawings are given many; far more groups than symbols mean a tangle not worth much.
    """
    if groups > 2500:
        return Effort(1, 0, 0, 1, 1, False)
    tries = min(90, max(10, 4000 // max(groups, 1) + max(0, min(20, (700 - groups) // 20))))
    return Effort(
        3 if groups <= 400 else 1, tries, min(80, 6000 // max(groups, 1)), 2 if groups <= 150 else 1
    )


def _search(model: Model, total: int) -> Plan:
    """The best plan of a few starts and many tries; ``total`` symbols are to be laid out in all."""
    flow = Flow(model, model.base)
    col = assign(model, flow)
    frame = Frame(model, col, model.base)
    allowed = effort(total + len(frame.sym) - len(model.shapes))
    best: Plan | None = None
    for start in range(allowed.starts):
        frame = Frame(model, col, model.base) if start else frame
        arrange(frame, Chance(start) if start else None)
        local_search(frame, allowed.rounds, carry=allowed.carry)
        plan = make_plan(frame)
        if best is None or plan.cost < best.cost:
            best = plan
    assert best is not None
    if model.problem.page is None:
        best = improved(best, flow, allowed.tries, Chance(7))
    else:
        best = _fitted(best, flow, allowed)
    in_list_order(best)
    return best


def _fitted(start: Plan, flow: Flow, allowed: Effort) -> Plan:
    """The best of several runs, in each of which changes of the arrangement and of the labels' places take turns."""
    best: Plan | None = None
    for run in range(allowed.runs):
        start.frame.model.forget()
        plan = again(start.frame.model, start) if run else start
        for turn in range(TURNS):
            plan = improved(plan, flow, allowed.tries * 4 // 9, Chance(10 * run + turn + 17))
            plan = tuned(plan, allowed.labels // 3)
        kept = start.frame.model.found()
        if best is None or plan.cost < best.cost:
            best, found = plan, kept
    assert best is not None
    start.frame.model.recall(found)
    return best


def safe_plan(model: Model) -> Plan:
    """A plan that cannot clash: odd columns stand below all even ones, so no row meets one from beside it."""
    frame = Frame(model, assign(model, Flow(model, model.base)), model.base)
    arrange(frame, None)
    rows = make_rows(frame)
    band = (
        max(rows.y, default=0)
        - min(rows.y, default=0)
        + max((sp.height for sp in model.problem.symbols), default=0)
    )
    for g in range(len(frame.sym)):
        if frame.column[g] % 2:
            for i in range(len(frame.form[g].parts)):
                rows.y[rows.first[g] + i] += 2 * band + 10
    return count(frame, rows)


def _refit(model: Model, old: Plan, homeless: set[int]) -> Plan:
    """The same arrangement with the room another model asks for (its leaves must be bound as before).

    What was found out about labels and rows stays, but for labels without a place, which get room of their own.
    """
    before = old.frame.model
    model.avoid = {s: sides for s, sides in before.avoid.items() if s not in homeless}
    model.bent = set(before.bent)
    plan = again(model, old)
    in_list_order(plan)
    return plan


def _finished(model: Model, plan: Plan) -> Finished:
    drawn = draw(plan)
    faults, webs, _ = check(drawn, model)
    if faults:
        faults, webs = mend(drawn, model, faults, webs)
    labels, unlabelled = place_labels(drawn, model, webs)
    return Finished(model, drawn, webs, labels, unlabelled, faults)


def lay_out_flat(problem: Problem, others: int = 0) -> Layout:
    """A layout without blocks. ``others``: symbols of the drawing that are laid out apart from these."""
    if not problem.symbols:
        return Layout((), (), tuple(Route(net.id, ()) for net in problem.nets), (), (), 0, 0)
    parts = components(problem)
    done = [lay_out_one(part, len(problem.symbols) + others) for part in parts]
    return done[0] if len(done) == 1 else pack(problem, done)


def lay_out_one(problem: Problem, total: int) -> Layout:
    """One connected circuit, out of a drawing with ``total`` symbols."""
    wide: set[int] = set()
    free: set[int] = set()
    best: Finished | None = None
    plan: Plan | None = None
    for attempt in range(ATTEMPTS + 1):
        extra = max(0, attempt - 3)
        model = prepare(problem, problem.spacing.wider(extra) if extra else problem.spacing, wide, free)
        if attempt == ATTEMPTS:
            plan = safe_plan(model)
        elif plan is None:
            plan = _search(model, total)
        else:
            plan = _refit(model, plan, wide)
        done = _finished(model, plan)
        if best is None or _rank(done) < _rank(best):
            best = done
        if not done.faults and not done.unlabelled:
            break
        stuck = {s for s in done.unlabelled if s in wide and s in model.host}
        if stuck - free:
            free |= stuck
            plan = None
        wide |= set(done.unlabelled)
    assert best is not None
    return finish(best)


def _rank(done: Finished) -> tuple[int, int]:
    return len(done.faults), len(done.unlabelled)


def finish(done: Finished) -> Layout:
    """The answer in names, moved so that the drawing begins at 0, 0."""
    problem, model, drawn, webs = done.model.problem, done.model, done.drawn, done.webs
    (x0, y0), (x1, y1) = bounds(drawn)
    for _, (a, b, c, d), _ in done.labels:
        x0, y0 = min(x0, math.floor(a)), min(y0, math.floor(b))
        x1, y1 = max(x1, math.ceil(c)), max(y1, math.ceil(d))
    words = [
        *model.faults,
        *(f.text for f in done.faults),
        *(f"the label of {problem.symbols[s].id} has no free place" for s in done.unlabelled),
    ]
    return Layout(
        tuple(
            PlacedSymbol(spec.id, x - x0, y - y0, w, h, model.shapes[s][drawn.turn[s]].transform)
            for s, (spec, (x, y, w, h)) in enumerate(zip(problem.symbols, drawn.boxes, strict=True))
        ),
        tuple(
            PlacedPort(spec.id, port.id, x - x0, y - y0, side)
            for spec, listed in zip(problem.symbols, drawn.ports, strict=True)
            for port, (x, y, side) in zip(spec.ports, listed, strict=True)
        ),
        tuple(
            Route(net.id, tuple(tuple((x - x0, y - y0) for x, y in line) for line in polylines(w)))
            for net, w in zip(problem.nets, webs, strict=True)
        ),
        tuple(
            (net.id, (x - x0, y - y0)) for net, w in zip(problem.nets, webs, strict=True) for x, y in w.tees()
        ),
        tuple(
            PlacedLabel(
                problem.symbols[s].id,
                round(a - x0, 3),
                round(b - y0, 3),
                round(c - a, 6),
                round(d - b, 6),
                anchor,
            )
            for s, (a, b, c, d), anchor in done.labels
        ),
        x1 - x0,
        y1 - y0,
        tuple(words),
        check(drawn, model)[2],
        sum(len(w.corners()) for w in webs),
    )
