"""Reading and checking a netlist in a test, each text once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import Diagnostic, Severity
from pneudraw.flow.run import Run
from pneudraw.rules import check

CIRCUITS = Path(__file__).parent.parent.parent / "circuits"


def solve(circuit: Circuit, names: Sequence[str]) -> Mapping[str, Run]:
    """Run states as the program does."""
    return api.runs(circuit, names)


def circuit_of(text: str) -> Circuit:
    """Read a netlist that must have no errors."""
    reading = api.read_text(text)
    assert reading.circuit is not None, [message.message for message in reading.diagnostics]
    return reading.circuit


@cache
def findings(text: str) -> tuple[Diagnostic, ...]:
    """Check a netlist, states and all."""
    return check(circuit_of(text), solve)


@cache
def structural(text: str) -> tuple[Diagnostic, ...]:
    """Check a netlist without computing anything."""
    return check(circuit_of(text))


def course(name: str) -> str:
    """The text of a circuit of the course."""
    return (CIRCUITS / f"{name}.pneu").read_text(encoding="utf-8")


def changed(text: str, *changes: tuple[str, str]) -> str:
    """A text with pieces exchanged; each must stand in it once."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the text"
        text = text.replace(old, new)
    return text


def told(found: Sequence[Diagnostic]) -> list[tuple[str, str]]:
    """Rule and marked text of every finding that is more than a note, in source order."""
    return [(f.code, f.at.span.text) for f in found if f.severity is not Severity.NOTE]
