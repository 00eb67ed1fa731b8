"""A network prepared once and started elsewhere runs exactly like the same network written out anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pneudraw.flow.network import Command, Memory, Network, Node, Passage, Piston, Signal, Term, Trigger
from pneudraw.flow.prepared import Prepared, prepare, restarted
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import Solution

PLAIN = Settings(horizon=2.0, compiled="no")
ROD = Piston("rod", ((2, 0.5),), 1.0, 0.2, load=-0.6, spring=0.3)


def valve_and_rod(exponent: float = 1.0) -> Network:
    """A tank that a knob opens to a cylinder; the knob springs back when the tank is low."""
    nodes = (
        Node("air", 1.0, fixed=True, pressure0=1.0),
        Node("tank", 2.0, exponent=exponent, pressure0=8.0),
        Node("cylinder", 0.1, pressure0=1.0),
    )
    knob = Term((), memories=((0, 1.0),), band=1.0)
    lever = Term((), signals=((0, 1.0),), band=1.0)
    passages = (
        Passage("in", 1, 2, 0.5, terms=(knob,)),
        Passage("out", 2, 0, 0.5, terms=(lever,)),
    )
    memory = Memory("knob", 0, to_zero=(Trigger(((1, -1.0),), 5.0),))
    signal = Signal("lever", ((0.0, 0.0),))
    return Network(nodes, passages, (memory,), (signal,), (Command(0.1, 0, 1),), (ROD,))


def elsewhere(first: Prepared) -> Prepared:
    signal = Signal("lever", ((0.0, 0.0), (0.2, 0.0), (0.4, 1.0)))
    return restarted(first, (1.0, 5.5, 3.0), (0.4,), (1,), (signal,), (Command(0.7, 0, 1),))


def same(one: Solution, other: Solution) -> bool:
    fields = ("times", "pressures", "rates", "positions", "signals", "latches", "net", "forward", "flow_end")
    return (
        all(np.array_equal(getattr(one, f), getattr(other, f)) for f in fields) and one.flips == other.flips
    )


@pytest.mark.parametrize("compiled", ["no", "yes"])
@pytest.mark.parametrize("exponent", [1.0, 1.3])
def test_started_elsewhere_it_runs_to_the_bit_as_if_built_anew(compiled: str, exponent: float) -> None:
    settings = replace(PLAIN, compiled=compiled)
    first = prepare(valve_and_rod(exponent))
    before = solve(first, settings)
    second = elsewhere(first)
    assert same(solve(second, settings), solve(second.network, settings))
    assert same(solve(first, settings), before)  # nor did running the second leave anything in the first
    assert not same(solve(second, settings), before)


def test_the_start_and_the_inputs_are_those_asked_for_and_the_rest_is_the_same() -> None:
    first = prepare(valve_and_rod())
    network = elsewhere(first).network
    assert [node.pressure0 for node in network.nodes] == [1.0, 5.5, 3.0]
    assert network.pistons[0].position0 == 0.4
    assert network.memories[0].start == 1
    assert network.passages is first.network.passages
    assert elsewhere(first).fixed is first.fixed


def test_a_start_that_makes_no_sense_is_refused() -> None:
    first = prepare(valve_and_rod())
    for pressures, latch, points, culprit in (
        ((1.0, 0.0, 3.0), 1, (), "tank"),
        ((1.0, 2.0, 3.0), 2, (), "knob"),
        ((1.0, 2.0, 3.0), 1, ((1.0, 0.0), (0.5, 0.0)), "lever"),
    ):
        with pytest.raises(ValueError, match=culprit):
            restarted(first, pressures, (0.0,), (latch,), (Signal("lever", points),), ())
