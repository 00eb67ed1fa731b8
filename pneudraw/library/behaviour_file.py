"""Behaviour in a kind file: curves, memories, chambers, passages, faults, and how it brakes."""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from typing import Any

from pneudraw.diagnostics import did_you_mean
from pneudraw.library.expression import UNKNOWN, Symbol, names
from pneudraw.library.fields import Fields, named
from pneudraw.library.model import (
    ATMOSPHERE,
    Brake,
    Chamber,
    Condition,
    Curve,
    Displacement,
    Expression,
    Fault,
    Input,
    Memory,
    Parameter,
    Passage,
    Piston,
    ServiceForce,
    SpringForce,
    Swell,
)
from pneudraw.units import Quantity

Scope = Mapping[str, Symbol]

MOST_CONDITIONS = 8
MOST_POINTS = 50

_FAULT = re.compile(r"[a-z][a-z0-9-]{0,39}\Z")
_NOTHING = Expression("0", ast.Constant(0.0), "number")  # stands where a mistake was reported


def curve(word: str, fields: Fields, scope: Scope, inputs: tuple[Input, ...]) -> Curve:
    named(word, fields)
    known = [inp.name for inp in inputs]
    inp = str(fields.take("input", ""))
    if inp not in known:
        fields.wrong("input", f"unknown input `{inp}`", inp, did_you_mean(inp, known), code="kind-name")
    points: list[tuple[Expression, Expression]] = []
    raw = fields.take("points", [])
    if not isinstance(raw, list) or len(raw) < 2 or not all(isinstance(p, list) and len(p) == 2 for p in raw):
        fields.wrong(
            "points" if fields.has("points") else "", f"curve `{word}` wants two or more points [x, y]"
        )
        raw = []
    for x, y in raw[:MOST_POINTS]:
        dimension = points[0][1].dimension if points else None
        left = fields.as_expression("points", x, scope, "number", varies=False)
        right = fields.as_expression("points", y, scope, dimension, varies=False)
        if left is not None and right is not None:
            points.append((left, right))
    fields.close()
    return Curve(word, inp, tuple(points))


def memory(word: str, fields: Fields, scope: Scope, inputs: tuple[Input, ...]) -> Memory:
    named(word, fields)
    inp = fields.take("input")
    known = [item.name for item in inputs if len(item.positions) == 2]
    if inp is not None and inp not in known:
        help = did_you_mean(str(inp), known)
        fields.wrong("input", f"`{inp}` is no input with two positions", str(inp), help, code="kind-name")
    start = fields.take("start", 0)
    if start not in (0, 1):
        fields.wrong("start", "`start` must be 0 or 1")
        start = 0

    def triggers(key: str) -> tuple[Expression, ...]:
        found = (fields.as_expression(key, text, scope, None, varies=True) for text in fields.strings(key))
        return tuple(expression for expression in found if expression is not None)

    memory = Memory(
        name=word,
        start=int(start),
        input=None if inp is None else str(inp),
        to_one=triggers("to_one"),
        to_zero=triggers("to_zero"),
        text=fields.text("text", required=False),
        purpose=fields.text("purpose", required=False),
    )
    if memory.input is None and not (memory.to_one or memory.to_zero):
        fields.wrong("", f"nothing ever turns memory `{word}`", code="kind-key")
    fields.close()
    return memory


def chamber(fields: Fields, scope: Scope) -> Chamber:
    name = named(fields.text("name"), fields)
    volume = fields.expression("volume", scope, "volume") or _NOTHING
    swells: list[Swell] = []
    for swell in fields.tables("swells"):
        low = swell.expression("low", scope, "pressure")
        high = swell.expression("high", scope, "pressure")
        by = swell.expression("by", scope, "volume")
        swell.close()
        if low and high and by:
            swells.append(Swell(low, high, by))
    title = fields.text("title")
    fields.close()
    return Chamber(name, title, volume, tuple(swells))


def piston(
    fields: Fields,
    scope: Scope,
    chambers: tuple[str, ...],
    inputs: tuple[Input, ...],
    curves: tuple[Curve, ...],
) -> Piston:
    name = named(fields.text("name"), fields)
    areas: list[tuple[str, Expression]] = []
    if (table := fields.table("areas")) is None:
        fields.missing("areas")
    else:
        for chamber in table.data:
            if chamber not in chambers:
                help = did_you_mean(chamber, chambers)
                table.wrong(chamber, f"unknown chamber `{chamber}`", chamber, help, code="kind-name")
            area = table.expression(chamber, scope, "area")
            if area is not None:
                areas.append((chamber, area))
    load = None
    if fields.has("load"):
        load = fields.as_expression("load", fields.take("load"), scope, "force", varies=True)
        allowed = {item.name for item in inputs} | {curve.name for curve in curves}
        for word in names(load) if load else ():
            if scope[word].varies and word not in allowed:
                fields.wrong(
                    "load", f"`{word}` cannot load a piston; inputs and curves can", word, code="kind-name"
                )
    piston = Piston(
        name=name,
        title=fields.text("title"),
        areas=tuple(areas),
        travel=fields.expression("travel", scope, "length") or _NOTHING,
        friction=fields.expression("friction", scope, "damping") or _NOTHING,
        spring=fields.expression("spring", scope, "stiffness", required=False),
        load=load,
        starts=fields.expression("starts", scope, "length", required=False),
    )
    fields.close()
    return piston


def passages(top: Fields, scope: Scope, ends: tuple[str, ...]) -> tuple[Passage, ...]:
    out: list[Passage] = []
    for fields in top.tables("passages"):
        passage = _passage(fields, scope, ends)
        if passage.name in {other.name for other in out}:
            fields.wrong(
                "", f"two passages called `{passage.name}`", help="give one a name", code="kind-name"
            )
        out.append(passage)
    return tuple(out)


def _end(fields: Fields, key: str, ends: tuple[str, ...]) -> str:
    value = fields.take(key)
    if value is None:
        fields.missing(key)
        return ATMOSPHERE
    if value not in ends:
        help = did_you_mean(str(value), ends) or f"known: {', '.join(ends)}"
        fields.wrong(key, f"`{value}` is neither a port nor a chamber", str(value), help, code="kind-name")
    return str(value)


def _passage(fields: Fields, scope: Scope, ends: tuple[str, ...]) -> Passage:
    start, end = _end(fields, "from", ends), _end(fields, "to", ends)
    if start == end and fields.has("from") and fields.has("to"):
        fields.wrong("to", f"a passage from `{start}` to itself")
    displacement = None
    if (table := fields.table("displacement")) is not None:
        rate = table.expression("rate", scope, "flow")
        falloff = table.expression("falloff", scope, "number")
        table.close()
        if rate and falloff:
            displacement = Displacement(rate, falloff)
    elif not fields.has("conductance"):
        fields.missing("conductance")
    passage = Passage(
        name=fields.text("name", required=False) or f"{start}-{end}",
        start=start,
        end=end,
        conductance=fields.expression("conductance", scope, "conductance", required=False),
        ratio=fields.expression("ratio", scope, "number", required=False),
        conditions=conditions(fields, scope),
        combine=fields.choice("combine", ("all", "any"), "all"),
        displacement=displacement,
        text=fields.text("text", required=False),
    )
    fields.close()
    return passage


def conditions(fields: Fields, scope: Scope, key: str = "opens", raw: Any = None) -> tuple[Condition, ...]:
    """Return the conditions under a key, or those written in ``raw``, a piece of that key's value."""
    if raw is None:
        raw = fields.take(key, [])
    shared = fields.take("band")
    if isinstance(raw, str | dict):
        raw = [raw]
    if not isinstance(raw, list):
        fields.wrong(key, "`opens` must be an expression, or a list of them")
        return ()
    out: list[Condition] = []
    for item in raw[:MOST_CONDITIONS]:
        when, width = item, shared
        if isinstance(item, dict):
            when, width = item.get("when"), item.get("band", shared)
            for word in item:
                if word not in ("when", "band"):
                    fields.wrong(key, f"unknown key `{word}`", word, "known: when, band", code="kind-key")
        form = fields.as_expression(key, when, scope, None, varies=True)
        if form is None:
            continue
        if form.dimension not in ("pressure", "number", UNKNOWN):
            message = f"`{form.text}` is a {form.dimension}; a condition is a pressure or a pure number"
            fields.wrong(key, message, form.text, code="kind-expression")
            continue
        if width is None and form.dimension == "number":
            width = 1
        if width is None:
            fields.wrong(key, f"no `band` for `{form.text}`", form.text, code="kind-key")
            continue
        band = fields.as_expression("band", width, scope, form.dimension, varies=False)
        if band is not None:
            out.append(Condition(form, band))
    return tuple(out)


def faults(
    top: Fields, passages: tuple[Passage, ...], ends: tuple[str, ...], parameters: tuple[Parameter, ...]
) -> tuple[Fault, ...]:
    known = [passage.name for passage in passages]
    out: list[Fault] = []
    for fields in top.tables("faults"):
        name = fields.text("name")
        if name and not _FAULT.match(name):
            fields.wrong(
                "name", f"`{name}` is no fault name; lower-case words with hyphens", code="kind-name"
            )
        if name in {fault.name for fault in out}:
            fields.wrong("name", f"two faults called `{name}`", code="kind-name")
        for key in ("passages", "closes"):
            for word in _words(fields, key):
                if word not in known:
                    help = did_you_mean(word, known) or f"known: {', '.join(known)}"
                    fields.wrong(key, f"unknown passage `{word}`", word, help, code="kind-name")
        out.append(_fault(name, fields, ends, parameters))
    return tuple(out)


def _words(fields: Fields, key: str) -> tuple[str, ...]:
    value = fields.data.get(key, [])
    return tuple(str(word) for word in (value if isinstance(value, list) else [value]))


def _fault(name: str, fields: Fields, ends: tuple[str, ...], parameters: tuple[Parameter, ...]) -> Fault:
    leak = fields.strings("leak")
    if fields.has("leak") and (len(leak) != 2 or leak[0] == leak[1]):
        fields.wrong("leak", "`leak` wants two different ends: from and to")
    for word in leak:
        if word not in ends:
            help = did_you_mean(word, ends) or f"known: {', '.join(ends)}"
            fields.wrong("leak", f"`{word}` is neither a port nor a chamber", word, help, code="kind-name")
    fault = Fault(
        name=name,
        title=fields.text("title"),
        text=fields.text("text"),
        passages=fields.strings("passages"),
        low=fields.number("low"),
        high=fields.number("high"),
        factor=fields.number("factor"),
        leak=(leak[0], leak[1]) if len(leak) == 2 else None,
        bore=fields.quantity("bore", "length"),
        sets=_sets(fields, parameters),
        closes=fields.strings("closes"),
    )
    changes = (fault.low, fault.high, fault.factor)
    if bool(fault.passages) != any(change is not None for change in changes):
        fields.wrong("", f"fault `{name}`: `passages` go with `low`, `high` or `factor`", code="kind-key")
    if not (fault.passages or fault.closes or fault.leak or fault.sets):
        fields.wrong("", f"fault `{name}` changes nothing", code="kind-key")
    for key, value in zip(("low", "high", "factor"), changes, strict=True):
        if value is not None and not 0 <= value <= 1:
            fields.wrong(key, f"`{key}` must lie between 0 and 1")
    fields.close()
    return fault


def _sets(fields: Fields, parameters: tuple[Parameter, ...]) -> tuple[tuple[str, Quantity], ...]:
    """Read the values that a fault gives parameters."""
    table = fields.table("sets")
    if table is None:
        return ()
    out: list[tuple[str, Quantity]] = []
    for name in table.data:
        parameter = next((item for item in parameters if item.name == name), None)
        if parameter is None:
            help = did_you_mean(name, (item.name for item in parameters))
            table.wrong(name, f"unknown parameter `{name}`", name, help, code="kind-name")
        value = table.quantity(name, parameter.default.dimension if parameter else None)
        if value is not None:
            out.append((name, value))
    table.close()
    return tuple(out)


def brake(top: Fields, scope: Scope, chambers: tuple[str, ...]) -> Brake | None:
    fields = top.table("brake")
    if fields is None:
        return None

    def chamber(part: Fields) -> str:
        word = part.text("chamber")
        if word and word not in chambers:
            help = did_you_mean(word, chambers)
            part.wrong("chamber", f"unknown chamber `{word}`", word, help, code="kind-name")
        return word

    service = spring = None
    if (part := fields.table("service")) is not None:
        place = chamber(part)
        area, starts = part.expression("area", scope, "area"), part.expression("starts", scope, "pressure")
        part.close()
        if area and starts:
            service = ServiceForce(place, area, starts)
    if (part := fields.table("spring")) is not None:
        place = chamber(part)
        force, area = part.expression("force", scope, "force"), part.expression("area", scope, "area")
        part.close()
        if force and area:
            spring = SpringForce(place, force, area)
    rated = fields.expression("rated_volume", scope, "volume", required=False)
    fields.close()
    return Brake(service, spring, rated)
