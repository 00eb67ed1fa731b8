"""Where the kind files are: the repository's ``symbols/``, the copy in a wheel, the user's folders."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from pneudraw.files import inside

MOST_FILES = 500  # kind files of one folder that are looked at; the shipped folder has about 100
NAME = re.compile(r"[a-z][a-z0-9-]{0,39}\Z")
ELEMENTS = "_elements.toml"
DRAWINGS = "_drawings.toml"


def shipped() -> Path:
    """Return the folder of the kinds that come with the program."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "symbols"
    return installed if installed.is_dir() else package.parent / "symbols"


def kind_files(folder: Path) -> dict[str, Path]:
    """Return the kind files of a folder by kind name, in name order.

    Links that lead out of the folder, folders, and files not named like a kind (``relay-valve.toml``) are
    passed over. Raises OSError if the folder cannot be listed.
    """
    found: dict[str, Path] = {}
    for entry in sorted(folder.iterdir(), key=lambda path: path.name)[: MOST_FILES * 4]:
        if entry.suffix != ".toml" or not NAME.match(entry.stem):
            continue
        path = inside(folder, entry.name)
        if path is not None and path.is_file():
            found[entry.stem] = path
        if len(found) >= MOST_FILES:
            break
    return found


def special_files(folders: Sequence[Path], name: str) -> tuple[Path, ...]:
    """Return the files of one name that is no kind's (``_elements.toml``) in these folders, in order."""
    paths = (inside(folder, name) for folder in folders)
    return tuple(path for path in paths if path is not None and path.is_file())
