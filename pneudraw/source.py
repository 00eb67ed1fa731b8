"""Where in which text something stands.

Every value in the program that came from a user's file carries a :class:`Span`, so that any later
stage can point at the line that caused what it found.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class Source:
    """A text and the name it is shown under (usually the path the user typed)."""

    name: str
    text: str

    @cached_property
    def _starts(self) -> tuple[int, ...]:
        starts = [0]
        starts += [i + 1 for i, char in enumerate(self.text) if char == "\n"]
        return tuple(starts)

    def position(self, offset: int) -> tuple[int, int]:
        """Return line and column, both counted from 1, of a character offset."""
        row = bisect_right(self._starts, offset) - 1
        return row + 1, offset - self._starts[row] + 1

    def line(self, number: int) -> str:
        """Return the text of a line (counted from 1) without its line end."""
        if not 1 <= number <= len(self._starts):
            return ""
        start = self._starts[number - 1]
        end = self.text.find("\n", start)
        return self.text[start : len(self.text) if end < 0 else end].rstrip("\r")


@dataclass(frozen=True)
class Span:
    """A stretch of a source, from the character offset ``start`` up to but not including ``end``."""

    source: Source
    start: int
    end: int

    @property
    def line(self) -> int:
        """The line of the first character, counted from 1."""
        return self.source.position(self.start)[0]

    @property
    def column(self) -> int:
        """The column of the first character, counted from 1."""
        return self.source.position(self.start)[1]

    @property
    def text(self) -> str:
        """The characters of the span."""
        return self.source.text[self.start : self.end]

    def to(self, other: Span) -> Span:
        """Return the span from the start of this one to the end of ``other``, in the same source."""
        return Span(self.source, min(self.start, other.start), max(self.end, other.end))

    def __repr__(self) -> str:
        return f"Span({self.source.name}:{self.line}:{self.column})"


def whole(source: Source) -> Span:
    """Return a span at the very start of a source, for messages about the file as such."""
    return Span(source, 0, 0)
