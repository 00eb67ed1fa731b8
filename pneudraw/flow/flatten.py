"""From a network to the kernel's arrays, and the kernel's working storage.

What depends only on which passages join and look at which nodes is worked out once for all networks of one pattern:
the states and faults of a circuit differ in numbers.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from pneudraw.flow.arrays import LARGEST_RATIO, ROWS, Model, Work, laminar
from pneudraw.flow.elimination import eliminate
from pneudraw.flow.network import SMALLEST_VOLUME, Network, Passage
from pneudraw.flow.pointers import FLOATS, INTS, KINDS, Layout, Table, as_array


class Pattern(NamedTuple):
    """What of a network decides where numbers stand: the ends and terms of its passages, the areas of its pistons."""

    free: tuple[bool, ...]  # of each node
    ends: tuple[tuple[int, int], ...]
    terms: tuple[tuple[tuple[int, ...], ...], ...]  # of each passage, of each term: the states looked at
    areas: tuple[tuple[int, ...], ...]  # of each piston: the nodes that push it


@dataclass(frozen=True, eq=False)
class Structure:
    """The fields of a model that follow from its pattern alone."""

    lists: Mapping[str, Any]

    @functools.cached_property
    def arrays(self) -> Mapping[str, Any]:
        """The same for the compiled kernel."""
        return {name: as_array(name, value) for name, value in self.lists.items()}


def model_of(network: Network, structure: Structure | None = None, arrays: bool = False) -> Model:
    """Return a network that makes sense (:mod:`pneudraw.flow.wellformed`) as lists, or as arrays.

    ``structure`` is that of its pattern, if it is known already.
    """
    structure = structure or structure_of(pattern_of(network))
    nodes, passages, pistons = network.nodes, network.passages, network.pistons
    values: dict[str, Any] = {
        "volume": [max(node.volume, SMALLEST_VOLUME) for node in nodes],
        "cool": [(node.exponent - 1.0) / (2.0 * node.exponent) for node in nodes],
        "start_pressure": [float(node.pressure0) for node in nodes],
        "ramp_start": _starts(len(node.ramps) for node in nodes),
        "ramp_low": [float(low) for node in nodes for low, _, _ in node.ramps],
        "ramp_high": [float(high) for node in nodes for _, high, _ in node.ramps],
        "ramp_dv": [float(dv) for node in nodes for _, _, dv in node.ramps],
        **_passage_values(passages),
        "friction": [float(p.friction) for p in pistons],
        "spring": [float(p.spring) for p in pistons],
        "stop": [float(p.stop) for p in pistons],
        "length": [float(p.length) for p in pistons],
        "area": [float(area) for p in pistons for _, area in p.areas],
    }
    if arrays:
        values = {name: as_array(name, value) for name, value in values.items()}
    return Model(**(structure.arrays if arrays else structure.lists), **values)


def pattern_of(network: Network) -> Pattern:
    """Return what of a network decides where numbers stand."""
    passages = network.passages
    return Pattern(
        tuple([not node.fixed for node in network.nodes]),
        tuple([(p.a, p.b) for p in passages]),
        tuple([tuple([tuple([s for s, _ in t.weights]) for t in p.terms]) for p in passages]),
        tuple([tuple([state for state, _ in p.areas]) for p in network.pistons]),
    )


def _passage_values(passages: tuple[Passage, ...]) -> dict[str, Any]:
    ratios = [min(p.ratio, LARGEST_RATIO) for p in passages]
    laminars = [_laminar(ratio, p.index) for ratio, p in zip(ratios, passages, strict=True)]
    return {
        "conductance": [
            float(p.conductance if p.displacement is None else p.displacement.rate) for p in passages
        ],
        "ratio": [
            float(ratio if p.displacement is None else p.displacement.falloff)
            for ratio, p in zip(ratios, passages, strict=True)
        ],
        "over": [1.0 / (1.0 - ratio) for ratio in ratios],
        "exponent": [float(p.index) for p in passages],
        "laminar1": [a1 for a1, _ in laminars],
        "laminar3": [a3 for _, a3 in laminars],
        "pump": [0 if p.displacement is None else 1 for p in passages],
        "any_of": [1 if p.combine == "any" else 0 for p in passages],
        "low": [float(p.low) for p in passages],
        "high": [float(p.high) for p in passages],
        "weight": [float(w) / term.band for p in passages for term in p.terms for _, w in term.weights],
    }


_laminar = functools.lru_cache(maxsize=1024)(laminar)


@functools.lru_cache(maxsize=64)
def structure_of(pattern: Pattern) -> Structure:
    """Return the fields of a model that follow from its pattern: indices, and the elimination of its matrix."""
    n, states = len(pattern.free), len(pattern.free) + len(pattern.areas)
    free = (*pattern.free, *(True for _ in pattern.areas))
    unknowns = tuple(i for i in range(states) if free[i])
    entries: dict[tuple[int, int], None] = {}  # an ordered set

    def enter(row: int, column: int) -> None:
        if free[row] and free[column]:
            entries[row, column] = None

    for ends, looks in zip(pattern.ends, pattern.terms, strict=True):
        for row in ends:
            for column in (*ends, *(state for term in looks for state in term)):
                enter(row, column)
    for j, areas in enumerate(pattern.areas):
        for state in areas:
            enter(n + j, state)
            enter(state, n + j)
    plan = eliminate(unknowns, tuple(entries))

    def slot(row: int, column: int) -> int:
        return plan.slot.get((row, column), plan.slots)

    terms = [(ends, term) for ends, looks in zip(pattern.ends, pattern.terms, strict=True) for term in looks]
    weights = [(a, b, state) for (a, b), term in terms for state in term]
    pushed = [(n + j, state) for j, areas in enumerate(pattern.areas) for state in areas]
    return Structure(
        {
            "nodes": n,
            "pistons": len(pattern.areas),
            "states": states,
            "passages": len(pattern.ends),
            "unknowns": len(unknowns),
            "terms": len(terms),
            "slots": plan.slots + 1,
            "end_a": [a for a, _ in pattern.ends],
            "end_b": [b for _, b in pattern.ends],
            "slot_aa": [slot(a, a) for a, _ in pattern.ends],
            "slot_ab": [slot(a, b) for a, b in pattern.ends],
            "slot_ba": [slot(b, a) for a, b in pattern.ends],
            "slot_bb": [slot(b, b) for _, b in pattern.ends],
            "term_start": _starts(len(looks) for looks in pattern.terms),
            "weight_start": _starts(len(term) for _, term in terms),
            "weight_state": [state for _, _, state in weights],
            "weight_slot_a": [slot(a, state) for a, _, state in weights],
            "weight_slot_b": [slot(b, state) for _, b, state in weights],
            "piston_slot": [slot(n + j, n + j) for j in range(len(pattern.areas))],
            "area_start": _starts(len(areas) for areas in pattern.areas),
            "area_state": [state for _, state in pushed],
            "area_slot_force": [slot(piston, state) for piston, state in pushed],
            "area_slot_volume": [slot(state, piston) for piston, state in pushed],
            "pivot": list(plan.pivots),
            "diagonal": list(plan.diagonals),
            "lower_start": list(plan.lower_start),
            "lower_row": list(plan.lower_row),
            "lower_slot": list(plan.lower_slot),
            "update_start": list(plan.update_start),
            "update_source": list(plan.update_source),
            "update_target": list(plan.update_target),
            "upper_start": list(plan.upper_start),
            "upper_column": list(plan.upper_column),
            "upper_slot": list(plan.upper_slot),
        }
    )


def _starts(counts: Iterable[int]) -> list[int]:
    out = [0]
    for count in counts:
        out.append(out[-1] + count)
    return out


@dataclass(frozen=True)
class Shape:
    """How long the fields of working storage are, those of whole numbers and those of fractions, in `Work`'s order."""

    sizes: tuple[int, ...]

    @functools.cached_property
    def layout(self) -> Layout:
        """Where they stand in the compiled kernel's storage."""
        return Layout.of(Work, self.sizes)


def shape_of(network: Network, structure: Structure | None = None) -> Shape:
    """Return the sizes of the working storage of a network; ``structure`` is that of its pattern, if known already."""
    count = (structure or structure_of(pattern_of(network))).lists
    states, passages, terms, pistons = (count[n] for n in ("states", "passages", "terms", "pistons"))
    triggers = [t for memory in network.memories for t in (*memory.to_one, *memory.to_zero)]
    weights = sum(len(t.weights) for t in triggers)
    sizes = dict.fromkeys(("y0", "y1", "y2", "f0", "f1", "f2", "mass0", "mass1", "mass2"), states)
    sizes |= dict.fromkeys(("capacity", "base", "rate", "delta", "last", "scale"), states)
    sizes |= dict.fromkeys(("stiff", "stiff0", "blame"), states)
    sizes |= dict.fromkeys(("q0", "q1", "q2", "net", "forward"), passages)
    sizes |= dict.fromkeys(("opening", "steep", "constants", "term_base", "term_slope", "moving"), terms)
    sizes |= dict.fromkeys(("load", "load_base", "load_slope", "all_pistons"), pistons)
    sizes |= dict.fromkeys(("trigger_base", "trigger_slope", "trigger0", "trigger2"), len(triggers))
    sizes |= {"all_triggers": len(triggers), "trigger_start": len(triggers) + 1}
    sizes |= {"trigger_state": weights, "trigger_weight": weights}
    sizes |= {
        "real": 13,
        "tally": 8,
        "lengths": 2,
        "capacity_rows": 1,
        "volume": count["nodes"],
        "a": count["slots"],
    }
    sizes |= {"out_time": ROWS, "out_state": ROWS * states, "out_rate": ROWS * states}
    return Shape(tuple([sizes[name] for name in Work._fields]))


def work_of(network: Network, shape: Shape, arrays: bool = False) -> Table[Work]:
    """Return fresh working storage at the network's start state; `simulate` fills in the run's settings."""
    if arrays:
        table: Table[Work] = shape.layout.fresh()
    else:
        zeros = {FLOATS: 0.0, INTS: 0}
        lists: Any = [
            [zeros[KINDS[name]]] * size for name, size in zip(Work._fields, shape.sizes, strict=True)
        ]
        table = Table(Work(*lists))
    work = table.fields
    work.capacity_rows[0] = ROWS
    start = [*[node.pressure0 for node in network.nodes], *[p.position0 for p in network.pistons]]
    work.y0[:] = start if not arrays else np.array(start)
    for places in (work.all_pistons, work.all_triggers):
        for i in range(len(places)):
            places[i] = i
    return table
