"""Vehicles built alike are laid out once for all of them, so that they come out alike; only the names differ.

What one of them lacks (the line to a next trailer) is left out of its copy.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pneudraw.layout.components import part_of
from pneudraw.layout.problem import Hint, LabelSpec, NetSpec, Problem, SymbolSpec
from pneudraw.layout.result import Layout

Key = str
"""What a symbol or a net is called in all of them."""


@dataclass(frozen=True)
class Named:
    """A problem whose symbols and nets are called by keys, and their real names."""

    problem: Problem
    symbols: Mapping[Key, str]
    nets: Mapping[Key, str]


def named(asked: Problem, prefix: str) -> Named | None:
    """Return the problem of a vehicle without its tag; None if a symbol is neither its own nor a mark on a line.

    A net is called by its own ends, a mark (it ends nets but has no prefix) by the net it is on.
    """
    own = {s.id: s.id.removeprefix(prefix) for s in asked.symbols if s.id.startswith(prefix)}
    keys: dict[str, Key] = dict(own)
    nets: dict[str, Key] = {}
    for net in asked.nets:
        ends = sorted(f"{own[tag]}.{port}" for tag, port in net.terminals if tag in own)
        nets[net.id] = " ".join(ends)
        for tag, _ in net.terminals:
            keys.setdefault(tag, f"> {nets[net.id]}")
    if len(set(nets.values())) < len(nets) or any(s.id not in keys for s in asked.symbols):
        return None
    problem = replace(
        asked,
        symbols=tuple(replace(s, id=keys[s.id]) for s in asked.symbols),
        nets=tuple(
            replace(net, id=nets[net.id], terminals=tuple(sorted((keys[t], p) for t, p in net.terminals)))
            for net in asked.nets
        ),
        pairs=tuple((keys[a], keys[b]) for a, b in asked.pairs),
        blocks=(),
        hints=tuple(Hint(h.word, tuple(keys[t] for t in h.symbols), h.value) for h in asked.hints),
    )
    return Named(problem, {key: tag for tag, key in keys.items()}, {key: tag for tag, key in nets.items()})


def joined(some: Sequence[Named]) -> Problem | None:
    """Return one problem with everything any of them has; None if they are not alike.

    Labels get the room the longest asks for. They may differ in nets that only leave the vehicle, with their marks.
    """
    fullest = max(some, key=lambda one: len(one.nets))
    symbols: dict[Key, SymbolSpec] = {}
    nets: dict[Key, NetSpec] = {}
    for one in (fullest, *some):
        for spec in one.problem.symbols:
            known = symbols.setdefault(spec.id, spec)
            if _body(known) != _body(spec):
                return None
            ports = max(known.ports, spec.ports, key=len)
            symbols[spec.id] = replace(known, ports=ports, label=_larger(known.label, spec.label))
        for net in one.problem.nets:
            if nets.setdefault(net.id, net) != net:
                return None
    for one in some:
        missing = set(nets) - set(one.nets)
        loose = {key for key in symbols if key.startswith("> ")}
        if any(len(nets[key].terminals) > 2 or f"> {key}" not in loose for key in missing):
            return None
        if any(key not in one.symbols and key not in {f"> {net}" for net in missing} for key in symbols):
            return None
    hints = dict.fromkeys(hint for one in some for hint in one.problem.hints)
    return replace(
        fullest.problem, symbols=tuple(symbols.values()), nets=tuple(nets.values()), hints=tuple(hints)
    )


def copied(layout: Layout, one: Named) -> Layout:
    """Return the common layout with the names of one of them, without what it lacks."""
    return part_of(layout, one.symbols, one.nets)


def _body(spec: SymbolSpec) -> SymbolSpec:
    """What must be the same: not the label, nor what comes of a line that only one of them has."""
    return replace(spec, label=None, ports=(), role="")


def _larger(one: LabelSpec | None, other: LabelSpec | None) -> LabelSpec | None:
    if one is None or other is None:
        return one or other
    return LabelSpec(max(one.width, other.width), max(one.height, other.height))
