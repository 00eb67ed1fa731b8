"""Telling that a statement stands in the wrong section: a forgotten section name is one error, not many."""

from __future__ import annotations

from pneudraw.diagnostics import Diagnostic, did_you_mean, error
from pneudraw.language.lexer import Tok
from pneudraw.language.read_head import SETTINGS
from pneudraw.language.read_hint import FORMS
from pneudraw.language.read_line import OPTIONS
from pneudraw.language.statements import Statement

_NOUNS = {"parts": "a part", "lines": "a line", "states": "a state", "layout": "a wish about the layout"}
_IN_CHAIN = (Tok.NAME, Tok.COLON, Tok.COMMA)


def rather(statement: Statement, section: str) -> str:
    """Return the section whose form a statement plainly has, if not that of the one it stands in; else ""."""
    if section not in ("circuit", *_NOUNS) or statement.tokens[0].kind is not Tok.NAME:
        return ""
    forms = {"states": _state, "lines": _line, "layout": _wish, "parts": _part}
    if section in forms and forms[section](statement):
        return ""
    found = next((name for name, has_form in forms.items() if name != section and has_form(statement)), "")
    if found == "parts" and section == "circuit" and did_you_mean(statement.tokens[0].value, SETTINGS):
        return ""
    return found


def _state(statement: Statement) -> bool:
    tokens = statement.tokens
    at = 2 if len(tokens) > 1 and tokens[1].kind is Tok.QUOTED else 1
    words = [token.value for token in tokens[at : at + 3]]
    kinds = [token.kind for token in tokens[at : at + 3]]
    if kinds[:2] != [Tok.NAME, Tok.NAME] or words[0] != "from":  # `from` alone could be the kind of a part
        return False
    return len(kinds) == 2 or kinds[2] is Tok.COLON or words[2] == "for"


def _line(statement: Statement) -> bool:
    for token in statement.tokens:
        if token.kind not in _IN_CHAIN:
            return token.kind is Tok.SEPARATOR
    return False


def _wish(statement: Statement) -> bool:
    tokens = statement.tokens
    return tokens[0].value in FORMS and any(token.kind is Tok.COLON for token in tokens[1:3])


def _part(statement: Statement) -> bool:
    tokens = statement.tokens
    kinds = tuple(token.kind for token in tokens[:4])
    if kinds[1:2] != (Tok.NAME,) or "." in tokens[0].value + tokens[1].value:
        return False
    return kinds[2:3] == (Tok.QUOTED,) or (
        kinds[2:] == (Tok.NAME, Tok.EQUALS) and tokens[2].value not in OPTIONS
    )


def wrong_section(statement: Statement, section: str, rather: str) -> Diagnostic:
    """Return the message about a statement that stands under ``section`` and belongs under ``rather``."""
    message = f"{_NOUNS[rather]} stands under `{section}`"
    help = f"write `{rather}` at the left edge in a line above it"
    return error("wrong-section", message, statement.span, help=help)
