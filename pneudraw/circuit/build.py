"""From syntax tree and library to a circuit, with everything that is wrong said at once."""

from __future__ import annotations

from pathlib import Path as FilePath

from pneudraw.circuit.expand import Flat, expand
from pneudraw.circuit.lines import build_lines
from pneudraw.circuit.model import Circuit, Hint, Part
from pneudraw.circuit.own_states import build_states
from pneudraw.circuit.parts import build_parts
from pneudraw.circuit.states import built_in_states
from pneudraw.diagnostics import Diagnostic, Severity, Suggester, error, has_errors, in_source_order
from pneudraw.language.tree import Document, Path
from pneudraw.library.model import Library
from pneudraw.source import whole

UNIT, RULES = "kPa", "none"  # where the netlist does not say
MOST_MESSAGES = 500


def build(
    document: Document, library: Library, folder: FilePath | None = None
) -> tuple[Circuit | None, tuple[Diagnostic, ...]]:
    """Return the circuit of a document, and what is wrong with it (the parser's own messages are not repeated).

    ``folder`` is where circuits that it uses may lie; None forbids using files. The circuit is None if it has errors.
    """
    flat = expand(document, folder, lambda name: library.get(name) is not None)
    messages: list[Diagnostic] = list(flat.diagnostics)
    parts, more = build_parts(flat, library)
    messages += more
    lines, more = build_lines(flat, parts)
    messages += more
    ordered = tuple(parts.values())
    states, more = build_states(document.states, parts, lines, built_in_states(ordered, lines), flat)
    messages += more
    hints, more = _hints(flat, parts)
    messages += more
    if not flat.parts and not flat.failed and not messages:
        messages.append(
            error(
                "no-parts", "the circuit has no parts", whole(document.source), help="write a `parts` section"
            )
        )
    found = _each_once(messages)
    if has_errors(found):
        return None, found
    head = document.circuit
    name = "".join(char if char.isprintable() else "_" for char in FilePath(document.source.name).stem)
    title = head.title.text if head is not None and head.title is not None else name
    unit, rules = document.setting("pressure"), document.setting("rules")
    circuit = Circuit(
        title=title,
        name=name,
        unit=unit.value.text if unit else UNIT,
        rules=rules.value.text if rules else RULES,
        parts=ordered,
        lines=lines,
        states=states,
        hints=hints,
        span=head.title.span if head is not None and head.title is not None else whole(document.source),
    )
    return circuit, found


def _each_once(messages: list[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Return the messages in source order; one for a mistake in an assembly or a file that is used several times."""
    once = {
        (m.code, m.message, m.at.span.source.name, m.at.span.start, m.at.span.end): m
        for m in reversed(messages)
    }
    ordered = in_source_order(once.values())
    if len(ordered) <= MOST_MESSAGES:
        return ordered
    message = f"{len(ordered) - MOST_MESSAGES} more messages are not shown"
    note = Diagnostic("too-many-errors", Severity.NOTE, message, ordered[MOST_MESSAGES - 1].at)
    return (*ordered[:MOST_MESSAGES], note)


def _hints(flat: Flat, parts: dict[str, Part]) -> tuple[tuple[Hint, ...], list[Diagnostic]]:
    hints: list[Hint] = []
    messages: list[Diagnostic] = []
    suggest = Suggester()
    inside: dict[str, tuple[str, ...]] = {}  # of the groups named so far
    for item in flat.hints:
        statement = item.statement
        paths = list(statement.parts)
        if isinstance(statement.value, Path):
            paths.insert(0, statement.value)
        tags: dict[str, None] = {}
        for path in paths:
            tag = item.prefix + path.text
            if tag in flat.groups and tag not in inside:
                inside[tag] = tuple(name for name in parts if name.startswith(tag + "."))
            if tag in parts:
                tags[tag] = None
            elif tag in inside:
                tags.update(dict.fromkeys(inside[tag]))
            elif not flat.excused(tag):
                near = suggest(
                    path.text, (t.removeprefix(item.prefix) for t in parts if t.startswith(item.prefix))
                )
                message = f"there is no part `{path.text}`"
                help = near or "every part stands in the parts list"
                messages.append(error("unknown-part", message, path.span, help=help))
        value = "" if statement.value is None or isinstance(statement.value, Path) else str(statement.value)
        hints.append(Hint(statement.word.text, value, tuple(tags), value, statement.span))
    return tuple(hints), messages
