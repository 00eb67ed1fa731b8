"""The first lines of sections, and the settings of a circuit."""

from __future__ import annotations

from collections.abc import Mapping

from pneudraw.diagnostics import Label, did_you_mean
from pneudraw.language.cursor import Cursor, Stop
from pneudraw.language.lexer import Tok
from pneudraw.language.tree import CircuitSetting, Notes, Option, Quoted, UseDecl, Word
from pneudraw.language.values import option

#: the settings of a circuit and what they may be; rule sets are named as in the findings of `check`
SETTINGS: Mapping[str, tuple[str, ...]] = {
    "pressure": ("psi", "kPa", "bar", "MPa"),
    "rules": ("us", "un", "none"),
}


def read_circuit_head(cursor: Cursor) -> Quoted | None:
    """Return the title behind ``circuit``, or None."""
    cursor.next()
    token = cursor.peek()
    try:
        if token is None:
            raise cursor.stop(
                "missing-title", "the circuit has no title", cursor.end, 'write `circuit "Title"`'
            )
        if token.kind is not Tok.QUOTED:
            raise cursor.stop(
                "missing-title", "the title does not stand in quotes", token.span, 'write `circuit "Title"`'
            )
        cursor.at += 1
        cursor.finish()
    except Stop:
        pass
    return Quoted(token.value, token.span) if token is not None and token.kind is Tok.QUOTED else None


def read_plain_head(cursor: Cursor) -> None:
    """Check that nothing follows a section's name."""
    name = cursor.next()
    token = cursor.peek()
    if token is None:
        return
    help = (
        "delete the colon"
        if token.kind is Tok.COLON
        else "what belongs to a section stands in indented lines below it"
    )
    cursor.say("unexpected", f"nothing follows `{name.text}` in its line", token.span, help)


def read_use(cursor: Cursor, notes: Notes, tail: tuple[str, ...]) -> UseDecl | None:
    """Return ``use "file.pneu" as tag``, or None if it cannot be read."""
    form = 'write `use "file.pneu" as tag`'
    head = cursor.next()
    try:
        file = cursor.take(Tok.QUOTED)
        if file is None:
            raise cursor.unexpected("the file's name in quotes", form)
        if not cursor.take(Tok.NAME, "as"):
            raise cursor.unexpected("`as` and a tag", form)
        tag = cursor.word("a tag", form)
        cursor.finish()
    except Stop:
        return None
    span = cursor.statement.span
    return UseDecl(Word(head.value, head.span), Quoted(file.value, file.span), tag, span, notes, tail)


def read_assembly_head(cursor: Cursor) -> tuple[Word | None, tuple[Option, ...]]:
    """Return the name and the parameters behind ``assembly``."""
    cursor.next()
    name: Word | None = None
    options: list[Option] = []
    try:
        name = cursor.word(
            "the assembly's name", "write `assembly name`, and `parameter=default` for each parameter"
        )
        while not cursor.ended:
            if not cursor.sees(Tok.EQUALS, ahead=1):
                raise cursor.unexpected("`parameter=default`", "every parameter has a default")
            option(cursor, options)
    except Stop:
        pass
    return name, tuple(options)


def read_setting(cursor: Cursor, notes: Notes, so_far: list[CircuitSetting]) -> CircuitSetting | None:
    """Return ``key value`` of the circuit, or None if it cannot be read."""
    try:
        key = cursor.word("a setting")
        if key.text not in SETTINGS:
            help = did_you_mean(key.text, SETTINGS) or f"settings: {', '.join(SETTINGS)}"
            raise cursor.stop("unknown-setting", f"there is no setting `{key}`", key.span, help)
        mark = cursor.take(Tok.COLON) or cursor.take(Tok.EQUALS)
        if mark:
            cursor.say(
                "unexpected",
                f"no `{mark.text}` stands in a setting",
                mark.span,
                f"write `{key} {SETTINGS[key.text][0]}`",
            )
        if cursor.ended:
            help = f"one of: {', '.join(SETTINGS[key.text])}"
            raise cursor.stop("missing-value", f"`{key}` has no value", key.span, help)
        value = cursor.word("a value", f"one of: {', '.join(SETTINGS[key.text])}")
        if value.text not in SETTINGS[key.text]:
            help = did_you_mean(value.text, SETTINGS[key.text]) or f"one of: {', '.join(SETTINGS[key.text])}"
            raise cursor.stop("bad-value", f"`{key}` cannot be `{value}`", value.span, help)
        cursor.finish()
        first = next((setting for setting in so_far if setting.key.text == key.text), None)
        if first is not None:
            related = [Label(first.key.span, "first here")]
            cursor.say(
                "duplicate-setting",
                f"`{key}` is set twice",
                key.span,
                "delete one of them",
                "again here",
                related,
            )
            return None
    except Stop:
        return None
    return CircuitSetting(key, value, cursor.statement.span, notes)
