"""Identification codes by ISO 1219-2: module, medium, circuit, component (``P1.4``, ``2-P1.4``).

Circuit 0 is what serves all circuits (the supply); every reservoir behind it begins a circuit, and a part belongs
to the reservoir it is the nearest to, a check valve to the one it feeds. The letter P of the medium and the 0 are
from memory; a vehicle used in a combination is a function module of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pneudraw.circuit.model import Circuit, Part
from pneudraw.circuit.vehicles import vehicles
from pneudraw.library.model import Place, Role

MEDIUM = "P"
SUPPLY = (Place.SOURCE, Place.TREATMENT)


def codes(circuit: Circuit) -> Mapping[str, str]:
    """Return the code of every part, by tag; components are counted in netlist order."""
    used = vehicles(circuit)
    module_of = {tag: number for number, tags in enumerate(used.values(), start=2) for tag in tags}
    numbers = circuit_numbers(circuit)
    counts: dict[tuple[int, int], int] = {}
    out: dict[str, str] = {}
    for part in circuit.parts:
        key = module_of.get(part.tag, 1), numbers[part.tag]
        counts[key] = counts.get(key, 0) + 1
        prefix = f"{key[0]}-" if used else ""
        out[part.tag] = f"{prefix}{MEDIUM}{key[1]}.{counts[key]}"
    return out


def circuit_numbers(circuit: Circuit) -> Mapping[str, int]:
    """Return the circuit each part belongs to, 0 for the supply; counted anew in every vehicle.

    Without a reservoir all is 0.
    """
    flows = _flows(circuit)
    used = vehicles(circuit)
    elsewhere = {tag for tags in used.values() for tag in tags}
    own = tuple(part.tag for part in circuit.parts if part.tag not in elsewhere)
    found: dict[str, int] = {}
    for tags in (own, *used.values()):
        found |= _of_vehicle(circuit, flows, frozenset(tags))
    return found


def _of_vehicle(
    circuit: Circuit, flows: Mapping[str, tuple[str, ...]], tags: frozenset[str]
) -> Mapping[str, int]:
    parts = [part for part in circuit.parts if part.tag in tags]
    stores = [part.tag for part in parts if part.kind.place is Place.STORAGE]
    ahead = {tag: _downstream(flows, tag) for tag in stores}
    first = [p for p in stores if any(q in ahead[p] and p not in ahead[q] for q in stores)]
    number = {tag: count for count, tag in enumerate((p for p in stores if p not in first), start=1)}
    if not number:
        return dict.fromkeys((part.tag for part in parts), 0)
    number |= {part.tag: 0 for part in parts if part.kind.place in SUPPLY or part.tag in first}
    return _spread(circuit, number, tags)


def _spread(circuit: Circuit, known: Mapping[str, int], among: frozenset[str]) -> Mapping[str, int]:
    """Give every part the number of the nearest known one; of two as near the first circuit, the supply last."""
    near: dict[str, list[str]] = {part.tag: [] for part in circuit.parts if part.tag in among}
    for line in circuit.lines:
        tags = [tag for tag in dict.fromkeys(end.part.tag for end in line.ends) if tag in among]
        for tag in tags:
            near[tag] += [other for other in tags if other != tag]
    found = dict(known)
    edge: Sequence[str] = tuple(found)
    while edge:
        offers: dict[str, list[int]] = {}
        for tag in edge:
            for other in near[tag]:
                if other not in found:
                    offers.setdefault(other, []).append(found[tag])
        for tag, numbers in offers.items():
            found[tag] = min(numbers, key=lambda n: (n == 0, n))
        edge = tuple(offers)
    return {tag: found.get(tag, 0) for tag in near}


def _flows(circuit: Circuit) -> Mapping[str, tuple[str, ...]]:
    """Which parts get air from each part: out of deliveries and tappings into supplies and tappings."""
    out: dict[str, list[str]] = {part.tag: [] for part in circuit.parts}
    for line in circuit.lines:
        starts = [e.part for e in line.ends if e.port.role in (Role.DELIVERY, Role.TAPPING)]
        goals = [e.part for e in line.ends if e.port.role in (Role.SUPPLY, Role.TAPPING)]
        for start in starts:
            out[start.tag] += [goal.tag for goal in goals if goal is not start and not _later(start, goal)]
    return {tag: tuple(goals) for tag, goals in out.items()}


def _later(start: Part, goal: Part) -> bool:
    """Between two reservoirs' tappings no direction can be told."""
    return start.kind.place is Place.STORAGE and goal.kind.place is Place.STORAGE and start.tag > goal.tag


def _downstream(flows: Mapping[str, tuple[str, ...]], tag: str) -> frozenset[str]:
    seen: set[str] = set()
    todo = list(flows[tag])
    while todo:
        here = todo.pop()
        if here not in seen:
            seen.add(here)
            todo += flows[here]
    return frozenset(seen - {tag})
