"""Blocks: which of them are alike, up to names, and what like ones have in common.

A *pattern* stands for all blocks that are alike. Symbols go by their place in the block, so that those of two blocks
can be compared. Where a line leaves a block it has a *gate*: on the left if its air comes from elsewhere, on the
right if it goes on there. A line may leave one block and not another (the last trailer's couplings are open); the
pattern has the gate then, and it is left out where there is no line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from pneudraw.layout.problem import Block, Hint, LabelSpec, PortSpec, Problem, SymbolSpec

LEAST = 2
"""Symbols a block has at least."""

TOGETHER = ("group", "column", "mirror")
"""Words of hints that put symbols beside one another."""

Ends = tuple[tuple[int, str], ...]
"""What a line joins inside a block: place of the symbol, port."""


@dataclass
class InnerLine:
    """A line of a block or pattern; ``sides`` has a vote for the side of its gate from every block that it leaves."""

    kind: str
    order: Ends
    sides: list[str] = field(default_factory=list)

    @property
    def gate(self) -> str:
        """``"W"``, ``"E"``, or nothing if it leaves none of the blocks."""
        if not self.sides:
            return ""
        return "E" if 2 * self.sides.count("E") > len(self.sides) else "W"


@dataclass
class Inside:
    """What one block holds: symbols in order, lines by their (sorted) ends inside, pairs and hints by places.

    ``nets`` has the problem's name of each line.
    """

    specs: list[SymbolSpec]
    nets: dict[Ends, str] = field(default_factory=dict)
    lines: dict[Ends, InnerLine] = field(default_factory=dict)
    pairs: frozenset[tuple[int, int]] = frozenset()
    hints: tuple[tuple[str, tuple[int, ...], str], ...] = ()


@dataclass
class Pattern:
    """Like blocks: ``members`` are their numbers in the problem, ``inside`` is what one has that has all lines.

    ``links`` are the lines that go on from one of them to the next: ends at the right of one, at the left of the next.
    """

    inside: Inside
    members: list[int]
    links: list[tuple[Ends, Ends]] = field(default_factory=list)

    def gates(self) -> list[Ends]:
        """The lines that leave, in the order of their gates' numbers."""
        return [ends for ends, line in self.inside.lines.items() if line.gate]


def insides(problem: Problem, blocks: Sequence[Block]) -> list[Inside]:
    """What each block holds."""
    spec = {symbol.id: symbol for symbol in problem.symbols}
    home = {name: (b, i) for b, block in enumerate(blocks) for i, name in enumerate(block.symbols)}
    found = [Inside([spec[name] for name in block.symbols]) for block in blocks]
    flow = {(symbol.id, port.id): port.flow for symbol in problem.symbols for port in symbol.ports}
    for net in problem.nets:
        ends: dict[int, list[tuple[int, str]]] = {}
        for name, port in net.terminals:
            if name in home:
                b, i = home[name]
                ends.setdefault(b, []).append((i, port))
        for b, inner in ends.items():
            key = tuple(sorted(inner))
            line = InnerLine(net.kind, tuple(inner))
            outer = [end for end in net.terminals if home.get(end[0], (-1, 0))[0] != b]
            if outer:
                here = [flow.get((found[b].specs[i].id, port), "") for i, port in inner]
                there = [flow.get(end, "") for end in outer]
                first = home.get(net.terminals[0][0], (-1, 0))[0] == b
                line.sides.append("E" if _outward(here, there, first) else "W")
            found[b].nets[key] = net.id
            found[b].lines[key] = line
    for b, inside in enumerate(found):
        inside.pairs = frozenset(
            (home[one][1], home[other][1])
            for one, other in problem.pairs
            if home.get(one, (-1, 0))[0] == b == home.get(other, (-1, 0))[0]
        )
        inside.hints = tuple(
            (hint.word, tuple(home[name][1] for name in hint.symbols), _value(hint, home))
            for hint in problem.hints
            if within(hint, home) == b
        )
    return found


def _outward(inside: Sequence[str], outside: Sequence[str], first: bool) -> bool:
    """True if the air of a line goes from a block to what is outside it, by the flow of the ports; where they do not
    tell, if the line is told from the block on."""
    gives = ("out" in inside) + (set(outside) == {"in"})
    takes = ("out" in outside) + (set(inside) == {"in"})
    return gives > takes or (gives == takes and first)


def within(hint: Hint, home: dict[str, tuple[int, int]]) -> int:
    """The block that all symbols of a hint are in; -1 if there is none."""
    names = [*hint.symbols, *([hint.value] if hint.word == "near" else [])]
    blocks = {home[name][0] if name in home else -1 for name in names}
    return blocks.pop() if len(blocks) == 1 else -1


def _value(hint: Hint, home: dict[str, tuple[int, int]]) -> str:
    return str(home[hint.value][1]) if hint.word == "near" else hint.value


def patterns(problem: Problem) -> tuple[list[Block], list[Pattern]]:
    """The blocks, and the patterns of those that are drawn apart: two or more that are alike, or kept ones.

    Symbols that are not there and those of an earlier block are left out of a block. Where the author wants parts of
    a block to stand with others, it is none.
    """
    there = {symbol.id for symbol in problem.symbols}
    blocks: list[Block] = []
    for block in problem.blocks:
        symbols = tuple(name for name in dict.fromkeys(block.symbols) if name in there)
        there -= set(symbols)
        blocks.append(replace(block, symbols=symbols))
    found: list[Pattern] = []
    every = insides(problem, blocks)
    together = [set(hint.symbols) for hint in problem.hints if hint.word in TOGETHER]
    for b, inside in enumerate(every):
        if len(inside.specs) < LEAST or _torn(together, set(blocks[b].symbols)):
            continue
        home = next((pattern for pattern in found if _alike(pattern.inside, inside)), None)
        if home is None:
            found.append(Pattern(inside, [b]))
        else:
            home.members.append(b)
            home.inside = _united(home.inside, inside)
    for pattern in found:
        pattern.links = _links(pattern, every)
    whole = len(problem.symbols)
    return blocks, [
        pattern
        for pattern in found
        if len(pattern.members) > 1 or (blocks[pattern.members[0]].kept and len(pattern.inside.specs) < whole)
    ]


def _torn(together: Sequence[set[str]], names: set[str]) -> bool:
    return any(some & names and some - names for some in together)


def _links(pattern: Pattern, every: Sequence[Inside]) -> list[tuple[Ends, Ends]]:
    met: dict[str, tuple[list[Ends], list[Ends]]] = {}
    for b in pattern.members:
        for ends, net in every[b].nets.items():
            if every[b].lines[ends].sides:
                met.setdefault(net, ([], []))[pattern.inside.lines[ends].gate == "W"].append(ends)
    return list(
        dict.fromkeys((one, other) for right, left in met.values() for one in right for other in left)
    )


def _alike(one: Inside, other: Inside) -> bool:
    """True if the blocks differ at most in lines that leave, and in names and labels."""
    return (
        len(one.specs) == len(other.specs)
        and all(_same(a, b) for a, b in zip(one.specs, other.specs, strict=True))
        and one.pairs == other.pairs
        and one.hints == other.hints
        and _open(one, other)
        and _open(other, one)
    )


def _same(a: SymbolSpec, b: SymbolSpec) -> bool:
    """The same box with the same ports, as far as both have them (one without a line may be missing)."""
    ports = {port.id: port for port in a.ports}
    return (a.type, a.width, a.height, a.transforms, a.label is None) == (
        b.type,
        b.width,
        b.height,
        b.transforms,
        b.label is None,
    ) and all(ports.get(port.id, port) == port for port in b.ports)


def _open(one: Inside, other: Inside) -> bool:
    """True if every line of one block that the other has not leaves the block, and its ports are free in the other."""
    taken = {end for ends in other.lines for end in ends}
    return all(
        ends in other.lines or (line.sides and not taken.intersection(ends))
        for ends, line in one.lines.items()
    )


def _united(one: Inside, other: Inside) -> Inside:
    """All ports and lines of both, and the larger one of any two labels."""
    lines = dict(one.lines)
    for ends, line in other.lines.items():
        old = lines.get(ends)
        lines[ends] = line if old is None else replace(old, sides=[*old.sides, *line.sides])
    return replace(
        one, specs=[_joined(a, b) for a, b in zip(one.specs, other.specs, strict=True)], lines=lines
    )


def _joined(a: SymbolSpec, b: SymbolSpec) -> SymbolSpec:
    known = {port.id for port in a.ports}
    more: tuple[PortSpec, ...] = tuple(port for port in b.ports if port.id not in known)
    label = a.label
    if label is not None and b.label is not None:
        label = LabelSpec(max(label.width, b.label.width), max(label.height, b.label.height))
    role = b.role if a.role == "leaf" else a.role
    return replace(a, ports=a.ports + more, label=label, role=role)
