"""The same work on many things, in several processes where that pays. The results do not depend on their number."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

A = TypeVar("A")
B = TypeVar("B")

FEW = 24  # things: fewer are not worth starting processes for
CHUNK = 4  # things given to a process at a time

_work: Callable[[Any], Any] | None = None


def processors() -> int:
    """Return how many processors this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:  # not on every system
        return max(1, os.cpu_count() or 1)


def each(
    work: Callable[[A], B],
    things: Sequence[A],
    processes: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[B, ...]:
    """Return ``work`` done on each thing, in order. ``progress`` is called with how many are done, and of how many.

    Processes are forked, so that they begin with what this one has loaded; where a system cannot fork, or for few
    things, all is done here. ``processes``: None for as many as there are processors.
    """
    count = processors() if processes is None else processes
    if count < 2 or len(things) < FEW or "fork" not in multiprocessing.get_all_start_methods():
        return tuple(_told(map(work, things), len(things), progress))
    global _work
    context = multiprocessing.get_context("fork")
    _work = work  # inherited by the fork: nothing has to be pickled but a thing's number and its result
    try:
        with context.Pool(min(count, len(things))) as pool:
            numbered = [(index, thing) for index, thing in enumerate(things)]
            done = pool.imap(_one, numbered, CHUNK)
            return tuple(_told(done, len(things), progress))
    finally:
        _work = None


def _one(numbered: tuple[int, Any]) -> Any:
    assert _work is not None
    return _work(numbered[1])


def _told(done: Iterator[B], count: int, progress: Callable[[int, int], None] | None) -> Iterator[B]:
    for index, result in enumerate(done, start=1):
        if progress is not None:
            progress(index, count)
        yield result
