"""What the commands of ``pneudraw fault`` share."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from pneudraw.cli.common import UNREADABLE, announcer, fail, say

if TYPE_CHECKING:
    from pneudraw.circuit.model import Circuit
    from pneudraw.flow.faults import FaultError, PossibleFault
    from pneudraw.flow.symptoms import Reference

#: adds ``--condition``
conditions_option = click.option(
    "--condition",
    "letters",
    metavar="LETTER[,LETTER...]",
    default="",
    help="Only these conditions, such as P,R,S. All that the circuit allows otherwise.",
)
#: adds ``--processes``
processes_option = click.option(
    "--processes",
    type=click.IntRange(1, 64),
    help="How many processes to compute with; as many as there are processors otherwise. Changes no result.",
)


def split_letters(letters: str) -> tuple[str, ...]:
    """Return the letters of ``--condition``."""
    return tuple(letter.strip() for letter in letters.split(",") if letter.strip())


def sound_or_exit(circuit: Circuit, letters: Sequence[str]) -> Reference:
    """Run the sound vehicle; exit with status 2 if a wanted condition does not exist."""
    from pneudraw.api import sound_vehicle
    from pneudraw.diagnostics import did_you_mean
    from pneudraw.flow.run import Options

    known = sound_vehicle(circuit, Options(announce=announcer()))
    have = [c.letter for c in known.vehicle.conditions]
    for letter in letters:
        if letter not in have:
            hint = did_you_mean(letter, have) or f"conditions: {', '.join(have)}"
            fail(f"this circuit has no condition `{letter}`; {hint}")
    return known


def fault_or_exit(path: Path, circuit: Circuit, text: str, size: float | None = None) -> PossibleFault:
    """Return the fault of a name, or say what is wrong and exit with status 2."""
    from pneudraw.flow.faults import FaultError, find_fault

    try:
        return find_fault(circuit, text, size)
    except FaultError as fault:
        _exit(path, fault)


def _exit(path: Path, fault: FaultError) -> NoReturn:
    say(f"error: {path}: {fault}; {fault.help}")
    raise SystemExit(UNREADABLE)


def counter(what: str) -> Callable[[int, int], None] | None:
    """Return a function that counts up on a terminal, on one line; None where messages go to a pipe."""
    if not sys.stderr.isatty():
        return None

    def count(done: int, of: int) -> None:
        end = "\n" if done == of else ""
        if done == of or done % 4 == 0:
            click.echo(f"\r{what}: {done} of {of}{end}", err=True, nl=False)

    return count
