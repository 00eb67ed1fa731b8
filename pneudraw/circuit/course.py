"""Where the course's circuits are: the repository's ``circuits/``, or the copy in a wheel."""

from __future__ import annotations

from pathlib import Path


def circuits_folder() -> Path:
    """Return the folder of the circuits that come with the program."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "circuits"
    return installed if installed.is_dir() else package.parent / "circuits"
