"""Typed reading of a TOML table, where every mistake becomes a message at its place and reading goes on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pneudraw.diagnostics import Diagnostic, did_you_mean, error
from pneudraw.library import expression
from pneudraw.library.expression import UNKNOWN, ExpressionError, Symbol
from pneudraw.library.model import Expression
from pneudraw.library.places import Path, Places
from pneudraw.source import Source, Span
from pneudraw.units import Quantity, UnitError, parse_quantity, units_of

LONGEST_TEXT = 4000
MOST_ITEMS = 200  # entries of one table or list

ZERO = Quantity(0.0, UNKNOWN, "0")  # stands where a mistake was reported

_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}\Z")


@dataclass
class Problems:
    """The messages about one file, and the way to their places in it."""

    source: Source
    found: list[Diagnostic] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.places = Places(self.source)

    def add(self, code: str, message: str, path: Path, word: str = "", help: str = "") -> None:
        """Note a mistake at a key, or at a word of its value."""
        self.found.append(error(code, message, self.places.at(path, word), help=help))


class Fields:
    """One table of the file. Each method takes a key out; :meth:`close` reports the keys nobody took."""

    def __init__(self, data: Any, path: Path, problems: Problems) -> None:
        self.path = path
        self.problems = problems
        self.taken: list[str] = []
        self.data: dict[str, Any] = {}
        if isinstance(data, dict):
            self.data = data
        else:
            self.wrong("", "a table is expected here")

    def wrong(self, key: str, message: str, word: str = "", help: str = "", code: str = "kind-value") -> None:
        """Note a mistake at a key of this table (or, for an empty key, at the table)."""
        self.problems.add(code, message, (*self.path, key) if key else self.path, word, help)

    def take(self, key: str, default: Any = None) -> Any:
        """Return the raw value of a key, or the default."""
        self.taken.append(key)
        return self.data.get(key, default)

    def has(self, key: str) -> bool:
        """Tell whether the table has the key."""
        return key in self.data

    def close(self) -> None:
        """Report every key that was not taken."""
        for key in self.data:
            if key not in self.taken:
                help = did_you_mean(key, self.taken) or f"known here: {', '.join(self.taken)}"
                self.wrong(key, f"unknown key `{key}`", help=help, code="kind-key")

    def missing(self, key: str) -> bool:
        """Report a key that must be there and is not."""
        if key in self.data:
            return False
        where = f" in `{_dotted(self.path)}`" if self.path else ""
        self.wrong("", f"missing key `{key}`{where}", code="kind-key")
        return True

    def text(self, key: str, required: bool = True) -> str:
        """Return a text, lines joined and outer blanks cut; required texts must not be empty."""
        value = self.take(key, "")
        if required and self.missing(key):
            return ""
        if not isinstance(value, str):
            self.wrong(key, f"`{key}` must be a text in quotes")
            return ""
        if len(value) > LONGEST_TEXT:
            self.wrong(key, f"`{key}` is longer than {LONGEST_TEXT} characters")
        words = " ".join(value.split())
        if required and not words:
            self.wrong(key, f"`{key}` is empty")
        return words

    def choice(self, key: str, known: Iterable[str], default: str | None = None) -> str:
        """Return one of the known words."""
        words = tuple(known)
        value = self.take(key, default)
        if value is None:
            self.missing(key)
            return words[0]
        if not isinstance(value, str) or value not in words:
            help = did_you_mean(str(value), words) or f"one of: {', '.join(words)}"
            self.wrong(key, f"unknown {key} `{value}`", word=str(value), help=help)
            return words[0]
        return value

    def flag(self, key: str) -> bool:
        """Return true or false; false if absent."""
        value = self.take(key, False)
        if not isinstance(value, bool):
            self.wrong(key, f"`{key}` must be true or false")
            return False
        return value

    def whole_numbers(self, key: str, count: int, most: int) -> tuple[int, ...]:
        """Return a list of whole numbers from 0 to ``most``; zeros if it is wrong."""
        value = self.take(key)
        if value is None:
            self.missing(key)
        elif (
            not isinstance(value, list)
            or len(value) != count
            or not all(isinstance(n, int) and not isinstance(n, bool) and 0 <= n <= most for n in value)
        ):
            self.wrong(key, f"`{key}` must be {count} whole numbers from 0 to {most}, in modules")
        else:
            return tuple(value)
        return (0,) * count

    def number(self, key: str) -> float | None:
        """Return a pure number, or None if absent."""
        value = self.take(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong(key, f"`{key}` must be a number")
            return None
        return float(value)

    def strings(self, key: str) -> tuple[str, ...]:
        """Return a list of texts (a single text counts as one); empty if absent."""
        value = self.take(key, [])
        if isinstance(value, str):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.wrong(key, f"`{key}` must be a list of texts")
            return ()
        if len(value) > MOST_ITEMS:
            self.wrong(key, f"more than {MOST_ITEMS} entries")
        return tuple(value[:MOST_ITEMS])

    def quantity(self, key: str, dimension: str | None = None) -> Quantity | None:
        """Return a number with its unit, or None if absent or wrong."""
        value = self.take(key)
        return None if value is None else self.as_quantity(key, value, dimension)

    def as_quantity(self, key: str, value: Any, dimension: str | None = None) -> Quantity | None:
        """Return a raw value as a quantity of a dimension; None, with a message, if it is not."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = f"{value:g}"
        if not isinstance(value, str):
            self.wrong(key, f"`{key}` must be a number with a unit, in quotes")
            return None
        try:
            quantity = parse_quantity(value)
        except UnitError as fault:
            help = did_you_mean(fault.word, _ALL_UNITS)
            self.wrong(key, f"{fault} in `{key}`", word=fault.word, help=help)
            return None
        if dimension not in (None, UNKNOWN) and plain(quantity.dimension) != plain(str(dimension)):
            units = ", ".join(units_of(str(dimension))) or "none"
            self.wrong(key, f"`{value}` is not a {dimension}", word=value, help=f"units: {units}")
            return None
        return quantity

    def expression(
        self, key: str, scope: Mapping[str, Symbol], dimension: str | None, required: bool = True
    ) -> Expression | None:
        """Return an expression of a dimension that does not vary in time; None if absent or wrong."""
        value = self.take(key)
        if value is None:
            if required:
                self.missing(key)
            return None
        return self.as_expression(key, value, scope, dimension, varies=False)

    def as_expression(
        self, key: str, value: Any, scope: Mapping[str, Symbol], dimension: str | None, varies: bool
    ) -> Expression | None:
        """Return a raw value as an expression; None, with a message, if it is not one of this dimension."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = f"{value:g}"
        if not isinstance(value, str):
            self.wrong(key, f"`{key}` must be an expression or a number with a unit, in quotes")
            return None
        try:
            result = expression.parse(value, scope)
        except ExpressionError as fault:
            help = ""
            if fault.unknown:
                help = did_you_mean(fault.word, scope) or f"known here: {', '.join(sorted(scope))}"
            self.wrong(key, str(fault), word=fault.word or value, help=help, code="kind-expression")
            return None
        if dimension is not None and result.dimension not in (dimension, UNKNOWN):
            self.wrong(
                key, f"`{value}` is a {result.dimension}, not a {dimension}", value, code="kind-expression"
            )
            return None
        if not varies and any(scope[name].varies for name in expression.names(result)):
            self.wrong(
                key,
                f"`{value}` varies in time; only parameters can stand here",
                value,
                code="kind-expression",
            )
            return None
        return result

    def tables(self, key: str) -> tuple[Fields, ...]:
        """Return the tables of a list of tables (``[[key]]``)."""
        value = self.take(key, [])
        if not isinstance(value, list):
            self.wrong(key, f"`{key}` must be a list of tables: [[{key}]]")
            return ()
        if len(value) > MOST_ITEMS:
            self.wrong(key, f"more than {MOST_ITEMS} entries")
        return tuple(
            Fields(item, (*self.path, key, i), self.problems) for i, item in enumerate(value[:MOST_ITEMS])
        )

    def named(self, key: str) -> tuple[tuple[str, Fields], ...]:
        """Return the tables of a table of tables (``[key.name]``) with their names, in file order."""
        value = self.take(key, {})
        if not isinstance(value, dict):
            self.wrong(key, f"`{key}` must be a table of tables: [{key}.name]")
            return ()
        if len(value) > MOST_ITEMS:
            self.wrong(key, f"more than {MOST_ITEMS} entries")
        items = list(value.items())[:MOST_ITEMS]
        return tuple((name, Fields(item, (*self.path, key, name), self.problems)) for name, item in items)

    def table(self, key: str) -> Fields | None:
        """Return a table, or None if absent."""
        value = self.take(key)
        return None if value is None else Fields(value, (*self.path, key), self.problems)

    @property
    def span(self) -> Span:
        """Where the table stands."""
        return self.problems.places.at(self.path)


_ALL_UNITS = tuple(
    unit
    for dimension in ("pressure", "volume", "length", "area", "time", "force", "ratio", "conductance", "flow")
    for unit in units_of(dimension)
)


def plain(dimension: str) -> str:
    """Return the dimension as expressions know it: a ratio is a pure number."""
    return "number" if dimension == "ratio" else dimension


def named(word: str, fields: Fields) -> str:
    """Return a name; one that could not stand in an expression is reported."""
    if not _NAME.match(word):
        fields.wrong("", f"`{word}` is no name; lower-case letters, digits and _", code="kind-name")
    return word


def _dotted(path: Path) -> str:
    return ".".join(str(step) for step in path)
