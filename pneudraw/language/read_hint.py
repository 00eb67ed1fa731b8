"""A statement of the layout section."""

from __future__ import annotations

from pneudraw.diagnostics import did_you_mean
from pneudraw.language.cursor import Cursor, Stop
from pneudraw.language.lexer import Tok
from pneudraw.language.tree import Break, HintDecl, Measure, Notes, Path, Quoted, Word
from pneudraw.language.values import measure

#: each word and how it is written
FORMS = {
    "group": 'group "Rear axle": relay lr rr',
    "order": "order: prim foot relay",
    "column": "column 3: lf rf",
    "side": "side left: gov",
    "mirror": "mirror: lr rr",
    "near": "near foot: dash",
}
SIDES = ("left", "right", "top", "bottom")
MOST_COLUMNS = 1000
_BETWEEN = "parts are written with spaces between them"


def read_hint(cursor: Cursor, notes: Notes) -> HintDecl | None:
    """Return ``word [value]: parts`` (or with commas between the parts); None if it cannot be read whole."""
    try:
        if not cursor.sees(Tok.NAME):
            raise cursor.unexpected("a wish about the layout", f"there are: {', '.join(FORMS)}")
        word = cursor.word("a wish about the layout")
        if word.text not in FORMS:
            help = did_you_mean(word.text, FORMS) or f"there are: {', '.join(FORMS)}"
            raise cursor.stop("unknown-hint", f"there is no `{word}` in a layout", word.span, help)
        value = _value(cursor, word.text)
        if not cursor.take(Tok.COLON):
            form = f"as in `{FORMS[word.text]}`"
            token = cursor.peek()
            if token is not None and token.kind is not Tok.NAME:
                raise cursor.unexpected("a colon", form)
            cursor.say(
                "missing-colon", "a colon stands before the parts", token.span if token else cursor.end, form
            )
        parts, breaks = _parts(cursor, word, notes.breaks)
        return HintDecl(word, value, parts, cursor.statement.span, Notes(notes.before, notes.after, breaks))
    except Stop:
        return None


def _value(cursor: Cursor, word: str) -> Quoted | Measure | Word | Path | None:
    form = f"as in `{FORMS[word]}`"
    if word == "group":
        token = cursor.take(Tok.QUOTED)
        if token is None:
            raise cursor.unexpected("the group's name in quotes", form)
        return Quoted(token.value, token.span)
    if word == "column":
        if not cursor.sees(Tok.NUMBER):
            raise cursor.unexpected("the number of the column", form)
        number = measure(cursor)
        if number is None:
            raise Stop
        quantity = number.quantity
        if quantity.dimension != "number" or not 1 <= quantity.value <= MOST_COLUMNS or quantity.value % 1:
            raise cursor.stop(
                "bad-value",
                f"`{number}` is no number of a column",
                number.span,
                "columns are counted 1, 2, 3 ...",
            )
        return number
    if word == "side":
        side = cursor.word("a side", form)
        if side.text not in SIDES:
            raise cursor.stop("bad-value", f"`{side}` is no side", side.span, f"sides: {', '.join(SIDES)}")
        return side
    if word == "near":
        return cursor.path("a part", form)
    return None


def _parts(
    cursor: Cursor, word: Word, breaks: tuple[Break, ...]
) -> tuple[tuple[Path, ...], tuple[Break, ...]]:
    if cursor.ended:
        raise cursor.stop(
            "missing-parts", f"`{word}` names no parts", cursor.end, f"as in `{FORMS[word.text]}`"
        )
    parts = [cursor.path("a part", _BETWEEN)]
    commas: list[int] = []  # how many parts stand before each comma
    while not cursor.ended:
        if cursor.take(Tok.COMMA):
            commas.append(len(parts))
        parts.append(cursor.path("a part", _BETWEEN))
    # printed with breaks, such a list has a comma behind every part: number them so
    moved = tuple(Break(commas[item.comma] - 1, item.comment, item.lines) for item in breaks)
    return tuple(parts), moved
