"""Messages about a user's text, as values; and their rendering for a terminal and for programs."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum
from typing import Any
from unicodedata import combining, east_asian_width

from pneudraw.source import Span


class Severity(Enum):
    """How bad it is: an error stops the work, a warning does not, a note only informs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True)
class Label:
    """A place, and the few words printed under its marks."""

    span: Span
    text: str = ""


@dataclass(frozen=True)
class Diagnostic:
    """One message: a rule or error name, where it is, what is wrong and how to mend it.

    ``message`` is one line, lower case, without a full stop. ``ports`` names the ports concerned
    (``"relay.4"``), ``source`` the regulation, standard or practice behind a finding.
    """

    code: str
    severity: Severity
    message: str
    at: Label
    help: str = ""
    related: tuple[Label, ...] = ()
    ports: tuple[str, ...] = ()
    source: str = ""


def error(
    code: str, message: str, span: Span, text: str = "", help: str = "", related: Sequence[Label] = ()
) -> Diagnostic:
    """Return an error at a span: the short way to make the commonest diagnostic."""
    return Diagnostic(code, Severity.ERROR, message, Label(span, text), help, tuple(related))


def has_errors(diagnostics: Iterable[Diagnostic]) -> bool:
    """Tell whether any of the messages is an error."""
    return any(d.severity is Severity.ERROR for d in diagnostics)


def in_source_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Return the messages sorted by file, then place, then code."""
    return tuple(
        sorted(diagnostics, key=lambda d: (d.at.span.source.name, d.at.span.start, d.code, d.message))
    )


LONGEST_WORD = 60  # a longer one is no slip of the pen; comparing such words takes long


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return ``"did you mean `x`?"`` for the nearest known word, or an empty string. Capitals do not count."""
    if len(word) > LONGEST_WORD:
        return ""
    words: dict[str, str] = {}
    for name in sorted(set(known)):
        if len(name) <= LONGEST_WORD:
            words.setdefault(name.lower(), name)
    near = get_close_matches(word.lower(), words, n=1, cutoff=0.6)
    return f"did you mean `{words[near[0]]}`?" if near else ""


@dataclass
class Suggester:
    """Asks :func:`did_you_mean` a bounded number of times, so that a text of nothing but mistakes takes no hours."""

    left: int = 100

    def __call__(self, word: str, known: Iterable[str]) -> str:
        """Return the suggestion, or an empty string if there is none or the questions are used up."""
        if self.left <= 0:
            return ""
        self.left -= 1
        return did_you_mean(word, known)


def render_text(diagnostic: Diagnostic) -> str:
    """Return the message with its line and the place marked, as printed on a terminal.

    Control characters of the user's text are shown as `?`, so that a hostile file cannot write
    escape sequences to the terminal.
    """
    places = (diagnostic.at, *diagnostic.related)
    gutter = max(len(str(label.span.line)) for label in places)
    out = [f"{diagnostic.severity.value}[{diagnostic.code}]: {_clean(diagnostic.message)}"]
    for label in places:
        first = label is diagnostic.at
        span = label.span
        place = f"{_clean(span.source.name)}:{span.line}:{span.column}"
        out.append(f"{' ' * gutter}{'-->' if first else ':::'} {place}")
        out += _snippet(label, "^" if first else "-", gutter)
    if diagnostic.source:
        out.append(f"{' ' * gutter} = source: {_clean(diagnostic.source)}")
    if diagnostic.help:
        out.append(f"{' ' * gutter} = help: {_clean(diagnostic.help)}")
    return "\n".join(out)


_WIDEST = 160


def _snippet(label: Label, mark: str, gutter: int) -> list[str]:
    span = label.span
    text = span.source.line(span.line)
    if not text and not label.text:
        return []
    first = span.column - 1
    width = max(1, min(span.end - span.start, len(text) - first))
    shift = 0
    if len(text) > _WIDEST:  # keep the marked place in view of a very long line
        shift = max(0, min(first - _WIDEST // 2, len(text) - _WIDEST))
        text = text[shift : shift + _WIDEST]
        width = min(width, _WIDEST - (first - shift))
    pad = " " * gutter
    before, marked = text[: first - shift], text[first - shift : first - shift + width]
    lead = "".join("\t" if char == "\t" else " " * _columns(char) for char in before)
    words = f" {_clean(label.text)}" if label.text else ""
    return [
        f"{pad} |",
        f"{span.line:{gutter}} | {_clean(text, keep_tabs=True)}",
        f"{pad} | {lead}{mark * max(1, sum(map(_columns, marked)))}{words}",
    ]


def _columns(char: str) -> int:
    """How many columns of a terminal a character takes: wide ones two, accents that sit on another none."""
    if combining(char):
        return 0
    return 2 if east_asian_width(char) in "WF" else 1


def _clean(text: str, *, keep_tabs: bool = False) -> str:
    return "".join(c if c.isprintable() or (keep_tabs and c == "\t") else "?" for c in text)


def to_dict(diagnostic: Diagnostic) -> dict[str, Any]:
    """Return the message as plain data, in the shape that ``check --format json`` prints."""
    span = diagnostic.at.span
    return {
        "rule": diagnostic.code,
        "severity": diagnostic.severity.value,
        "file": span.source.name,
        "line": span.line,
        "column": span.column,
        "message": diagnostic.message,
        "help": diagnostic.help,
        "ports": list(diagnostic.ports),
        "source": diagnostic.source,
    }


def render_json(diagnostics: Iterable[Diagnostic]) -> str:
    """Return the messages as a JSON list."""
    return json.dumps([to_dict(d) for d in diagnostics], indent=2, ensure_ascii=False)
