"""From lines of text to statements: joins what goes on after a comma, gives every comment its owner."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pneudraw.diagnostics import Diagnostic, error
from pneudraw.language.lexer import TextLine, Tok, Token
from pneudraw.language.tree import Break
from pneudraw.source import Span

LONGEST = 500  # lines of one statement


@dataclass(frozen=True)
class Remark:
    """A line without a statement: a comment from ``#`` on, or an empty line (``text`` empty)."""

    text: str
    indented: bool


@dataclass(frozen=True)
class Statement:
    """The tokens of one statement, and the remarks above it, at its end and at its inner line ends.

    ``damaged``: some of it was swallowed by an unclosed quote or left out. ``quiet``: it has been reported.
    """

    tokens: tuple[Token, ...]
    indent: int
    before: tuple[Remark, ...]
    after: str
    breaks: tuple[Break, ...]
    damaged: bool
    quiet: bool = False

    @property
    def span(self) -> Span:
        """From the first to the last token."""
        return self.tokens[0].span.to(self.tokens[-1].span)


def statements(
    lines: Iterable[TextLine], report: list[Diagnostic]
) -> tuple[tuple[Statement, ...], tuple[Remark, ...]]:
    """Return the statements in source order, and the remarks after the last one."""
    made: list[Statement] = []
    remarks: list[Remark] = []
    rest = list(lines)
    at = 0
    while at < len(rest):
        line = rest[at]
        if not line.tokens:
            if not line.damaged and not (line.empty and remarks and not remarks[-1].text):
                remarks.append(Remark(line.comment, line.indent > 0))
            at += 1
            continue
        statement, at = _join(rest, at, tuple(remarks), report)
        made.append(statement)
        remarks = []
    return tuple(made), tuple(remarks)


def _join(
    lines: list[TextLine], at: int, before: tuple[Remark, ...], report: list[Diagnostic]
) -> tuple[Statement, int]:
    first = lines[at]
    tokens = list(first.tokens)
    after, damaged = first.comment, first.damaged
    breaks: list[Break] = []
    commas = _commas(first)
    at += 1
    while tokens[-1].kind is Tok.COMMA:
        ahead = at
        while ahead < len(lines) and not lines[ahead].tokens and not lines[ahead].damaged:
            ahead += 1
        help = _no_more(lines, ahead, len(breaks))
        if help:
            report.append(error("open-comma", "nothing follows the comma", tokens[-1].span, help=help))
            damaged = True
            if len(tokens) > 1:  # keep one to point at
                tokens.pop()
            break
        between = tuple(line.comment for line in lines[at:ahead] if line.comment)
        breaks.append(Break(commas - 1, after, between))
        line = lines[ahead]
        commas += _commas(line)
        tokens += line.tokens
        after, damaged = line.comment, damaged or line.damaged
        at = ahead + 1
    return Statement(tuple(tokens), first.indent, before, after, tuple(breaks), damaged), at


def gathered(body: tuple[Statement, ...]) -> tuple[Statement, ...]:
    """Return the statements of a section of states; lines below a state that are indented further belong to it.

    So a state may end its first line with a colon. Whether commas are missing is for its reader to say. Comments at the
    ends of such lines come to stand above the state. No statement gets more than :data:`LONGEST` lines.
    """
    groups: list[list[Statement]] = []
    for statement in body:
        names = (token.value for token in statement.tokens if token.kind is Tok.NAME)
        deeper = bool(groups) and statement.indent > body[0].indent and "from" not in names
        if deeper and len(groups[-1]) + sum(len(one.breaks) for one in groups[-1]) < LONGEST:
            groups[-1].append(statement)
        else:
            groups.append([statement])
    return tuple(_together(group) if len(group) > 1 else group[0] for group in groups)


def _together(group: list[Statement]) -> Statement:
    """Several statements as one."""
    before = list(group[0].before)
    breaks: list[Break] = []
    commas = 0
    for above, statement in zip((None, *group), group, strict=False):
        if above is not None:
            before += [Remark(above.after, True)] if above.after else []
            before += [remark for remark in statement.before if remark.text]
        breaks += [replace(item, comma=item.comma + commas) for item in statement.breaks]
        commas += _commas(statement)
    return replace(
        group[0],
        tokens=tuple(token for statement in group for token in statement.tokens),
        before=tuple(before),
        after=group[-1].after,
        breaks=tuple(breaks),
        damaged=any(statement.damaged for statement in group),
    )


def _commas(line: TextLine | Statement) -> int:
    return sum(token.kind is Tok.COMMA for token in line.tokens)


def _no_more(lines: list[TextLine], ahead: int, joined: int) -> str:
    """Return how to mend a comma after which no line goes on; empty if one does."""
    if ahead == len(lines) or not lines[ahead].tokens:
        return "delete the comma"
    if lines[ahead].indent == 0:
        return "delete the comma, or indent the line that goes on"
    if joined == LONGEST:
        return f"one statement has at most {LONGEST} lines: write several"
    return ""


def plain(remarks: Iterable[Remark]) -> tuple[str, ...]:
    """Return the texts, with at most one empty line between two comments and none at the end."""
    out: list[str] = []
    for remark in remarks:
        if remark.text or (out and out[-1]) or not out:
            out.append(remark.text)
    while out and not out[-1]:
        out.pop()
    return tuple(out)


def tidy(remarks: tuple[Remark, ...], *, first: bool) -> tuple[str, ...]:
    """Return the remarks above a statement: empty lines single, none on top of the first of a section."""
    out: list[str] = []
    for remark in remarks:
        if remark.text or (out and out[-1]) or (not out and not first):
            out.append(remark.text)
    return tuple(out)


def divide(remarks: tuple[Remark, ...]) -> tuple[tuple[Remark, ...], tuple[Remark, ...]]:
    """Divide what stands above a section's name: the indented comments belong to the section before it."""
    for index, remark in enumerate(remarks):
        if remark.text and not remark.indented:
            return remarks[:index], remarks[index:]
    return remarks, ()
