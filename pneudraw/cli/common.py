"""What the commands share: reading circuits, printing messages, writing results."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

import click

from pneudraw import files
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import Diagnostic, has_errors, render_text

if TYPE_CHECKING:
    from pneudraw.api import Reading

FOUND, UNREADABLE = 1, 2
STANDARD = Path("-")  # standard input or output

F = TypeVar("F", bound=Callable[..., Any])


def symbols_option(function: F) -> F:
    """Add ``--symbols DIR``, for kinds of the user's own."""
    return click.option(
        "--symbols",
        "symbols",
        multiple=True,
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        metavar="DIR",
        help="A folder with more kinds (*.toml); may be given again.",
    )(function)


def output_option(what: str) -> Callable[[F], F]:
    """Add ``-o/--output``; ``what`` says what is written there. A path that ends with a slash is a folder."""
    return click.option(
        "-o", "--output", type=click.Path(), callback=_output, metavar="PATH", help=f"Where to write {what}."
    )


def _output(_: click.Context, __: click.Parameter, value: str | None) -> Path | None:
    if value is None:
        return None
    return folder(Path(value)) if value.endswith(("/", os.sep)) else Path(value)


def say(text: str) -> None:
    """Print a message to standard error; control characters in it (of a file's name) do no harm to a terminal."""
    click.echo("".join(char if char.isprintable() or char in "\n\t" else "?" for char in text), err=True)


def fail(message: str) -> NoReturn:
    """Print an error and exit with status 2."""
    say(f"error: {message}")
    raise SystemExit(UNREADABLE)


def announcer() -> Callable[[str], None]:
    """Return a function that announces long work: on a terminal only, silent in a pipe."""

    def announce(text: str) -> None:
        if sys.stderr.isatty():
            say(text)

    return announce


def show(diagnostics: Iterable[Diagnostic]) -> None:
    """Print messages to standard error, a blank line between them."""
    for diagnostic in diagnostics:
        say(render_text(diagnostic) + "\n")


def reading_of(path: Path, symbols: Sequence[Path]) -> Reading:
    """Read a circuit from a file, or from standard input if the path is ``-``."""
    from pneudraw.api import read, read_text

    if path != STANDARD:
        return read(path, symbols)
    return read_text(standard_input(), "standard input", symbols)


def name_of(path: Path) -> str:
    """Return what a circuit's pictures are called after: its file's name without the suffix."""
    return "circuit" if path == STANDARD else path.stem


def standard_input() -> str:
    """Return the text on standard input, as bounded as a file's; exit with status 2 if it is none."""
    try:
        return files.text_of(sys.stdin.buffer.read(files.LARGEST + 1))
    except files.UnreadableError as fault:
        fail(f"cannot read standard input: {fault}")


def circuit_or_exit(path: Path, symbols: Sequence[Path]) -> Circuit:
    """Read a circuit; print what is wrong and exit with status 2 if it cannot be used."""
    reading = reading_of(path, symbols)
    show(reading.diagnostics)
    if reading.circuit is None or has_errors(reading.diagnostics):
        raise SystemExit(UNREADABLE)
    return reading.circuit


def save(path: Path, data: str | bytes, sources: Sequence[Path] = ()) -> None:
    """Write a result file whole, or say why not and exit with status 2. The ``sources`` are not written over."""
    if any(files.real(path) == files.real(source) for source in sources):
        fail(f"{path} would be written over the circuit itself; choose another name")
    try:
        files.write(path, data)
    except OSError as fault:
        fail(f"cannot write {path}: {fault.strerror or fault}")


def is_folder(path: Path | None) -> bool:
    """Tell whether a path is that of a folder; False also if there can be no such path."""
    return path is not None and os.path.isdir(path)


def is_no_folder(path: Path | None) -> bool:
    """Tell whether a path is that of something that is no folder, standard output included."""
    return path == STANDARD or (path is not None and os.path.lexists(path) and not os.path.isdir(path))


def folder(path: Path) -> Path:
    """Return a folder, made if it is missing, or say why not and exit with status 2."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        fail(f"cannot make the folder {path}: {fault.strerror or fault}")
    return path


def put(output: Path | None, data: str | bytes, sources: Sequence[Path] = ()) -> None:
    """Write a result to the named file, or to standard output: text as UTF-8, whatever the machine's habit is."""
    if output is not None and output != STANDARD:
        save(output, data, sources)
        return
    if isinstance(data, bytes) and sys.stdout.isatty():
        fail("a picture of this format is no text for a terminal; name a file with -o")
    try:
        if isinstance(data, str) and sys.stdout.isatty():
            click.echo(data, nl=False)
        else:
            sys.stdout.buffer.write(files.encoded(data))
        sys.stdout.flush()
    except BrokenPipeError:
        raise  # the reader has read enough: click ends quietly
    except OSError as fault:
        sys.stdout = None  # what is still in the buffer cannot be written at the end either
        fail(f"cannot write to standard output: {fault.strerror or fault}")


PICTURES = ("svg", "pdf", "png")


def format_of(name: str | None, output: Path | None, allowed: Sequence[str], usual: str) -> str:
    """Settle the output format: as asked, else by the file's suffix, else (no suffix, a folder) the usual one."""
    suffix = "" if output is None or is_folder(output) else output.suffix[1:].lower()
    suffix = "text" if suffix == "txt" else suffix
    if name is not None:
        return name
    if suffix in allowed:
        return suffix
    if suffix in KNOWN:
        fail(f"no format `{suffix}` here; there are {', '.join(allowed)}")
    return usual


#: suffixes that ask for a format; any other (``circuit.v2``) does not
KNOWN = (
    *("svg", "pdf", "png", "text", "json", "csv", "sarif", "html", "doc", "docx", "xls", "xlsx"),
    *("jpg", "jpeg", "gif", "bmp", "tif", "tiff", "webp", "eps", "ps", "dxf"),
)
