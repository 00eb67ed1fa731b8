"""Every circuit of the course goes through every stage: read, format, draw, trace, check."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.course import circuits_folder
from pneudraw.circuit.model import Circuit
from pneudraw.flow.solution import mass_balance

COURSE = sorted(circuits_folder().glob("*.pneu"))
FILES = sorted(circuits_folder().rglob("*.pneu"))
every_circuit = pytest.mark.parametrize("path", COURSE, ids=lambda path: path.stem)


@cache
def circuit(path: Path) -> Circuit:
    reading = api.read(path)
    assert reading.diagnostics == ()
    assert reading.circuit is not None
    return reading.circuit


def test_there_is_a_course() -> None:
    assert len(COURSE) >= 2


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_it_stands_in_the_canonical_layout(path: Path) -> None:
    text = path.read_text("utf-8")
    assert api.format_netlist(text)[0] == text


@every_circuit
def test_its_drawing_has_no_fault_and_its_sheet_no_wish_refused(path: Path) -> None:
    layout = api.lay_out(circuit(path))
    assert layout.faults == ()
    assert {symbol.id for symbol in layout.symbols} == {part.tag for part in circuit(path).parts}
    assert api.draw(circuit(path), layout=layout).messages == ()


@every_circuit
def test_the_air_in_its_states_balances_and_stays_within_its_sources(path: Path) -> None:
    for name, run in api.runs(circuit(path)).items():
        assert run.solution.status in ("equilibrium", "horizon", "event"), (name, run.solution.message)
        assert mass_balance(run.plumbing.network, run.solution) < 1e-4, name
        assert run.solution.pressures.min() > 0.9, name  # bar abs: nothing here makes a vacuum
        assert run.solution.pressures.max() < 12, name  # the safety valve opens at 150 psi


@every_circuit
def test_the_checker_finds_nothing(path: Path) -> None:
    assert [finding.message for finding in api.check(circuit(path))] == []
