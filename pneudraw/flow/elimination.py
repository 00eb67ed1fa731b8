"""The order in which the solver eliminates its unknowns, and where new entries appear: worked out once per network.

Which passages join which nodes does not change during a run, so the sparse LU factorisation is a fixed list of
multiply-adds. The order is minimum degree (on the pattern made symmetric); there is no pivoting: the matrices are
those of stored air minus flows, whose diagonal grows with every opening.
"""

from __future__ import annotations

import functools
import heapq
from dataclasses import dataclass


@dataclass(frozen=True)
class Elimination:
    """The list of multiply-adds, as flat tuples.

    ``slot`` maps (row, column) to a place in the value array of ``slots`` entries. For pivot number k of state
    ``pivots[k]`` and diagonal slot ``diagonals[k]``: lower entries ``lower_start[k]..lower_start[k+1]`` with their
    row and slot; each with updates ``update_start[e]..update_start[e+1]`` of (source slot in the pivot row, target
    slot); upper entries ``upper_start[k]..`` with column and slot.
    """

    slot: dict[tuple[int, int], int]
    slots: int
    pivots: tuple[int, ...]
    diagonals: tuple[int, ...]
    lower_start: tuple[int, ...]
    lower_row: tuple[int, ...]
    lower_slot: tuple[int, ...]
    update_start: tuple[int, ...]
    update_source: tuple[int, ...]
    update_target: tuple[int, ...]
    upper_start: tuple[int, ...]
    upper_column: tuple[int, ...]
    upper_slot: tuple[int, ...]


def minimum_degree(unknowns: tuple[int, ...], entries: tuple[tuple[int, int], ...]) -> tuple[int, ...]:
    """Return the unknowns in order of elimination: always the one with fewest neighbours left, lowest index first."""
    near: dict[int, set[int]] = {u: set() for u in unknowns}
    for i, j in entries:
        if i != j:
            near[i].add(j)
            near[j].add(i)
    heap = [(len(others), u) for u, others in near.items()]
    heapq.heapify(heap)
    order: list[int] = []
    gone: set[int] = set()
    while heap:
        degree, u = heapq.heappop(heap)
        if u in gone or degree != len(near[u]):
            continue  # an outdated entry; a newer one is in the heap
        gone.add(u)
        order.append(u)
        others = near.pop(u)
        for v in others:
            joined = near[v]
            joined |= others
            joined.discard(u)
            joined.discard(v)
            heapq.heappush(heap, (len(joined), v))
    return tuple(order)


@functools.lru_cache(maxsize=64)
def eliminate(unknowns: tuple[int, ...], entries: tuple[tuple[int, int], ...]) -> Elimination:
    """Return the elimination of a matrix with the given unknowns and (row, column) entries; diagonals are added.

    Cached: the faults of one circuit share a pattern.
    """
    order = minimum_degree(unknowns, entries)
    rank = {u: k for k, u in enumerate(order)}
    slot: dict[tuple[int, int], int] = {}
    rows: dict[int, list[int]] = {u: [] for u in unknowns}  # row -> columns ranked after the row
    columns: dict[int, list[int]] = {u: [] for u in unknowns}  # column -> rows ranked after the column

    def place(i: int, j: int) -> int:
        found = slot.get((i, j))
        if found is None:
            found = slot[i, j] = len(slot)
            if rank[j] > rank[i]:
                rows[i].append(j)
            elif rank[i] > rank[j]:
                columns[j].append(i)
        return found

    for u in order:
        place(u, u)
    for i, j in entries:
        place(i, j)
    lower_start, lower_row, lower_slot = [0], [], []
    update_start, update_source, update_target = [0], [], []
    upper_start, upper_column, upper_slot = [0], [], []
    for u in order:
        behind = rows[u]
        for i in columns[u]:
            lower_row.append(i)
            lower_slot.append(slot[i, u])
            for j in behind:
                update_source.append(slot[u, j])
                update_target.append(place(i, j))
            update_start.append(len(update_source))
        for j in behind:
            upper_column.append(j)
            upper_slot.append(slot[u, j])
        lower_start.append(len(lower_row))
        upper_start.append(len(upper_column))
    return Elimination(
        slot,
        len(slot),
        order,
        tuple(slot[u, u] for u in order),
        tuple(lower_start),
        tuple(lower_row),
        tuple(lower_slot),
        tuple(update_start),
        tuple(update_source),
        tuple(update_target),
        tuple(upper_start),
        tuple(upper_column),
        tuple(upper_slot),
    )
