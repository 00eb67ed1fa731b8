"""Where the keys of a TOML text stand, so that a message can point at the line that caused it.

``tomllib`` forgets positions. This scanner reads only as much of the syntax as is needed to find keys again
in a text that ``tomllib`` has accepted; it runs only once a mistake has been found.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from pneudraw.source import Source, Span, whole

Path = tuple[str | int, ...]

_KEY = re.compile(r"""\s*(?:"((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*""")
_STRING = re.compile(r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.S)
_COMMENT = re.compile(r"#[^\n]*")
_LINE = re.compile(r"at line (\d+), column (\d+)")


@dataclass(frozen=True)
class Places:
    """Finds the span of a key, or of a word in its value."""

    source: Source

    @cached_property
    def _found(self) -> dict[Path, tuple[int, int, int]]:
        return _scan(self.source.text)

    def at(self, path: Path, word: str = "") -> Span:
        """Return the span of ``word`` in the value at ``path``, else of the key, else of a key around it."""
        for length in range(len(path), 0, -1):
            place = self._found.get(path[:length])
            if place is None:
                continue
            key, value, end = place
            for wanted in (word, *(str(step) for step in reversed(path[length:]) if isinstance(step, str))):
                at = _find(self.source.text, wanted, value, end) if wanted else -1
                if at >= 0:
                    return Span(self.source, at, at + len(wanted))
            return Span(self.source, key, max(key + 1, _key_end(self.source.text, key, value)))
        return whole(self.source)

    def of_decode_error(self, message: str) -> Span:
        """Return the place named in a message of ``tomllib``."""
        match = _LINE.search(message)
        if match is None:
            end = len(self.source.text.rstrip())
            return Span(self.source, max(0, end - 1), end)
        lines = self.source.text.split("\n")
        row, column = int(match[1]) - 1, int(match[2]) - 1
        start = sum(len(line) + 1 for line in lines[:row]) + column
        start = max(0, min(start, len(self.source.text) - 1))
        return Span(self.source, start, start + 1)


def _key_end(text: str, key: int, value: int) -> int:
    return key + len(text[key:value].rstrip().rstrip("=").rstrip())


def _find(text: str, word: str, start: int, end: int) -> int:
    for match in re.finditer(re.escape(word), text[start:end]):
        before, after = text[start + match.start() - 1], text[start + match.end() : start + match.end() + 1]
        if not (before.isalnum() and word[0].isalnum()) and not (after.isalnum() and word[-1].isalnum()):
            return start + match.start()
    return text.find(word, start, end)


def _scan(text: str) -> dict[Path, tuple[int, int, int]]:
    """Return for each path where its key starts, where its value starts and where that ends."""
    found: dict[Path, tuple[int, int, int]] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    i = 0
    while i < len(text):
        char = text[i]
        if char in " \t\r\n":
            i += 1
        elif char == "#":
            i = _skip(_COMMENT, text, i)
        elif char == "[":
            array = text.startswith("[[", i)
            start = i + (2 if array else 1)
            keys, end = _keys(text, start)
            table = _resolve(keys, counts)
            if array:
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            found.setdefault(table, (i, i + 1, i + 1))
            line = text.find("\n", end)
            i = len(text) if line < 0 else line
        else:
            keys, end = _keys(text, i)
            if end >= len(text) or text[end] != "=":
                line = text.find("\n", i)  # not TOML after all; go on with the next line
                i = len(text) if line < 0 else line
                continue
            stop = _value_end(text, end + 1)
            found[(*table, *keys)] = (i, end + 1, stop)
            i = stop
    return found


def _resolve(keys: list[str], counts: dict[Path, int]) -> Path:
    path: Path = ()
    for position, key in enumerate(keys):
        path = (*path, key)
        if path in counts and position < len(keys) - 1:
            path = (*path, counts[path])
    return path


def _keys(text: str, i: int) -> tuple[list[str], int]:
    keys: list[str] = []
    while match := _KEY.match(text, i):
        keys.append(next(group for group in match.groups() if group is not None))
        i = match.end()
        if not text.startswith(".", i):
            break
        i += 1
    return keys, i


def _value_end(text: str, i: int) -> int:
    depth = 0
    while i < len(text):
        char = text[i]
        if char in "\"'":
            i = _skip(_STRING, text, i)
        elif char == "#":
            i = _skip(_COMMENT, text, i)
        elif char == "\n" and depth == 0:
            return i
        else:
            depth += (char in "[{") - (char in "]}")
            i += 1
    return i


def _skip(pattern: re.Pattern[str], text: str, i: int) -> int:
    match = pattern.match(text, i)
    return match.end() if match else i + 1
