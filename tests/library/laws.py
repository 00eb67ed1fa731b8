"""What the tests need to ask a kind: how far a passage is open at given pressures."""

from __future__ import annotations

from collections.abc import Mapping

from pneudraw.library.expression import linear
from pneudraw.library.model import Expression, Kind, Passage
from pneudraw.library.reader import load

LIBRARY, MISTAKES = load()
KINDS = tuple(LIBRARY.kinds.values())
NAMES = tuple(kind.name for kind in KINDS)


def kind(name: str) -> Kind:
    found = LIBRARY.get(name)
    assert found is not None, name
    return found


def numbers(kind: Kind, **changed: float) -> dict[str, float]:
    """The defaults of a kind's parameters in SI, some of them changed."""
    return {parameter.name: parameter.default.value for parameter in kind.parameters} | changed


def value(kind: Kind, expression: Expression | None, at: Mapping[str, float] | None = None) -> float:
    """The value of an expression; names that vary are taken from ``at``, gauge pressures in Pa, absent ones 0."""
    assert expression is not None
    form = linear(expression, numbers(kind))
    return form.constant + sum(weight * (at or {}).get(name, 0.0) for name, weight in form.weights)


def opening(kind: Kind, passage: Passage, at: Mapping[str, float]) -> float:
    """The opening of a passage, 0 to 1, as the flow solver computes it (smooth ramps)."""
    ramps = []
    for condition in passage.conditions:
        z = value(kind, condition.form, at) / value(kind, condition.band)
        z = min(1.0, max(0.0, z))
        ramps.append(z * z * (3 - 2 * z))
    if not ramps:
        return 1.0
    if passage.combine == "any":
        return max(ramps)
    product = 1.0
    for ramp in ramps:
        product *= ramp
    return product


def passage(kind: Kind, name: str) -> Passage:
    return next(found for found in kind.passages if found.name == name)
