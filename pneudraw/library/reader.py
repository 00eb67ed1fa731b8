"""Reads kind files: the shipped ones when a kind is first asked for, the user's at once.

The format of a kind file is written down in ``format.md`` beside this module. Reading is bounded: no files
larger than 256 kB, no more than 500 of a folder, no links that lead out of it.

Examples
--------
>>> library, mistakes = load()
>>> mistakes
()
>>> library.kinds["check-valve"].title
'Check valve'
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from pneudraw.diagnostics import Diagnostic, error, has_errors
from pneudraw.files import UnreadableError, read_text
from pneudraw.library import kind_file, strokes
from pneudraw.library.fields import Fields, Problems
from pneudraw.library.locate import DRAWINGS, ELEMENTS, kind_files, shipped, special_files
from pneudraw.library.model import Drawing, Kind, Library, Stroke
from pneudraw.source import Source, whole

LARGEST = 256_000  # bytes of one kind file; a long one has about 8000
DEEPEST = 3  # symbols within symbols


def load(folders: Sequence[Path] = ()) -> tuple[Library, tuple[Diagnostic, ...]]:
    """Return the library of the shipped kinds and those in ``folders``, and what is wrong in those folders.

    A kind in a later folder takes the place of one of the same name. The user's files are read at once, so
    that every mistake in them is reported; a shipped file is read when its kind is first asked for.
    """
    problems: list[Diagnostic] = []
    own: dict[str, Path] = {}
    for folder in folders:
        try:
            own.update(kind_files(folder))
        except OSError as fault:
            reason = fault.strerror or "cannot be read"
            problems.append(error("kind-file", f"symbols folder: {reason}", whole(Source(str(folder), ""))))
    kinds = _Kinds({**kind_files(shipped()), **own}, (shipped(), *folders))
    for name in sorted(own):
        kinds.get(name)
    return Library(kinds, kinds.mistakes, kinds.drawings), (*problems, *kinds.mistakes())


class _Kinds(Mapping[str, Kind]):
    """Kinds by name, in name order; a file is read once, when first asked for. A faulty file is no member."""

    def __init__(self, files: Mapping[str, Path], folders: Sequence[Path]) -> None:
        self._files = dict(sorted(files.items()))
        self._folders = folders
        self._kinds: dict[str, Kind | None] = {}
        self._mistakes: list[Diagnostic] = []
        self._elements: dict[str, tuple[Stroke, ...]] | None = None
        self._drawings: dict[str, Drawing] | None = None
        self._reading: list[str] = []

    def mistakes(self) -> tuple[Diagnostic, ...]:
        return tuple(self._mistakes)

    def __getitem__(self, name: str) -> Kind:
        kind = self._read(name)
        if kind is None:
            raise KeyError(name)
        return kind

    def __iter__(self) -> Iterator[str]:
        return (name for name in self._files if self._read(name) is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _read(self, name: str) -> Kind | None:
        if name in self._kinds:
            return self._kinds[name]
        if name not in self._files or name in self._reading or len(self._reading) > DEEPEST:
            return None
        self._reading.append(name)
        kind, found = read_kind(self._files[name], self._element, self._symbol, self._files.get)
        self._reading.pop()
        self._mistakes += found
        self._kinds[name] = kind
        return kind

    def _symbol(self, name: str) -> tuple[Stroke, ...] | None:
        kind = self._read(name) or self._drawn().get(name)
        return None if kind is None else kind.strokes

    def drawings(self) -> tuple[Drawing, ...]:
        """Return the symbols that are no parts, in the order of their file."""
        return tuple(self._drawn().values())

    def _drawn(self) -> dict[str, Drawing]:
        if self._drawings is None:
            self._drawings = {}
            for path in special_files(self._folders, DRAWINGS):
                drawings, found = read_drawings(path, self._element, self._drawn_strokes)
                self._drawings.update(drawings)
                self._mistakes += found
        return self._drawings

    def _drawn_strokes(self, name: str) -> tuple[Stroke, ...] | None:
        return self._symbol(name)

    def _element(self, name: str) -> tuple[Stroke, ...] | None:
        if self._elements is None:
            self._elements = {}
            for path in special_files(self._folders, ELEMENTS):
                elements, found = read_elements(path)
                self._elements.update(elements)
                self._mistakes += found
        return self._elements.get(name)


def read_kind(
    path: Path,
    element: strokes.Lookup,
    symbol: strokes.Lookup,
    files: Callable[[str], Path | None] = lambda _: None,
) -> tuple[Kind | None, tuple[Diagnostic, ...]]:
    """Return the kind in a file and what is wrong with it; no kind if anything is an error.

    ``files`` returns the file of another kind by name: one that this file is ``like``.
    """
    data, problems = _toml(path)
    if not has_errors(problems.found) and "like" in data:
        data = _like(data, problems, files)
    if has_errors(problems.found):
        return None, tuple(problems.found)
    kind = kind_file.read(path.stem, data, problems, element, symbol)
    return (None if has_errors(problems.found) else kind), tuple(problems.found)


def _like(
    data: dict[str, object], problems: Problems, files: Callable[[str], Path | None]
) -> dict[str, object]:
    """Everything this file does not say itself, from the file of the kind it is like."""
    own = dict(data)
    name = own.pop("like")
    other = files(name) if isinstance(name, str) else None
    base, found = _toml(other) if other is not None else ({}, None)
    if found is None or has_errors(found.found):
        problems.add("kind-name", f"there is no kind `{name}` to be like", ("like",), str(name))
        return own
    if "like" in base:
        problems.add("kind-name", f"`{name}` is itself like another kind", ("like",), str(name))
    if "valve" not in own and "draw" in own:
        base.pop("valve", None)
    return {**base, **own}


def read_drawings(
    path: Path, element: strokes.Lookup, symbol: strokes.Lookup
) -> tuple[dict[str, Drawing], tuple[Diagnostic, ...]]:
    """Return the symbols of a file that are no parts, by name, and what is wrong with it."""
    data, problems = _toml(path)
    drawings: dict[str, Drawing] = {}
    for name, table in data.items():
        before = len(problems.found)
        drawing = kind_file.read_drawing(name, Fields(table, (name,), problems), element, symbol)
        if not has_errors(problems.found[before:]):
            drawings[name] = drawing
    return drawings, tuple(problems.found)


def read_elements(path: Path) -> tuple[dict[str, tuple[Stroke, ...]], tuple[Diagnostic, ...]]:
    """Return the drawing elements of a file by name, and what is wrong with it."""
    data, problems = _toml(path)
    elements: dict[str, tuple[Stroke, ...]] = {}
    top = Fields(data, (), problems)
    table = top.table("elements") or Fields({}, ("elements",), problems)
    for name in table.data:
        drawn: list[Stroke] = []
        for text in table.strings(name):
            try:
                drawn += strokes.parse(text, elements.get, lambda _: None)
            except strokes.StrokeError as fault:
                table.wrong(name, f"{fault} in `{text}`", word=text, code="kind-drawing")
        elements[name] = tuple(drawn)
    top.close()
    return elements, tuple(problems.found)


def _toml(path: Path) -> tuple[dict[str, object], Problems]:
    try:
        source = Source(str(path), read_text(path, LARGEST))
    except UnreadableError as fault:
        problems = Problems(Source(str(path), ""))
        problems.add("kind-file", str(fault), ())
        return {}, problems
    problems = Problems(source)
    try:
        return tomllib.loads(source.text), problems
    except tomllib.TOMLDecodeError as fault:
        span = problems.places.of_decode_error(str(fault))
        message = str(fault).split(" (at ")[0]
        problems.found.append(error("kind-syntax", message[:1].lower() + message[1:], span))
    except (RecursionError, ValueError):
        problems.add("kind-syntax", "this text cannot be read as TOML", ())
    return {}, problems
