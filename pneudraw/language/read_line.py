"""A statement of the pipe list."""

from __future__ import annotations

from pneudraw.diagnostics import did_you_mean
from pneudraw.language.cursor import Cursor, Stop
from pneudraw.language.lexer import Tok, Token
from pneudraw.language.tree import Group, LineDecl, Notes, Option, Path, Separator, Word
from pneudraw.language.values import lone_unit, option

OPTIONS = ("length", "bore")
FLAGS = ("hose",)
_SEPARATORS = "`->` joins in the direction of flow, `--` without a direction"


def read_line(cursor: Cursor, notes: Notes) -> LineDecl | None:
    """Return ``[tag:] end sep end ...  key=value ... flags``, as far as it can be read."""
    tag: Word | None = None
    groups: list[Group] = []
    separators: list[Separator] = []
    options: list[Option] = []
    flags: list[Word] = []
    try:
        tag = _tag(cursor)
        _chain(cursor, groups, separators)
        _middle(cursor, groups)
        _rest(cursor, options, flags)
    except Stop:
        pass
    span = cursor.statement.span
    return LineDecl(tag, tuple(groups), tuple(separators), tuple(options), tuple(flags), span, notes)


def _tag(cursor: Cursor) -> Word | None:
    if not cursor.sees(Tok.COLON, ahead=1):
        return None
    tag = cursor.word("a tag")
    cursor.next()
    return tag


def _chain(cursor: Cursor, groups: list[Group], separators: list[Separator]) -> None:
    token = cursor.peek()
    if token is not None and token.kind in (Tok.SEPARATOR, Tok.WRONG_SEPARATOR):
        raise cursor.stop(
            "missing-end",
            f"nothing stands before `{token.text}`",
            token.span,
            "write the part the line begins at",
        )
    groups.append(_group(cursor))
    while (token := cursor.peek()) is not None and token.kind in (Tok.SEPARATOR, Tok.WRONG_SEPARATOR):
        cursor.at += 1
        _check_separator(cursor, token)
        if cursor.ended:
            raise cursor.stop(
                "missing-end",
                f"nothing stands behind `{token.text}`",
                token.span,
                "write the part the line ends at",
            )
        separators.append(Separator(token.value != "--", token.span))
        groups.append(_group(cursor))
    if separators:
        return
    ends = groups[0].ends
    if cursor.ended or cursor.sees(Tok.EQUALS, ahead=1):
        help = f"write the other end: `{ends[-1]} -> ...`"
        raise cursor.stop("missing-end", "a line has at least two ends", groups[0].span, help)
    if cursor.sees(Tok.NAME):
        raise _no_separator(cursor, ends[-1])
    raise cursor.unexpected("`->` or `--`", _SEPARATORS)


def _group(cursor: Cursor) -> Group:
    ends = [cursor.path("an end of a line")]
    while cursor.take(Tok.COMMA):
        ends.append(cursor.path("an end of a line"))
    return Group(tuple(ends), ends[0].span.to(ends[-1].span))


def _check_separator(cursor: Cursor, token: Token) -> None:
    if token.kind is Tok.SEPARATOR:
        return
    help = _SEPARATORS
    if token.value.startswith("<"):
        help = "write the ends the other way round: a line is written in the direction of flow, with `->`"
    cursor.say("wrong-separator", f"`{token.text}` does not join two ends", token.span, help)


def _no_separator(cursor: Cursor, before: Path) -> Stop:
    token = cursor.peek()
    assert token is not None
    help = f"write `{before} -> {token.value}`"
    if len(before.words) == 1 and cursor.at == 1:
        help = f"write `{before}: {token.value}` if `{before}` is the line's tag, {help[6:]} if it is a part"
    return cursor.stop("missing-separator", f"nothing joins `{before}` and `{token.value}`", token.span, help)


def _middle(cursor: Cursor, groups: list[Group]) -> None:
    for group in groups[1:-1]:
        if len(group.ends) > 1:
            help = "several ends may stand at the beginning and at the end of a chain; write two lines"
            cursor.say("middle-group", "a line cannot go through several parts at once", group.span, help)


def _rest(cursor: Cursor, options: list[Option], flags: list[Word]) -> None:
    while (token := cursor.peek()) is not None:
        if token.kind is Tok.NAME and cursor.sees(Tok.EQUALS, ahead=1):
            key = token
            option(cursor, options)
            if key.value not in OPTIONS:
                options[:] = [option for option in options if option.key.span != key.span]
                help = (
                    did_you_mean(key.value, OPTIONS)
                    or f"a line has: {', '.join(OPTIONS)}, and the word `hose`"
                )
                cursor.say("unknown-option", f"a line has no `{key.value}`", key.span, help)
        elif token.kind is Tok.NAME and token.value in FLAGS:
            cursor.at += 1
            if token.value in [flag.text for flag in flags]:
                cursor.say(
                    "duplicate-option", f"`{token.value}` is given twice", token.span, "delete one of them"
                )
            else:
                flags.append(Word(token.value, token.span))
        elif lone_unit(cursor, options):
            pass
        elif token.kind is Tok.NAME and not options and not flags and not did_you_mean(token.value, FLAGS):
            raise cursor.stop(
                "missing-separator",
                f"nothing joins `{token.value}` to what stands before it",
                token.span,
                _SEPARATORS,
            )
        elif token.kind is Tok.COMMA and options:
            raise cursor.stop(
                "unexpected", "no comma stands here", token.span, "values have only spaces between them"
            )
        else:
            raise cursor.unexpected("a value or `hose`", "values are written `length=3m bore=9.5mm`", FLAGS)
