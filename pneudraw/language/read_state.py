"""A statement of the states section."""

from __future__ import annotations

from pneudraw.diagnostics import did_you_mean
from pneudraw.language.cursor import Cursor, Stop
from pneudraw.language.lexer import Tok
from pneudraw.language.tree import (
    InputSetting,
    LineFault,
    Measure,
    Notes,
    PartFault,
    Path,
    Quoted,
    StateDecl,
    StateSetting,
    Word,
)
from pneudraw.language.values import measure
from pneudraw.source import Span

LINE_FAULTS = ("broken", "blocked", "restricted", "leaks")
SIZED = ("restricted", "leaks")
_FORM = 'a state is written `name "Title" from start: part value, part value`'


def read_state(cursor: Cursor, notes: Notes) -> StateDecl | None:
    """Return ``name ["Title"] from start [for time]: settings``, as far as it can be read."""
    try:
        name = cursor.word("a state's name", _FORM)
    except Stop:
        return None
    title: Quoted | None = None
    start: list[Word] = []
    horizon: list[Measure] = []
    settings: list[StateSetting] = []
    try:
        token = cursor.take(Tok.QUOTED)
        title = Quoted(token.value, token.span) if token else None
        _start(cursor, start, horizon)
        if _colon(cursor):
            _settings(cursor, settings)
    except Stop:
        pass
    first = start[0] if start else None
    time = horizon[0] if horizon else None
    return StateDecl(name, title, first, time, tuple(settings), cursor.statement.span, notes)


def _start(cursor: Cursor, start: list[Word], horizon: list[Measure]) -> None:
    token = cursor.peek()
    if token is None or token.kind is Tok.COLON:
        cursor.say("missing-from", "the state does not say what it starts from", cursor.end, _FORM)
        return
    if token.kind is not Tok.NAME or token.value != "from":
        _not_from(cursor)
    cursor.at += 1
    start.append(cursor.word("the state it starts from", "the name of a state, or `empty`"))
    if cursor.take(Tok.NAME, "for"):
        if not cursor.sees(Tok.NUMBER):
            raise cursor.unexpected("a time", "as in `for 30s`")
        time = measure(cursor)
        if time is not None:
            horizon.append(time)


def _not_from(cursor: Cursor) -> None:
    token = cursor.peek()
    assert token is not None
    if token.kind is Tok.NAME and did_you_mean(token.value, ("from",)) and cursor.sees(Tok.NAME, ahead=1):
        cursor.say(
            "missing-from",
            f"`{token.value}` stands where `from` should be",
            token.span,
            "did you mean `from`?",
        )
        return
    ahead = 0
    while (later := cursor.peek(ahead)) is not None and later.value != "from" and later.kind is not Tok.COLON:
        ahead += 1
    if later is not None and later.kind is Tok.NAME:
        help = "a title stands in quotes" if token.kind is Tok.NAME else _FORM
        cursor.say("unexpected", f"`{token.text}` stands where `from` should be", token.span, help)
        cursor.at += ahead
        return
    help = f"{_FORM}; if this goes on from the line above, end that one with a comma"
    raise cursor.stop("missing-from", "the state does not say what it starts from", token.span, help)


def _colon(cursor: Cursor) -> bool:
    """Go past the colon; tell whether settings follow. A state without settings has no colon."""
    if cursor.ended:
        return False
    if not cursor.take(Tok.COLON):
        token = cursor.peek()
        assert token is not None
        if token.kind is not Tok.NAME:
            raise cursor.unexpected("a colon", _FORM)
        cursor.say(
            "missing-colon",
            f"no colon before `{token.value}`",
            token.span,
            "a colon stands before the settings",
        )
    elif cursor.ended:
        help = "write what is set, as in `foot 30%`, or delete the colon"
        raise cursor.stop("missing-value", "nothing stands behind the colon", cursor.end, help)
    return True


def _settings(cursor: Cursor, settings: list[StateSetting]) -> None:
    while True:
        setting = _setting(cursor)
        if setting is not None:
            settings.append(setting)
        if cursor.ended:
            return
        if not cursor.take(Tok.COMMA):
            token = cursor.peek()
            assert token is not None
            if token.kind is not Tok.NAME:
                raise cursor.unexpected("a comma", "settings have commas between them")
            cursor.say(
                "missing-comma",
                f"no comma before `{token.value}`",
                token.span,
                "settings have commas between them",
            )


def _setting(cursor: Cursor) -> StateSetting | None:
    if cursor.sees(Tok.NAME, "fault") and cursor.sees(Tok.NAME, ahead=1):
        return _fault(cursor)
    target = cursor.path("a part", number=True)
    equals = cursor.take(Tok.EQUALS)
    if equals:
        cursor.say(
            "unexpected",
            "no `=` stands in a state",
            equals.span,
            "write the value behind the part: `foot 30%`",
        )
    token = cursor.peek()
    value: Measure | Word | None
    if token is not None and token.kind is Tok.NUMBER:
        value = measure(cursor)
    elif token is not None and token.kind is Tok.NAME:
        value = cursor.word("a value")
    elif token is None or token.kind is Tok.COMMA:
        help = f"as in `{target} 30%`, `{target} in` or `{target} running`"
        cursor.say("missing-value", f"`{target}` is not set to anything", target.span, help)
        return None
    else:
        raise cursor.unexpected("a value", "a quantity such as `30%`, or a word such as `in` or `running`")
    at = _at(cursor)
    if value is None:
        return None
    return InputSetting(target, value, at, target.span.to((at or value).span))


def _at(cursor: Cursor) -> Measure | None:
    if not cursor.take(Tok.NAME, "at"):
        return None
    if not cursor.sees(Tok.NUMBER):
        raise cursor.unexpected("a time", "as in `at 1.5s`")
    return measure(cursor)


def _fault(cursor: Cursor) -> StateSetting | None:
    begin = cursor.next().span
    if cursor.sees(Tok.NAME, "line") and not cursor.sees(Tok.COMMA, ahead=1):
        cursor.next()
        return _line_fault(cursor, begin)
    path = cursor.path("a part and its fault", number=True)
    size = _size(cursor)
    span = begin.to((size or path).span)
    if len(path.words) == 1:
        help = f"as in `fault {path}.inlet-leaks`; `pneudraw catalogue` lists the faults of every kind"
        cursor.say("missing-value", f"the fault of `{path}` is not named", path.span, help)
        return None
    target = Path(path.words[:-1], path.words[0].span.to(path.words[-2].span))
    return PartFault(target, path.last, size, span)


def _line_fault(cursor: Cursor, begin: Span) -> StateSetting | None:
    target = cursor.path("a line's tag")
    if not cursor.sees(Tok.NAME):
        help = f"write one of: {', '.join(LINE_FAULTS)}"
        if cursor.ended or cursor.sees(Tok.COMMA):
            cursor.say("missing-value", f"what is wrong with line `{target}` is not said", target.span, help)
            return None
        raise cursor.unexpected("a fault of a line", help)
    fault = cursor.word("a fault of a line")
    size = _size(cursor)
    if fault.text not in LINE_FAULTS:
        help = did_you_mean(fault.text, LINE_FAULTS) or f"a line can be or have: {', '.join(LINE_FAULTS)}"
        cursor.say("unknown-fault", f"a line has no fault `{fault}`", fault.span, help)
        return None
    if size is not None and fault.text not in SIZED:
        cursor.say(
            "unexpected", f"`{fault}` has no size", size.span, "delete it; `leaks` and `restricted` have one"
        )
    return LineFault(target, fault, size, begin.to((size or fault).span))


def _size(cursor: Cursor) -> Measure | None:
    return measure(cursor) if cursor.sees(Tok.NUMBER) else None
