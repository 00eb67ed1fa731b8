"""A symbol in each of its allowed positions: size, and side and place of every port."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

from pneudraw.layout.problem import SIDES, PortSpec, SymbolSpec

OPPOSITE = {"N": "S", "S": "N", "E": "W", "W": "E"}


@dataclass(frozen=True)
class Shape:
    """A symbol after a transform; ``sides``, ``xs``, ``ys`` go by port number."""

    transform: str
    width: int
    height: int
    sides: tuple[str, ...]
    xs: tuple[int, ...]
    ys: tuple[int, ...]


def _split(transform: str) -> tuple[str, int]:
    """``"mx90"`` -> ("x", 1): axis of the mirror or "", and quarter turns clockwise after it."""
    axis, turn = "", transform
    if transform[:2] in ("mx", "my"):
        axis, turn = transform[1], transform[2:]
    elif transform[:1] == "r":
        turn = transform[1:]
    return axis, int(turn or "0") // 90 % 4


def _port(spec: SymbolSpec, port: PortSpec, axis: str, turns: int) -> tuple[str, int, int]:
    width, height, side = spec.width, spec.height, port.side
    x = {"W": 0, "E": width}.get(side, port.offset)
    y = {"N": 0, "S": height}.get(side, port.offset)
    if axis == "x":
        x = width - x
        side = OPPOSITE[side] if side in "EW" else side
    elif axis == "y":
        y = height - y
        side = OPPOSITE[side] if side in "NS" else side
    for _ in range(turns):
        x, y, width, height = height - y, x, height, width
        side = SIDES[(SIDES.index(side) + 1) % 4]
    return side, x, y


def shape(spec: SymbolSpec, transform: str) -> Shape:
    """The symbol under one transform."""
    axis, turns = _split(transform)
    width, height = (spec.height, spec.width) if turns % 2 else (spec.width, spec.height)
    placed = [_port(spec, port, axis, turns) for port in spec.ports]
    return Shape(
        transform,
        width,
        height,
        tuple(p[0] for p in placed),
        tuple(p[1] for p in placed),
        tuple(p[2] for p in placed),
    )


MOST_EXCHANGES = 36


def _exchanges(spec: SymbolSpec) -> list[tuple[int, ...]]:
    """Ways to exchange ports that are alike, none exchanged first: item p is the port whose place port p takes."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, port in enumerate(spec.ports):
        if port.alike:
            groups.setdefault((port.alike, port.side), []).append(i)
    found = [tuple(range(len(spec.ports)))]
    for members in groups.values():
        if len(members) > 4:
            continue
        more = []
        for base in found:
            for order in permutations(members):
                changed = list(base)
                for p, q in zip(members, order, strict=True):
                    changed[p] = q
                more.append(tuple(changed))
        if len(more) <= MOST_EXCHANGES:
            found = more
    return found


def shapes(spec: SymbolSpec) -> tuple[Shape, ...]:
    """Every distinct allowed position, the plain one first; without a list of transforms a symbol stays as it is.

    Positions that put all ports in the same places are kept once, the first named.
    """
    found: dict[tuple[object, ...], Shape] = {}
    exchanges = _exchanges(spec)
    for name in spec.transforms or ("r0",):
        plain = shape(spec, name)
        for order in exchanges:
            made = Shape(
                name,
                plain.width,
                plain.height,
                tuple(plain.sides[q] for q in order),
                tuple(plain.xs[q] for q in order),
                tuple(plain.ys[q] for q in order),
            )
            found.setdefault((made.width, made.height, made.sides, made.xs, made.ys), made)
    return tuple(found.values())
