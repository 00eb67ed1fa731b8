"""Loops over numbers that the kernel's parts share, and the elimination. In the subset numba compiles, see `kernel`."""

from __future__ import annotations

from pneudraw.flow.arrays import Floats, Ints, Model


def copy(target: Floats, source: Floats, n: int) -> None:
    """Copy the first n numbers."""
    for i in range(n):
        target[i] = source[i]


def zero(target: Floats, n: int) -> None:
    """Set the first n numbers to 0."""
    for i in range(n):
        target[i] = 0.0


def factorise(m: Model, a: Floats) -> bool:
    """Turn ``a`` into its LU factors, one over each pivot on the diagonal; False if a pivot vanishes."""
    diagonal, lower_start, lower_slot = m.diagonal, m.lower_start, m.lower_slot
    update_start, source, target = m.update_start, m.update_source, m.update_target
    for k in range(m.unknowns):
        pivot = a[diagonal[k]]
        if not abs(pivot) > 1e-30:
            return False
        over = 1.0 / pivot
        a[diagonal[k]] = over
        for e in range(lower_start[k], lower_start[k + 1]):
            v = a[lower_slot[e]]
            if v != 0.0:
                v *= over
                a[lower_slot[e]] = v
                for u in range(update_start[e], update_start[e + 1]):
                    a[target[u]] -= v * a[source[u]]
    return True


def substitute(m: Model, a: Floats, x: Floats) -> None:
    """Solve with the factors of ``a``; ``x`` is the right-hand side and becomes the solution."""
    pivot, diagonal, lower_start, upper_start = m.pivot, m.diagonal, m.lower_start, m.upper_start
    lower_row, lower_slot, upper_column, upper_slot = m.lower_row, m.lower_slot, m.upper_column, m.upper_slot
    for k in range(m.unknowns):
        v = x[pivot[k]]
        if v != 0.0:
            for e in range(lower_start[k], lower_start[k + 1]):
                x[lower_row[e]] -= a[lower_slot[e]] * v
    for k in range(m.unknowns - 1, -1, -1):
        v = x[pivot[k]]
        for e in range(upper_start[k], upper_start[k + 1]):
            v -= a[upper_slot[e]] * x[upper_column[e]]
        x[pivot[k]] = v * a[diagonal[k]]


def line(values: Floats, base: Floats, slope: Floats, places: Ints, count: int, since: float) -> None:
    """Set the values at the first ``count`` of ``places`` to base + slope * since."""
    for k in range(count):
        i = places[k]
        values[i] = base[i] + slope[i] * since
