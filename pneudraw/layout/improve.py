"""From a good arrangement to a better one: one or two symbols are put elsewhere or turned, all else follows, and
the whole layout is kept if it counts less."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.layout.chance import Chance
from pneudraw.layout.columns import Columns, Flow
from pneudraw.layout.forms import Form
from pneudraw.layout.frame import Frame
from pneudraw.layout.listing import like_pairs
from pneudraw.layout.model import Wish, leaves_fit
from pneudraw.layout.order import sweep
from pneudraw.layout.plan import Plan, large, make_plan
from pneudraw.layout.repeats import likened, twins
from pneudraw.layout.search import local_search
from pneudraw.layout.wishes import towards

TOO_MANY = 3
"""So many crossings more than the best has, and a change is dropped before its corners are counted."""


WORSE = 3.0
"""So much worse a plan may be at first to be gone on from."""
PATIENCE = 25
SORTED = 24
"""Exchanges tried at the end to bring branches into the order of the parts list."""
LITTLE = 2.0
"""What one of them may cost."""


def carry_over(old: Frame, new: Frame) -> None:
    """Give a rebuilt frame the heights of the old one, then order its columns by them."""
    where: dict[tuple[int, int], float] = {}
    of_net: dict[int, list[float]] = {}
    for g, s in enumerate(old.sym):
        if s < 0:
            where[old.arms[g][0][1], old.column[g]] = old.y[g]
        for k, (_, net, _) in enumerate(old.arms[g]):
            of_net.setdefault(net, []).append(old.y[g] + old.form[g].arm_off[k])
    for g, s in enumerate(new.sym):
        if s >= 0:
            h = old.group[s]
            new.y[g] = old.y[h]
            turn = old.form[h].turn
            for form in new.forms[g]:
                if form.turn == turn:
                    new.form[g] = form
        else:
            net = new.arms[g][0][1]
            ys = of_net.get(net, [0.0])
            new.y[g] = where.get((net, new.column[g]), sum(ys) / len(ys))
    for column in new.order:
        column.sort(key=lambda g: new.y[g] + (new.form[g].top + new.form[g].bottom) / 2)


def heights_from(plan: Plan) -> None:
    """Take the finished heights of a plan back into its frame as the start for the next search."""
    frame, rows = plan.frame, plan.rows
    for g, form in enumerate(frame.form):
        at = next((i for i, part in enumerate(form.parts) if part.body), 0)
        frame.y[g] = float(rows.y[rows.first[g] + at] - form.offs[at])


@dataclass
class Trouble:
    """Where a plan could be better: nets with crossings and corners, symbols that make it large."""

    nets: list[int]
    symbols: list[int]


def _trouble(plan: Plan) -> Trouble:
    return Trouble([net for tracks in plan.tracks for net in tracks.crossed + tracks.bent], large(plan))


def _candidate(plan: Plan, flow: Flow, bad: Trouble, chance: Chance) -> int:
    """A symbol to try something with: two times in three one that makes the drawing large or on a crossed line."""
    model = plan.frame.model
    if bad.symbols and chance.below(2):
        return bad.symbols[chance.below(len(bad.symbols))]
    if bad.nets and chance.below(3):
        terms = model.live[bad.nets[chance.below(len(bad.nets))]]
        return terms[chance.below(len(terms))][0]
    members = flow.members[flow.roots[chance.below(len(flow.roots))]]
    return members[chance.below(len(members))]


def _moved(plan: Plan, flow: Flow, bad: Trouble, chance: Chance) -> tuple[Frame, set[int], set[int]] | None:
    """A frame with one or two units in other columns."""
    frame = plan.frame
    col: Columns = list(frame.col)
    last = max(frame.count - 1, 0)
    touched: set[int] = set()
    hot: set[int] = set()
    wanted = 1 + chance.below(2)
    for _ in range(8):
        u = flow.unit[_candidate(plan, flow, bad, chance)]
        lo, hi = flow.slack(col, u, last)
        lo, hi = max(lo, col[u] - 3), min(hi, col[u] + 3)
        if lo >= hi:
            continue
        c = lo + chance.below(hi - lo + 1)
        if c != col[u]:
            touched |= set(range(min(c, col[u]) - 1, max(c, col[u]) + 2))
            hot |= {net for s in flow.members[u] for _, net in frame.model.uses[s]}
            flow.set(col, u, c)
            wanted -= 1
        if not wanted:
            break
    if not touched:
        return None
    new = Frame(frame.model, col, frame.turns())
    carry_over(frame, new)
    return new, touched, hot


def _turned(plan: Plan, flow: Flow, bad: Trouble, chance: Chance) -> tuple[Frame, set[int], set[int]] | None:
    """A frame with one symbol facing another way."""
    frame = plan.frame
    model = frame.model
    s = _candidate(plan, flow, bad, chance)
    if len(model.shapes[s]) < 2:
        return None
    turn = frame.turns()
    t = chance.below(len(model.shapes[s]))
    if t == turn[s] or not leaves_fit(model, s, t):
        return None
    if (
        any(s in pair for pair in model.pairs)
        and (model.shapes[s][t].width - model.shapes[s][turn[s]].width) % 2
    ):
        return None  # its middle would leave that of its mate by half a unit
    turn[s] = t
    new = Frame(model, frame.col, turn)
    carry_over(frame, new)
    c = frame.col[s]
    return new, {c - 1, c, c + 1}, {net for _, net in model.uses[s]}


def _reordered(
    plan: Plan, flow: Flow, bad: Trouble, chance: Chance
) -> tuple[Frame, set[int], set[int]] | None:
    """The same frame with one to three groups at other places in their columns."""
    frame = Frame(plan.frame.model, plan.frame.col, plan.frame.turns())
    carry_over(plan.frame, frame)
    touched: set[int] = set()
    hot: set[int] = set()
    for _ in range(1 + chance.below(3)):
        g = (
            frame.group[_candidate(plan, flow, bad, chance)]
            if chance.below(2)
            else chance.below(len(frame.sym))
        )
        column = frame.order[frame.column[g]]
        if len(column) < 2:
            continue
        column.remove(g)
        column.insert(chance.below(len(column) + 1), g)
        c = frame.column[g]
        touched |= {c - 1, c, c + 1}
        hot |= {net for _, net, _ in frame.arms[g]}
    return (frame, touched, hot) if touched else None


def _disordered(plan: Plan) -> list[tuple[int, int]]:
    """Mates and like symbols of a column of which the first of the parts list stands below the second."""
    y, frame = plan.rows.y, plan.frame
    first = [plan.rows.first[g] if g >= 0 else 0 for g in frame.group]
    return [
        (a, b)
        for a, b in [*frame.model.pairs, *like_pairs(frame)]
        if frame.col[a] == frame.col[b] and y[first[a]] > y[first[b]]
    ]


def _exchanged(
    plan: Plan, flow: Flow, bad: Trouble, chance: Chance
) -> tuple[Frame, set[int], set[int]] | None:
    """The same frame with two like symbols exchanged, and all that has the same place in their branches."""
    like = _disordered(plan) or [*plan.frame.model.pairs, *like_pairs(plan.frame)]
    return exchange(plan, *like[chance.below(len(like))]) if like else None


def exchange(plan: Plan, a: int, b: int) -> tuple[Frame, set[int], set[int]] | None:
    """A frame with symbols ``a`` and ``b`` exchanged and the branches at them; the columns and nets touched."""
    model = plan.frame.model
    frame = Frame(model, plan.frame.col, plan.frame.turns())
    carry_over(plan.frame, frame)
    passing = {(frame.arms[g][0][1], frame.column[g]): g for g, s in enumerate(frame.sym) if s < 0}
    branches = twins(model, a, b, frame.col)
    groups = [(frame.group[c], frame.group[d]) for c, d in branches.symbols if frame.col[c] == frame.col[d]]
    for n, m in branches.lines:
        both = [
            (passing[n, c], passing[m, c])
            for c in range(frame.count)
            if (n, c) in passing and (m, c) in passing
        ]
        groups += both
    touched: set[int] = set()
    hot: set[int] = set()
    for g, h in groups:
        c = frame.column[g]
        column = frame.order[c]
        i, j = column.index(g), column.index(h)
        column[i], column[j] = h, g
        frame.y[g], frame.y[h] = frame.y[h], frame.y[g]
        if frame.sym[g] >= 0:
            frame.form[g], frame.form[h] = _like(frame, g, h), _like(frame, h, g)
        touched |= {c - 1, c, c + 1}
        hot |= {net for k in (g, h) for _, net, _ in frame.arms[k]}
    return (frame, touched, hot) if touched else None


def _likened(plan: Plan, flow: Flow, bad: Trouble, chance: Chance) -> tuple[Frame, set[int], set[int]] | None:
    """A frame with a repeated group ordered and turned as the one before it is."""
    groups = plan.repeats
    if not groups:
        return None
    found = groups[chance.below(len(groups))]
    start = Frame(plan.frame.model, plan.frame.col, plan.frame.turns())
    carry_over(plan.frame, start)
    turn, changed = likened(start, found)
    if not changed and turn == start.turns():
        return None
    frame = Frame(plan.frame.model, plan.frame.col, turn)
    carry_over(start, frame)
    for s, t in enumerate(turn):
        if frame.group[s] >= 0:
            g = frame.group[s]
            frame.form[g] = next((form for form in frame.forms[g] if form.turn == t), frame.form[g])
    symbols = [s for pair in found.symbols for s in pair]
    touched = {frame.col[s] + d for s in symbols for d in (-1, 0, 1)}
    return frame, touched, {net for s in symbols for _, net in frame.model.uses[s]}


def _wished(plan: Plan, flow: Flow, wish: Wish) -> tuple[Frame, set[int], set[int]] | None:
    """A frame nearer to a wish: columns first, then the order in them."""
    model = plan.frame.model
    col: Columns = list(plan.frame.col)
    last = max(plan.frame.count - 1, 0)
    word, value, symbols = wish
    goal = col[symbols[-1] if word == "near" else symbols[len(symbols) // 2]]
    if word == "side":
        goal = {"left": 0, "right": last}.get(value, -1)
    if goal >= 0:
        for s in symbols:
            u = flow.unit[s]
            lo, hi = flow.slack(col, u, last)
            if lo <= hi:
                flow.set(col, u, min(max(goal, lo), hi))
    frame = Frame(model, col, plan.frame.turns())
    carry_over(plan.frame, frame)
    touched = towards(frame, wish)
    around = {c + d for c in touched | {col[s] for s in symbols} for d in (-1, 0, 1)}
    return frame, around, {net for s in symbols for _, net in model.uses[s]}


def _like(frame: Frame, g: int, h: int) -> Form:
    """The form of group g with the transform that h has, if g can take it."""
    shapes = frame.model.shapes
    name = shapes[frame.sym[h]][frame.form[h].turn].transform
    for form in frame.forms[g]:
        if shapes[frame.sym[g]][form.turn].transform == name:
            return form
    return frame.form[g]


MOVES = (*[_moved] * 8, *[_turned] * 3, *[_reordered] * 7, _exchanged, _likened)
"""What is tried, each kind as often as it is here."""


def improved(plan: Plan, flow: Flow, tries: int, chance: Chance) -> Plan:
    """The best found by ``tries`` changes one after the other.

    A change that makes a plan a little worse is kept too, the less so the longer it has been going on; after
    ``PATIENCE`` tries without a new best one it goes on from the best (threshold accepting, Dueck and Scheuer 1990).
    """
    best = now = plan
    heights_from(now)
    bad = _trouble(now)
    asked = [wish for wish in plan.frame.model.wishes for _ in range(2)]
    left, idle = tries, 0
    for _ in range(3 * tries + len(asked)):
        frozen: frozenset[int] = frozenset()
        if asked:
            wish = asked.pop()
            made = _wished(now, flow, wish)
            frozen = frozenset(made[0].group[s] for s in wish[2]) if made else frozen
        elif not left:
            break
        else:
            change = MOVES[chance.below(len(MOVES))]
            made = change(now, flow, bad, chance)
            left -= made is not None
        if made is None:
            continue
        frame, touched, hot = made
        sweep(frame, True, both=True, keep=True)
        sweep(frame, False, both=True, keep=True)
        crossings = local_search(frame, 3, {c for c in touched if 0 <= c < frame.count}, hot, frozen)
        if crossings > now.crossings + TOO_MANY and not frozen:
            continue
        new = make_plan(frame)
        idle += 1
        if new.cost < best.cost - 1e-9:
            best, idle = new, 0
        if idle > PATIENCE:
            new, idle = best, 0
        elif new.cost >= now.cost + (WORSE * left / tries if tries and not frozen else 0.0) - 1e-9:
            continue
        now = new
        heights_from(now)
        bad = _trouble(now)
    return _in_order(best) if tries else best


def _in_order(plan: Plan) -> Plan:
    """Branches that are alike exchanged until they come in the order of the parts list, where that costs little."""
    best = plan
    tried: set[tuple[int, int]] = set()
    for _ in range(SORTED):
        pair = next((pair for pair in _disordered(best) if pair not in tried), None)
        if pair is None:
            break
        tried.add(pair)
        heights_from(best)
        made = exchange(best, *pair)
        if made is None:
            continue
        frame, touched, hot = made
        exact = make_plan(frame)
        sweep(frame, True, both=True, keep=True)
        sweep(frame, False, both=True, keep=True)
        local_search(frame, 3, {c for c in touched if 0 <= c < frame.count}, hot)
        new = min(exact, make_plan(frame), key=lambda p: p.cost)
        if new.cost < best.cost + LITTLE and len(_disordered(new)) < len(_disordered(best)):
            best = new
            tried = {pair}
    return best
