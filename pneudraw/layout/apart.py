"""A problem with blocks taken apart: a problem for each pattern, and one in which every block is a single symbol."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pneudraw.layout.blocks import Ends, Pattern, insides, within
from pneudraw.layout.problem import Block, Hint, NetSpec, PortSpec, Problem, SymbolSpec
from pneudraw.layout.result import Layout

THROUGH, STRAIGHT = "gate", 2.5
"""Kind of a line with a gate in the problem of a pattern, and what its straight run is worth."""
TALL = 2.0
"""How much higher the page of a block in a row of blocks is: those before and behind it need their width."""


@dataclass(frozen=True)
class Copy:
    """One of the blocks of a pattern: its ``names`` are those of its symbols, by their place.

    ``nets`` names the lines of the whole by their ends inside; ``gates`` has the number of the gate for each of them
    that leaves this block.
    """

    name: str
    pattern: int
    names: tuple[str, ...]
    nets: dict[Ends, str]
    gates: dict[Ends, int]


def copies_of(problem: Problem, blocks: Sequence[Block], patterns: Sequence[Pattern]) -> list[Copy]:
    """The blocks of all patterns, in the order of the problem."""
    inner = insides(problem, blocks)
    home = {b: p for p, pattern in enumerate(patterns) for b in pattern.members}
    taken = {symbol.id for symbol in problem.symbols}
    found: list[Copy] = []
    for b in sorted(home):
        number = {ends: k for k, ends in enumerate(patterns[home[b]].gates())}
        gates = {ends: number[ends] for ends, line in inner[b].lines.items() if line.sides}
        name = _unused(f"block {b}", taken)
        found.append(Copy(name, home[b], blocks[b].symbols, inner[b].nets, gates))
    return found


def gate_names(pattern: Pattern) -> list[str]:
    """Names of the symbols that stand for the gates in the problem of a pattern."""
    taken = {spec.id for spec in pattern.inside.specs}
    return [_unused(f"gate {k}", taken) for k in range(len(pattern.gates()))]


def _unused(name: str, taken: set[str]) -> str:
    while name in taken:
        name += "'"
    taken.add(name)
    return name


def inner_problem(problem: Problem, pattern: Pattern) -> Problem:
    """The problem of a pattern. Its lines are named by number; its page is as large a part of the whole one as the
    block is of the whole drawing."""
    inside = pattern.inside
    names = [spec.id for spec in inside.specs]
    gates = dict(zip(pattern.gates(), gate_names(pattern), strict=True))
    symbols = list(inside.specs)
    nets: list[NetSpec] = []
    for n, (ends, line) in enumerate(inside.lines.items()):
        joined = tuple((names[i], port) for i, port in line.order)
        if ends in gates:
            port = PortSpec("1", "E" if line.gate == "W" else "W", 0, "out" if line.gate == "W" else "in")
            symbols.append(SymbolSpec(gates[ends], 0, 0, (port,), rim=line.gate))
            joined += ((gates[ends], "1"),)
        nets.append(NetSpec(str(n), joined, THROUGH if ends in gates else line.kind))
    page = problem.page
    if page is not None:
        share = math.sqrt(len(names) / len(problem.symbols))
        rims = {line.gate for line in inside.lines.values() if line.gate}
        page = (page[0] * share, page[1] * share * (TALL if len(rims) > 1 else 1))
    return replace(
        problem,
        symbols=tuple(symbols),
        nets=tuple(nets),
        pairs=tuple((names[a], names[b]) for a, b in sorted(inside.pairs)),
        hints=(
            *(
                Hint(word, tuple(names[i] for i in some), names[int(value)] if word == "near" else value)
                for word, some, value in inside.hints
            ),
            *(Hint("level", (gates[right], gates[left])) for right, left in pattern.links),
        ),
        straight=(*problem.straight, (THROUGH, STRAIGHT)),
        page=page,
        blocks=(),
    )


def outer_problem(
    problem: Problem, patterns: Sequence[Pattern], copies: Sequence[Copy], layouts: Sequence[Layout]
) -> Problem:
    """The whole with one symbol for each block, as large as the layout of its pattern with its outline and title."""
    home = {name: (b, i) for b, copy in enumerate(copies) for i, name in enumerate(copy.names)}
    symbols: list[SymbolSpec] = []
    for spec in problem.symbols:
        if spec.id not in home:
            symbols.append(spec)
        elif home[spec.id][1] == 0:
            copy = copies[home[spec.id][0]]
            symbols.append(_box(problem, copy, patterns[copy.pattern], layouts[copy.pattern]))
    gates = [{copy.nets[ends]: k for ends, k in copy.gates.items()} for copy in copies]
    nets: list[NetSpec] = []
    for net in problem.nets:
        joined: dict[tuple[str, str], None] = {}
        for end in net.terminals:
            if end[0] not in home:
                joined[end] = None
                continue
            b = home[end[0]][0]
            if net.id in gates[b]:
                joined[copies[b].name, str(gates[b][net.id])] = None
        if joined:
            nets.append(replace(net, terminals=tuple(joined)))
    return replace(
        problem,
        symbols=tuple(symbols),
        nets=tuple(nets),
        pairs=tuple(pair for pair in problem.pairs if not home.keys() & set(pair)),
        hints=tuple(_hints(problem, copies, home)),
        blocks=(),
    )


def _box(problem: Problem, copy: Copy, pattern: Pattern, layout: Layout) -> SymbolSpec:
    left, top = corner(problem)
    at = {symbol.id: symbol.y for symbol in layout.symbols}
    ports = tuple(
        PortSpec(str(k), pattern.inside.lines[ends].gate, top + at[name], _flow(pattern, ends))
        for k, (ends, name) in enumerate(zip(pattern.gates(), gate_names(pattern), strict=True))
    )
    return SymbolSpec(
        copy.name,
        layout.width + 2 * left,
        layout.height + top + left,
        ports,
        f"block {copy.pattern}",
    )


def _flow(pattern: Pattern, ends: Ends) -> str:
    return "in" if pattern.inside.lines[ends].gate == "W" else "out"


def corner(problem: Problem) -> tuple[int, int]:
    """Where the drawing of a block begins in its box."""
    return problem.spacing.block, problem.spacing.block + problem.spacing.title


def _hints(problem: Problem, copies: Sequence[Copy], home: dict[str, tuple[int, int]]) -> list[Hint]:
    """Hints that are not about one block's inside, with blocks for their symbols."""

    def outer(name: str) -> str:
        return copies[home[name][0]].name if name in home else name

    found: list[Hint] = []
    for hint in problem.hints:
        names = tuple(dict.fromkeys(outer(name) for name in hint.symbols))
        if within(hint, home) >= 0:
            continue
        found.append(
            replace(hint, symbols=names, value=outer(hint.value) if hint.word == "near" else hint.value)
        )
    return found
