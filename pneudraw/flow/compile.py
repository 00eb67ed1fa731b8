"""Whether the kernel runs compiled or interpreted, and where the compiled one is kept.

The kernel's source is one and the same (:mod:`pneudraw.flow.kernel`). numba is imported only when it is used.
The compiled kernel is kept in ``NUMBA_CACHE_DIR`` if that is set, else in the user's cache directory: the package
itself may be installed where nothing can be written. A small marker file next to it tells, without importing
numba, that this very source has been compiled here.

Why choose at all: one run of a 90-node vehicle takes 0.1 to 0.3 s interpreted and 1 to 5 ms compiled; loading the
kept kernel takes 0.4 s, compiling it 5 s. A single trace is quicker interpreted; a sweep of all single faults, or a
booklet, is not. A run that turns out long goes on compiled, see :mod:`pneudraw.flow.simulate`.
"""

from __future__ import annotations

import functools
import hashlib
import os
import platform
import sys
import types
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from pneudraw.flow import arrays, kernel, laws, linear, pointers
from pneudraw.flow.arrays import Model, Work
from pneudraw.flow.pointers import Table

# Measured (tests/bench/flow_speed.py) on a slow two-core machine; only their ratios to each other matter.
SECONDS_PER_PASSAGE = 1.3e-3  # interpreted, per passage of the network and run; compiled it is 4e-5
SECONDS_TO_LOAD = 0.5  # import numba and read the compiled kernel
SECONDS_TO_COMPILE = 6.0

COMPILED = {
    linear: ("copy", "zero", "factorise", "substitute", "line"),
    laws: ("store", "flows", "forces", "add_capacity", "triggered"),
    kernel: ("newton", "record", "begin", "trial", "estimate", "outside", "accept", "advance"),
}
#: nothing allocates, so nothing needs the counting of references; and C does not call it
PLAIN = {"_nrt": False, "no_cfunc_wrapper": True}
READY = "ready"  # file that is made once the kernel is kept


@dataclass(frozen=True)
class Kernel:
    """``start`` takes a model and working storage, of arrays if ``compiled``, else of lists, and returns ``advance``,
    which works on them."""

    compiled: bool
    start: Callable[[Table[Model], Table[Work]], Callable[[], int]]


def choose(mode: str, passages: int, jobs: int = 1, announce: Callable[[str], None] | None = None) -> Kernel:
    """Return the kernel to run ``jobs`` runs of a network with.

    ``mode``: ``yes`` and ``no`` decide; ``auto`` takes the compiled kernel when it is in memory already, or when the
    runs interpreted would take longer than to load it (if kept from before) or to compile it.
    ``announce`` is called with a sentence before a compilation.
    """
    if mode == "no":
        return interpreted()
    if mode == "auto" and _loaded.cache_info().currsize == 0:
        wait = SECONDS_TO_LOAD if is_kept() else SECONDS_TO_COMPILE
        if jobs * passages * SECONDS_PER_PASSAGE < wait:
            return interpreted()
    try:
        if announce is not None and _loaded.cache_info().currsize == 0 and not is_kept():
            announce("compiling the flow solver; this is done once and takes a few seconds")
        return _loaded()
    except ImportError:  # no numba for this Python: the interpreted kernel gives the same numbers
        return interpreted()


def interpreted() -> Kernel:
    """Return the kernel as plain Python over lists."""
    return Kernel(False, lambda model, work: functools.partial(kernel.advance, model.fields, work.fields))


def cache_folder() -> Path:
    """Return the folder of the compiled kernel, which need not exist."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return Path(os.environ["NUMBA_CACHE_DIR"])
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA", "")
    elif sys.platform == "darwin":
        base = str(Path.home() / "Library" / "Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME", "")
    return (Path(base) if base else Path.home() / ".cache") / "pneudraw"


def kept_folder() -> Path:
    """Return the folder for what is compiled from this very source, with this numba, on this kind of machine."""
    digest = hashlib.sha256()
    for file in (__file__, *(module.__file__ for module in (arrays, pointers, *COMPILED))):
        source = Path(str(file))
        digest.update(source.read_bytes())
        digest.update(str((source, source.stat().st_mtime_ns)).encode())  # numba compares the time, too
    try:
        version = metadata.version("numba")
    except metadata.PackageNotFoundError:
        version = "none"
    digest.update(f"{version} {platform.python_version()} {platform.machine()}".encode())
    return cache_folder() / f"kernel-{digest.hexdigest()[:16]}"


def is_kept() -> bool:
    """Tell whether a compiled kernel is there to be loaded."""
    try:
        return (kept_folder() / READY).exists()
    except (OSError, RuntimeError):  # no home directory, or unreadable
        return False


def _entry(model: int, work: int) -> int:
    """What is compiled: ``advance`` with the addresses of its tables. Its globals are `compiled_functions`."""
    return int(advance(model_at(model), work_at(work)))  # type: ignore[name-defined]  # noqa: F821


def compiled_functions() -> dict[str, Any]:
    """Return globals in which the kernel's functions call each other compiled, by `numba`'s dispatchers.

    numba keeps its dispatchers with the functions' globals, so the functions are given globals of their own; the
    modules' own functions stay plain Python. Nothing is compiled before an `entry` needs it.
    """
    import numba

    njit: Any = numba.njit  # its annotations do not list the options that are used here
    scope: dict[str, Any] = {"model_at": pointers.reader(Model), "work_at": pointers.reader(Work)}
    for module in COMPILED:
        scope.update(vars(module))
    for module, names in COMPILED.items():
        for name in names:
            scope[name] = njit(_alone(getattr(module, name), scope), **PLAIN, no_cpython_wrapper=True)
    return scope


def entry(
    plain: Callable[..., Any], signature: str, scope: dict[str, Any], folder: Path | None = None
) -> Any:
    """Compile a function with the globals of `compiled_functions`, so that Python can call it; keep it in a folder."""
    import numba

    njit: Any = numba.njit
    config: Any = numba.config
    before = config.CACHE_DIR
    config.CACHE_DIR = before if folder is None else str(folder)
    try:
        return njit(signature, cache=folder is not None, **PLAIN)(_alone(plain, scope))
    finally:
        config.CACHE_DIR = before


def _alone(plain: Any, scope: dict[str, Any]) -> Any:
    own = types.FunctionType(plain.__code__, scope, plain.__name__, plain.__defaults__)
    own.__module__ = plain.__module__
    return own


@functools.lru_cache(maxsize=1)
def _loaded() -> Kernel:
    """Compile the kernel or load what was compiled before."""
    folder = kept_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        keep = os.access(folder, os.W_OK)
    except OSError:
        keep = False
    called = entry(_entry, "int64(int64, int64)", compiled_functions(), folder if keep else None)
    if keep:
        (folder / READY).touch()

    def start(model: Table[Model], work: Table[Work]) -> Callable[[], int]:
        places = int(model.addresses.ctypes.data), int(work.addresses.ctypes.data)

        def advance(kept: object = (model, work)) -> int:  # as long as the arrays live their addresses hold
            return int(called(*places))

        return advance

    return Kernel(True, start)
