"""The little sums that kind files are written with: ``p4 - p2 - crack``.

An expression is read with Python's own parser, then checked: only ``+ - * /``, numbers, parentheses and known
names; terms that are added have the same dimension; and it is linear in everything that can change while a
circuit runs (pressures, inputs, curves, memories). Nothing is ever evaluated as Python.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass

from pneudraw.library.model import Expression
from pneudraw.units import UnitError, parse_quantity

LONGEST = 200  # characters of one expression
MOST_PRESSURES = 4  # in one linear form; the flow kernel's limit

Exponents = tuple[int, int, int] | None  # None: unknown

#: dimension words as exponents of metre, kilogram and second
EXPONENTS: dict[str, tuple[int, int, int]] = {
    "number": (0, 0, 0),
    "length": (1, 0, 0),
    "area": (2, 0, 0),
    "volume": (3, 0, 0),
    "time": (0, 0, 1),
    "pressure": (-1, 1, -2),
    "force": (1, 1, -2),
    "flow": (3, 0, -1),
    "conductance": (4, -1, 1),
    "stiffness": (0, 1, -2),
    "damping": (0, 1, -1),
}
UNKNOWN = "unknown"  # the dimension of a name whose own line has a mistake: fits everywhere
_WORDS = {exponents: word for word, exponents in EXPONENTS.items()}


@dataclass(frozen=True)
class Symbol:
    """A name an expression may use: its dimension, and whether it varies while the circuit runs.

    ``positive``: it can be divided by, because it is never zero.
    """

    dimension: str
    varies: bool
    pressure: bool = False
    positive: bool = False


class ExpressionError(ValueError):
    """A text that is no expression we allow; ``word`` is the piece of it to point at, or empty."""

    def __init__(self, message: str, word: str = "", unknown: bool = False) -> None:
        super().__init__(message)
        self.word = word
        self.unknown = unknown


@dataclass(frozen=True)
class Linear:
    """``constant + sum(weight * name)`` over the names that vary, in SI; pressures are gauge pressures."""

    constant: float
    weights: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class _Sort:
    """What is known of a piece of an expression while it is checked. ``zero``: fits into any sum."""

    exponents: Exponents
    varies: bool
    positive: bool
    zero: bool = False


def parse(text: str, scope: Mapping[str, Symbol]) -> Expression:
    """Return the expression or quantity written in ``text``.

    A quantity with a unit (``0.12 bar``) is allowed where it is the whole text. Names are looked up in
    ``scope``.

    Raises
    ------
    ExpressionError
        If it is not an expression of the allowed form, or its dimensions do not agree.
    """
    text = text.strip()
    if len(text) > LONGEST:
        raise ExpressionError(f"an expression of more than {LONGEST} characters")
    try:
        quantity = parse_quantity(text)
    except UnitError:
        pass
    else:
        dimension = "number" if quantity.dimension == "ratio" else quantity.dimension
        return Expression(text, ast.Constant(quantity.value), dimension)
    try:
        tree = ast.parse(text, mode="eval").body
        sort = _check(tree, scope)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as fault:
        if isinstance(fault, ExpressionError):
            raise
        raise ExpressionError(f"`{text}` is neither an expression nor a number with a unit") from None
    pressures = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and scope[node.id].pressure}
    if len(pressures) > MOST_PRESSURES:
        raise ExpressionError(f"more than {MOST_PRESSURES} pressures in one expression")
    return Expression(text, tree, _word(sort.exponents))


def names(expression: Expression) -> tuple[str, ...]:
    """Return the names an expression uses, each once, in order."""
    found = [node for node in ast.walk(expression.tree) if isinstance(node, ast.Name)]
    found.sort(key=lambda node: node.col_offset)
    return tuple(dict.fromkeys(node.id for node in found))


def linear(expression: Expression, numbers: Mapping[str, float]) -> Linear:
    """Return the expression as a linear form of the names not in ``numbers`` (the parameters, in SI)."""
    constant, weights = _linear(expression.tree, numbers)
    return Linear(constant, tuple((name, weight) for name, weight in weights.items() if weight != 0.0))


def value_of(expression: Expression, numbers: Mapping[str, float]) -> float:
    """Return the constant part of :func:`linear`: the value of an expression in which nothing varies, in SI."""
    if isinstance(expression.tree, ast.Name):  # most are no more than a parameter's name
        return numbers.get(expression.tree.id, 0.0)
    return _linear(expression.tree, numbers)[0]


def _word(exponents: Exponents) -> str:
    if exponents is None:
        return UNKNOWN
    return _WORDS.get(exponents, "m{}.kg{}.s{}".format(*exponents))


def _check(node: ast.expr, scope: Mapping[str, Symbol]) -> _Sort:
    match node:
        case ast.Constant(value=value) if isinstance(value, int | float) and not isinstance(value, bool):
            if abs(value) > 1e12:
                raise ExpressionError(f"`{value}` is too large")
            return _Sort((0, 0, 0), varies=False, positive=value > 0, zero=value == 0)
        case ast.Name(id=name):
            if name not in scope:
                raise ExpressionError(f"unknown name `{name}`", name, unknown=True)
            symbol = scope[name]
            return _Sort(EXPONENTS.get(symbol.dimension), symbol.varies, symbol.positive)
        case ast.UnaryOp(op=ast.USub() | ast.UAdd(), operand=operand):
            inner = _check(operand, scope)
            positive = inner.positive and isinstance(node.op, ast.UAdd)
            return _Sort(inner.exponents, inner.varies, positive, inner.zero)
        case ast.BinOp(left=left, op=ast.Add() | ast.Sub(), right=right):
            a, b = _check(left, scope), _check(right, scope)
            known = a.exponents is not None and b.exponents is not None
            if known and a.exponents != b.exponents and not (a.zero or b.zero):
                raise ExpressionError(
                    f"`{ast.unparse(left)}` is a {_word(a.exponents)} and"
                    f" `{ast.unparse(right)}` a {_word(b.exponents)}: they cannot be added"
                )
            positive = a.positive and b.positive and isinstance(node.op, ast.Add)
            return _Sort(b.exponents if a.zero else a.exponents, a.varies or b.varies, positive)
        case ast.BinOp(left=left, op=ast.Mult(), right=right):
            a, b = _check(left, scope), _check(right, scope)
            if a.varies and b.varies:
                raise ExpressionError("a product of two things that vary; it must be linear in them")
            return _Sort(_plus(a.exponents, b.exponents, 1), a.varies or b.varies, a.positive and b.positive)
        case ast.BinOp(left=left, op=ast.Div(), right=right):
            a, b = _check(left, scope), _check(right, scope)
            if b.varies or not b.positive:
                raise ExpressionError(
                    f"division by `{ast.unparse(right)}`, which may be zero",
                    ast.unparse(right),
                )
            return _Sort(_plus(a.exponents, b.exponents, -1), a.varies, a.positive)
        case _:
            raise ExpressionError(f"`{ast.unparse(node)[:40]}`: only names, numbers and + - * / are allowed")


def _plus(a: Exponents, b: Exponents, sign: int) -> Exponents:
    if a is None or b is None:
        return None
    return a[0] + sign * b[0], a[1] + sign * b[1], a[2] + sign * b[2]


def _linear(node: ast.expr, numbers: Mapping[str, float]) -> tuple[float, dict[str, float]]:
    match node:
        case ast.Constant(value=value):
            assert isinstance(value, int | float)
            return float(value), {}
        case ast.Name(id=name):
            return (numbers[name], {}) if name in numbers else (0.0, {name: 1.0})
        case ast.UnaryOp(op=op, operand=operand):
            return _scaled(_linear(operand, numbers), -1.0 if isinstance(op, ast.USub) else 1.0)
        case ast.BinOp(left=left, op=op, right=right):
            a, b = _linear(left, numbers), _linear(right, numbers)
            match op:
                case ast.Add():
                    return _sum(a, b)
                case ast.Sub():
                    return _sum(a, _scaled(b, -1.0))
                case ast.Mult():
                    return _scaled(a, b[0]) if not b[1] else _scaled(b, a[0])
                case ast.Div():
                    return _scaled(a, 1.0 / b[0])
    raise AssertionError(ast.dump(node))  # parse lets nothing else through


_Form = tuple[float, dict[str, float]]


def _scaled(form: _Form, by: float) -> _Form:
    return form[0] * by, {name: weight * by for name, weight in form[1].items()}


def _sum(a: _Form, b: _Form) -> _Form:
    weights = dict(a[1])
    for name, weight in b[1].items():
        weights[name] = weights.get(name, 0.0) + weight
    return a[0] + b[0], weights
