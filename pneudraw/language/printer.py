"""From tree to text: the canonical layout.

Sections at the left edge with one empty line between them, statements indented by two spaces, tags, kinds,
captions, values and comments in columns from one empty line to the next. Order, comments, empty lines
between statements and line ends behind commas stay as they were written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import assert_never

from pneudraw.language.columns import COMMA, INDENT, Row, print_remarks, print_rows, with_comment
from pneudraw.language.tree import (
    AssemblyDecl,
    Block,
    CircuitBlock,
    Document,
    HintDecl,
    InputSetting,
    LayoutBlock,
    LineDecl,
    LineFault,
    LinesBlock,
    Measure,
    Notes,
    Option,
    PartDecl,
    PartFault,
    PartsBlock,
    Quoted,
    StateDecl,
    StatesBlock,
    StateSetting,
    UseDecl,
    Value,
)


def format_text(document: Document) -> str:
    """Return the netlist in the canonical layout.

    Only for a document without errors: of one with errors the tree holds less than the text says.
    Printing what was printed changes nothing, and its tree equals the tree printed.
    """
    lines: list[str] = []
    before: Block | None = None
    for block in document.blocks:
        if before is not None and not (isinstance(before, UseDecl) and isinstance(block, UseDecl)):
            lines.append("")
        lines += _block(block, "")
        before = block
    if document.tail:
        if lines:
            lines.append("")
        lines += print_remarks(document.tail, "")
    return "".join(f"{line}\n" for line in lines)


def _block(block: Block, indent: str) -> Iterator[str]:
    yield from print_remarks(block.notes.before, indent)
    deeper = indent + INDENT
    match block:
        case CircuitBlock():
            title = f" {_quote(block.title.text)}" if block.title else ""
            yield _head(f"circuit{title}", block.notes, indent)
            rows = [Row((setting.key.text, setting.value.text), setting.notes) for setting in block.settings]
            yield from print_rows(rows, deeper, gap=" ")
        case PartsBlock():
            yield _head("parts", block.notes, indent)
            yield from print_rows([_part(part) for part in block.parts], deeper)
        case LinesBlock():
            yield _head("lines", block.notes, indent)
            yield from print_rows([_line(line) for line in block.lines], deeper)
        case StatesBlock():
            yield _head("states", block.notes, indent)
            yield from print_rows([_state(state) for state in block.states], deeper)
        case LayoutBlock():
            yield _head("layout", block.notes, indent)
            yield from print_rows([_hint(hint) for hint in block.hints], deeper)
        case UseDecl():
            yield _head(f"use {_quote(block.file.text)} as {block.tag}", block.notes, indent)
        case AssemblyDecl():
            parameters = _options(block.parameters)
            yield _head(f"assembly {block.name}{'  ' if parameters else ''}{parameters}", block.notes, indent)
            for inner in block.blocks:
                yield from _block(inner, deeper)
        case _:
            assert_never(block)
    yield from print_remarks(block.tail, deeper)


def _head(text: str, notes: Notes, indent: str) -> str:
    return with_comment(indent + text, notes.after)


def _part(part: PartDecl) -> Row:
    tags = COMMA.join(tag.text for tag in part.tags)
    kind = part.kind.text if part.kind else ""
    options = _options(part.options)
    if part.caption is None:  # values begin where captions do
        return Row((tags, kind, options), part.notes)
    return Row((tags, kind, _quote(part.caption.text), options), part.notes)


def _line(line: LineDecl) -> Row:
    chain = ""
    for index, group in enumerate(line.groups):
        if index:
            chain += " -> " if line.separators[index - 1].directed else " -- "
        chain += COMMA.join(end.text for end in group.ends)
    options = " ".join(filter(None, (_options(line.options), " ".join(flag.text for flag in line.flags))))
    if line.tag is None:
        return Row((chain, "", options), line.notes)
    return Row((f"{line.tag}:", chain, options), line.notes)


def _state(state: StateDecl) -> Row:
    begin = f"from {state.start}"
    if state.horizon is not None:
        begin += f" for {state.horizon}"
    if state.settings:
        begin += ":"
    title = _quote(state.title.text) if state.title else ""
    settings = COMMA.join(_setting(setting) for setting in state.settings)
    return Row((state.name.text, title, begin, settings), state.notes)


def _setting(setting: StateSetting) -> str:
    match setting:
        case InputSetting():
            at = f" at {setting.at}" if setting.at is not None else ""
            return f"{setting.target} {setting.value}{at}"
        case PartFault():
            return f"fault {setting.target}.{setting.fault}{_size(setting.size)}"
        case LineFault():
            return f"fault line {setting.target} {setting.fault}{_size(setting.size)}"
        case _:
            assert_never(setting)


def _size(size: Measure | None) -> str:
    return f" {size}" if size is not None else ""


def _hint(hint: HintDecl) -> Row:
    value = ""
    if hint.value is not None:
        value = f" {_quote(hint.value.text)}" if isinstance(hint.value, Quoted) else f" {hint.value}"
    between = COMMA if hint.notes.breaks else " "
    return Row((f"{hint.word}{value}: {between.join(part.text for part in hint.parts)}",), hint.notes)


def _options(options: Iterable[Option]) -> str:
    return " ".join(f"{option.key}={_value(option.value)}" for option in options)


def _value(value: Value) -> str:
    return _quote(value.text) if isinstance(value, Quoted) else str(value)


def _quote(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
