"""Local search for fewer crossings: neighbours in a column change places, symbols are mirrored, groups are moved up
and down. Every move is judged by the lines it touches against all others in the channels on both sides."""

from __future__ import annotations

from pneudraw.layout.crossings import Reach, count_reaches, reach
from pneudraw.layout.frame import Frame
from pneudraw.layout.order import restore, snapshot, sweep

LENGTH = 0.002
"""What a unit of a trunk's length counts against one crossing: decides ties and keeps rows together."""


HOPELESS = 4.0
"""So many crossings more on the way and a group is carried no further."""
BUCKET = 40.0
"""Height of the buckets of a channel with many nets."""
MANY = 40


class Search:
    """The reaches of all nets, kept up to date, and the moves on them.

    A channel's nets lie in buckets by height, so that in a tall drawing a move looks only at what is near.
    """

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.cache: list[dict[int, Reach]] = []
        self.size = [BUCKET if len(nets) > MANY else 1e9 for nets in frame.channels]
        self.table: list[dict[int, dict[int, Reach]]] = []
        self.refresh()
        self.touch: list[list[tuple[int, int]]] = [
            sorted({(channel, net) for channel, net, _ in arms}) for arms in frame.arms
        ]

    def refresh(self) -> None:
        """Read all heights anew."""
        frame = self.frame
        self.cache = [{net: reach(frame, c, net) for net in nets} for c, nets in enumerate(frame.channels)]
        self.table = []
        for nets, size in zip(self.cache, self.size, strict=True):
            table: dict[int, dict[int, Reach]] = {}
            for net, r in nets.items():
                for k in range(int(r[0] // size), int(r[1] // size) + 1):
                    table.setdefault(k, {})[net] = r
            self.table.append(table)

    def crossings(self) -> int:
        """All crossings as the heights were last read."""
        return count_reaches(self.frame, [list(nets.values()) for nets in self.cache])

    def _set(self, channel: int, net: int, new: Reach) -> None:
        """Replace a net's reach."""
        size, table, nets = self.size[channel], self.table[channel], self.cache[channel]
        old = nets[net]
        nets[net] = new
        a, b = int(old[0] // size), int(old[1] // size)
        c, d = int(new[0] // size), int(new[1] // size)
        if (a, b) != (c, d):
            for k in range(a, b + 1):
                del table[k][net]
        for k in range(c, d + 1):
            bucket = table.get(k)
            if bucket is None:
                table[k] = {net: new}
            else:
                bucket[net] = new

    def cost(self, touched: list[tuple[int, int]]) -> float:
        """Crossings of the touched nets with all others, and a little for their length."""
        total = 0.0
        for i, (channel, net) in enumerate(touched):
            lo, hi, al, ar = self.cache[channel][net]
            total += LENGTH * (hi - lo)
            size, table = self.size[channel], self.table[channel]
            first = int(lo // size)
            for k in range(first, int(hi // size) + 1):
                bucket = table.get(k)
                if not bucket:
                    continue
                begin = k * size if k > first else -1e12
                for other, b in bucket.items():
                    blo, bhi = b[0], b[1]
                    if blo < hi and lo < bhi and blo >= begin and other != net:
                        n = 0
                        for v in b[2]:
                            if lo < v < hi:
                                n += 1
                        for v in ar:
                            if blo < v < bhi:
                                n += 1
                        if not n:
                            continue
                        m = 0
                        for v in al:
                            if blo < v < bhi:
                                m += 1
                        for v in b[3]:
                            if lo < v < hi:
                                m += 1
                        if m and (not i or (channel, other) not in touched[:i]):
                            total += m if m < n else n
        return total

    def update(self, touched: list[tuple[int, int]]) -> list[Reach]:
        """Read the touched nets anew; returns what they were."""
        old: list[Reach] = []
        for channel, net in touched:
            old.append(self.cache[channel][net])
            self._set(channel, net, reach(self.frame, channel, net))
        return old

    def undo(self, touched: list[tuple[int, int]], old: list[Reach]) -> None:
        """Put back what ``update`` returned."""
        for (channel, net), was in zip(touched, old, strict=True):
            self._set(channel, net, was)

    def _swap(self, column: list[int], i: int) -> None:
        """Exchange groups i and i+1 of a column inside the room they have together."""
        frame = self.frame
        g, h = column[i], column[i + 1]
        fg, fh = frame.form[g], frame.form[h]
        top, bottom = frame.y[g] + fg.top, frame.y[h] + fh.bottom
        column[i], column[i + 1] = h, g
        frame.y[h] = top - fh.top
        frame.y[g] = max(bottom - fg.bottom, frame.y[h] + frame.sep(h, g))

    def exchange(self, column: list[int], i: int) -> bool:
        """Exchange two neighbours if that is better."""
        frame = self.frame
        g, h = column[i], column[i + 1]
        touched = self.touch[g] + [t for t in self.touch[h] if t not in self.touch[g]]
        cost = self.cost(touched)
        if cost < LENGTH:
            return False
        yg, yh = frame.y[g], frame.y[h]
        self._swap(column, i)
        old = self.update(touched)
        if self.cost(touched) < cost - 1e-6:
            return True
        column[i], column[i + 1] = g, h
        frame.y[g], frame.y[h] = yg, yh
        self.undo(touched, old)
        return False

    def mirror(self, g: int) -> bool:
        """Take the best of a symbol's shapes that face the same way."""
        frame = self.frame
        forms = frame.forms[g]
        if len(forms) < 2:
            return False
        touched = self.touch[g]
        first = now = frame.form[g]
        cost = self.cost(touched) + now.crossings
        for form in forms:
            if form is now:
                continue
            frame.form[g] = form
            old = self.update(touched)
            new = self.cost(touched) + form.crossings
            if new < cost - 1e-6:
                cost, now = new, form
            else:
                frame.form[g] = now
                self.undo(touched, old)
        return now is not first

    def reinsert(self, column: list[int], g: int, step: int, far: int = 8) -> bool:
        """Carry a group past up to ``far`` neighbours one way and leave it where that was best."""
        frame = self.frame
        start = i = column.index(g)
        ys = [frame.y[h] for h in column]
        before_order = list(column)
        total = best = 0.0
        best_at = start
        log: list[tuple[list[int], list[float]]] = []
        for _ in range(far):
            j = i if step > 0 else i - 1
            if j < 0 or j + 1 >= len(column):
                break
            a, b = column[j], column[j + 1]
            touched = self.touch[a] + [t for t in self.touch[b] if t not in self.touch[a]]
            cost = self.cost(touched)
            self._swap(column, j)
            self.update(touched)
            total += self.cost(touched) - cost
            i += step
            log.append((list(column), [frame.y[h] for h in column]))
            if total < best - 1e-6:
                best, best_at = total, i
            elif total > best + HOPELESS:
                break
        if i == start:
            return False
        if best_at != i:
            kept, heights = (before_order, ys) if best_at == start else log[abs(best_at - start) - 1]
            column[:] = kept
            changed: dict[tuple[int, int], None] = {}
            for h, v in zip(kept, heights, strict=True):
                if frame.y[h] != v:
                    changed |= dict.fromkeys(self.touch[h])
                frame.y[h] = v
            self.update(list(changed))
        return best_at != start


def local_search(
    frame: Frame,
    rounds: int = 6,
    begin: set[int] | None = None,
    hot: set[int] | None = None,
    frozen: frozenset[int] = frozenset(),
    carry: bool = True,
) -> int:
    """Rounds of all moves with relaxing sweeps between, until a round gains nothing. Returns the crossings left.

    ``begin`` names the columns to look at first (all if None); a change makes the columns beside it worth a look.
    Only groups on ``hot`` nets are moved (all if None), and no ``frozen`` ones; without ``carry`` none is moved past
    more than one other.
    """
    search = Search(frame)
    least = search.crossings()
    best = snapshot(frame)
    todo = set(range(frame.count)) if begin is None else set(begin)
    for _ in range(rounds):
        if least == 0 or not todo:
            break
        changed: set[int] = set()
        for c in sorted(todo):
            if _work(search, frame.order[c], hot, frozen, carry):
                changed |= {c - 1, c, c + 1}
        sweep(frame, True, both=True, keep=True)
        sweep(frame, False, both=True, keep=True)
        search.refresh()
        crossings = search.crossings()
        if crossings >= least:
            break
        least, best = crossings, snapshot(frame)
        todo = {c for c in changed if 0 <= c < frame.count}
    restore(frame, best)
    return least


def _work(
    search: Search, column: list[int], hot: set[int] | None, frozen: frozenset[int], carry: bool
) -> bool:
    """All moves in one column, or only those of groups on hot nets; True if any was made."""
    moved = False
    warm = {
        g: g not in frozen and (hot is None or any(net in hot for _, net in search.touch[g])) for g in column
    }
    for i in range(len(column) - 1):
        g, h = column[i], column[i + 1]
        if (warm[g] or warm[h]) and g not in frozen and h not in frozen:
            moved |= search.exchange(column, i)
    for g in column:
        if warm[g]:
            moved |= search.mirror(g)
    for g in list(column):
        if carry and warm[g] and search.cost(search.touch[g]) >= 1:
            moved |= search.reinsert(column, g, -1)
            moved |= search.reinsert(column, g, 1)
    return moved
