"""The problem made ready for the engine: numbers for names, shapes of every symbol, leaves bound to their hosts.

A *leaf* is a symbol with one line that can stand straight above or below a port of another symbol (a drain under
its reservoir). It is then part of that symbol, its *host*, and no longer takes part in placing or routing.
"""

from __future__ import annotations

import itertools
from collections.abc import Container
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pneudraw.layout.problem import Problem, Spacing
from pneudraw.layout.shapes import OPPOSITE, Shape, shapes

if TYPE_CHECKING:
    from pneudraw.layout.forms import Form
    from pneudraw.layout.repeats import Twins

Wish = tuple[str, str, tuple[int, ...]]
"""Word, value and symbols of a hint to be weighed; a leaf is there by its host."""


@dataclass(frozen=True)
class Room:
    """Space above and below a symbol and its leaves that their labels need."""

    up: int = 0
    down: int = 0


@dataclass
class Model:
    """``nets`` hold (symbol, port) numbers of all terminals, ``live`` those not bound to a host.

    ``uses[s]`` lists (port, net) of a symbol's live ports (``used[s]`` all
    ports with a line); ``leaf[(host, port)]`` is the symbol bound there and
    ``host[s]`` the reverse. ``base[s]`` is the shape to begin with. ``wide`` are symbols whose label is given
    more room because it found no place in an earlier attempt. ``avoid`` are sides on which no room is kept for
    a label, ``bent`` nets that need not run straight. ``facings`` and ``forms`` remember what was worked out.
    """

    problem: Problem
    spacing: Spacing
    shapes: list[tuple[Shape, ...]]
    flows: list[tuple[str, ...]]
    nets: list[list[tuple[int, int]]]
    live: list[list[tuple[int, int]]]
    uses: list[list[tuple[int, int]]]
    leaf: dict[tuple[int, int], int]
    host: dict[int, tuple[int, int]]
    base: list[int]
    pairs: list[tuple[int, int]]
    wide: Container[int]
    faults: list[str]
    avoid: dict[int, frozenset[str]] = field(default_factory=dict)
    bent: set[int] = field(default_factory=set)

    def leaf_shape(self, s: int, side: str) -> int | None:
        """Which shape of leaf ``s`` has its port against a host's port on ``side``; None if there is none."""
        port = self.nets_port(s)
        for i, sh in enumerate(self.shapes[s]):
            if sh.sides[port] == OPPOSITE[side]:
                return i
        return None

    def nets_port(self, s: int) -> int:
        """The one used port of a leaf."""
        return self._leaf_port[s]

    def ask(self, s: int, avoid: frozenset[str]) -> None:
        """Keep no room for the label of ``s`` on these sides."""
        self.avoid[s] = avoid
        host = self.host[s][0] if s in self.host else s
        for key in [key for key in self.forms if key[0] == host]:
            del self.forms[key]

    def found(self) -> tuple[dict[int, frozenset[str]], set[int]]:
        """What has been found out about labels and rows."""
        return dict(self.avoid), set(self.bent)

    def recall(self, found: tuple[dict[int, frozenset[str]], set[int]]) -> None:
        """Go back to what had been found out."""
        self.avoid = dict(found[0])
        self.bent = set(found[1])
        self.forms.clear()

    def forget(self) -> None:
        """Begin anew."""
        self.recall(({}, set()))

    def __post_init__(self) -> None:
        self._leaf_port: dict[int, int] = {}
        self.facings: dict[tuple[int, int], list[int]] = {}
        self.forms: dict[tuple[int, int, tuple[int, ...]], Form] = {}
        self.twins: list[Twins] | None = None
        self.wishes: list[Wish] = []
        self.used: list[list[int]] = [[] for _ in self.shapes]
        for terms in self.nets:
            for s, p in terms:
                self._leaf_port[s] = p
                self.used[s].append(p)


def _read(problem: Problem) -> tuple[list[list[tuple[int, int]]], list[str]]:
    """Terminals by number; unknown or repeated ones and ports in two nets are left out, the last with a fault."""
    number = {spec.id: i for i, spec in enumerate(problem.symbols)}
    ports = [{port.id: i for i, port in enumerate(spec.ports)} for spec in problem.symbols]
    taken: dict[tuple[int, int], str] = {}
    nets: list[list[tuple[int, int]]] = []
    faults: list[str] = []
    for net in problem.nets:
        terms: list[tuple[int, int]] = []
        for sid, pid in net.terminals:
            s = number.get(sid)
            p = None if s is None else ports[s].get(pid)
            if s is None or p is None:
                faults.append(f"{net.id}: no port {sid}.{pid}")
            elif (s, p) in taken:
                if taken[s, p] != net.id:
                    faults.append(f"{sid}.{pid} is in both {taken[s, p]} and {net.id}")
            else:
                taken[s, p] = net.id
                terms.append((s, p))
        nets.append(terms if len(terms) > 1 else [])
        if len(terms) == 1:
            faults.append(f"{net.id}: a line needs two ports")
    return nets, faults


def _facing(model: Model, s: int) -> int:
    """The shape to begin with: the plain one, but a symbol with all its lines on one side faces the flow, and one
    with its flow from bottom to top is turned if that is allowed."""
    cost: list[tuple[float, int]] = []
    used = model.uses[s]
    flows = {model.flows[s][p] for p, _ in used}
    plain = model.shapes[s][0]
    single = len({plain.sides[p] for p, _ in used}) == 1
    for i, sh in enumerate(model.shapes[s]):
        total = 0.0
        for p, _ in used:
            side = sh.sides[p]
            flow = "in" if single and flows != {"out"} else model.flows[s][p]
            if side in "NS":
                total += 1
            elif (side == "W" and flow == "out") or (side == "E" and flow == "in"):
                total += 2.5
        turned = "90" in sh.transform or "270" in sh.transform
        if sh.transform != plain.transform and not single and not turned:
            total += 100
        cost.append((total + (0 if sh.transform == plain.transform else 0.1) + (0.3 if turned else 0), i))
    return min(cost)[1]


def _leaf_span(model: Model, s: int, t: int, port_x: int) -> tuple[int, int]:
    sh = model.shapes[s][t]
    left = port_x - sh.xs[model.nets_port(s)]
    return left, left + sh.width


def leaves_fit(model: Model, host: int, turn: int, more: tuple[int, int] | None = None) -> bool:
    """True if all leaves of a symbol can stand on their ports when it is in shape ``turn``, without overlapping,
    and on the side where they are meant to be: a drain hangs below its reservoir however that is placed.

    ``more`` is one leaf to be added: (port, leaf). Only other leaves can be in the way: lines pass between a leaf
    and its host.
    """
    sh = model.shapes[host][turn]
    plain = model.shapes[host][model.base[host]]
    bound = [(p, model.leaf[host, p]) for p in range(len(sh.sides)) if (host, p) in model.leaf]
    spans: list[tuple[str, int, int]] = []
    gap = model.spacing.line_body
    for port, s in [*bound, more] if more else bound:
        side = sh.sides[port]
        if side not in "NS" or side != plain.sides[port]:
            return False
        turned = model.leaf_shape(s, side)
        if turned is None:
            return False
        lo, hi = _leaf_span(model, s, turned, sh.xs[port])
        if any(side == other and a < hi + gap and lo - gap < b for other, a, b in spans):
            return False
        spans.append((side, lo, hi))
    return True


def _bind_leaves(model: Model, free: Container[int]) -> None:
    """Bind every leaf that can be; ``free`` names those that must stay on their own, as those of pairs do."""
    paired = {s for pair in model.pairs for s in pair}
    for net, terms in enumerate(model.nets):
        for s, p in terms:
            if len(model.uses[s]) != 1 or s in free or s in paired or s in model.host:
                continue
            best: tuple[int, int, int, int] | None = None
            for h, q in terms:
                sh = model.shapes[h][model.base[h]]
                own = model.shapes[s][0]
                if h == s or h in model.host or (h, q) in model.leaf or sh.sides[q] not in "NS":
                    continue
                if any(hh == s for hh, _ in model.host.values()):
                    continue
                if sh.width * sh.height <= own.width * own.height and len(model.uses[h]) == 1:
                    continue
                if len(terms) > 2 and len(model.uses[h]) == 1:
                    continue
                if not leaves_fit(model, h, model.base[h], (q, s)):
                    continue
                rank = (0 if model.flows[h][q] == "out" else 1, len(model.uses[h]) == 1, h, q)
                best = rank if best is None else min(best, rank)
            if best is not None:
                model.leaf[best[2], best[3]] = s
                model.host[s] = (best[2], best[3])
                model.live[net] = [t for t in model.live[net] if t != (s, p)]


def prepare(
    problem: Problem, spacing: Spacing, wide: Container[int] = (), free: Container[int] = ()
) -> Model:
    """Number the problem, choose starting shapes and bind leaves (but not those in ``free``)."""
    nets, faults = _read(problem)
    uses: list[list[tuple[int, int]]] = [[] for _ in problem.symbols]
    for net, terms in enumerate(nets):
        for s, p in terms:
            uses[s].append((p, net))
    for listed in uses:
        listed.sort()
    number = {spec.id: i for i, spec in enumerate(problem.symbols)}
    pairs = [*problem.pairs, *(h.symbols for h in problem.hints if h.word in ("mirror", "column"))]
    model = Model(
        problem,
        spacing,
        [shapes(spec) for spec in problem.symbols],
        [tuple(port.flow for port in spec.ports) for spec in problem.symbols],
        nets,
        [list(terms) for terms in nets],
        uses,
        {},
        {},
        [0] * len(problem.symbols),
        [
            (number[a], number[b])
            for names in pairs
            for a, b in itertools.pairwise(names)
            if a in number and b in number and a != b
        ],
        wide,
        faults,
    )
    model.base = [_facing(model, s) for s in range(len(problem.symbols))]
    _bind_leaves(model, free)
    for s in model.host:
        model.uses[s] = []
    model.pairs = [(a, b) for a, b in model.pairs if a not in model.host and b not in model.host]
    model.wishes = _wishes(model)
    return model


def _wishes(model: Model) -> list[Wish]:
    number = {spec.id: i for i, spec in enumerate(model.problem.symbols)}
    found: list[Wish] = []
    for hint in model.problem.hints:
        if hint.word not in ("side", "near", "group", "level"):
            continue
        names = [*hint.symbols, hint.value] if hint.word == "near" else list(hint.symbols)
        symbols = dict.fromkeys(number[name] for name in names if name in number)
        hosts = tuple(dict.fromkeys(model.host[s][0] if s in model.host else s for s in symbols))
        if hosts:
            found.append((hint.word, hint.value, hosts))
    return found
