"""Which column each symbol stands in: by the flow from the sources, then so that lines span few columns.

Symbols that must share a column (pairs, those on one rim) are one *unit* throughout.
"""

from __future__ import annotations

import itertools

from pneudraw.layout.model import Model

Columns = list[int]


def sides_of_net(model: Model, net: int, turn: list[int]) -> tuple[list[int], list[int]]:
    """Positions in ``model.live[net]`` of right-going and of left-facing terminals.

    Ports on the left and right decide themselves. Those on top and bottom follow the fixed ones, and only
    then the direction of flow.
    """
    right: list[int] = []
    left: list[int] = []
    loose: list[int] = []
    for i, (s, p) in enumerate(model.live[net]):
        side = model.shapes[s][turn[s]].sides[p]
        (right if side == "E" else left if side == "W" else loose).append(i)
    has_right, has_left = bool(right), bool(left)
    for i in loose:
        s, p = model.live[net][i]
        if has_right and not has_left:
            left.append(i)
        elif (has_left and not has_right) or model.flows[s][p] == "out":
            right.append(i)
        else:
            left.append(i)
    if loose and not has_right and not has_left and not right:
        right.append(left.pop(0))
    return right, left


def units(model: Model) -> list[int]:
    """Unit of each symbol: the least number among those that must share its column."""
    root = list(range(len(model.shapes)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    rims = [[s for s, spec in enumerate(model.problem.symbols) if spec.rim == rim] for rim in "WE"]
    for a, b in [*model.pairs, *(two for rim in rims for two in itertools.pairwise(rim))]:
        ra, rb = find(a), find(b)
        root[max(ra, rb)] = min(ra, rb)
    return [find(i) for i in range(len(root))]


def _arcs(model: Model, unit: list[int], turn: list[int]) -> list[list[int]]:
    """For each unit those that must stand to the right of it, cycles broken at the arc that closes them."""
    n = len(unit)
    succ: list[list[int]] = [[] for _ in range(n)]
    seen: set[tuple[int, int]] = set()

    def add(a: int, b: int) -> None:
        if a != b and (a, b) not in seen:
            seen.add((a, b))
            succ[a].append(b)

    number = {spec.id: i for i, spec in enumerate(model.problem.symbols)}
    for hint in model.problem.hints:
        if hint.word == "order":
            named = [unit[number[name]] for name in hint.symbols if name in number]
            for a, b in itertools.pairwise(named):
                add(a, b)
    for net in range(len(model.live)):
        right, left = sides_of_net(model, net, turn)
        for i in right:
            for j in left:
                add(unit[model.live[net][i][0]], unit[model.live[net][j][0]])
    for s, spec in enumerate(model.problem.symbols):
        for other in range(len(unit)) if spec.rim else ():
            if other not in model.host:
                add(*((unit[s], unit[other]) if spec.rim == "W" else (unit[other], unit[s])))
    sources = {unit[s] for s, spec in enumerate(model.problem.symbols) if spec.role == "source"}
    return _acyclic(succ, unit, sources)


def _acyclic(succ: list[list[int]], unit: list[int], sources: set[int]) -> list[list[int]]:
    n = len(succ)
    indegree = [0] * n
    for out in succ:
        for b in out:
            indegree[b] += 1
    roots = [i for i in range(n) if unit[i] == i]
    start = sorted(roots, key=lambda i: (i not in sources, indegree[i] > 0))
    state = [0] * n
    kept: list[list[int]] = [[] for _ in range(n)]
    for root in start:
        if state[root]:
            continue
        state[root] = 1
        stack = [(root, 0)]
        while stack:
            a, k = stack.pop()
            if k == len(succ[a]):
                state[a] = 2
                continue
            stack.append((a, k + 1))
            b = succ[a][k]
            if state[b] == 1:
                continue
            kept[a].append(b)
            if state[b] == 0:
                state[b] = 1
                stack.append((b, 0))
    return kept


def _topological(succ: list[list[int]], unit: list[int]) -> list[int]:
    indegree = [0] * len(succ)
    for out in succ:
        for b in out:
            indegree[b] += 1
    ready = [i for i in range(len(succ)) if unit[i] == i and not indegree[i]]
    done: list[int] = []
    for a in ready:
        done.append(a)
        for b in succ[a]:
            indegree[b] -= 1
            if not indegree[b]:
                ready.append(b)
    return done


class Flow:
    """The order from left to right: what must stand left and right of each unit, and the slack that leaves."""

    def __init__(self, model: Model, turn: list[int]) -> None:
        self.unit = units(model)
        self.members: list[list[int]] = [[] for _ in self.unit]
        for s, u in enumerate(self.unit):
            if s not in model.host:
                self.members[u].append(s)
        self.succ = _arcs(model, self.unit, turn)
        self.pred: list[list[int]] = [[] for _ in self.unit]
        for a, out in enumerate(self.succ):
            for b in out:
                self.pred[b].append(a)
        self.roots = [u for u in _topological(self.succ, self.unit) if self.members[u]]
        self.side: list[dict[tuple[int, int], int]] = []
        for net in range(len(model.live)):
            right, _ = sides_of_net(model, net, turn)
            go = {model.live[net][i] for i in right}
            self.side.append({t: (1 if t in go else 0) for t in model.live[net]})

    def slack(self, col: Columns, u: int, last: int) -> tuple[int, int]:
        """First and last column unit ``u`` may stand in with all others where they are."""
        lo = max((col[a] + 1 for a in self.pred[u]), default=0)
        hi = min((col[b] - 1 for b in self.succ[u]), default=last)
        return lo, hi

    def set(self, col: Columns, u: int, c: int) -> None:
        """Move a whole unit."""
        for s in self.members[u]:
            col[s] = c
        col[u] = c


def _others(model: Model, flow: Flow, col: Columns, u: int) -> list[tuple[int, int, int, int]]:
    """For each net of a unit: extremes of the other ends' channels, and of its own relative to its column."""
    found: list[tuple[int, int, int, int]] = []
    done: set[int] = set()
    for s in flow.members[u]:
        for _, net in model.uses[s]:
            if net in done:
                continue
            done.add(net)
            lo, hi, a, b = 10**9, -(10**9), 1, 0
            for term, side in flow.side[net].items():
                if flow.unit[term[0]] == u:
                    a, b = min(a, side), max(b, side)
                else:
                    c = col[term[0]] + side
                    lo, hi = min(lo, c), max(hi, c)
            if lo <= hi:
                found.append((lo, hi, a, b))
    return found


def assign(model: Model, flow: Flow, passes: int = 12) -> Columns:
    """Columns from 0: longest path from the sources, then units move inside their slack where lines get shorter."""
    col = [0] * len(flow.unit)
    for u in flow.roots:
        flow.set(col, u, max((col[a] + 1 for a in flow.pred[u]), default=0))
    last = max((col[u] for u in flow.roots), default=0)
    actuator = {s for s, spec in enumerate(model.problem.symbols) if spec.role == "actuator"}
    for turn in range(passes):
        moved = False
        for u in reversed(flow.roots) if turn % 2 == 0 else flow.roots:
            lo, hi = flow.slack(col, u, last)
            if lo >= hi:
                continue
            nets = _others(model, flow, col, u)
            pull = -0.01 if flow.members[u][0] in actuator else 0.0
            best, where = 1e18, col[u]
            for c in range(lo, hi + 1):
                cost = c * pull + (0.0 if c == col[u] else 1e-4)
                for first, end, a, b in nets:
                    cost += max(end, c + b) - min(first, c + a)
                if cost < best - 1e-9:
                    best, where = cost, c
            if where != col[u]:
                flow.set(col, u, where)
                moved = True
        if not moved:
            break
    return squeezed(flow, col)


def squeezed(flow: Flow, col: Columns) -> Columns:
    """The same with empty columns taken out and the first at 0."""
    used = sorted({col[u] for u in flow.roots})
    place = {c: i for i, c in enumerate(used)}
    new = [0] * len(col)
    for u in flow.roots:
        flow.set(new, u, place[col[u]])
    return new
