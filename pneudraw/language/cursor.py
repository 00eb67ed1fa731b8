"""Going through the tokens of one statement, with the messages common to all kinds of statement."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pneudraw.diagnostics import Diagnostic, Label, did_you_mean, error
from pneudraw.language.lexer import Tok, Token
from pneudraw.language.statements import Statement
from pneudraw.language.tree import Path, Word
from pneudraw.source import Span

MOST_MESSAGES = 20  # about one statement
DEEPEST = 8  # words of a path: tl.axle.left.chamber.11 has five

_TAG = re.compile(r"[A-Za-z][A-Za-z0-9_]*(?:-[A-Za-z0-9_]+)*\Z", re.ASCII)
_INNER = re.compile(r"[A-Za-z0-9_]+(?:-[A-Za-z0-9_]+)*\Z", re.ASCII)
NAMES = "names are made of the letters a to z, digits, `-` and `_`, and begin with a letter"


class Stop(Exception):  # noqa: N818 - a way out, not an error
    """The statement cannot be read any further; why has been reported."""


class Cursor:
    """The tokens of a statement, the place reached, and the list that messages are added to."""

    def __init__(self, statement: Statement, report: list[Diagnostic]) -> None:
        self.statement = statement
        self.tokens = statement.tokens
        self.at = 0
        self.report = report
        self.said = 0

    @property
    def ended(self) -> bool:
        """True if there is no token left."""
        return self.at >= len(self.tokens)

    @property
    def end(self) -> Span:
        """The empty span just behind the last token read, or at the statement's start."""
        if self.at == 0:
            first = self.tokens[0].span
            return Span(first.source, first.start, first.start)
        last = self.tokens[self.at - 1].span
        return Span(last.source, last.end, last.end)

    def peek(self, ahead: int = 0) -> Token | None:
        """Return a token without going on, or None behind the last."""
        place = self.at + ahead
        return self.tokens[place] if place < len(self.tokens) else None

    def sees(self, kind: Tok, text: str | None = None, ahead: int = 0) -> bool:
        """Tell whether the token is of this kind, and says this if ``text`` is given."""
        token = self.peek(ahead)
        return token is not None and token.kind is kind and (text is None or token.value == text)

    def next(self) -> Token:
        """Return the token and go on; only if there is one."""
        token = self.tokens[self.at]
        self.at += 1
        return token

    def take(self, kind: Tok, text: str | None = None) -> Token | None:
        """Return the token and go on if it is of this kind, else None."""
        return self.next() if self.sees(kind, text) else None

    def skip_to(self, offset: int) -> None:
        """Go on past every token that begins before a character offset of the source."""
        while not self.ended and self.tokens[self.at].span.start < offset:
            self.at += 1

    # --- messages -----------------------------------------------------------------------------------

    def say(
        self,
        code: str,
        message: str,
        span: Span,
        help: str = "",
        text: str = "",
        related: Sequence[Label] = (),
    ) -> None:
        """Report an error and go on.

        Behind an unclosed quote nothing is reported: the quote has swallowed what is missed.
        """
        swallowed = self.statement.damaged and span.start >= self.tokens[-1].span.start
        if not swallowed and not self.statement.quiet and self.said < MOST_MESSAGES:
            self.said += 1
            self.report.append(error(code, message, span, text, help, related))

    def stop(self, code: str, message: str, span: Span, help: str = "") -> Stop:
        """Report an error; the caller raises what is returned."""
        self.say(code, message, span, help)
        return Stop()

    def unexpected(self, wanted: str, help: str = "", known: Sequence[str] = ()) -> Stop:
        """Report the token here as not what was wanted; the caller raises what is returned."""
        token = self.peek()
        if token is None:
            return self.stop("unexpected", f"the statement ends where {wanted} should stand", self.end, help)
        if token.kind is Tok.POINT:
            return self.stop(
                "spaced-point",
                "a point joins two words",
                token.span,
                "write part and port together, as in `relay.2`",
            )
        if token.kind is Tok.NAME and known:
            help = did_you_mean(token.value, known) or help
        return self.stop("unexpected", f"{_shown(token)} stands where {wanted} should be", token.span, help)

    def finish(self) -> None:
        """Report what is left over, if anything is; raises Stop then."""
        if not self.ended:
            raise self.unexpected("the end of the statement")

    # --- names --------------------------------------------------------------------------------------

    def word(self, wanted: str, help: str = "") -> Word:
        """Return the single name that stands here; raises Stop if there is none."""
        token = self.peek()
        if token is None or token.kind not in (Tok.NAME, Tok.NUMBER):
            raise self.unexpected(wanted, help)
        self.at += 1
        if not _TAG.match(token.value):
            self.say("bad-name", f"`{token.value}` cannot be {wanted}", token.span, help=NAMES)
        return Word(token.value, token.span)

    def path(self, wanted: str, help: str = "", *, number: bool = False) -> Path:
        """Return the name, or names joined by points, that stand here; raises Stop if there are none.

        ``number``: a number may follow, so that `.5` is one and no port that stands apart.
        """
        token = self.peek()
        if token is None or token.kind is not Tok.NAME:
            if token is not None and token.kind is Tok.NUMBER:
                raise self.stop("bad-name", f"`{token.value}` cannot be {wanted}", token.span, NAMES)
            raise self.unexpected(wanted, help)
        self.at += 1
        self._spaced_point(token, number)
        words: list[Word] = []
        start = token.span.start
        for piece in token.value.split("."):
            span = Span(token.span.source, start, start + len(piece))
            if not (_INNER if words else _TAG).match(piece):
                self.say("bad-name", f"`{piece}` cannot be a name", span, help=NAMES)
            words.append(Word(piece, span))
            start = span.end + 1
        if len(words) > DEEPEST:
            self.say(
                "too-deep",
                f"more than {DEEPEST} names joined by points",
                token.span,
                "nest circuits less deep",
            )
        return Path(tuple(words), token.span)

    def _spaced_point(self, before: Token, number: bool) -> None:
        token = self.peek()
        if token is not None and token.kind is Tok.NUMBER and number:
            return
        if token is not None and (
            token.kind is Tok.POINT or (token.kind is Tok.NUMBER and token.value[0] == ".")
        ):
            point = Span(token.span.source, token.span.start, token.span.start + 1)
            help = "write part and port together, as in `relay.2`"
            raise self.stop("spaced-point", f"the point after `{before.value}` stands apart", point, help)


def _shown(token: Token) -> str:
    if token.kind is Tok.QUOTED:
        return "a quoted text"
    return f"`{token.text}`"
