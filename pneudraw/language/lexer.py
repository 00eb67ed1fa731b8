"""From text to tokens, one physical line at a time."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from pneudraw.diagnostics import Diagnostic, error
from pneudraw.source import Source, Span

#: characters of a whole text, and of one line of it
LARGEST_TEXT = 1_000_000
LONGEST_LINE = 2000  # spaces not counted, so that no line gets too long by being formatted
#: lines that are not empty
MOST_LINES = 20_000


class Tok(Enum):
    """What a token is."""

    NAME = "name"  # words joined by points: relay, relay.2, tl.relay.2
    NUMBER = "number"  # all that is written to a number without a space: 9.5mm
    QUOTED = "quoted text"
    COMMA = ","
    COLON = ":"
    EQUALS = "="
    SEPARATOR = "separator"  # -> or --
    WRONG_SEPARATOR = "wrong separator"  # what people write instead
    POINT = "."  # a point with a space before or after it
    OTHER = "other"


@dataclass(frozen=True)
class Token:
    """A token; ``value`` is what is written, without quotes and escapes if it is a quoted text."""

    kind: Tok
    value: str
    span: Span

    @property
    def text(self) -> str:
        """The token as written."""
        return self.span.text

    def touches(self, after: Token) -> bool:
        """Tell whether the other token follows without a space."""
        return self.span.end == after.span.start


@dataclass(frozen=True)
class TextLine:
    """A line of the text: its tokens, its comment from ``#`` on, and the width of the space before them.

    ``damaged``: the rest of the line was swallowed by a quote that is not closed, or the line is too long.
    """

    span: Span
    indent: int
    tokens: tuple[Token, ...]
    comment: str
    damaged: bool = False

    @property
    def empty(self) -> bool:
        """True if there is neither a token nor a comment."""
        return not self.tokens and not self.comment and not self.damaged


_WORD = r"\w+(?:-\w+)*"
_TOKEN = re.compile(
    rf"""
      (?P<space>\s+)
    | (?P<comment>\#.*)
    | (?P<quoted>"(?:[^"\\]|\\.)*")
    | (?P<open>".*)
    | (?P<curly>[“”„«][^“”„«»"\#]*[“”»]|‘[^‘’\#]*’|'[^'\#]*')
    | (?P<separator>(?:->|--)(?![->]))
    | (?P<number>[+-]?\.?\d(?:(?!->|--)[^\s,:"\#=;<>→])*)
    | (?P<wrong>[-=]+>|<[-=]*>?|[→⟶➔⇒–—−]|-+|>)
    | (?P<name>[^\W\d]\w*(?:-\w+)*(?:\.{_WORD})*)
    | (?P<comma>,)
    | (?P<colon>:)
    | (?P<equals>=)
    | (?P<point>\.)
    | (?P<other>[^\s\w"\#,:=.<>-]+|.)
    """,
    re.VERBOSE,
)
_SIMPLE = {
    "separator": Tok.SEPARATOR,
    "wrong": Tok.WRONG_SEPARATOR,
    "number": Tok.NUMBER,
    "name": Tok.NAME,
    "comma": Tok.COMMA,
    "colon": Tok.COLON,
    "equals": Tok.EQUALS,
    "point": Tok.POINT,
    "other": Tok.OTHER,
}
# control characters, line and paragraph separators, marks that turn the writing direction, halves of pairs
_FORBIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)


def text_lines(source: Source, report: list[Diagnostic]) -> tuple[TextLine, ...]:
    """Return the lines of a text, taken apart; what is wrong with the characters is added to ``report``."""
    text = source.text
    if len(text) > LARGEST_TEXT:
        message = f"the text has {len(text)} characters, more than {LARGEST_TEXT}"
        report.append(
            error("text-too-large", message, Span(source, 0, 0), help="split it into files joined by `use`")
        )
        return ()
    lines: list[TextLine] = []
    empty = TextLine(Span(source, 0, 0), 0, (), "")
    filled = 0
    start = 1 if text.startswith("\ufeff") else 0
    while start <= len(text):
        end = text.find("\n", start)
        end = len(text) if end < 0 else end
        if end - start < 2 and not text[start:end].strip():
            lines.append(empty)
        else:
            lines.append(_line(source, start, end, report))
            filled += not lines[-1].empty
        start = end + 1
        if filled > MOST_LINES:
            message = f"more than {MOST_LINES} lines: the rest is not read"
            help = "split the text into files joined by `use`"
            report.append(error("too-many-lines", message, lines.pop().span, help=help))
            break
    return tuple(lines)


def _line(source: Source, start: int, end: int, report: list[Diagnostic]) -> TextLine:
    raw = source.text[start:end].rstrip("\r")
    span = Span(source, start, start + len(raw))
    if len(raw) > LONGEST_LINE and len("".join(raw.split())) > LONGEST_LINE:
        place = Span(source, start + LONGEST_LINE, span.end)
        report.append(error("line-too-long", f"the line has more than {LONGEST_LINE} characters", place))
        return TextLine(span, len(raw) - len(raw.lstrip()), (), "", damaged=True)
    bad = _FORBIDDEN.search(raw)
    if bad:
        message = f"the character U+{ord(bad[0]):04X} cannot stand in a netlist"
        place = Span(source, start + bad.start(), start + bad.end())
        report.append(
            error("bad-character", message, place, help="delete it; it may be invisible in an editor")
        )
        raw = _FORBIDDEN.sub(" ", raw)
    tokens: list[Token] = []
    comment = ""
    damaged = False
    at = 0
    while at < len(raw):
        match = _TOKEN.match(raw, at)
        assert match is not None  # the last alternative takes any character
        kind, piece = str(match.lastgroup), match[0]
        place = Span(source, start + at, start + match.end())
        at = match.end()
        if kind == "comment":
            comment = piece.rstrip()
        elif kind in ("quoted", "open") and tokens and _inch_mark(tokens[-1], place):
            at = place.start + 1 - start
            mark = Span(source, place.start, place.start + 1)
            report.append(error("unknown-unit", '`"` is no unit', mark, help="write `in` for inches"))
        elif kind == "quoted":
            tokens.append(Token(Tok.QUOTED, _unescape(piece[1:-1], place, report), place))
        elif kind == "open":
            damaged = True
            tokens.append(Token(Tok.QUOTED, piece[1:].rstrip(), place))
            report.append(
                error("missing-quote", "the quote is not closed", place, help='add a `"` where the text ends')
            )
        elif kind == "curly":
            tokens.append(Token(Tok.QUOTED, piece[1:-1], place))
            report.append(
                error("wrong-quotes", "these are not the right quotes", place, help='use straight ones: `"`')
            )
        elif kind != "space":
            tokens.append(Token(_SIMPLE[kind], piece, place))
    return TextLine(span, len(raw) - len(raw.lstrip()), tuple(tokens), comment, damaged)


def _inch_mark(before: Token, quote: Span) -> bool:
    return before.kind is Tok.NUMBER and before.span.end == quote.start


def _unescape(inner: str, place: Span, report: list[Diagnostic]) -> str:
    for match in _ESCAPE.finditer(inner):
        if match[1] not in '"\\':
            at = place.start + 1 + match.start()
            message = f"`{match[0]}` stands for nothing"
            help = "write `\\\\` for a backslash, and `/` between the folders of a file name"
            report.append(error("bad-escape", message, Span(place.source, at, at + 2), help=help))
            return inner
    return _ESCAPE.sub(r"\1", inner)
