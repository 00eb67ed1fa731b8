"""Flat part statements to parts: the kind looked up, every value checked against it."""

from __future__ import annotations

from collections.abc import Mapping

from pneudraw.circuit.expand import Flat, FlatPart, duplicate_tag
from pneudraw.circuit.model import Part
from pneudraw.circuit.sense import nonsense
from pneudraw.diagnostics import Diagnostic, did_you_mean, error
from pneudraw.language.tree import Measure, Value, Word
from pneudraw.library.model import Kind, Library, Parameter
from pneudraw.units import STANDARD_ATMOSPHERE, Quantity, units_of


def build_parts(flat: Flat, library: Library) -> tuple[dict[str, Part], list[Diagnostic]]:
    """Return the parts by tag, in netlist order, and what is wrong with their statements."""
    parts: dict[str, Part] = {}
    messages: list[Diagnostic] = []
    for item in flat.parts:
        first = parts[item.tag].span if item.tag in parts else flat.groups.get(item.tag)
        if first is not None:
            messages.append(duplicate_tag(item.declared.text, item.declared.span, first))
            continue
        word = item.statement.kind
        assert word is not None
        kind = library.get(word.text)
        if kind is None:
            flat.failed.add(item.tag)
            messages.append(_unknown_kind(word, flat, library))
            continue
        values, given, more = _values(item, kind)
        messages += more or _senseless(item, kind, values)
        caption = item.statement.caption.text if item.statement.caption else ""
        parts[item.tag] = Part(item.tag, kind, caption, values, given, item.declared.span)
    return parts, messages


def _unknown_kind(word: Word, flat: Flat, library: Library) -> Diagnostic:
    names = (*library.kinds, *flat.assemblies.get(word.span.source.name, ()))
    hint = did_you_mean(word.text, names) or "`pneudraw catalogue` lists the kinds"
    return error("unknown-kind", f"there is no kind `{word.text}`", word.span, help=hint)


def _values(item: FlatPart, kind: Kind) -> tuple[Mapping[str, Quantity], tuple[str, ...], list[Diagnostic]]:
    messages: list[Diagnostic] = []
    given: dict[str, Quantity] = {}
    for key, value in item.values:
        parameter = kind.parameter(key.text)
        if parameter is None:
            names = [p.name for p in kind.parameters]
            near = did_you_mean(key.text, names)
            listed = f"parameters of {kind.name}: {', '.join(names) or 'none'}"
            messages.append(
                error(
                    "unknown-parameter",
                    f"{article(kind.name)} has no parameter `{key.text}`",
                    key.span,
                    help=f"{near} {listed}".strip(),
                )
            )
            continue
        quantity, problem = quantity_of(key, value, parameter)
        if problem is not None:
            messages.append(problem)
        elif quantity is not None:
            given[key.text] = quantity
    values: dict[str, Quantity] = {}
    for parameter in kind.parameters:
        values[parameter.name] = given.get(parameter.name, parameter.default)
    for parameter in kind.parameters:
        if parameter.by is not None and parameter.name not in given:
            row = dict(parameter.table).get(values[parameter.by].value)
            if row is not None:
                values[parameter.name] = row
    return values, tuple(given), messages


def _senseless(item: FlatPart, kind: Kind, values: Mapping[str, Quantity]) -> list[Diagnostic]:
    """What is wrong with a part whose values are each allowed, but not together; said at the last that matters."""
    found = nonsense(kind, values)
    if found is None:
        return []
    at = [value.span for key, value in item.values if key.text in found.parameters]
    listed = ", ".join(f"{name}={values[name].text.replace(' ', '')}" for name in found.parameters)
    help = f"it follows from {listed}: change one" if listed else f"the file of `{kind.name}` says so"
    span = at[-1] if at else item.declared.span
    return [error("impossible-part", f"`{item.tag}` cannot be: {found.what}", span, help=help)]


def quantity_of(key: Word, value: Value, parameter: Parameter) -> tuple[Quantity | None, Diagnostic | None]:
    """Return the value of a parameter, or what is wrong with it."""
    wanted = parameter.default.dimension
    example = f"for example {key.text}={parameter.default.text.replace(' ', '')}"

    def wrong(message: str, help: str, code: str = "bad-value") -> tuple[None, Diagnostic]:
        return None, error(code, message, value.span, help=help)

    if not isinstance(value, Measure):
        return wrong(f"`{key.text}` needs a number, not `{value}`", example)
    quantity = value.quantity
    if quantity.dimension != wanted:
        units = ", ".join(units_of(wanted))
        if quantity.dimension == "number":
            return wrong(f"`{key.text}={value}` has no unit", f"write the unit: {units}; {example}")
        if wanted == "number":
            return wrong(f"`{key.text}` is a pure number, without a unit", example)
        message = f"`{key.text}` is {article(wanted)}, not {article(quantity.dimension)}"
        return wrong(message, f"units: {units}; {example}")
    if parameter.choices and quantity.value not in parameter.choices:
        listed = ", ".join(f"{choice:g}" for choice in parameter.choices)
        return wrong(f"`{key.text}` cannot be `{value}`", f"it can be: {listed}")
    low, high = parameter.least, parameter.most
    number = quantity.value - (STANDARD_ATMOSPHERE if quantity.absolute else 0.0)
    between = " ".join(
        words for words in (f"from {low}" if low else "", f"to {high}" if high else "") if words
    )
    help = f"{parameter.text}: {between}"
    slack = 1e-9  # of the bound, for what the units' factors round
    if low is not None and number < low.value - slack * abs(low.value):
        return wrong(f"`{key.text}={value}` is too small", help, "out-of-range")
    if high is not None and number > high.value + slack * abs(high.value):
        return wrong(f"`{key.text}={value}` is too large", help, "out-of-range")
    return quantity, None


def article(words: str) -> str:
    """Return the words with ``a`` or ``an`` before them."""
    return f"{'an' if words[:1].lower() in tuple('aeiou') else 'a'} {words}"
