"""Reading and writing files safely: bounded, inside a given folder, never half-written."""

from __future__ import annotations

import os
import tempfile
from itertools import islice
from pathlib import Path

LARGEST = 1_000_000  # bytes of a netlist; a hand-written circuit of 1000 parts has about 60 000


class UnreadableError(Exception):
    """A file that cannot be read; the message says why in a few words, without the path."""


def read_text(path: Path, largest: int = LARGEST) -> str:
    """Return the text of a UTF-8 file of at most ``largest`` bytes.

    Raises
    ------
    UnreadableError
        If there is no such regular file, it is too large, or it is not UTF-8.
    """
    try:
        if not path.exists():
            raise UnreadableError("no such file")
        if not path.is_file():
            raise UnreadableError("not a regular file")
        with path.open("rb") as handle:
            data = handle.read(largest + 1)
    except OSError as fault:
        raise UnreadableError(fault.strerror or "cannot be read") from fault
    return text_of(data, largest)


def text_of(data: bytes, largest: int = LARGEST) -> str:
    """Return the text of UTF-8 bytes; UnreadableError as for :func:`read_text`."""
    if len(data) > largest:
        raise UnreadableError(f"larger than {largest // 1000} kB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise UnreadableError(f"not UTF-8 text (byte {fault.start})") from fault


def inside(folder: Path, name: str, beside: Path | None = None) -> Path | None:
    """Return the file ``name``, or None if it would lead outside ``folder`` (by ``..``, absolute, by a link).

    The name is looked for in ``beside``, a folder in ``folder``, or in ``folder`` itself.
    """
    if not name or "\0" in name or Path(name).is_absolute():
        return None
    root, path = real(folder), real((beside or folder) / name)
    return path if path.is_relative_to(root) else None


def real(path: Path) -> Path:
    """Return the absolute path with links followed, or just the absolute one if they lead in a circle."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        return path.absolute()


def names(folder: Path, suffix: str, most: int = 500) -> tuple[str, ...]:
    """Return the names of the files with a suffix in a folder, sorted; none if the folder cannot be read."""
    try:
        with os.scandir(folder) as found:
            return tuple(sorted(entry.name for entry in islice(found, most) if entry.name.endswith(suffix)))
    except OSError:
        return ()


def encoded(data: str | bytes) -> bytes:
    """Return text as UTF-8; what no text can hold (a piece of a file's name that is no UTF-8) becomes ``?``."""
    return data.encode("utf-8", "replace") if isinstance(data, str) else data


def write(path: Path, data: str | bytes) -> None:
    """Write a file whole or not at all: into a neighbour first, then renamed over the old one.

    What is there and is no regular file (a device, a pipe) is written to as it is.

    Raises
    ------
    OSError
        If the folder cannot be written; the old file is then untouched.
    """
    raw = encoded(data)
    target = path.resolve() if path.is_symlink() else path
    if target.exists() and not target.is_file():
        with target.open("wb") as out:
            out.write(raw)
        return
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
        if target.exists():
            os.chmod(name, target.stat().st_mode & 0o7777)
        else:
            mask = os.umask(0)
            os.umask(mask)
            os.chmod(name, 0o666 & ~mask)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
