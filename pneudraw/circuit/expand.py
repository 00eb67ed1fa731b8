"""Unfolding ``use`` and ``assembly``: from a document to flat lists of parts, lines and hints.

Tags inside a used circuit or an assembly get the prefix of the tag they stand under (``tl.relay``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from pneudraw import files
from pneudraw.diagnostics import Diagnostic, Label, did_you_mean, error
from pneudraw.language.parser import parse
from pneudraw.language.tree import (
    AssemblyDecl,
    Document,
    HintDecl,
    LayoutBlock,
    LineDecl,
    LinesBlock,
    Option,
    PartDecl,
    PartsBlock,
    UseDecl,
    Value,
    Word,
)
from pneudraw.source import Source, Span

DEEPEST = 6  # a truck uses a trailer, a trailer a wheel end ...; deeper is a mistake or an attack
# Ten statements can ask for a million parts by nesting, so what is unfolded is counted.
MOST_PARTS = 3000
MOST_LINES = 20_000  # statements
MOST_HINTS = 2000
MOST_GROUPS = 1000  # used circuits and assemblies


@dataclass(frozen=True)
class FlatPart:
    """One part to be: its full tag, the statement it comes from, and the values after substitution."""

    tag: str
    declared: Word
    statement: PartDecl
    values: tuple[tuple[Word, Value], ...]


@dataclass(frozen=True)
class FlatLine:
    """A line statement, the prefix of its tags, and the values of its options after substitution."""

    prefix: str
    statement: LineDecl
    values: tuple[tuple[Word, Value], ...]


@dataclass(frozen=True)
class FlatHint:
    """A layout statement and the prefix of its tags."""

    prefix: str
    statement: HintDecl


@dataclass
class Flat:
    """What unfolding collects; ``groups`` are tags that stand for a used circuit or an assembly.

    ``failed`` are tags that stand in the text although nothing came of them, because of a mistake that has been
    reported. Whoever looks up a name that is :meth:`excused` says nothing more about it.
    """

    parts: list[FlatPart] = field(default_factory=list)
    lines: list[FlatLine] = field(default_factory=list)
    hints: list[FlatHint] = field(default_factory=list)
    groups: dict[str, Span] = field(default_factory=dict)
    diagnostics: list[Diagnostic] = field(default_factory=list)
    failed: set[str] = field(default_factory=set)
    assemblies: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def excused(self, name: str) -> bool:
        """Tell whether a name (``tl.relay.2``), or the part or circuit it lies in, is one of the failed."""
        if not self.failed:
            return False
        words = name.split(".")
        return any(".".join(words[:count]) in self.failed for count in range(1, len(words) + 1))

    def full(self, what: str, so_far: int, most: int, span: Span) -> bool:
        """Tell whether there are too many of something already; report it the first time."""
        if so_far < most:
            return False
        message = f"the circuit has more than {most} {what}"
        if not any(d.message == message for d in self.diagnostics):
            help = "what `use` and `assembly` bring in counts too"
            self.diagnostics.append(error("too-large", message, span, help=help))
        return True


def expand(document: Document, folder: FilePath | None, known_kind: Callable[[str], bool]) -> Flat:
    """Unfold a document. ``folder`` is where used files may lie (and below); None forbids them.

    ``known_kind`` tells the names of kinds, which assemblies must not take.
    """
    flat = Flat()
    own = () if folder is None else (files.real(folder / FilePath(document.source.name).name),)
    _document(flat, document, "", _Files(folder, known_kind), own)
    return flat


@dataclass
class _Files:
    """The folder used files may lie in, and those already read: a file used ten times is read once."""

    folder: FilePath | None
    known_kind: Callable[[str], bool]
    read: dict[FilePath, Document] = field(default_factory=dict)


def _document(flat: Flat, document: Document, prefix: str, used: _Files, trail: tuple[FilePath, ...]) -> None:
    assemblies: dict[str, AssemblyDecl] = {}
    for assembly in document.assemblies:
        name = assembly.name
        first = assemblies.setdefault(name.text, assembly)
        if used.known_kind(name.text):
            message = f"`{name}` is a kind of part already; an assembly needs a name of its own"
            flat.diagnostics.append(error("name-taken", message, name.span))
        elif first is not assembly:
            related = [Label(first.name.span, "first here")]
            flat.diagnostics.append(
                error(
                    "name-taken", f"assembly `{name}` is defined twice", name.span, "again here", "", related
                )
            )
    flat.assemblies[document.source.name] = tuple(assemblies)
    for block in document.blocks:
        if isinstance(block, UseDecl):
            _use(flat, block, prefix, used, trail)
        elif isinstance(block, PartsBlock | LinesBlock | LayoutBlock):
            _block(flat, block, prefix, {}, assemblies, 0)


def _block(
    flat: Flat,
    block: PartsBlock | LinesBlock | LayoutBlock,
    prefix: str,
    values: Mapping[str, Value],
    assemblies: Mapping[str, AssemblyDecl],
    depth: int,
) -> None:
    if isinstance(block, PartsBlock):
        for statement in block.parts:
            _part(flat, statement, prefix, values, assemblies, depth)
    elif isinstance(block, LinesBlock):
        for line in block.lines:
            if flat.full("lines", len(flat.lines), MOST_LINES, line.span):
                break
            flat.lines.append(FlatLine(prefix, line, _substituted(line.options, values)))
    else:
        for hint in block.hints:
            if flat.full("wishes about the layout", len(flat.hints), MOST_HINTS, hint.span):
                break
            flat.hints.append(FlatHint(prefix, hint))


def _part(
    flat: Flat,
    statement: PartDecl,
    prefix: str,
    values: Mapping[str, Value],
    assemblies: Mapping[str, AssemblyDecl],
    depth: int,
) -> None:
    if statement.kind is None:
        flat.failed.update(prefix + tag.text for tag in statement.tags)
        return
    given = _substituted(statement.options, values)
    assembly = assemblies.get(statement.kind.text)
    for tag in statement.tags:
        if flat.full("parts", len(flat.parts), MOST_PARTS, tag.span):
            flat.failed.add(prefix + tag.text)
        elif assembly is None:
            flat.parts.append(FlatPart(prefix + tag.text, tag, statement, given))
        elif depth >= DEEPEST:
            flat.failed.add(prefix + tag.text)
            message = f"assemblies are nested more than {DEEPEST} deep"
            if not any(d.message == message for d in flat.diagnostics):
                help = "an assembly may hold others, but not itself"
                flat.diagnostics.append(error("too-deep", message, statement.kind.span, help=help))
        elif _new_group(flat, prefix + tag.text, tag.span):
            _assembly(flat, assembly, tag, prefix, given, assemblies, depth)


def _new_group(flat: Flat, tag: str, span: Span) -> bool:
    """Note the tag of a used circuit or an assembly; False, and reported, if it cannot be had."""
    if flat.full("assemblies and used circuits", len(flat.groups), MOST_GROUPS, span):
        flat.failed.add(tag)
        return False
    if tag in flat.groups:
        flat.diagnostics.append(duplicate_tag(tag, span, flat.groups[tag]))
        return False
    flat.groups[tag] = span
    return True


def duplicate_tag(tag: str, span: Span, first: Span) -> Diagnostic:
    """Return the message that a tag is used twice."""
    help = "every part needs a tag of its own"
    return error(
        "duplicate-tag", f"tag `{tag}` is used twice", span, "again here", help, [Label(first, "first here")]
    )


def _assembly(
    flat: Flat,
    assembly: AssemblyDecl,
    tag: Word,
    prefix: str,
    given: tuple[tuple[Word, Value], ...],
    assemblies: Mapping[str, AssemblyDecl],
    depth: int,
) -> None:
    names = [option.key.text for option in assembly.parameters]
    values: dict[str, Value] = {option.key.text: option.value for option in assembly.parameters}
    for key, value in given:
        if key.text not in names:
            near = did_you_mean(key.text, names)
            help = f"{near} its parameters: {', '.join(names) or 'none'}".strip()
            message = f"assembly `{assembly.name.text}` has no parameter `{key.text}`"
            flat.diagnostics.append(error("unknown-parameter", message, key.span, help=help))
        values[key.text] = value
    for block in assembly.blocks:
        _block(flat, block, f"{prefix}{tag.text}.", values, assemblies, depth + 1)


def _substituted(options: tuple[Option, ...], values: Mapping[str, Value]) -> tuple[tuple[Word, Value], ...]:
    out = []
    for option in options:
        value = option.value
        if isinstance(value, Word) and value.text in values:
            value = values[value.text]
        out.append((option.key, value))
    return tuple(out)


def _use(flat: Flat, use: UseDecl, prefix: str, used: _Files, trail: tuple[FilePath, ...]) -> None:
    tag = f"{prefix}{use.tag.text}"
    if not _new_group(flat, tag, use.tag.span):
        return
    path = _used(flat, use, used, trail)
    if path is None:
        flat.failed.add(tag)
    else:
        _document(flat, used.read[path], tag + ".", used, (*trail, path))


def _used(flat: Flat, use: UseDecl, used: _Files, trail: tuple[FilePath, ...]) -> FilePath | None:
    """Read a used file, which is looked for beside the file that uses it; None if it cannot be had."""

    def complain(message: str, help: str = "") -> None:
        flat.diagnostics.append(error("cannot-use", message, use.file.span, help=help))

    name, folder = use.file.text, used.folder
    shown = FilePath(use.file.span.source.name).parent / name  # as the user wrote the way to it
    if folder is None:
        complain("a netlist that is not a file cannot use other files")
        return None
    path = files.inside(folder, name, trail[-1].parent if len(trail) > 1 else folder)
    if path is None:
        complain(
            f"`{name}` lies outside the folder of the circuit", "only files beside or below it can be used"
        )
        return None
    if path in trail:
        complain(f"`{name}` is used inside itself")
        return None
    if len(trail) > DEEPEST:
        complain(f"circuits are nested more than {DEEPEST} files deep")
        return None
    if path in used.read:
        return path
    try:
        text = files.read_text(path)
    except files.UnreadableError as fault:
        near = [other for other in files.names(path.parent, path.suffix) if other != path.name]
        complain(f"cannot read `{name}`: {fault}", did_you_mean(path.name, near))
        return None
    used.read[path], messages = parse(Source(str(shown), text))
    flat.diagnostics += messages
    return path
