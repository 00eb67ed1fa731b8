"""Whole heights for all parts, with as many rows straight as pay: parts joined by a straight row form a class that
only moves together. Whether a join is possible is an exact test of the least distances."""

from __future__ import annotations

from dataclasses import dataclass

from pneudraw.layout.forms import gap
from pneudraw.layout.frame import Frame

MOST_PUSHED = 800
"""So many classes in the way of a straight row, and it is given up."""

End = tuple[int, int]
"""Part number, and height of the arm above or below its reference."""


@dataclass
class Rows:
    """All parts of a frame by number. ``above``/``below`` are the neighbours in the column (-1: none), ``room`` the
    least distance to the one below. ``ends[c][net]`` are the left and right arms in channel c."""

    y: list[int]
    body: list[bool]
    passing: list[bool]
    above: list[int]
    below: list[int]
    room: list[int]
    first: list[int]
    ends: list[dict[int, tuple[list[End], list[End]]]]
    owner: list[int]
    cls: list[int]
    members: list[list[int]]


def make_rows(frame: Frame) -> Rows:
    """Number the parts and round their heights, pushing apart downwards where needed."""
    sp = frame.model.spacing
    first: list[int] = []
    body: list[bool] = []
    passing: list[bool] = []
    owner: list[int] = []
    y: list[int] = []
    for g, form in enumerate(frame.form):
        first.append(len(y))
        at = round(frame.y[g])
        for part, off in zip(form.parts, form.offs, strict=True):
            y.append(at + off)
            body.append(part.body)
            passing.append(frame.sym[g] < 0)
            owner.append(g)
    n = len(y)
    above, below, room = [-1] * n, [-1] * n, [0] * n
    for column in frame.order:
        last, last_g = -1, -1
        for g in column:
            form = frame.form[g]
            for i in range(len(form.parts)):
                p = first[g] + i
                if last >= 0:
                    if i:
                        dist = gap(sp, form.parts[i - 1], form.parts[i], True)
                    else:
                        upper = frame.form[last_g]
                        dist = frame.sep(last_g, g) - upper.offs[-1] + form.offs[0]
                    above[p], below[last], room[last] = last, p, dist
                    y[p] = max(y[p], y[last] + dist)
                last = p
            last_g = g
    ends: list[dict[int, tuple[list[End], list[End]]]] = []
    for nets in frame.channels:
        found: dict[int, tuple[list[End], list[End]]] = {}
        for net, (left, right) in nets.items():
            found[net] = (
                [(first[g] + frame.form[g].arm_part[k], frame.form[g].arm_dy[k]) for g, k in left],
                [(first[g] + frame.form[g].arm_part[k], frame.form[g].arm_dy[k]) for g, k in right],
            )
        ends.append(found)
    return Rows(
        y, body, passing, above, below, room, first, ends, owner, list(range(n)), [[i] for i in range(n)]
    )


def _push(rows: Rows, start: int, by: int, stop: int) -> dict[int, int] | None:
    """Shift of every class that must give way if class ``start`` moves by ``by`` (downwards if positive).

    None if class ``stop`` would have to move, or if more have to than a straight row is worth. No class ever moves
    further than ``start`` itself.
    """
    y, cls, room, members = rows.y, rows.cls, rows.room, rows.members
    shift = {start: by}
    queue = [start]
    down = by > 0
    for c in queue:
        if len(queue) > MOST_PUSHED:
            return None
        s = shift[c]
        for p in members[c]:
            if down:
                q = rows.below[p]
                if q < 0:
                    continue
                need = y[p] + s + room[p] - y[q]
            else:
                q = rows.above[p]
                if q < 0:
                    continue
                need = y[p] + s - room[q] - y[q]
            d = cls[q]
            if d == c or (need <= 0 if down else need >= 0):
                continue
            if d == stop:
                return None
            was = shift.get(d, 0)
            if (need > was) if down else (need < was):
                shift[d] = need
                queue.append(d)
    return shift


def _apply(rows: Rows, shift: dict[int, int]) -> None:
    for c, s in shift.items():
        for p in rows.members[c]:
            rows.y[p] += s


def join(rows: Rows, a: End, b: End) -> bool:
    """Bring two arms to one height and tie their parts together; False (and nothing changed) if impossible."""
    ca, cb = rows.cls[a[0]], rows.cls[b[0]]
    diff = rows.y[b[0]] + b[1] - rows.y[a[0]] - a[1]
    if ca == cb:
        return diff == 0
    if diff:
        down = _push(rows, ca if diff > 0 else cb, abs(diff), cb if diff > 0 else ca)
        if down is None:
            return False
        up = (
            _push(rows, cb if diff > 0 else ca, -abs(diff), ca if diff > 0 else cb) if len(down) > 2 else None
        )
        if up is not None and sum(len(rows.members[c]) for c in up) < sum(len(rows.members[c]) for c in down):
            down = up
        _apply(rows, down)
    if len(rows.members[ca]) < len(rows.members[cb]):
        ca, cb = cb, ca
    for p in rows.members[cb]:
        rows.cls[p] = ca
    rows.members[ca] += rows.members[cb]
    rows.members[cb] = []
    return True


def part_rows(rows: Rows, channel: int, a: int, b: int, pitch: int) -> None:
    """Move a row of net ``a`` or ``b`` by one pitch where a right arm of ``a`` is level with a left arm of ``b``."""
    y, cls = rows.y, rows.cls
    ends = rows.ends[channel]
    for p, dp in ends[b][0]:
        for q, dq in ends[a][1]:
            if y[p] + dp != y[q] + dq or cls[p] == cls[q]:
                continue
            ways = [
                shift
                for c, other in ((cls[p], cls[q]), (cls[q], cls[p]))
                for by in (pitch, -pitch)
                if (shift := _push(rows, c, by, other)) is not None
            ]
            if ways:
                _apply(rows, min(ways, key=len))


def straighten(frame: Frame, rows: Rows) -> None:
    """Join arms into straight rows, those first that save most corners."""
    worth = dict(frame.model.problem.straight)
    kinds = [net.kind for net in frame.model.problem.nets]
    y = rows.y
    wishes: list[tuple[float, int, int, int, End, End]] = []
    for channel, nets in enumerate(rows.ends):
        for net, (left, right) in nets.items():
            if not left or not right or net in frame.model.bent:
                continue
            weight = worth.get(kinds[net], 1.0)
            if len(left) == 1 and len(right) == 1:
                pairs = [(left[0], right[0], 2.0)]
            else:
                ls = sorted(left, key=lambda e: y[e[0]] + e[1])
                rs = sorted(right, key=lambda e: y[e[0]] + e[1])
                pairs = [(ls[0], rs[0], 1.0), (ls[-1], rs[-1], 1.0)]
            for a, b, saved in pairs:
                score = saved * weight + 0.5 * (rows.passing[a[0]] + rows.passing[b[0]])
                far = abs(y[a[0]] + a[1] - y[b[0]] - b[1])
                wishes.append((-score, far, channel, net, a, b))
    wishes.sort(key=lambda w: w[:4])
    for _, _, _, _, a, b in wishes:
        join(rows, a, b)


def _median(wants: list[tuple[int, float]]) -> float:
    """Middle of the weighted median interval."""
    wants.sort()
    half = sum(w for _, w in wants) / 2
    run = 0.0
    for i, (v, w) in enumerate(wants):
        run += w
        if run > half + 1e-9:
            return v
        if run > half - 1e-9:
            return (v + wants[min(i + 1, len(wants) - 1)][0]) / 2
    return wants[-1][0]


def _pulls(frame: Frame, rows: Rows) -> list[list[tuple[int, int, float]]]:
    """For each part: (other part, wanted difference of the references, weight) from arms and from stubs."""
    pulls: list[list[tuple[int, int, float]]] = [[] for _ in rows.y]
    for nets in rows.ends:
        for left, right in nets.values():
            for mine, others in ((left, right), (right, left)):
                for p, dy in mine:
                    far = others or [e for e in mine if e != (p, dy)]
                    for q, dq in far:
                        pulls[p].append((q, dq - dy, 1.0 / len(far)))
    for g, form in enumerate(frame.form):
        if len(form.parts) < 2:
            continue
        at = next(i for i, part in enumerate(form.parts) if part.body)
        for i in range(len(form.parts)):
            if i != at:
                d = form.offs[at] - form.offs[i]
                a, b = rows.first[g] + at, rows.first[g] + i
                pulls[a].append((b, d, 0.6))
                pulls[b].append((a, -d, 0.6))
    return pulls


def balance(frame: Frame, rows: Rows, passes: int = 10, bounds: list[tuple[int, int]] | None = None) -> None:
    """Move every class to the median of what its arms want, inside the room it has.

    ``bounds`` are the least and greatest height of the reference of every part.
    """
    pulls = _pulls(frame, rows)
    y, cls, above, below, room = rows.y, rows.cls, rows.above, rows.below, rows.room
    classes = [c for c, m in enumerate(rows.members) if m]
    wants_of = {
        c: [(p, q, d, w) for p in rows.members[c] for q, d, w in pulls[p] if cls[q] != c] for c in classes
    }
    for turn in range(passes):
        classes.sort(key=lambda c: y[rows.members[c][0]], reverse=turn % 2 == 0)
        moved = False
        for c in classes:
            wants = [(y[q] + d - y[p], w) for p, q, d, w in wants_of[c]]
            if not wants:
                continue
            want = round(_median(wants))
            if not want:
                continue
            for p in rows.members[c]:
                if bounds is not None:
                    want = max(min(want, bounds[p][1] - y[p]), min(bounds[p][0] - y[p], 0))
                if want > 0:
                    q = below[p]
                    if q >= 0 and cls[q] != c:
                        want = min(want, y[q] - room[p] - y[p])
                else:
                    q = above[p]
                    if q >= 0 and cls[q] != c:
                        want = max(want, y[q] + room[q] - y[p])
                if not want:
                    break
            if want:
                moved = True
                for p in rows.members[c]:
                    y[p] += want
        if not moved:
            break
