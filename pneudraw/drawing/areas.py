"""Cutting a circuit in two at a natural place: few lines cut, the vehicles and the author's groups left whole.

Known as hypergraph bipartitioning; from starts by place in the drawing and improved by moving single parts as
Fiduccia and Mattheyses described it (1982; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pneudraw.circuit.model import Circuit
from pneudraw.circuit.vehicles import vehicles
from pneudraw.layout.result import Layout
from pneudraw.library.model import Place

ACROSS_VEHICLES, CONTROL_LINE, SHORT_LINE, LINE = 0.3, 0.9, 2.5, 1.0
"""Price of cutting a line between vehicles, a control line, one inside the supply or a wheel end, any other."""
GROUP, VEHICLE, SUPPLY = 3.0, 4.0, 2.5
"""Price of parting a group, a vehicle, or what makes air and stores it."""
STORES = (Place.SOURCE, Place.TREATMENT, Place.STORAGE, Place.CHECK)
LEAST_SHARE = 0.2  # of the drawing on the smaller side
UNEVEN = 6.0  # price of a share beyond the middle third
PATIENCE = 12  # moves in a round before one that only makes it worse ends

Atom = tuple[str, ...]
"""Parts that are never put on different sheets."""


@dataclass(frozen=True)
class Web:
    """Atoms, how large each is, and what joins them: (price of a cut, numbers of the atoms)."""

    atoms: tuple[Atom, ...]
    sizes: tuple[float, ...]
    places: tuple[tuple[float, float], ...]
    ties: tuple[tuple[float, tuple[int, ...]], ...]


def web(circuit: Circuit, layout: Layout) -> Web:
    """Return what is to be cut; what hangs on one part only (a drain, a gauge, the coupling to another vehicle) is one
    atom with it."""
    atoms = _atoms(circuit)
    number = {tag: index for index, atom in enumerate(atoms) for tag in atom}
    boxes = {s.id: s for s in layout.symbols}
    labels = {label.symbol: label for label in layout.labels}
    sizes, places = [], []
    for atom in atoms:
        area, at = 0.0, (0.0, 0.0)
        for tag in atom:
            symbol, label = boxes[tag], labels.get(tag)
            wide = max(symbol.width, label.width if label else 0) + 6
            area += wide * (symbol.height + (label.height if label else 0) + 6)
            at = (symbol.x + symbol.width / 2, symbol.y + symbol.height / 2) if tag == atom[0] else at
        sizes.append(area)
        places.append(at)
    ties: list[tuple[float, tuple[int, ...]]] = []
    home = {tag: prefix for prefix, tags in vehicles(circuit).items() for tag in tags}
    for line in circuit.lines:
        joined = tuple(dict.fromkeys(number[end.part.tag] for end in line.ends))
        if len(joined) > 1:
            parts = [end.part for end in line.ends]
            if len({home.get(part.tag, "") for part in parts}) > 1:
                price = ACROSS_VEHICLES
            elif line.control:
                price = CONTROL_LINE
            elif all(p.kind.place in (Place.SOURCE, Place.TREATMENT, Place.STORAGE) for p in parts) or any(
                p.kind.place is Place.ACTUATOR for p in parts
            ):
                price = SHORT_LINE
            else:
                price = LINE
            ties.append((price, joined))
    named: list[tuple[float, tuple[str, ...]]] = [
        (GROUP, hint.parts) for hint in circuit.hints if hint.word == "group"
    ]
    named += [(VEHICLE, tags) for tags in vehicles(circuit).values()]
    named.append((SUPPLY, tuple(p.tag for p in circuit.parts if p.kind.place in STORES)))
    for price, tags in named:
        joined = tuple(dict.fromkeys(number[tag] for tag in tags if tag in number))
        if len(joined) > 1:
            ties.append((price, joined))
    return Web(atoms, tuple(sizes), tuple(places), tuple(ties))


def cuts(whole: Web, among: Sequence[int]) -> tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]:
    """Return ways to part some atoms in two, the cheapest first; none for a single atom."""
    if len(among) < 2:
        return ()
    inside = set(among)
    ties = [
        (price, kept) for price, joined in whole.ties if len(kept := [a for a in joined if a in inside]) > 1
    ]
    total = sum(whole.sizes[a] for a in among)
    found: dict[tuple[int, ...], float] = {}
    for start in _starts(whole, among, total):
        side = _improved(whole, among, ties, total, start)
        left = tuple(sorted(a for a in among if side[a]))
        right = tuple(sorted(a for a in among if not side[a]))
        if left and right:
            found.setdefault(min(left, right), _State(whole, ties, total, side).price())
    ranked = sorted(found, key=lambda one: (found[one], one))
    return tuple((one, tuple(sorted(inside - set(one)))) for one in ranked)


def _atoms(circuit: Circuit) -> tuple[Atom, ...]:
    parent = {part.tag: part.tag for part in circuit.parts}

    def root(tag: str) -> str:
        while parent[tag] != tag:
            tag = parent[tag]
        return tag

    home = {tag: prefix for prefix, tags in vehicles(circuit).items() for tag in tags}
    lines = [line for line in circuit.lines if len({home.get(end.part.tag) for end in line.ends}) == 1]
    count: dict[str, int] = {}
    for line in lines:
        for end in line.ends:
            count[end.part.tag] = count.get(end.part.tag, 0) + 1
    small = (Place.INSTRUMENT, Place.FITTING, Place.PROTECTION)
    for line in lines:
        hosts = [end.part for end in line.ends if count[end.part.tag] > 1] or [line.ends[0].part]
        for end in line.ends:
            if count[end.part.tag] == 1 and end.part.kind.place in small:
                a, b = root(end.part.tag), root(hosts[0].tag)
                if a != b:
                    parent[a] = b
    found: dict[str, list[str]] = {part.tag: [] for part in circuit.parts}
    for part in circuit.parts:
        found[root(part.tag)].append(part.tag)
    return tuple((tag, *(t for t in tags if t != tag)) for tag, tags in found.items() if tags)


def _starts(whole: Web, among: Sequence[int], total: float) -> Iterator[dict[int, bool]]:
    """The atoms in the order of x and of y, parted at several shares of the whole."""
    for axis in (0, 1):
        order = sorted(among, key=lambda a: (whole.places[a][axis], a))
        for share in (0.5, 0.4, 0.6, 0.3, 0.7):
            side, used = {}, 0.0
            for atom in order:
                side[atom] = used + whole.sizes[atom] / 2 < share * total
                used += whole.sizes[atom]
            if len(set(side.values())) == 2:
                yield side


def _improved(
    whole: Web,
    among: Sequence[int],
    ties: Sequence[tuple[float, Sequence[int]]],
    total: float,
    start: Mapping[int, bool],
) -> dict[int, bool]:
    """Rounds in which every atom is moved once, the best move first; the best state of each round is kept."""
    state = _State(whole, ties, total, start)
    best, best_price = dict(start), state.price()
    while True:
        state = _State(whole, ties, total, best)
        moved = set[int]()
        here, here_price = best, best_price
        for _ in among:
            price, atom = min((state.price_if(atom), atom) for atom in among if atom not in moved)
            state.move(atom)
            moved.add(atom)
            if price < here_price - 1e-9:
                here, here_price = dict(state.side), price
            if len(moved) > PATIENCE and price > here_price + 4:
                break
        if here_price >= best_price - 1e-9:
            return best
        best, best_price = here, here_price


class _State:
    """Who is on which side, with the price of it kept up to date as atoms change sides."""

    def __init__(
        self, whole: Web, ties: Sequence[tuple[float, Sequence[int]]], total: float, side: Mapping[int, bool]
    ) -> None:
        self.side = dict(side)
        self._sizes, self._total, self._ties = whole.sizes, total, ties
        self._of: dict[int, list[int]] = {atom: [] for atom in side}
        self._left = [0] * len(ties)
        for number, (_, joined) in enumerate(ties):
            for atom in joined:
                self._of[atom].append(number)
                self._left[number] += self.side[atom]
        self._cut = sum(
            price for (price, joined), left in zip(ties, self._left, strict=True) if 0 < left < len(joined)
        )
        self._share = sum(whole.sizes[atom] for atom, left in side.items() if left)

    def price(self) -> float:
        """What the cut costs now."""
        return self._cut + _uneven(self._share / self._total)

    def price_if(self, atom: int) -> float:
        """What it would cost with an atom on the other side."""
        sign = -1 if self.side[atom] else 1
        cut = self._cut
        for number in self._of[atom]:
            price, joined = self._ties[number]
            left = self._left[number]
            cut += price * ((0 < left + sign < len(joined)) - (0 < left < len(joined)))
        return cut + _uneven((self._share + sign * self._sizes[atom]) / self._total)

    def move(self, atom: int) -> None:
        """Put an atom on the other side."""
        self._cut = self.price_if(atom) - _uneven(
            (self._share + (-1 if self.side[atom] else 1) * self._sizes[atom]) / self._total
        )
        sign = -1 if self.side[atom] else 1
        for number in self._of[atom]:
            self._left[number] += sign
        self._share += sign * self._sizes[atom]
        self.side[atom] = not self.side[atom]


def _uneven(share: float) -> float:
    smaller = min(share, 1 - share)
    tiny = 100 * (LEAST_SHARE - smaller) if smaller < LEAST_SHARE else 0.0
    return tiny + UNEVEN * max(0.0, abs(share - 0.5) - 1 / 6)
