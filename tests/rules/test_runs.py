"""When the states are computed, how many, and what happens if they cannot be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from pneudraw.circuit.model import Circuit
from pneudraw.flow.run import Run
from pneudraw.rules import check
from tests.rules.circuits import TRACTOR_AND_TRAILER, TRUCK
from tests.rules.helpers import changed, circuit_of, solve


class Counting:
    """Solves, and remembers what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, ...]] = []

    def __call__(self, circuit: Circuit, names: Sequence[str]) -> Mapping[str, Run]:
        self.asked.append(tuple(names))
        return solve(circuit, names)


@pytest.mark.parametrize("text", [TRUCK, TRACTOR_AND_TRAILER], ids=["truck", "tractor"])
def test_all_rules_share_one_set_of_runs(text: str) -> None:
    counting = Counting()
    check(circuit_of(text), counting)
    assert len(counting.asked) == 1
    assert len(counting.asked[0]) <= 24


def test_nothing_is_computed_without_a_source() -> None:
    counting = Counting()
    found = check(
        circuit_of('circuit "No air"\nparts\n  t reservoir\n  g gauge\nlines\n  t.1 -> g.1\n'), counting
    )
    assert counting.asked == []
    assert "unreachable-part" in {finding.code for finding in found}


def unsolvable(circuit: Circuit, names: Sequence[str]) -> Mapping[str, Run]:
    """A solver that cannot take the network."""
    raise ValueError("a node without volume")


def test_states_that_cannot_be_computed_are_said_in_a_note() -> None:
    (found,) = check(circuit_of(TRUCK), unsolvable)
    assert (found.code, found.severity.value) == ("not-computed", "note")
    assert "a node without volume" in found.message


def stalling(circuit: Circuit, names: Sequence[str]) -> Mapping[str, Run]:
    """A solver that gives up in `ready`, and so has nothing sound to say of what follows from it."""
    runs = dict(solve(circuit, names))
    ready = runs["ready"]
    runs["ready"] = replace(
        ready, solution=replace(ready.solution, status="stalled", message="gave up at 3 s")
    )
    return runs


def test_nothing_is_concluded_from_a_run_that_gave_up() -> None:
    text = changed(
        TRUCK,
        ("  wet.2 -> cv1.1\n  cv1.2 -> prim.1\n", "  wet.2 -> prim.1\n"),
        ("  cv1    check-valve\n", ""),
    )
    (found,) = check(circuit_of(text), stalling)
    assert found.code == "not-computed"
    assert "Ready to drive" in found.message
    assert "gave up at 3 s" in found.message


def test_without_a_solver_only_parts_and_lines_are_looked_at() -> None:
    text = changed(
        TRUCK,
        ("  wet.2 -> cv1.1\n  cv1.2 -> prim.1\n", "  wet.2 -> prim.1\n"),
        ("  cv1    check-valve\n", ""),
    )
    assert check(circuit_of(text)) == ()


def test_the_circuit_itself_is_not_touched() -> None:
    circuit = circuit_of(changed(TRUCK, ("  qrf.21 -> lf.1\n", "")))
    states, parts = circuit.states, circuit.parts
    check(circuit, solve)
    assert circuit.states is states
    assert circuit.parts is parts


def test_order_of_the_netlist_changes_no_verdict() -> None:
    head, _, tail = TRUCK.partition("\nlines\n")
    turned = head + "\nlines\n" + "\n".join(reversed(tail.splitlines())) + "\n"
    broken = ("  cv1.2 -> prim.1\n", "  cv1.2 -> prim.1\n  wet.e -> prim.f\n")
    first, second = (
        {(f.code, f.ports) for f in check(circuit_of(changed(text, broken)), solve)}
        for text in (TRUCK, turned)
    )
    assert first == second == {("missing-check-valve", ("prim.f",))}
