"""A network made ready to be run, once for all the ways it is run in.

States of a circuit, and the conditions a fault is watched in, differ in where they start and in what is done: start
pressures, positions, memories, inputs, commands. All else (what joins what, how wide it is, when it opens) stays, is
checked once, and is handed to the kernel once.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from pneudraw.flow.arrays import Model
from pneudraw.flow.flatten import Shape, Structure, model_of, pattern_of, shape_of, structure_of
from pneudraw.flow.network import Command, Network, Node, Passage, Signal, Weights
from pneudraw.flow.pointers import Table, table_of
from pneudraw.flow.wellformed import validate, validate_start


@dataclass(frozen=True, eq=False)
class Fixed:
    """What stays of a network, worked out when first asked for; of ``source`` only that is looked at."""

    source: Network

    @functools.cached_property
    def structure(self) -> Structure:
        """What follows from the pattern alone."""
        return structure_of(pattern_of(self.source))

    @functools.cached_property
    def lists(self) -> Table[Model]:
        """For the interpreted kernel; ValueError if the network makes no sense."""
        validate(self.source)
        return Table(model_of(self.source, self.structure))

    @functools.cached_property
    def arrays(self) -> Table[Model]:
        """For the compiled kernel; ValueError if the network makes no sense."""
        validate(self.source)
        return table_of(model_of(self.source, self.structure, arrays=True))

    @functools.cached_property
    def shape(self) -> Shape:
        """The sizes of the kernel's working storage."""
        return shape_of(self.source, self.structure)

    @functools.cached_property
    def term_base(self) -> tuple[float, ...]:
        """The constant of each term over its band, inputs and memories left out."""
        return tuple([t.constant / t.band for passage in self.source.passages for t in passage.terms])

    @functools.cached_property
    def pumps(self) -> tuple[Passage, ...]:
        """The passages that are compressors."""
        return tuple([p for p in self.source.passages if p.displacement is not None])

    @functools.cached_property
    def moving_terms(self) -> tuple[tuple[int, float, float, Weights, Weights], ...]:
        """The terms that inputs or memories act on: number, constant, band, weights of signals and of memories."""
        terms = [term for passage in self.source.passages for term in passage.terms]
        return tuple(
            [
                (i, t.constant, t.band, t.signals, t.memories)
                for i, t in enumerate(terms)
                if t.signals or t.memories
            ]
        )


@dataclass(frozen=True)
class Prepared:
    """A network and what was worked out of it. Made by :func:`prepare` and :func:`restarted`."""

    network: Network
    fixed: Fixed = field(compare=False, repr=False)


def prepare(network: Network) -> Prepared:
    """Return a network ready to be run; nothing is worked out before it is needed."""
    return Prepared(network, Fixed(network))


def restarted(
    prepared: Prepared,
    pressures: Sequence[float],
    positions: Sequence[float],
    memories: Sequence[int],
    signals: tuple[Signal, ...],
    commands: tuple[Command, ...],
) -> Prepared:
    """Return the same network with another start and other inputs; what was worked out is used again.

    ``pressures`` [bar abs] of all nodes, ``positions`` [dm] of all pistons, ``memories`` 0 or 1. ``signals`` are as
    many as before, in the same order.
    """
    old = prepared.network
    nodes = tuple(
        [
            Node(n.name, n.volume, n.ramps, n.exponent, n.fixed, p)
            for n, p in zip(old.nodes, pressures, strict=True)
        ]
    )
    pistons = tuple([replace(p, position0=x) for p, x in zip(old.pistons, positions, strict=True)])
    latches = tuple([replace(m, start=v) for m, v in zip(old.memories, memories, strict=True)])
    network = Network(nodes, old.passages, latches, signals, commands, pistons)
    cooling = any(node.exponent != 1.0 for node in nodes)  # then the law of stored air knows the start
    if cooling or len(signals) != len(old.signals):
        return prepare(network)
    validate_start(network)
    return Prepared(network, prepared.fixed)
