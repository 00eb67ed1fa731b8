"""Circuits to lay out, of any size and in two drawing manners, built from a seed. Nobody's trucks: made for testing.

*Neutral*: boxes on a coarse grid with inlets on the left, outlets on the right. *Module*: boxes as large as standard
symbols on a grid of one module, ports two modules apart, most valves fed from below and delivering upwards, labels of
several lines.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from random import Random

from pneudraw.layout import Block, LabelSpec, NetSpec, PortSpec, Problem, Spacing, SymbolSpec

FLIPS = ("r0", "mx", "my", "r180")
ANY = ("r0", "r90", "r180", "r270", "mx", "mx90", "mx180", "mx270")

Kind = tuple[int, int, tuple[str, ...], str]
"""Width, height, allowed transforms, ports as ``id side offset flow`` words."""

NEUTRAL: dict[str, Kind] = {
    "source": (6, 6, FLIPS, "out E 3 out, unl N 3 in"),
    "governor": (6, 4, FLIPS, "res E 2 in, unl W 2 out"),
    "wet": (12, 4, FLIPS, "in W 2 in, out E 2 out, saf N 3 out, gov N 9 out, drain S 6 out"),
    "tank": (12, 4, FLIPS, "in W 2 in, out E 2 out, sense N 6 out, drain S 6 out"),
    "check": (3, 2, ANY, "in W 1 in, out E 1 out"),
    "drain": (2, 3, ANY, "in N 1 in"),
    "safety": (2, 3, ANY, "in S 1 in"),
    "gauge": (4, 4, ANY, "p S 2 in"),
    "switch": (4, 3, ANY, "p S 2 in"),
    "foot": (6, 10, FLIPS, "s1 W 2 in, s2 W 8 in, d1 E 2 out, d2 E 8 out"),
    "hand": (5, 4, FLIPS, "sup W 2 in, del E 2 out"),
    "relay": (6, 6, FLIPS, "sup W 3 in, ctl N 3 in, d1 E 2 out, d2 E 4 out"),
    "quick": (4, 4, ANY, "in W 2 in, d1 N 2 out, d2 S 2 out"),
    "shuttle": (4, 4, ANY, "a W 1 in, b W 3 in, out E 2 out"),
    "chamber": (6, 4, FLIPS, "svc W 2 in"),
    "spring": (9, 6, FLIPS, "svc W 1 in, spr W 5 in"),
    "modulator": (4, 4, ANY, "in W 2 in, out E 2 out"),
    "coupling": (4, 2, FLIPS, "in W 1 in, out E 1 out"),
    "device": (5, 3, FLIPS, "in W 1 in"),
}

MODULE: dict[str, Kind] = {
    "source": (8, 8, ("r0", "my"), "out E 4 out, unl N 4 in"),
    "governor": (14, 8, ("r0", "mx"), "unl N 8 out, res S 8 in, ex S 10 out"),
    "wet": (10, 6, ("r0",), "in W 3 in, out E 3 out, saf N 3 out, gov N 7 out, drain S 5 out"),
    "tank": (10, 6, ("r0",), "in W 3 in, out E 3 out, sense N 5 out, drain S 5 out, x N 3 out, y S 7 out"),
    "check": (6, 4, ("r0", "r90", "r180", "r270"), "in W 2 in, out E 2 out"),
    "drain": (2, 6, ("r0",), "in N 1 in"),
    "safety": (10, 8, ("r0",), "in S 5 in, ex N 5 out"),
    "gauge": (4, 6, ("r0",), "p S 2 in"),
    "switch": (7, 8, ("r0",), "p S 5 in, e1 N 4 both, e2 N 6 both"),
    "foot": (10, 28, ("r0",), "s1 W 9 in, s2 W 21 in, d1 E 9 out, d2 E 21 out, ex W 11 out"),
    "hand": (14, 8, ("r0", "mx"), "sup S 8 in, del N 8 out, ex S 10 out"),
    "relay": (13, 8, ("r0", "mx"), "sup S 7 in, ctl W 4 in, d1 N 7 out, ex S 9 out"),
    "quick": (8, 8, ("r0", "r90", "r180", "r270"), "in N 4 in, d1 W 4 out, d2 E 4 out"),
    "shuttle": (8, 6, ("r0", "r90", "my"), "a W 3 in, b E 3 in, out N 4 out"),
    "chamber": (12, 6, ("r0", "my"), "svc W 3 in"),
    "spring": (20, 7, ("r0", "my"), "spr S 7 in, svc S 9 in"),
    "modulator": (18, 17, ("r0",), "in W 11 in, out N 9 out, ex E 11 out"),
    "coupling": (6, 4, ("r0",), "in W 2 in, out E 2 out"),
    "device": (6, 7, ("r0", "my"), "in S 3 in"),
}

MODULE_SPACING = Spacing(
    pitch=2, line_body=2, body_gap=3, stub=2, clearance=3, empty_channel=5, label_air=0.5, component_gap=8
)


@dataclass
class Build:
    """A circuit under construction."""

    kinds: dict[str, Kind]
    module: bool
    symbols: list[SymbolSpec] = field(default_factory=list)
    lines: list[tuple[list[tuple[str, str]], str]] = field(default_factory=list)
    pairs: list[tuple[str, str]] = field(default_factory=list)

    def add(self, kind: str, role: str) -> str:
        """A new symbol; returns its name."""
        width, height, transforms, ports = self.kinds[kind]
        name = f"{kind[:3].upper()}{len(self.symbols) + 1}"
        made = []
        for words in ports.split(", "):
            pid, side, offset, flow = words.split()
            made.append(PortSpec(pid, side, int(offset), flow))
        if self.module:
            rows = 2 + len(self.symbols) % 2
            label = LabelSpec(6.0 + 1.3 * (len(self.symbols) % 9), 1.4 * rows)
        else:
            label = LabelSpec(2.2, 1.0)
        self.symbols.append(SymbolSpec(name, width, height, tuple(made), kind, role, "", transforms, label))
        return name

    def join(self, kind: str, *ends: tuple[str, str]) -> None:
        """A line between ports."""
        self.lines.append((list(ends), kind))

    def outlets(self, relay: str) -> tuple[tuple[str, str], tuple[str, str]]:
        """The two deliveries of a relay valve: in the module manner it has but one."""
        return ((relay, "d1"), (relay, "d1")) if self.module else ((relay, "d1"), (relay, "d2"))

    def problem(self) -> Problem:
        """What was built."""
        nets: dict[tuple[str, str], int] = {}
        merged: list[tuple[list[tuple[str, str]], str]] = []
        for ends, kind in self.lines:
            old = sorted({nets[e] for e in ends if e in nets})
            target = old[0] if old else len(merged)
            if not old:
                merged.append(([], kind))
            for end in [e for o in old[1:] for e in merged[o][0]] + ends:
                if nets.get(end) != target:
                    nets[end] = target
                    merged[target][0].append(end)
            for o in old[1:]:
                merged[o] = ([], kind)
        specs = [(tuple(ends), kind) for ends, kind in merged if len(ends) > 1]
        return Problem(
            tuple(self.symbols),
            tuple(NetSpec(f"n{i}", ends, kind) for i, (ends, kind) in enumerate(specs)),
            tuple(self.pairs),
            spacing=MODULE_SPACING if self.module else Spacing(),
        )


def _axle(
    b: Build,
    supply: list[tuple[str, str]],
    service: list[tuple[str, str]],
    park: list[tuple[str, str]],
    rng: Random,
) -> None:
    relay = b.add("relay", "modulation")
    supply.append((relay, "sup"))
    service.append((relay, "ctl"))
    first, second = b.outlets(relay)
    springs = rng.random() < 0.6
    ends = [b.add("spring" if springs else "chamber", "actuator") for _ in range(2)]
    b.pairs.append((ends[0], ends[1]))
    if rng.random() < 0.5:
        mods = [b.add("modulator", "modulation") for _ in range(2)]
        b.pairs.append((mods[0], mods[1]))
        b.join("service", first, (mods[0], "in"))
        b.join("service", second, (mods[1], "in"))
        for mod, end in zip(mods, ends, strict=True):
            b.join("service", (mod, "out"), (end, "svc"))
    else:
        b.join("service", first, (ends[0], "svc"))
        b.join("service", second, (ends[1], "svc"))
    if springs:
        quick = b.add("quick", "modulation")
        park.append((quick, "in"))
        b.join("park", (quick, "d1"), (ends[0], "spr"))
        b.join("park", (quick, "d2"), (ends[1], "spr"))


def vehicle(
    seed: int,
    axles: int = 2,
    trailers: int = 0,
    circuits: int = 2,
    accessories: int = 3,
    module: bool = False,
    into: Build | None = None,
) -> Build:
    """A truck with a supply, one or two circuits, driven axles, and trailers behind it."""
    rng = Random(seed)
    b = into or Build(MODULE if module else NEUTRAL, module)
    pump, governor, wet = b.add("source", "source"), b.add("governor", "treatment"), b.add("wet", "storage")
    b.join("supply", (pump, "out"), (wet, "in"))
    b.join("control", (governor, "unl"), (pump, "unl"))
    b.join("control", (wet, "gov"), (governor, "res"))
    if rng.random() < 0.8:
        b.join("supply", (wet, "saf"), (b.add("safety", "leaf"), "in"))
    if rng.random() < 0.8:
        b.join("drain", (wet, "drain"), (b.add("drain", "leaf"), "in"))
    foot = b.add("foot", "control")
    feeds: list[tuple[str, str]] = [(wet, "out")]
    supplies: list[list[tuple[str, str]]] = []
    services: list[list[tuple[str, str]]] = []
    for i in range(circuits):
        check, tank = b.add("check", "treatment"), b.add("tank", "storage")
        feeds.append((check, "in"))
        b.join("supply", (check, "out"), (tank, "in"))
        if rng.random() < 0.7:
            b.join("drain", (tank, "drain"), (b.add("drain", "leaf"), "in"))
        if rng.random() < 0.7:
            b.join("signal", (tank, "sense"), (b.add("gauge", "leaf"), "p"))
        supplies.append([(tank, "out"), (foot, f"s{i + 1}")])
        services.append([(foot, f"d{i + 1}")])
    for _ in range(accessories):
        feeds.append((b.add("device", "actuator"), "in"))
    b.join("supply", *feeds)
    hand = b.add("hand", "control")
    supplies[-1].append((hand, "sup"))
    park: list[tuple[str, str]] = [(hand, "del")]
    for i in range(axles):
        _axle(b, supplies[i % circuits], services[i % circuits], park, rng)
    if rng.random() < 0.7:
        services[0].append((b.add("switch", "leaf"), "p"))
    for _ in range(trailers):
        red, blue = b.add("coupling", "treatment"), b.add("coupling", "treatment")
        supplies[-1].append((red, "in"))
        services[-1].append((blue, "in"))
        tank = b.add("tank", "storage")
        b.join("supply", (red, "out"), (tank, "in"))
        supplies.append([(tank, "out")])
        services.append([(blue, "out")])
        trailer_park: list[tuple[str, str]] = [(tank, "sense")]
        for _ in range(2):
            _axle(b, supplies[-1], services[-1], trailer_park, rng)
        b.join("park", *trailer_park)
    for ends in supplies:
        b.join("supply", *ends)
    for ends in services:
        b.join("service", *ends)
    b.join("park", *park)
    return b


def mangled(problem: Problem, seed: int, swaps: int) -> Problem:
    """The same parts with the ends of random lines exchanged: no sense, but a drawing must come out."""
    rng = Random(seed)
    nets = [list(net.terminals) for net in problem.nets]
    for _ in range(swaps):
        a, b = rng.randrange(len(nets)), rng.randrange(len(nets))
        i, j = rng.randrange(len(nets[a])), rng.randrange(len(nets[b]))
        nets[a][i], nets[b][j] = nets[b][j], nets[a][i]
    return replace(
        problem,
        nets=tuple(
            NetSpec(net.id, tuple(ends), net.kind) for net, ends in zip(problem.nets, nets, strict=True)
        ),
    )


def shuffled(problem: Problem, seed: int) -> Problem:
    """The same circuit told in another order."""
    rng = Random(seed)
    symbols, nets = list(problem.symbols), list(problem.nets)
    rng.shuffle(symbols)
    rng.shuffle(nets)
    return replace(problem, symbols=tuple(symbols), nets=tuple(nets))


def hall(seed: int, vehicles: int, module: bool = False) -> Problem:
    """Several vehicles on one sheet, filled from one another's wet tanks."""
    b = Build(MODULE if module else NEUTRAL, module)
    for i in range(vehicles):
        vehicle(seed + i, axles=2 + i % 3, trailers=i % 2, module=module, into=b)
    return b.problem()


def fleet(seed: int, vehicles: int = 2, ties: int = 2, module: bool = False, trailers: int = 0) -> Problem:
    """Like vehicles, each a block, filled from one source, with random lines from each to the next."""
    rng = Random(seed)
    b = Build(MODULE if module else NEUTRAL, module)
    ends: list[list[str]] = []
    for _ in range(vehicles):
        first = len(b.symbols)
        vehicle(seed, axles=1 + seed % 2, trailers=trailers, module=module, into=b)
        ends.append([spec.id for spec in b.symbols[first:]])
    size = len(ends[0])
    shop = b.add("source", "source")
    wet = next(i for i, spec in enumerate(b.symbols) if spec.type == "wet")
    b.join("supply", (shop, "out"), *((names[wet], "drain") for names in ends))
    for _ in range(ties):
        (i, p), (j, q) = ((k, rng.choice(b.symbols[k].ports).id) for k in rng.choices(range(size), k=2))
        for one, other in pairwise(ends):
            b.join("service", (one[i], p), (other[j], q))
    label = {name: b.symbols[i].label for names in ends for i, name in enumerate(names)}
    b.symbols = [replace(spec, label=label.get(spec.id, spec.label)) for spec in b.symbols]
    return replace(b.problem(), blocks=tuple(Block(tuple(names)) for names in ends))
