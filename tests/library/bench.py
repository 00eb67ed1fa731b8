"""A test bench: a few parts in a netlist, run from state to state, and what stands in them afterwards."""

from __future__ import annotations

from collections.abc import Mapping

from pneudraw import api
from pneudraw.diagnostics import render_text
from pneudraw.flow.run import Options, Run, run

ATMOSPHERE = 1e5  # Pa; the atmosphere of most catalogues, so that 6 bar gauge are 7 bar absolute


def bench(parts: str, lines: str, states: str, atmosphere: float = ATMOSPHERE) -> Mapping[str, Run]:
    """Run every state of a circuit written as the sections of a netlist (states separated by line ends)."""

    def section(name: str, text: str) -> str:
        return name + "\n" + "".join(f"  {line.strip()}\n" for line in text.strip().splitlines())

    text = 'circuit "bench"\n' + section("parts", parts) + section("lines", lines) + section("states", states)
    reading = api.read_text(text)
    assert reading.circuit is not None, "\n".join(render_text(d) for d in reading.diagnostics)
    own = [state.name for state in reading.circuit.states if f"\n  {state.name} " in text]
    done = run(reading.circuit, own, Options(atmosphere=atmosphere, compiled="no"))
    for name in own:
        assert done[name].solution.status in ("equilibrium", "horizon"), done[name].solution.message
    return {name: done[name] for name in own}


def gauge(after: Run, place: str) -> float:
    """Gauge pressure at the end [bar]: ``tag.port`` or ``tag/chamber``."""
    names = [node.name for node in after.plumbing.network.nodes]
    return float(after.solution.pressures[-1][names.index(place)]) - after.plumbing.atmosphere


def position(after: Run, piston: int = 0) -> float:
    """Where a piston stands at the end [mm]."""
    return float(after.solution.positions[-1][piston]) * 100


def passed(after: Run, way: str) -> float:
    """Air through a passage in the state, positive from its start to its end [dm3(ANR)]."""
    names = [passage.name for passage in after.plumbing.network.passages]
    return float(after.solution.net[names.index(way)])
