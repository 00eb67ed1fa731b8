"""Dividing the statements of a text into its sections."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from pneudraw.diagnostics import Diagnostic, did_you_mean, error
from pneudraw.language.lexer import Tok
from pneudraw.language.misplaced import rather, wrong_section
from pneudraw.language.statements import Remark, Statement, divide

SECTIONS = ("circuit", "use", "parts", "lines", "states", "layout", "assembly")
#: those that are nothing but their name
PLAIN = ("parts", "lines", "states", "layout")
INNER = ("parts", "lines", "layout")


@dataclass(frozen=True)
class Section:
    """A section's first line, the statements under it, and the comments behind the last.

    ``name`` is its word, put right if it was misspelt; empty if nobody can tell what it was meant to be.
    ``inner`` are the sections of an assembly. ``implied``: the name is missing, ``head`` is the first statement.
    """

    name: str
    head: Statement
    body: tuple[Statement, ...] = ()
    inner: tuple[Section, ...] = ()
    tail: tuple[Remark, ...] = ()
    implied: bool = False


@dataclass
class _Draft:
    """A section while it is being filled."""

    name: str
    head: Statement
    body: list[Statement] = field(default_factory=list)
    inner: list[_Draft] = field(default_factory=list)
    tail: tuple[Remark, ...] = ()
    implied: bool = False

    def done(self) -> Section:
        inner = tuple(draft.done() for draft in self.inner)
        return Section(self.name, self.head, tuple(self.body), inner, self.tail, self.implied)


def sections(
    statements: Iterable[Statement], rest: tuple[Remark, ...], report: list[Diagnostic]
) -> tuple[tuple[Section, ...], tuple[Remark, ...]]:
    """Return the sections in source order, and the remarks at the end of the text that belong to none."""
    made: list[_Draft] = []
    strays = (
        False  # one message for all the statements of a section that are not indented, or have no section
    )
    for statement in statements:
        name = _head(statement, made[-1].name if made else None, report)
        if name is not None:
            strays = False
            if name == "use" and statement.indent > 0 and made:  # reported; the section around it goes on
                made.insert(len(made) - 1, _Draft(name, statement))
                continue
            if made and made[-1].name == "assembly" and statement.indent > 0:
                made[-1].inner.append(_Draft(name, statement))
                continue
            if made:
                made[-1].tail, own = divide(statement.before)
                statement = replace(statement, before=own)
            made.append(_Draft(name, statement))
        elif made:
            if statement.indent == 0 and made[-1].name:
                if not strays:
                    report.append(_not_indented(statement, made[-1].name))
                strays = True
                if statement.tokens[0].kind is not Tok.NAME:
                    continue
            _add(made, statement, report)
        elif not strays:
            report.append(_no_section(statement, "this statement stands in no section", SECTIONS))
            strays = True
    if made:
        made[-1].tail, rest = divide(rest)
    return tuple(draft.done() for draft in made), rest


def _add(made: list[_Draft], statement: Statement, report: list[Diagnostic]) -> None:
    section = made[-1]
    among = section.inner or made
    better = rather(statement, among[-1].name)
    if better:
        named = next((draft.name for draft in reversed(among) if not draft.implied), "")
        if better != named:  # else it is back in the section that the text names
            report.append(wrong_section(statement, among[-1].name, better))
            statement = replace(statement, quiet=True)
        among.append(_Draft(better, statement, [statement], implied=True))
        return
    if section.inner:
        section.inner[-1].body.append(statement)
        return
    if section.name == "assembly" and not section.body:
        report.append(_no_section(statement, "this statement stands in no section of the assembly", INNER))
    elif section.name == "use" and not section.body:
        report.append(_no_section(statement, "nothing stands under `use`", PLAIN))
    section.body.append(statement)


def _no_section(statement: Statement, message: str, sections: tuple[str, ...]) -> Diagnostic:
    help = f"write the name of its section above it: {', '.join(sections)}"
    return error("no-section", message, statement.span, help=help)


def _head(statement: Statement, current: str | None, report: list[Diagnostic]) -> str | None:
    """Return the section the statement begins ("" if unknown), or None if it begins none."""
    first = statement.tokens[0]
    if first.kind is not Tok.NAME:
        return None
    word = first.value
    if statement.indent > 0:
        return _indented_head(statement, current, report)
    if word in SECTIONS:
        return word
    near = did_you_mean(word, SECTIONS)
    name = near.split("`")[1] if near else ""
    alone = len(statement.tokens) == 1 or (
        len(statement.tokens) == 2 and statement.tokens[1].kind is Tok.COLON
    )
    second = statement.tokens[1].kind if len(statement.tokens) > 1 else None
    titled = second is Tok.QUOTED and name in ("circuit", "use")
    named = second is Tok.NAME and name == "assembly"
    if alone or titled or named:
        if name and name not in PLAIN and alone:
            name = ""
        help = near or f"sections: {', '.join(SECTIONS)}"
        report.append(error("unknown-section", f"there is no section `{word}`", first.span, help=help))
        return name
    return None


def _indented_head(statement: Statement, current: str | None, report: list[Diagnostic]) -> str | None:
    tokens = statement.tokens
    word = tokens[0].value
    in_assembly = current == "assembly"
    alone = len(tokens) == 1 or (len(tokens) == 2 and tokens[1].kind is Tok.COLON)
    if word in PLAIN and alone:
        if in_assembly and word in INNER:
            return word
        if in_assembly:
            message, help = f"`{word}` cannot stand in an assembly", f"an assembly has: {', '.join(INNER)}"
            report.append(error("misplaced-section", message, tokens[0].span, help=help))
            return ""
    elif in_assembly and alone and (near := did_you_mean(word, INNER)):
        report.append(error("unknown-section", f"there is no section `{word}`", tokens[0].span, help=near))
        return near.split("`")[1]
    elif not _other_head(statement):
        return None
    message, help = "a section begins at the left edge of the text", f"delete the spaces before `{word}`"
    report.append(error("indented-section", message, tokens[0].span, help=help))
    return word


def _other_head(statement: Statement) -> bool:
    tokens = statement.tokens
    if tokens[0].value == "circuit":
        return len(tokens) == 2 and tokens[1].kind is Tok.QUOTED
    if tokens[0].value == "use":
        return len(tokens) > 2 and tokens[1].kind is Tok.QUOTED and tokens[2].value == "as"
    return False


def _not_indented(statement: Statement, section: str) -> Diagnostic:
    first = statement.tokens[0]
    message = f"`{first.text}` stands at the left edge, where only sections begin"
    help = did_you_mean(first.text, SECTIONS) or f"indent what belongs to `{section}` by two spaces"
    return error("not-indented", message, first.span, help=help)
