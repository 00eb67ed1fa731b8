"""Circuits nobody would build run to an end too: in bounded work, pressures in bounds, no air made or lost."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import has_errors
from pneudraw.flow import compile as choice
from pneudraw.flow import simulate
from pneudraw.flow.faults import all_faults
from pneudraw.flow.network import Network
from pneudraw.flow.run import Options, Run
from pneudraw.flow.simulate import Settings, solve
from pneudraw.flow.solution import mass_balance
from tests.flow.parts import truck
from tests.strategies import netlists

ODD = settings(deadline=None, suppress_health_check=list(HealthCheck))


def circuit_of(text: str) -> Circuit | None:
    """The circuit of a netlist; None if its parts are impossible, which must be the only thing wrong with it."""
    reading = api.read_text(text)
    if has_errors(reading.diagnostics):
        assert {d.code for d in reading.diagnostics} == {"impossible-part"}, reading.diagnostics
    return reading.circuit


def limits(network: Network) -> tuple[float, float]:
    """What sources can bring about: a pump stops at 1 + 1/falloff times its intake; nothing is known with pistons."""
    start = [node.pressure0 for node in network.nodes]
    if network.pistons:
        return 0.0, math.inf
    low, high = min(start), max(start)
    for passage in network.passages:
        if passage.displacement is not None:
            falloff = passage.displacement.falloff
            high = max(high, max(start) * (1.0 + 1.0 / falloff) if falloff else math.inf)
            low = low if network.nodes[passage.a].fixed else 0.0
    return low, high


def well_run(run: Run) -> None:
    solution, network = run.solution, run.plumbing.network
    assert solution.status in ("equilibrium", "horizon", "event") or any(
        words in solution.message for words in ("keeps changing", "keep swinging")
    ), solution.message
    assert solution.counters.steps <= Settings().max_steps
    assert len(solution.flips) <= 400 * len(network.memories)
    low, high = limits(network)
    assert solution.pressures.min() > max(0.0, low - 0.06)  # the solver refuses steps that leave by 0.05
    assert solution.pressures.max() < high + 0.06
    assert np.isfinite(solution.pressures).all()
    assert mass_balance(network, solution) < 1e-4


@settings(ODD, max_examples=60)
@given(netlists(), st.data())
def test_every_state_of_any_circuit_ends_within_bounds_also_with_a_fault(
    text: str, data: st.DataObject
) -> None:
    circuit = circuit_of(text)
    assume(circuit is not None and circuit.states)
    assert circuit is not None
    faults = all_faults(circuit)
    fault = data.draw(st.sampled_from([None, *faults]).map(lambda f: () if f is None else (f.setting,)))
    for run in api.runs(circuit, options=Options(compiled="yes", faults=fault)).values():
        well_run(run)


SHORT_CYCLING = """circuit "The governor senses a thin line behind a kink"
  pressure bar
parts
  comp  compressor
  gov   governor   cut_in=7bar  cut_out=8.5bar
  wet   reservoir  volume=20L
  foot  foot-valve-single
lines
  sense: comp.2 -> wet.1, gov.1
  gov.2 -> comp.4
  wet.2 -> foot.1
"""


def test_a_governor_that_short_cycles_is_told_instead_of_being_followed_for_twenty_minutes() -> None:
    circuit = circuit_of(SHORT_CYCLING)
    assert circuit is not None
    kink = next(f.setting for f in all_faults(circuit) if f.name == "line:sense.restricted")
    run = api.runs(circuit, ("ready",), Options(compiled="yes", faults=(kink,)))["ready"]
    well_run(run)
    assert run.solution.status == "stalled"
    assert "`gov.unloading` keeps changing: 100 times in the " in run.solution.message
    assert run.solution.counters.steps < 4000


HUNTING = """circuit "A broken circuit behind a four-circuit valve"
  pressure bar
parts
  comp  compressor
  gov   governor   cut_in=7bar  cut_out=8.5bar
  wet   reservoir  volume=5L
  pv    four-circuit-protection-valve
  a, b  reservoir  volume=20L
  foot  foot-valve
lines
  comp.2 -> wet.1
  wet.a -> gov.1
  gov.2 -> comp.4
  wet.2 -> pv.1
  pv.21 -> a.1
  pv.22 -> b.1
  feed: a.2 -> foot.11
  b.2 -> foot.12
"""


def test_a_protection_valve_that_hunts_into_a_broken_line_is_told_as_swinging_with_its_place() -> None:
    """The pressure of the circuit helps to hold the valve open, so it pops open, empties the supply and shuts."""
    circuit = circuit_of(HUNTING)
    assert circuit is not None
    broken = next(f.setting for f in all_faults(circuit) if f.name == "line:feed.broken")
    run = api.runs(circuit, ("charging",), Options(compiled="yes", faults=(broken,)))["charging"]
    cut = solve(run.plumbing.network, Settings(horizon=1200.0, max_steps=6000, compiled="yes"))
    assert cut.status == "stalled"
    assert "gave up after 6000 steps" in cut.message
    assert "pressures keep swinging at `pv.21`, " in cut.message
    assert mass_balance(run.plumbing.network, cut) < 1e-4


def test_a_run_that_turns_out_long_goes_on_compiled_and_nothing_else_changes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    choice.choose("yes", 1)
    loaded = choice._loaded
    monkeypatch.setattr(simulate, "PATIENCE", 20)
    monkeypatch.setattr(
        simulate,
        "choose",
        lambda mode, *more: loaded() if mode == "yes" else choice.interpreted(),
    )
    network = truck(((0.0, 0.0), (0.1, 0.6)), gauge=4.0)
    plain = solve(network, Settings(horizon=60.0, compiled="no"))
    mixed = solve(network, Settings(horizon=60.0, compiled="auto"))
    assert mixed.counters.compiled
    assert mixed.counters.steps == plain.counters.steps > 40
    assert mixed.times == pytest.approx(plain.times, rel=1e-9)
    assert mixed.pressures == pytest.approx(plain.pressures, rel=1e-9)
    assert mixed.net == pytest.approx(plain.net, rel=1e-9, abs=1e-9)
