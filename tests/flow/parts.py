"""Air-brake parts as passages, for the tests of the solver, which knows no parts.

Bar absolute, dm3, s. The numbers are plausible ones of an invented vehicle.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pneudraw.flow.network import (
    Command,
    Displacement,
    Memory,
    Network,
    Node,
    Passage,
    Signal,
    Term,
    Trigger,
)

ATMOSPHERE = 1.01325
OUT = 0  # the node of the atmosphere


@dataclass
class Bench:
    """A workbench: parts are joined on it, then `network` is taken off."""

    nodes: list[Node] = field(default_factory=lambda: [Node("atmosphere", 1.0, fixed=True)])
    passages: list[Passage] = field(default_factory=list)
    memories: list[Memory] = field(default_factory=list)
    signals: list[Signal] = field(default_factory=list)
    commands: list[Command] = field(default_factory=list)

    def network(self) -> Network:
        return Network(
            tuple(self.nodes),
            tuple(self.passages),
            tuple(self.memories),
            tuple(self.signals),
            tuple(self.commands),
        )

    def index(self, name: str) -> int:
        return [node.name for node in self.nodes].index(name)

    def node(self, name: str, volume: float, gauge: float = 0.0, **more: object) -> int:
        self.nodes.append(Node(name, volume, pressure0=ATMOSPHERE + gauge, **more))  # type: ignore[arg-type]
        return len(self.nodes) - 1

    def signal(self, name: str, *points: tuple[float, float]) -> int:
        self.signals.append(Signal(name, points))
        return len(self.signals) - 1

    def _add(self, a: int, b: int, c: float, ratio: float, *terms: Term, combine: str = "all") -> None:
        name = f"{self.nodes[a].name}>{self.nodes[b].name}#{len(self.passages)}"
        self.passages.append(Passage(name, a, b, c, ratio, terms=terms, combine=combine))

    def tube(self, a: int, b: int, c: float = 5.0, ratio: float = 0.3) -> None:
        self._add(a, b, c, ratio)

    def check(self, a: int, b: int, c: float = 4.0, crack: float = 0.02) -> None:
        self._add(a, b, c, 0.3, Term(((a, 1.0), (b, -1.0)), -crack, band=0.05))

    def shuttle(self, a: int, b: int, out: int, c: float = 4.0) -> None:
        self._add(a, out, c, 0.3, Term(((a, 1.0), (b, -1.0)), 0.03, band=0.06))
        self._add(b, out, c, 0.3, Term(((b, 1.0), (a, -1.0)), 0.03, band=0.06))

    def quick_release(self, inlet: int, out: int, c: float = 5.0) -> None:
        self._add(inlet, out, c, 0.3, Term(((inlet, 1.0), (out, -1.0)), -0.03, band=0.1))
        self._add(out, OUT, c, 0.3, Term(((out, 1.0), (inlet, -1.0)), -0.03, band=0.1))

    def relay(self, supply: int, control: int, delivery: int, c: float = 8.0, crack: float = 0.25) -> None:
        lap = 0.15
        self._add(supply, delivery, c, 0.3, Term(((control, 1.0), (delivery, -1.0)), -crack, band=0.12))
        self._add(delivery, OUT, c, 0.3, Term(((delivery, 1.0), (control, -1.0)), crack - lap, band=0.12))
        self.check(delivery, supply, c, 0.1)

    def foot_valve(self, pedal: int, supply: int, delivery: int, c: float = 5.0, full: float = 8.0) -> None:
        """``pedal``: a signal 0..1, asking for a gauge pressure of 0..``full`` bar."""
        lap = 0.06
        asked = ((pedal, full),)
        self._add(supply, delivery, c, 0.3, Term(((delivery, -1.0),), ATMOSPHERE, asked, band=0.12))
        back = ((pedal, -full),)
        self._add(delivery, OUT, c, 0.3, Term(((delivery, 1.0),), -ATMOSPHERE - lap, back, band=0.12))
        self.check(delivery, supply, c, 0.1)

    def protection(self, supply: int, out: int, opens: float = 6.0, c: float = 4.0) -> None:
        """Opens at a supply of ``opens`` bar gauge, lower when the far side is full; never lets air back."""
        weights = ((supply, 1.0), (out, 0.15))
        open_term = Term(weights, -1.15 * ATMOSPHERE - opens, band=0.3)
        self._add(supply, out, c, 0.3, open_term, Term(((supply, 1.0), (out, -1.0)), band=0.05))

    def relief(self, a: int, opens: float = 9.5, c: float = 3.0) -> None:
        self._add(a, OUT, c, 0.3, Term(((a, 1.0),), -ATMOSPHERE - opens, band=0.3))

    def chamber(self, name: str, gauge: float = 0.0) -> int:
        """A type 30 service chamber: push-out at 0.3 bar, lining contact at 0.7, then elasticity."""
        p = ATMOSPHERE
        ramps = ((p + 0.3, p + 0.7, 0.7), (p + 0.7, p + 8.7, 0.3))
        return self.node(name, 0.3, gauge, ramps=ramps)

    def spring_chamber(self, name: str, gauge: float = 0.0) -> int:
        return self.node(name, 0.4, gauge, ramps=((ATMOSPHERE + 3.5, ATMOSPHERE + 5.5, 1.2),))

    def compressor(self, out: int, rate: float = 6.5, falloff: float = 0.045, *terms: Term) -> None:
        displacement = Displacement(rate, falloff)
        self.passages.append(Passage("compressor", OUT, out, terms=terms, displacement=displacement))

    def governor(self, watched: int, cut_in: float, cut_out: float, start: int = 0) -> int:
        """A memory, 1 while the compressor is unloaded."""
        to_one = (Trigger(((watched, 1.0),), -ATMOSPHERE - cut_out),)
        to_zero = (Trigger(((watched, -1.0),), ATMOSPHERE + cut_in),)
        self.memories.append(Memory("governor", start, to_one, to_zero))
        return len(self.memories) - 1


def truck(
    pedal: tuple[tuple[float, float], ...], gauge: float = 8.0, copies: int = 1, running: bool = True
) -> Network:
    """An invented tractor and semitrailer with two service circuits: 66 nodes or so a copy, copies coupled in
    a chain."""
    bench = Bench()
    foot = bench.signal("pedal", *pedal)
    before: int | None = None
    for copy in range(copies):
        before = _vehicle(bench, foot, gauge, running, f"{copy}." if copies > 1 else "", before)
    return bench.network()


def _vehicle(bench: Bench, foot: int, gauge: float, running: bool, tag: str, before: int | None) -> int:
    def node(name: str, volume: float, at: float = gauge) -> int:
        return bench.node(tag + name, volume, at)

    def line(name: str, a: int, volume: float = 0.15, c: float = 5.0, at: float = gauge) -> int:
        """A pipe of two halves from node ``a``; the end is returned."""
        near, far = node(f"{name} near", volume / 2, at), node(f"{name} far", volume / 2, at)
        bench.tube(a, near, 12.0)
        bench.tube(near, far, c)
        return far

    head = node("compressor head", 0.5)
    wet = node("supply reservoir", 20.0)
    primary, secondary = node("primary reservoir", 26.0), node("secondary reservoir", 26.0)
    memory = bench.governor(wet, 6.9, 8.3)
    if running:
        unloaded = Term((), 1.0, memories=((memory, -1.0),), band=1.0)
        bench.compressor(head, 6.5, 0.045, unloaded)
    bench.check(line("dryer", head), wet)
    bench.relief(wet)
    bench.check(line("wet to primary", wet), primary)
    bench.check(line("wet to secondary", wet), secondary)
    d1, d2 = node("foot delivery 1", 0.02, 0.0), node("foot delivery 2", 0.02, 0.0)
    bench.foot_valve(foot, line("to foot 1", primary), d1)
    bench.foot_valve(foot, line("to foot 2", secondary), d2, full=7.8)
    front = node("front quick release", 0.02, 0.0)
    bench.quick_release(line("front control", d2, at=0.0), front)
    for side in ("left", "right"):
        hose = line(f"front {side} hose", front, 0.05, 4.0, 0.0)
        bench.tube(hose, bench.chamber(f"{tag}front {side} chamber"), 4.0)
    rear = node("rear relay delivery", 0.05, 0.0)
    bench.relay(line("to rear relay", primary, 0.3), line("rear control", d1, at=0.0), rear)
    for name in ("rear left", "rear right", "tag left", "tag right"):
        bench.tube(line(name, rear, 0.06, 4.0, 0.0), bench.chamber(f"{tag}{name} chamber"), 4.0)
    trailer_supply_source = node("shuttle supply", 0.02)
    bench.shuttle(primary, secondary, trailer_supply_source)
    park = node("park delivery", 0.02)
    bench.tube(trailer_supply_source, park, 3.0)
    springs = line("springs", park, 0.2)
    for name in ("rear left", "rear right"):
        bench.tube(springs, bench.spring_chamber(f"{tag}{name} spring", gauge), 4.0)
    signal = node("trailer signal", 0.02, 0.0)
    bench.shuttle(d1, d2, signal)
    supply_line = line("trailer supply line", trailer_supply_source, 1.0)
    service_line = line("trailer service line", signal, 0.8, at=0.0)
    tank = node("trailer tank", 45.0)
    bench.protection(supply_line, tank, 4.8)
    delivery = node("trailer relay delivery", 0.1, 0.0)
    bench.relay(line("trailer tank to relay", tank, 0.1), service_line, delivery, 12.0)
    for name in ("left 1", "right 1", "left 2", "right 2"):
        bench.tube(
            line(f"trailer {name}", delivery, 0.08, 4.5, 0.0), bench.chamber(f"{tag}trailer {name}"), 4.5
        )
    spring_line = line("trailer springs", supply_line, 0.3)
    for name in ("left", "right"):
        bench.tube(spring_line, bench.spring_chamber(f"{tag}trailer {name} spring", gauge), 4.0)
    if before is not None:
        bench.check(before, wet, 2.0)
    return tank
