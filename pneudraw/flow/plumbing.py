"""From circuit to flow network: what becomes a node, what a passage, and what each index stands for.

Units change here, once: the circuit speaks SI and gauge pressures, the network bar absolute, dm3, dm3(ANR), s.

- Each end of a line is a node; its branches are tubes that meet in the node of the line's first end.
- Each chamber of a part is a node. The atmosphere is node 0.
- An exhaust port without a line, and any other port left open, is the atmosphere. An optional port without a
  line is closed: passages to it are left out and it counts as pressureless in conditions.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TypeVar

from pneudraw.circuit.model import Circuit, FaultSetting, Line, Part, Setting, State
from pneudraw.flow.conductance import orifice, tube
from pneudraw.flow.network import (
    SMALLEST_VOLUME,
    Command,
    Displacement,
    Memory,
    Network,
    Node,
    Passage,
    Piston,
    Signal,
    Term,
    Trigger,
)
from pneudraw.flow.prepared import Prepared, prepare
from pneudraw.library import model as lib
from pneudraw.library.expression import Linear, linear, value_of
from pneudraw.units import STANDARD_ATMOSPHERE

_Form = TypeVar("_Form", Term, Trigger)

ATMOSPHERE = "atmosphere"
PA = 1e-5  # bar per Pa
LITRE = 1e3  # dm3 per m3
SONIC = 1e8  # dm3/(s.bar) per m3/(s.Pa)
DECIMETRE = 10.0  # dm per m
KILONEWTON = 1e-3  # bar.dm2 per N
STIFFNESS = KILONEWTON / DECIMETRE  # kN/dm per N/m, and kN.s/dm per N.s/m
STOP = 1000.0  # kN/dm, of a piston's stop, at least
MOST_PRESSURE = 25.0  # bar that it withstands
STOP_SHARE = 0.25  # of a chamber's last room, by which it gives way then
LEAST_FRICTION = 1e-4  # kN.s/dm; the solver's piston needs some

#: pipe taken where the netlist gives none: 1 m of 1/2 in OD tube (9.5 mm bore) for air that does work, 3/8 in OD
#: (6.4 mm bore) for signals; common practice, no source. Sizes: SAE J844, from memory.
LENGTH = 1.0
BORE = 9.5e-3
SIGNAL_BORE = 6.4e-3
INTAKE_BORE = 25e-3  # suction side of a compressor; common practice, no source
FITTING = 1e-6  # m3 of air in a fitting; common practice, no source
LONGEST_PIECE = 10.0  # m: a longer tube is cut into pieces, see conductance.tube
BREAK_DISCHARGE = 0.8  # discharge coefficient of a tube cut square; from memory
LEAK_DISCHARGE = 0.65  # sharp-edged hole
LEAK_BORE = 2e-3  # m, a leak of no stated size
RESTRICTED = 0.1  # share of the conductance a kinked line keeps


@dataclass(frozen=True)
class Standing:
    """Where the circuit stands between two states: pressures [bar abs] by node name, latches, inputs, faults put in."""

    pressures: Mapping[str, float]
    memories: Mapping[tuple[str, str], int]
    inputs: Mapping[tuple[str, str], float]
    faults: tuple[FaultSetting, ...] = ()
    positions: Mapping[tuple[str, str], float] = field(default_factory=dict)  # of pistons [dm]


NOTHING = Standing({}, {}, {})


@dataclass(frozen=True)
class Origin:
    """What a passage of the network is in the circuit.

    ``owner`` is a part tag or line tag; ``sort`` says which: ``passage`` of a part, ``tube`` of a line, ``break`` (of
    a line, to atmosphere) or ``leak`` (of a part). ``start`` and ``end`` are port ids, chamber names or ``atmosphere``;
    for a tube the names of the two line ends.
    """

    owner: str
    sort: str
    name: str
    start: str
    end: str


@dataclass(frozen=True)
class Plumbing:
    """A network, and the way back from its indices to ports, chambers and parts."""

    prepared: Prepared
    atmosphere: float
    port_node: Mapping[tuple[str, str], int]
    chamber_node: Mapping[tuple[str, str], int]
    line_nodes: Mapping[str, tuple[int, ...]]
    origins: tuple[Origin, ...]
    memories: tuple[tuple[str, str], ...]
    inputs: Mapping[tuple[str, str], float]
    faults: tuple[FaultSetting, ...]
    pistons: tuple[tuple[str, str], ...] = ()

    @property
    def network(self) -> Network:
        """The network itself."""
        return self.prepared.network

    def numbers(self, part: Part) -> dict[str, float]:
        """Return a part's parameters in SI as they stand here, those a fault has changed included."""
        return numbers(part, self.atmosphere / PA, self.faults)


def plumb(
    circuit: Circuit, state: State, standing: Standing = NOTHING, atmosphere: float = STANDARD_ATMOSPHERE
) -> Plumbing:
    """Return the flow network of a circuit in a state that starts from ``standing``.

    ``atmosphere`` is the absolute pressure outside [Pa]. The state's faults are added to those already standing.
    """
    return _Builder(circuit, state, standing, atmosphere).build()


class _Builder:
    """Collects the pieces of one network; lives only inside :func:`plumb`."""

    def __init__(self, circuit: Circuit, state: State, standing: Standing, atmosphere: float) -> None:
        self.circuit = circuit
        self.standing = standing
        self.settings = state.settings
        self.faults = standing.faults + tuple(f for f in state.faults if f not in standing.faults)
        self.patm = atmosphere * PA
        self.nodes: list[Node] = [Node(ATMOSPHERE, 1.0, fixed=True, pressure0=self.patm)]
        self.passages: list[Passage] = []
        self.origins: list[Origin] = []
        self.memories: list[Memory] = []
        self.memory_names: list[tuple[str, str]] = []
        self.signals: list[Signal] = []
        self.commands: list[Command] = []
        self.inputs: dict[tuple[str, str], float] = {}
        self.port_node: dict[tuple[str, str], int] = {}
        self.chamber_node: dict[tuple[str, str], int] = {}
        self.line_nodes: dict[str, tuple[int, ...]] = {}
        self.pistons: list[Piston] = []
        self.piston_names: list[tuple[str, str]] = []

    def build(self) -> Plumbing:
        for line in self.circuit.lines:
            self._line(line)
        for part in self.circuit.parts:
            _PartBuilder(self, part).add()
        if self.pistons:
            self._seat()
        network = Network(
            tuple(self.nodes),
            tuple(self.passages),
            tuple(self.memories),
            tuple(self.signals),
            tuple(sorted(self.commands, key=lambda command: command.time)),
            tuple(self.pistons),
        )
        return Plumbing(
            prepare(network),
            self.patm,
            dict(self.port_node),
            dict(self.chamber_node),
            dict(self.line_nodes),
            tuple(self.origins),
            tuple(self.memory_names),
            dict(self.inputs),
            self.faults,
            tuple(self.piston_names),
        )

    def _seat(self) -> None:
        """Make the pistons states after the nodes; while building, piston j is state -1 - j."""
        self.passages = [replace(p, terms=tuple(map(self._seated, p.terms))) for p in self.passages]
        self.memories = [
            replace(m, to_one=tuple(map(self._seated, m.to_one)), to_zero=tuple(map(self._seated, m.to_zero)))
            for m in self.memories
        ]

    def _seated(self, form: _Form) -> _Form:
        if all(state >= 0 for state, _ in form.weights):
            return form
        count = len(self.nodes)
        weights = tuple((state if state >= 0 else count - 1 - state, w) for state, w in form.weights)
        return replace(form, weights=weights)

    def node(self, name: str, volume: float, ramps: tuple[tuple[float, float, float], ...] = ()) -> int:
        start = self.standing.pressures.get(name, self.patm)
        self.nodes.append(Node(name, volume, ramps, pressure0=start))
        return len(self.nodes) - 1

    def passage(self, passage: Passage, origin: Origin) -> None:
        self.passages.append(passage)
        self.origins.append(origin)

    def faults_of(self, target: str) -> tuple[FaultSetting, ...]:
        return tuple(fault for fault in self.faults if fault.target == target)

    def _line(self, line: Line) -> None:
        bore, length = pipe(line)
        area = math.pi / 4 * bore * bore
        count = len(line.ends)
        branches = max(1, count - 1)
        half = area * length / 2
        faults = {fault.fault: fault for fault in self.faults_of(line.tag)}
        indices = []
        for position, end in enumerate(line.ends):
            ends_here = branches if position == 0 else 1
            index = self.node(end.name, (half * ends_here + FITTING * ends_here) * LITRE)
            self.port_node[end.part.tag, end.port.id] = index
            indices.append(index)
        pieces = max(1, math.ceil(length / LONGEST_PIECE))
        conductance, ratio = tube(bore, length / pieces)
        factor = RESTRICTED if "restricted" in faults else 1.0
        high = 0.0 if "blocked" in faults else 1.0
        nodes = list(indices)
        for position in range(1, count):
            chain = [indices[0]]
            for piece in range(1, pieces):
                extra = self.node(f"{line.ends[position].name}~{piece}", area * length / pieces * LITRE)
                chain.append(extra)
                nodes.append(extra)
            chain.append(indices[position])
            for a, b in pairwise(chain):
                name = f"{line.tag}:{self.nodes[a].name}-{self.nodes[b].name}"
                self.passage(
                    Passage(name, a, b, conductance * SONIC * factor, ratio, high=high),
                    Origin(line.tag, "tube", name, self.nodes[a].name, self.nodes[b].name),
                )
        self.line_nodes[line.tag] = tuple(nodes)
        # at the far end: so the pipe up to the hole shows what runs out of it
        for fault, hole in (("broken", bore), ("leaks", LEAK_BORE)):
            if fault in faults:
                size = faults[fault].size or hole
                discharge = BREAK_DISCHARGE if fault == "broken" else LEAK_DISCHARGE
                self.passage(
                    Passage(f"{line.tag}:{fault}", indices[-1], 0, orifice(size, discharge) * SONIC, 0.5),
                    Origin(line.tag, "break", fault, line.ends[-1].name, ATMOSPHERE),
                )


def stiffness(area: float, room: float) -> float:
    """Return how stiff a piston's stop is [kN/dm]: so that `MOST_PRESSURE` on ``area`` [dm2] leaves a chamber most of
    its ``room`` [dm3]."""
    return max(STOP, MOST_PRESSURE * area * area / (STOP_SHARE * max(room, SMALLEST_VOLUME)))


def pipe(line: Line) -> tuple[float, float]:
    """Return bore and length [m] of a line's branches: the netlist's, or the usual ones."""
    usual = SIGNAL_BORE if line.control else BORE
    if any(end.port.role is lib.Role.INTAKE for end in line.ends):
        usual = INTAKE_BORE
    bore = line.bore.value if line.bore else usual
    return bore, line.length.value if line.length else LENGTH


class _PartBuilder:
    """Adds one part: its chambers, inputs, curves, memories and passages."""

    def __init__(self, net: _Builder, part: Part) -> None:
        self.net = net
        self.part = part
        self.kind = part.kind
        self.faults = faults_in(part, net.faults)
        self.numbers = numbers(part, net.patm / PA, net.faults)
        self.signal: dict[str, int] = {}
        self.memory: dict[str, int] = {}
        self.piston: dict[str, int] = {}

    def add(self) -> None:
        tag = self.part.tag
        for chamber in self.kind.chambers:
            ramps = tuple(
                (
                    self.value(swell.low) * PA + self.net.patm,
                    self.value(swell.high) * PA + self.net.patm,
                    self.value(swell.by) * LITRE,
                )
                for swell in chamber.swells
            )
            volume = self.value(chamber.volume) * LITRE
            self.net.chamber_node[tag, chamber.name] = self.net.node(f"{tag}/{chamber.name}", volume, ramps)
        for port in self.kind.ports:
            if (tag, port.id) not in self.net.port_node and not port.optional:
                self.net.port_node[tag, port.id] = 0
        self._inputs()
        for piston in self.kind.pistons:
            self._piston(piston)
        for name, memory in enumerate(self.kind.memories, start=len(self.net.memories)):
            self.memory[memory.name] = name
        for memory in self.kind.memories:
            self._memory(memory)
        for passage in self.kind.passages:
            self._passage(passage)
        for setting, fault in self.faults:
            if fault.leak is not None:
                self._leak(setting, fault)

    def value(self, expression: lib.Expression) -> float:
        return value_of(expression, self.numbers)

    def _piston(self, piston: lib.Piston) -> None:
        key = (self.part.tag, piston.name)
        areas: dict[int, float] = {}
        for chamber, area in piston.areas:
            node = self.node_of(chamber)
            assert node is not None
            areas[node] = areas.get(node, 0.0) + self.value(area) * DECIMETRE**2
        load, signals = 0.0, []
        if piston.load is not None:
            form = linear(piston.load, self.numbers)
            load = form.constant * KILONEWTON
            signals = [(self.signal[name], weight * KILONEWTON) for name, weight in form.weights]
        start = self.value(piston.starts) * DECIMETRE if piston.starts else 0.0
        travel = self.value(piston.travel) * DECIMETRE
        least = min(
            self.net.nodes[node].volume + min(0.0, area * travel) for node, area in areas.items()
        )  # a chamber's room with the piston at its end
        self.piston[piston.name] = -1 - len(self.net.pistons)
        self.net.piston_names.append(key)
        self.net.pistons.append(
            Piston(
                f"{self.part.tag}~{piston.name}",
                tuple(areas.items()),
                self.value(piston.travel) * DECIMETRE,
                max(LEAST_FRICTION, self.value(piston.friction) * STIFFNESS),
                load - self.net.patm * sum(areas.values()),
                tuple(signals),
                self.value(piston.spring) * STIFFNESS if piston.spring else 0.0,
                stiffness(max(map(abs, areas.values())), least),
                position0=self.net.standing.positions.get(key, start),
            )
        )

    def _inputs(self) -> None:
        tag = self.part.tag
        for inp in self.kind.inputs:
            key = (tag, inp.name)
            start = self.net.standing.inputs.get(key, inp.rest)
            own = [s for s in self.net.settings if (s.part, s.input) == key]
            points, end = timeline(start, own, inp.ramp)
            self.net.inputs[key] = end
            self.signal[inp.name] = self._signal(inp.name, points)
            for curve in self.kind.curves:
                if curve.input == inp.name:
                    knots = tuple((self.value(x), self.value(y)) for x, y in curve.points)
                    self.signal[curve.name] = self._signal(curve.name, through(points, knots))

    def _signal(self, name: str, points: tuple[tuple[float, float], ...]) -> int:
        self.net.signals.append(Signal(f"{self.part.tag}.{name}", points))
        return len(self.net.signals) - 1

    def _memory(self, memory: lib.Memory) -> None:
        tag = self.part.tag
        index = self.memory[memory.name]
        start = self.net.standing.memories.get((tag, memory.name), memory.start)
        self.net.memories.append(
            Memory(
                f"{tag}.{memory.name}",
                start,
                tuple(self._trigger(e) for e in memory.to_one),
                tuple(self._trigger(e) for e in memory.to_zero),
            )
        )
        self.net.memory_names.append((tag, memory.name))
        if memory.input is not None:
            for setting in self.net.settings:
                if (setting.part, setting.input) == (tag, memory.input):
                    self.net.commands.append(Command(setting.at, index, round(setting.value)))

    def _trigger(self, expression: lib.Expression) -> Trigger:
        weights, constant, signals, memories = self._form(expression)
        return Trigger(weights, constant, signals, memories)

    def _form(
        self, expression: lib.Expression
    ) -> tuple[
        tuple[tuple[int, float], ...], float, tuple[tuple[int, float], ...], tuple[tuple[int, float], ...]
    ]:
        """Split a linear form into pressures, constant, signals and memories, in bar absolute."""
        form: Linear = linear(expression, self.numbers)
        pressure = expression.dimension == "pressure"
        scale = PA if pressure else 1.0
        constant = form.constant * scale
        weights: dict[int, float] = {}
        signals: list[tuple[int, float]] = []
        memories: list[tuple[int, float]] = []
        for name, weight in form.weights:
            if name in self.signal:
                signals.append((self.signal[name], weight * scale))
            elif name in self.memory:
                memories.append((self.memory[name], weight * scale))
            elif name.startswith("x_") and name[2:] in self.piston:
                state = self.piston[name[2:]]
                weights[state] = weights.get(state, 0.0) + weight * scale / DECIMETRE
            else:
                node = self.node_of(name[2:] if name.startswith("p_") else name[1:])
                if node is None:
                    continue  # a closed boss: pressureless
                factor = weight if pressure else weight / PA
                weights[node] = weights.get(node, 0.0) + factor
                constant -= factor * self.net.patm
        return tuple(weights.items()), constant, tuple(signals), tuple(memories)

    def node_of(self, end: str) -> int | None:
        """The node of a port id, a chamber name or the atmosphere; None for a closed boss."""
        if end == ATMOSPHERE:
            return 0
        key = (self.part.tag, end)
        if key in self.net.chamber_node:
            return self.net.chamber_node[key]
        return self.net.port_node.get(key)

    def _passage(self, passage: lib.Passage) -> None:
        a, b = self.node_of(passage.start), self.node_of(passage.end)
        if a is None or b is None or a == b:
            return
        terms = []
        for condition in passage.conditions:
            weights, constant, signals, memories = self._form(condition.form)
            scale = PA if condition.band.dimension == "pressure" else 1.0
            terms.append(Term(weights, constant, signals, memories, self.value(condition.band) * scale))
        conductance = self.value(passage.conductance) * SONIC if passage.conductance else 0.0
        ratio = self.value(passage.ratio) if passage.ratio else 0.3
        displacement = None
        if passage.displacement is not None:
            rate = self.value(passage.displacement.rate) * LITRE
            displacement = Displacement(rate, self.value(passage.displacement.falloff))
        result = Passage(
            f"{self.part.tag}:{passage.name}",
            a,
            b,
            conductance,
            ratio,
            terms=tuple(terms),
            combine=passage.combine,
            displacement=displacement,
        )
        for _, fault in self.faults:
            if passage.name in fault.passages:
                result = replace(
                    result,
                    low=result.low if fault.low is None else fault.low,
                    high=result.high if fault.high is None else fault.high,
                    conductance=result.conductance * (1.0 if fault.factor is None else fault.factor),
                )
            if passage.name in fault.closes:
                result = replace(result, low=0.0, high=0.0)
        origin = Origin(self.part.tag, "passage", passage.name, passage.start, passage.end)
        self.net.passage(result, origin)

    def _leak(self, setting: FaultSetting, fault: lib.Fault) -> None:
        assert fault.leak is not None
        start, end = fault.leak
        a, b = self.node_of(start), self.node_of(end)
        if a is None or b is None or a == b:
            return
        bore = setting.size or (fault.bore.value if fault.bore else LEAK_BORE)
        self.net.passage(
            Passage(f"{self.part.tag}:{fault.name}", a, b, orifice(bore, LEAK_DISCHARGE) * SONIC, 0.5),
            Origin(self.part.tag, "leak", fault.name, start, end),
        )


def numbers(
    part: Part, atmosphere: float = STANDARD_ATMOSPHERE, faults: Sequence[FaultSetting] = ()
) -> dict[str, float]:
    """Return a part's parameters in SI, as ``faults`` have changed them.

    A pressure written ``abs`` is returned as gauge against ``atmosphere`` [Pa].
    """
    known = {
        name: quantity.value - (atmosphere if quantity.absolute else 0.0)
        for name, quantity in part.values.items()
    }
    for _, fault in faults_in(part, faults):
        known.update({name: quantity.value for name, quantity in fault.sets})
    return known


def faults_in(part: Part, faults: Sequence[FaultSetting]) -> tuple[tuple[FaultSetting, lib.Fault], ...]:
    """Return those of the settings that are a fault of this part, each with what its kind says of it."""
    return tuple(
        (setting, fault)
        for setting in faults
        if setting.target == part.tag
        for fault in part.kind.faults
        if fault.name == setting.fault
    )


def timeline(
    start: float, settings: list[Setting], ramp: float
) -> tuple[tuple[tuple[float, float], ...], float]:
    """The course of an input: held, then moved to each setting in ``ramp`` seconds per full stroke."""
    points = [(0.0, start)]
    now = start
    for setting in sorted(settings, key=lambda s: s.at):
        begin = max(setting.at, points[-1][0])
        points.append((begin, now))
        points.append((begin + ramp * abs(setting.value - now), setting.value))
        now = setting.value
    return tuple(points), now


def through(
    points: tuple[tuple[float, float], ...], knots: tuple[tuple[float, float], ...]
) -> tuple[tuple[float, float], ...]:
    """A piecewise linear function of a piecewise linear course, again piecewise linear: its points."""

    def value(x: float) -> float:
        if x <= knots[0][0]:
            return knots[0][1]
        for (x0, y0), (x1, y1) in pairwise(knots):
            if x <= x1:
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        return knots[-1][1]

    out = [(points[0][0], value(points[0][1]))]
    for (t0, x0), (t1, x1) in pairwise(points):
        inner = [x for x, _ in knots if min(x0, x1) < x < max(x0, x1)]
        if t1 > t0:
            inner.sort(reverse=x1 < x0)
            out += [(t0 + (t1 - t0) * (x - x0) / (x1 - x0), value(x)) for x in inner]
        out.append((t1, value(x1)))
    return tuple(out)
