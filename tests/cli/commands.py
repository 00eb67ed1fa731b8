"""Running commands in tests, and a small circuit for them."""

from __future__ import annotations

import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from pneudraw.cli.main import main

RIG = """\
# One brake of the Tarn Vale Trade School's bench, which exists only here.
circuit "Bench: one brake"
  pressure psi

parts
  air   air-source         "Shop air"
  cv    check-valve
  tank  reservoir          "Service reservoir"  volume=800in3
  foot  foot-valve-single  "Foot valve"
  lf    service-chamber    "Left front"         type=20

lines
  air -> cv -> tank.1
  feed:     tank.2 -> foot.1   length=2m bore=9.5mm
  service:  foot.2 -> lf       length=3m bore=9.5mm

states
  half "Half application" from ready: foot 50%
"""

BROKEN = RIG.replace("reservoir  ", "resrvoir  ").replace("length=3m", "length=3")


@dataclass(frozen=True)
class Done:
    """What a command printed, and its exit status."""

    status: int
    out: str
    err: str
    raw: bytes


def pneudraw(*arguments: str | Path, input: str | bytes | None = None) -> Done:
    """Run a command in this process; whatever it raises but an exit is a failure of the test."""
    result = CliRunner().invoke(main, [str(argument) for argument in arguments], input=input)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise AssertionError("".join(traceback.format_exception(result.exception)))
    return Done(result.exit_code, result.stdout, result.stderr, result.stdout_bytes)


def refused(done: Done, *words: str) -> None:
    """Check that a command ended with status 2, printed no result, and said why."""
    assert done.status == 2, (done.out, done.err)
    assert done.out == ""
    for word in words:
        assert word in done.err
    assert "Traceback" not in done.err


def listing(folder: Path) -> Sequence[str]:
    """Return the names of everything in a folder, sorted."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))
