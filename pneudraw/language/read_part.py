"""A statement of the parts list."""

from __future__ import annotations

from pneudraw.language.cursor import Cursor, Stop
from pneudraw.language.lexer import Tok
from pneudraw.language.tree import Notes, Option, PartDecl, Quoted, Word
from pneudraw.language.values import lone_unit, option

_EXTRA = "tags have commas between them, a caption stands in quotes, values are written `key=value`"


def read_part(cursor: Cursor, notes: Notes) -> PartDecl | None:
    """Return ``tag[, tag...]  kind  ["Caption"]  key=value ...``; None if not even a tag can be read."""
    tags: list[Word] = []
    kind: Word | None = None
    captions: list[Quoted] = []
    options: list[Option] = []
    try:
        _tags(cursor, tags)
        kind = _kind(cursor, tags)
        _rest(cursor, captions, options)
    except Stop:
        pass
    if not tags:
        return None
    caption = captions[0] if captions else None
    return PartDecl(tuple(tags), kind, caption, tuple(options), cursor.statement.span, notes)


def _tags(cursor: Cursor, tags: list[Word]) -> None:
    tags.append(cursor.word("a tag"))
    while cursor.take(Tok.COMMA):
        tags.append(cursor.word("a tag"))


def _kind(cursor: Cursor, tags: list[Word]) -> Word | None:
    mark = cursor.peek()
    if mark is not None and mark.kind in (Tok.COLON, Tok.EQUALS) and cursor.sees(Tok.NAME, ahead=1):
        cursor.say("unexpected", f"no `{mark.text}` stands between tag and kind", mark.span, help="delete it")
        cursor.at += 1
    token = cursor.peek()
    if token is None or token.kind is Tok.QUOTED or cursor.sees(Tok.EQUALS, ahead=1):
        help = "after the tag comes the kind of part; `pneudraw catalogue` lists the kinds"
        cursor.say("missing-kind", f"`{tags[-1]}` has no kind", tags[-1].span, help)
        return None
    kind = cursor.word("a kind", "after the tag comes the kind of part")
    if not cursor.sees(Tok.NAME) or cursor.sees(Tok.EQUALS, ahead=1):
        return kind
    # one word too many: most likely a comma is missing between two tags, so all but the last count as tags
    token = cursor.peek()
    assert token is not None
    cursor.say("unexpected", f"`{token.text}` is one word too many", token.span, _EXTRA)
    tags.append(kind)
    while cursor.sees(Tok.NAME) and not cursor.sees(Tok.EQUALS, ahead=1):
        cursor.at += 1
    return None


def _rest(cursor: Cursor, captions: list[Quoted], options: list[Option]) -> None:
    while not cursor.ended:
        token = cursor.peek()
        assert token is not None
        if token.kind is Tok.QUOTED:
            cursor.at += 1
            if captions:
                cursor.say("unexpected", "a part has one caption", token.span, "delete one of the two")
            captions.append(Quoted(token.value, token.span))
        elif token.kind is Tok.NAME and cursor.sees(Tok.EQUALS, ahead=1):
            option(cursor, options)
        elif not lone_unit(cursor, options):
            if token.kind is Tok.COMMA and options:
                raise cursor.stop(
                    "unexpected", "no comma stands here", token.span, "values have only spaces between them"
                )
            raise cursor.unexpected("a caption or a value", _EXTRA)
