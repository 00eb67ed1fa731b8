"""Settings of a kind file: parameters, operator inputs, and what is written beside the symbol."""

from __future__ import annotations

import re
from collections.abc import Mapping

from pneudraw.diagnostics import did_you_mean
from pneudraw.library.expression import UNKNOWN
from pneudraw.library.fields import ZERO, Fields, named
from pneudraw.library.model import Input, Parameter
from pneudraw.units import Quantity

DEFAULT_RAMP = 0.1  # s; pedal travel of a test application, common practice, no source

_FIELD = re.compile(r"\{([^{}]*)\}")


def parameters(top: Fields) -> tuple[Parameter, ...]:
    """Return the parameters; one that follows another must stand below it."""
    out: list[Parameter] = []
    for word, fields in top.named("parameters"):
        named(word, fields)
        out.append(_parameter(word, fields, {parameter.name: parameter for parameter in out}))
    return tuple(out)


def _parameter(word: str, fields: Fields, known: Mapping[str, Parameter]) -> Parameter:
    by = fields.take("by")
    table: tuple[tuple[float, Quantity], ...] = ()
    if by is None:
        fields.missing("default")
        default = fields.quantity("default") or ZERO
    else:
        table, default = _by(word, fields, str(by), known)
    choices = fields.take("choices", [])
    if not isinstance(choices, list):
        fields.wrong("choices", "`choices` must be a list")
        choices = []
    numbers = (fields.as_quantity("choices", choice, default.dimension) for choice in choices[:50])
    parameter = Parameter(
        name=word,
        default=default,
        least=fields.quantity("least", default.dimension),
        most=fields.quantity("most", default.dimension),
        text=fields.text("text"),
        source=fields.text("source"),
        choices=tuple(number.value for number in numbers if number is not None),
        by=None if by is None else str(by),
        table=table,
    )
    least, most = parameter.least, parameter.most
    values = [default.value, *(quantity.value for _, quantity in table)]
    if default.dimension == UNKNOWN:  # already reported
        least = most = None
    if (least and min(values) < least.value) or (most and max(values) > most.value):
        fields.wrong("default" if by is None else "table", f"the default of `{word}` is outside its bounds")
    if parameter.choices and default.value not in parameter.choices:
        fields.wrong("default", f"the default of `{word}` is not among its choices")
    fields.close()
    return parameter


def _by(
    word: str, fields: Fields, by: str, known: Mapping[str, Parameter]
) -> tuple[tuple[tuple[float, Quantity], ...], Quantity]:
    """Read the table of a parameter that follows another one; return its rows and the default row."""
    other = known.get(by)
    if other is None or not other.choices:
        help = did_you_mean(by, known)
        fields.wrong("by", f"`{by}` is no parameter with choices above this one", by, help, code="kind-name")
    rows: list[tuple[float, Quantity]] = []
    raw = fields.take("table")
    if not isinstance(raw, dict):
        fields.wrong(
            "table" if fields.has("table") else "", f"`{word}` wants a table, one row for each `{by}`"
        )
        raw = {}
    for key, value in list(raw.items())[:50]:
        dimension = rows[0][1].dimension if rows else None
        row = fields.as_quantity("table", value, dimension)
        try:
            number = float(key)
        except ValueError:
            fields.wrong("table", f"`{key}` is no value of `{by}`", key)
            continue
        if row is not None:
            rows.append((number, row))
    if other is not None:
        found = {number for number, _ in rows}
        lost = [f"{choice:g}" for choice in other.choices if choice not in found]
        if lost:
            fields.wrong("table", f"no row for `{by}` {', '.join(lost)}")
    wanted = None if other is None else other.default.value
    default = next((row for number, row in rows if number == wanted), rows[0][1] if rows else ZERO)
    return tuple(rows), default


def read_input(word: str, fields: Fields) -> Input:
    """Return one operator input."""
    named(word, fields)
    positions = fields.strings("positions")
    continuous = fields.flag("continuous")
    if bool(positions) == continuous:
        fields.wrong("", f"input `{word}` wants either `positions` or `continuous = true`", code="kind-key")
    if positions and len(set(positions)) < 2:
        fields.wrong("positions", "at least two different positions are needed")
    rest = fields.take("rest", positions[0] if positions else 0.0)
    value = 0.0
    if positions:
        if rest in positions:
            value = float(positions.index(rest))
        else:
            fields.wrong("rest", f"`{rest}` is none of the positions", str(rest), ", ".join(positions))
    else:
        quantity = fields.as_quantity("rest", rest, "number")
        value = quantity.value if quantity else 0.0
        if not 0 <= value <= 1:
            fields.wrong("rest", "`rest` must lie between 0 % and 100 %")
    ramp = fields.quantity("ramp", "time")
    result = Input(
        name=word,
        title=fields.text("title"),
        positions=positions,
        rest=value,
        purpose=fields.text("purpose"),
        ramp=DEFAULT_RAMP if ramp is None else ramp.value,
        text=fields.text("text", required=False),
    )
    if not 0 <= result.ramp <= 60:
        fields.wrong("ramp", "`ramp` must lie between 0 s and 60 s")
    fields.close()
    return result


def beside(top: Fields, parameters: tuple[Parameter, ...]) -> tuple[str, ...]:
    """Return the templates of what is written beside the symbol."""
    names = [parameter.name for parameter in parameters]
    lines = top.strings("beside")
    for line in lines:
        for word in _FIELD.findall(line):
            if word not in names:
                help = did_you_mean(word, names)
                top.wrong("beside", f"unknown parameter `{word}`", word, help, code="kind-name")
    return lines
