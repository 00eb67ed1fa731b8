"""The push-rod force of a brake: what a pressure is worth at the wheel, in one place for traces, charts and faults."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pneudraw.flow.plumbing import PA
from pneudraw.flow.solution import Array
from pneudraw.library.expression import value_of
from pneudraw.library.model import Brake, Expression


def sides(brake: Brake) -> Iterator[tuple[str, str]]:
    """Yield the sides of a brake, ``service`` and ``spring``, with their chambers."""
    if brake.service is not None:
        yield "service", brake.service.chamber
    if brake.spring is not None:
        yield "spring", brake.spring.chamber


def push_rod_force(brake: Brake, side: str, known: Mapping[str, float], pressure: Array) -> Array:
    """Return the push-rod force [N] of one side at gauge pressures [bar]; ``known`` as Plumbing.numbers gives it.

    Service air pushes with its area times what exceeds the return spring; the parking spring with its force less
    what the hold-off pressure takes from it; neither pulls.
    """
    import numpy as np

    def value(expression: Expression) -> float:
        return value_of(expression, known)

    if side == "service":
        assert brake.service is not None
        force = (pressure / PA - value(brake.service.starts)) * value(brake.service.area)
    else:
        assert brake.spring is not None
        force = value(brake.spring.force) - pressure / PA * value(brake.spring.area)
    return np.asarray(np.maximum(0.0, force))
