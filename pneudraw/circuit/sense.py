"""Whether a part's settings, each within its bounds, make sense together: what its kind's file computes from them.

A cylinder's rod can be thicker than its piston, a band of zero come out of a user's own kind file. The solver must
never meet such a part, so it is said here, where the netlist's text is at hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from pneudraw.library.expression import linear, names
from pneudraw.library.model import Chamber, Expression, Kind, Passage, Piston
from pneudraw.units import STANDARD_ATMOSPHERE, Quantity

_Value = Callable[[Expression | None], float]

LEAST_AIR = 1e-6  # m3 that a piston must leave in a chamber: the solver's smallest volume


@dataclass(frozen=True)
class Nonsense:
    """What is impossible about a part, and the parameters that it follows from."""

    what: str
    parameters: tuple[str, ...]


@dataclass(frozen=True)
class _Claim:
    """Something that must hold, what is said if it does not, and the expressions that decide it."""

    holds: bool
    what: str
    expressions: tuple[Expression | None, ...]
    of_fault: bool = True  # it must hold with a fault, too


def nonsense(kind: Kind, values: Mapping[str, Quantity]) -> Nonsense | None:
    """Return the first thing that is impossible about a part of a kind with these values, or with one of its faults."""
    numbers = {
        name: quantity.value - (STANDARD_ATMOSPHERE if quantity.absolute else 0.0)
        for name, quantity in values.items()
    }
    found = _first(kind, numbers)
    if found is not None:
        return found
    for fault in kind.faults:
        if fault.sets:
            changed = {name: quantity.value for name, quantity in fault.sets}
            found = _first(kind, numbers | changed, faulty=True)
            if found is not None:
                return Nonsense(f"with the fault `{fault.name}` {found.what}", found.parameters)
    return None


def _first(kind: Kind, numbers: Mapping[str, float], faulty: bool = False) -> Nonsense | None:
    for claim in _claims(kind, numbers):
        if not claim.holds and (claim.of_fault or not faulty):
            used = [name for e in claim.expressions if e is not None for name in names(e) if name in numbers]
            return Nonsense(claim.what, tuple(dict.fromkeys(used)))
    return None


def _claims(kind: Kind, numbers: Mapping[str, float]) -> Iterator[_Claim]:
    def value(expression: Expression | None) -> float:
        return 0.0 if expression is None else linear(expression, numbers).constant

    for chamber in kind.chambers:
        yield from _of_chamber(chamber, kind.pistons, value)
    for piston in kind.pistons:
        yield from _of_piston(piston, value)
    for curve in kind.curves:
        rising = all(value(a) <= value(b) for (a, _), (b, _) in pairwise(curve.points))
        yield _Claim(rising, f"the points of `{curve.name}` do not rise", tuple(x for x, _ in curve.points))
    for passage in kind.passages:
        yield from _of_passage(passage, value)


def _of_chamber(chamber: Chamber, pistons: tuple[Piston, ...], value: _Value) -> Iterator[_Claim]:
    name = chamber.title or chamber.name
    least, used = value(chamber.volume), [chamber.volume]
    for piston in pistons:
        for pushed, area in piston.areas:
            if pushed == chamber.name:
                least += min(0.0, value(area) * value(piston.travel))
                used += [area, piston.travel]
    moved = len(used) > 1
    good = _counts(value(chamber.volume)) and least >= (LEAST_AIR * (1.0 - 1e-9) if moved else 0.0)
    yield _Claim(good, f"no room is left in its {name}", tuple(used))
    for swell in chamber.swells:
        yield _Claim(
            value(swell.high) > value(swell.low) and math.isfinite(value(swell.high) - value(swell.low)),
            f"its {name} ends to widen before it begins",
            (swell.low, swell.high),
        )
        yield _Claim(_counts(value(swell.by)), f"its {name} gets smaller under pressure", (swell.by,))


def _of_piston(piston: Piston, value: _Value) -> Iterator[_Claim]:
    name, travel = piston.title or piston.name, value(piston.travel)
    yield _Claim(_counts(travel) and travel > 0.0, f"its {name} has no way to go", (piston.travel,))
    yield _Claim(_counts(value(piston.friction)), f"nothing brakes its {name}", (piston.friction,))
    stiff = _counts(value(piston.spring))
    wrong = f"the spring of its {name} pushes the wrong way"
    yield _Claim(
        stiff, wrong, (piston.spring,), of_fault=False
    )  # a broken one may, as it is written in a kind's file
    start = value(piston.starts)
    yield _Claim(0.0 <= start <= travel, f"its {name} starts beyond its end", (piston.starts, piston.travel))


def _of_passage(passage: Passage, value: _Value) -> Iterator[_Claim]:
    name = f"the way `{passage.name}`"
    yield _Claim(
        _counts(value(passage.conductance)), f"{name} is smaller than nothing", (passage.conductance,)
    )
    ratio = value(passage.ratio)
    yield _Claim(
        0.0 <= ratio < 1.0, f"{name} has a critical ratio that is not between 0 and 1", (passage.ratio,)
    )
    for condition in passage.conditions:
        band = value(condition.band)
        yield _Claim(_counts(band) and band > 0.0, f"{name} opens within no band", (condition.band,))
    if passage.displacement is not None:
        rate, falloff = passage.displacement.rate, passage.displacement.falloff
        yield _Claim(_counts(value(rate)), f"{name} pumps backwards", (rate,))
        yield _Claim(_counts(value(falloff)), f"{name} pumps more against more pressure", (falloff,))


def _counts(number: float) -> bool:
    return math.isfinite(number) and number >= 0.0
