"""From text to tree: ``parse(source)``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from pneudraw.diagnostics import Diagnostic, Label, Severity, error, in_source_order
from pneudraw.language import tree
from pneudraw.language.cursor import Cursor
from pneudraw.language.lexer import Tok, text_lines
from pneudraw.language.read_head import (
    read_assembly_head,
    read_circuit_head,
    read_plain_head,
    read_setting,
    read_use,
)
from pneudraw.language.read_hint import read_hint
from pneudraw.language.read_line import read_line
from pneudraw.language.read_part import read_part
from pneudraw.language.read_state import read_state
from pneudraw.language.sections import Section, sections
from pneudraw.language.statements import Statement, gathered, plain, statements, tidy
from pneudraw.source import Source

SHOWN = 500  # messages
ENOUGH = 2 * SHOWN  # with so many, the rest of the text is not looked at

Node = TypeVar("Node")


def parse(source: Source) -> tuple[tree.Document, tuple[Diagnostic, ...]]:
    """Return the tree of a netlist, and all that is wrong with it in source order.

    Never raises: a text with errors gives a tree of what could be read.
    """
    report: list[Diagnostic] = []
    found, rest = statements(text_lines(source, report), report)
    divided, end = sections(found, rest, report)
    blocks: list[tree.Block] = []
    circuit: tree.Word | None = None
    for section in divided:
        block = _block(section, report)
        if isinstance(block, tree.CircuitBlock):
            if circuit is not None:
                message, related = "there is a second `circuit`", [Label(circuit.span, "the first")]
                report.append(
                    error(
                        "duplicate-circuit", message, block.head.span, help="a file has one", related=related
                    )
                )
            circuit = circuit or block.head
        if block is not None:
            blocks.append(block)
    tail = plain(end)
    if tail and not tail[0]:
        tail = tail[1:]
    return tree.Document(source, tuple(blocks), tail), _bounded(report)


def _bounded(report: list[Diagnostic]) -> tuple[Diagnostic, ...]:
    ordered = in_source_order(report)
    if len(ordered) <= SHOWN:
        return ordered
    message = f"more than {SHOWN} errors: the rest is not shown"
    return (*ordered[:SHOWN], Diagnostic("too-many-errors", Severity.NOTE, message, ordered[SHOWN].at))


def _block(section: Section, report: list[Diagnostic]) -> tree.Block | None:
    head = tree.Word(section.name, section.head.tokens[0].span)
    notes = _head_notes(section.head)
    tail = plain(section.tail)
    cursor = Cursor(section.head, report)
    match section.name:
        case "circuit":
            title = read_circuit_head(cursor)
            return tree.CircuitBlock(head, title, _settings(section.body, report), notes, tail)
        case "use":
            return read_use(cursor, notes, tail)
        case "assembly":
            name, parameters = read_assembly_head(cursor)
            inner = tuple(
                block for item in section.inner if (block := _inner_block(item, report)) is not None
            )
            if name is None:
                return None
            return tree.AssemblyDecl(head, name, parameters, inner, section.head.span, notes, tail)
        case "states":
            _plain_head(section, report)
            return tree.StatesBlock(head, _all(read_state, gathered(section.body), report), notes, tail)
        case _:
            return _inner_block(section, report)


def _inner_block(section: Section, report: list[Diagnostic]) -> tree.InnerBlock | None:
    head = tree.Word(section.name, section.head.tokens[0].span)
    notes = _head_notes(section.head)
    tail = plain(section.tail)
    if section.name in ("parts", "lines", "layout"):
        _plain_head(section, report)
    match section.name:
        case "parts":
            return tree.PartsBlock(head, _all(read_part, section.body, report), notes, tail)
        case "lines":
            return tree.LinesBlock(head, _all(read_line, section.body, report), notes, tail)
        case "layout":
            return tree.LayoutBlock(head, _all(read_hint, section.body, report), notes, tail)
        case _:  # a section nobody knows has been reported; what stands in it is not looked at
            return None


def _plain_head(section: Section, report: list[Diagnostic]) -> None:
    if not section.implied:
        read_plain_head(Cursor(section.head, report))


def _settings(body: tuple[Statement, ...], report: list[Diagnostic]) -> tuple[tree.CircuitSetting, ...]:
    made: list[tree.CircuitSetting] = []
    for number, statement in enumerate(body[:ENOUGH]):
        setting = read_setting(Cursor(statement, report), _notes(statement, first=number == 0), made)
        if setting is not None:
            made.append(setting)
    return tuple(made)


def _all(
    read: Callable[[Cursor, tree.Notes], Node | None], body: tuple[Statement, ...], report: list[Diagnostic]
) -> tuple[Node, ...]:
    made: list[Node] = []
    waiting = list(reversed(body))
    first = True
    while waiting and len(report) <= ENOUGH:
        statement = waiting.pop()
        cursor = Cursor(statement, report)
        node = read(cursor, _notes(statement, first=first))
        first = False
        if node is not None:
            made.append(node)
        behind = _behind_stray_comma(cursor)
        if behind is not None:
            waiting.append(behind)
    return tuple(made)


def _behind_stray_comma(cursor: Cursor) -> Statement | None:
    """Return the next line as a statement, if a comma too many at a line's end joined it to this one."""
    comma, following = cursor.peek(), cursor.peek(1)
    if comma is None or following is None or comma.kind is not Tok.COMMA:
        return None
    if comma.span.line == following.span.line:
        return None
    return replace(cursor.statement, tokens=cursor.tokens[cursor.at + 1 :], before=(), breaks=())


def _notes(statement: Statement, *, first: bool) -> tree.Notes:
    return tree.Notes(tidy(statement.before, first=first), statement.after, statement.breaks)


def _head_notes(statement: Statement) -> tree.Notes:
    return tree.Notes(tidy(statement.before, first=True), statement.after, statement.breaks)
