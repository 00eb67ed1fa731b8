"""First order of the groups in their columns, and heights for them: sweeps of means, spread by isotonic regression."""

from __future__ import annotations

from pneudraw.layout.chance import Chance
from pneudraw.layout.crossings import total_crossings
from pneudraw.layout.frame import Frame
from pneudraw.layout.model import Model

Snapshot = tuple[list[list[int]], list[float], list[int]]


def numbering(model: Model, chance: Chance | None) -> tuple[list[int], list[int]]:
    """Order in which a depth-first walk from the sources meets symbols and nets; neighbours shuffled if asked."""
    sym = [-1] * len(model.shapes)
    net = [-1] * len(model.live)
    inlets = [
        sum(model.flows[s][p] != "out" for p, n in model.uses[s] if len(model.live[n]) > 1)
        for s in range(len(sym))
    ]
    roots = sorted(range(len(sym)), key=lambda s: (min(inlets[s], 1), s))
    count = 0
    for root in roots:
        if sym[root] >= 0 or root in model.host:
            continue
        stack = [root]
        while stack:
            s = stack.pop()
            if sym[s] >= 0:
                continue
            sym[s] = count
            count += 1
            later: list[int] = []
            for p, n in model.uses[s]:
                if net[n] >= 0:
                    continue
                net[n] = count
                later += [t for t, _ in model.live[n] if sym[t] < 0]
                count += 1 + 0 * p
            if chance is not None:
                later = chance.shuffled(later)
            stack += reversed(later)
    return sym, net


def stack_columns(frame: Frame, chance: Chance | None) -> None:
    """Order every column by the walk and stack it around height 0."""
    sym, net = numbering(frame.model, chance)

    def rank(g: int) -> tuple[int, int]:
        s = frame.sym[g]
        return (sym[s] if s >= 0 else net[frame.arms[g][0][1]], g)

    for column in frame.order:
        column.sort(key=rank)
        y, last = 0.0, -1
        for g in column:
            y = y + frame.sep(last, g) if last >= 0 else 0.0
            frame.y[g] = y
            last = g
        for g in column:
            frame.y[g] -= y / 2


def spread(frame: Frame, column: list[int], wanted: list[float], weight: list[float]) -> None:
    """Heights nearest to the wanted ones (least squares) that keep order and distances: pool adjacent violators."""
    blocks: list[list[float]] = []
    offset: list[float] = []
    total, last = 0.0, -1
    for i, g in enumerate(column):
        if last >= 0:
            total += frame.sep(last, g)
        offset.append(total)
        last = g
        z, w, n = wanted[i] - total, weight[i], 1.0
        while blocks and blocks[-1][0] >= z:
            z2, w2, n2 = blocks.pop()
            z = (z * w + z2 * w2) / (w + w2)
            w += w2
            n += n2
        blocks.append([z, w, n])
    i = 0
    for z, _, n in blocks:
        for _ in range(int(n)):
            frame.y[column[i]] = z + offset[i]
            i += 1


def _pull(frame: Frame, g: int, forward: bool, back: bool) -> tuple[float, int]:
    """Sum over the arms of a group of where they want its reference, and how many have a wish."""
    y, form, channels = frame.y, frame.form, frame.channels
    offs = form[g].arm_off
    total, n = 0.0, 0
    for k, (channel, net, left) in enumerate(frame.arms[g]):
        if (left and not back) or (not left and not forward):
            continue
        near, far = channels[channel][net] if left else channels[channel][net][::-1]
        if far:
            at = 0.0
            for h, j in far:
                at += y[h] + form[h].arm_off[j]
            total += at / len(far) - offs[k]
            n += 1
        elif len(near) > 1:
            at, m = 0.0, 0
            for h, j in near:
                if h != g:
                    at += y[h] + form[h].arm_off[j]
                    m += 1
            if m:
                total += at / m - offs[k]
                n += 1
    return total, n


def sweep(frame: Frame, forward: bool, both: bool = False, keep: bool = False) -> None:
    """Move every column to where the columns already passed want it; ``keep`` keeps the order within."""
    columns = range(frame.count) if forward else range(frame.count - 1, -1, -1)
    y = frame.y
    for c in columns:
        column = frame.order[c]
        wish: dict[int, tuple[float, float]] = {}
        for g in column:
            total, n = _pull(frame, g, forward or both, not forward or both)
            wish[g] = (total / n, float(n)) if n else (y[g], 0.05)
        if not keep:

            def centre(g: int, wish: dict[int, tuple[float, float]] = wish) -> float:
                form = frame.form[g]
                return wish[g][0] + (form.top + form.bottom) / 2

            column.sort(key=centre)
        spread(frame, column, [wish[g][0] for g in column], [wish[g][1] for g in column])


def snapshot(frame: Frame) -> Snapshot:
    """Order, heights and shapes, to come back to."""
    return [list(c) for c in frame.order], list(frame.y), [f.turn for f in frame.form]


def restore(frame: Frame, kept: Snapshot) -> None:
    """Go back to a snapshot."""
    frame.order = [list(c) for c in kept[0]]
    frame.y = list(kept[1])
    for g, turn in enumerate(kept[2]):
        if frame.form[g].turn != turn:
            frame.form[g] = next(f for f in frame.forms[g] if f.turn == turn)


def arrange(frame: Frame, chance: Chance | None, sweeps: int = 4) -> None:
    """Start order and the best of a few sweeps forward and back."""
    stack_columns(frame, chance)
    best: Snapshot | None = None
    least = 10**9
    for _ in range(sweeps):
        for forward in (True, False):
            sweep(frame, forward)
            crossings = total_crossings(frame)
            if crossings < least:
                least, best = crossings, snapshot(frame)
        if least == 0:
            break
    if best is not None:
        restore(frame, best)
