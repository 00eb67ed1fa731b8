"""Out of the way of a smaller drawing: labels that take another side of their symbol, or no room of their own at all if
there is some to be found among the lines; and straight rows that make a drawing high."""

from __future__ import annotations

from pneudraw.layout.check import check
from pneudraw.layout.frame import Frame
from pneudraw.layout.heights import stiff
from pneudraw.layout.improve import carry_over, heights_from
from pneudraw.layout.labels import place_labels
from pneudraw.layout.model import Model
from pneudraw.layout.places import draw
from pneudraw.layout.plan import Plan, large, make_plan

GAIN = 0.2
"""Least gain (in the unit of a plan's cost) that a label is moved for."""
ROUNDS = 12


def again(model: Model, old: Plan) -> Plan:
    """The same arrangement with the room for labels as it is now."""
    heights_from(old)
    frame = Frame(model, old.frame.col, old.frame.turns())
    carry_over(old.frame, frame)
    return make_plan(frame)


def _homeless(plan: Plan) -> int:
    """Labels without a place, and faults."""
    drawn = draw(plan)
    faults, webs, _ = check(drawn, plan.frame.model)
    return len(faults) + len(place_labels(drawn, plan.frame.model, webs, 1.0)[1])


def tuned(plan: Plan, tries: int) -> Plan:
    """The plan with labels moved or left to find a place themselves and rows let go, as long as that makes it smaller.

    Rows inside groups that repeat stay, so that these keep looking alike. At most ``tries`` are moved for a trial; none
    if there is no page to fit.
    """
    model = plan.frame.model
    if model.problem.page is None or not tries:
        return plan
    best, homeless = plan, _homeless(plan)
    tried: set[tuple[int, str]] = set()
    kept = {net for group in plan.repeats for pair in group.lines for net in pair}
    for _ in range(ROUNDS):
        better = False
        for s in large(best):
            form = best.frame.form[best.frame.group[s]]
            for spot in form.spots:
                for way in (spot.side, "loose"):
                    if (spot.symbol, way) in tried or len(tried) >= tries:
                        continue
                    tried.add((spot.symbol, way))
                    avoided = model.avoid.get(spot.symbol, frozenset())
                    model.ask(spot.symbol, frozenset("NESW") if way == "loose" else avoided | {way})
                    new = again(model, best)
                    if new.cost < best.cost - GAIN and (count := _homeless(new)) <= homeless:
                        best, homeless, better = new, count, True
                        break
                    model.ask(spot.symbol, avoided)
        for net in stiff(best.frame, best.rows):
            if net in kept or (net, "bent") in tried or len(tried) >= 2 * tries:
                continue
            tried.add((net, "bent"))
            model.bent.add(net)
            new = again(model, best)
            if new.cost < best.cost - GAIN and (count := _homeless(new)) <= homeless:
                best, homeless, better = new, count, True
                break
            model.bent.discard(net)
        if not better:
            break
    return best
