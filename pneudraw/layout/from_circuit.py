"""A circuit as a layout problem: which boxes, which nets, what belongs together.

One grid unit is the module M of ISO 1219-1. Labels are measured with the program's own font.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pneudraw.circuit.captions import settings
from pneudraw.circuit.model import Circuit, Line, Part
from pneudraw.circuit.vehicles import vehicles
from pneudraw.layout.problem import Block, Hint, LabelSpec, NetSpec, PortSpec, Problem, Spacing, SymbolSpec
from pneudraw.lettering import LINE_PITCH, text_width, wrap_words
from pneudraw.library.model import Place, Port, Role, Side
from pneudraw.units import UNITS

SIDE = {Side.LEFT: "W", Side.RIGHT: "E", Side.UP: "N", Side.DOWN: "S"}
FLOW = {
    Role.INTAKE: "in",
    Role.SUPPLY: "in",
    Role.DELIVERY: "out",
    Role.EXHAUST: "out",
    Role.CONTROL: "in",
    Role.TAPPING: "both",
}
ROLE = {
    Place.SOURCE: "source",
    Place.TREATMENT: "treatment",
    Place.STORAGE: "storage",
    Place.CHECK: "control",
    Place.PROTECTION: "control",
    Place.CONTROL: "control",
    Place.MODULATION: "modulation",
    Place.ACTUATOR: "actuator",
    Place.INSTRUMENT: "control",
    Place.FITTING: "control",
}

MIRRORED = "mx"  # left and right exchanged

TEXT = 1.0  # text height in M: 2.5 mm at M = 2.5 mm

WIDEST = 11.0  # M a line of a label may be; about the width of a reservoir or chamber symbol
ORPHAN = 2  # letters: so short a word is not left alone on a line
OVER = 2.0  # M that two words bound together may stand out
GAP = 0.6  # M between tag and name
#: room on our sheets, in M: parallel lines 2M apart, lanes for two lines of text between symbols
#: round a vehicle for its frame and title
SPACING = Spacing(
    pitch=2,
    line_body=2,
    body_gap=4,
    stub=2,
    clearance=2,
    empty_channel=4,
    label_air=0.8,
    block=3,
    title=3,
)

#: width and height that a drawing has on an A3 sheet at M = 2.5 mm, over title block and legend; with larger letters it
#: has as many times more modules
PAGE = (152.0, 79.0)

#: what stands in the row from the compressor to the last reservoir, which is drawn straight if at all possible
ROW = {Place.SOURCE, Place.TREATMENT, Place.STORAGE, Place.CHECK}
STRAIGHT = (("row", 2.5), ("supply", 1.2), ("service", 1.1))


@dataclass(frozen=True)
class TextLine:
    """A line of a label: ``tag`` is set bold, ``words`` after it."""

    tag: str
    words: str


def label_lines(part: Part, unit: str) -> tuple[TextLine, ...]:
    """Return the lines of a part's label: tag and name, then the settings, none much wider than a symbol.

    A narrow label keeps its part's column narrow; there is room above and below.
    """
    room = WIDEST - text_width(part.tag, TEXT, bold=True) - GAP
    words = _bound(part.name)
    first = ""
    while words and text_width(f"{first} {words[0]}".strip(), TEXT) <= room:
        first = f"{first} {words.pop(0)}".strip()
    if len(words) == 1 and not first and " " in words[0] and text_width(words[0], TEXT) <= room + OVER:
        first = words.pop()
    rest = [*wrap_words(words, WIDEST, TEXT, over=OVER)]
    for text in settings(part, unit):
        rest += wrap_words(_bound(text), WIDEST, TEXT, over=OVER)
    return (TextLine(part.tag, first), *(TextLine("", text) for text in rest))


def _bound(text: str) -> list[str]:
    """The words of a text; a short one at its end stays with the one before it ("valve 1", "70 psi")."""
    words = text.split()
    short = len(words) > 1 and (len(words[-1]) <= ORPHAN or words[-1] in UNITS)
    return [*words[:-2], f"{words[-2]} {words[-1]}"] if short else words


def label_size(lines: tuple[TextLine, ...]) -> LabelSpec:
    """Return width and height [M] of a label."""
    width = 0.0
    for line in lines:
        tag = text_width(line.tag, TEXT, bold=True) if line.tag else 0.0
        gap = GAP if line.tag and line.words else 0.0
        width = max(width, tag + gap + (text_width(line.words, TEXT) if line.words else 0.0))
    return LabelSpec(round(width, 2), round(len(lines) * LINE_PITCH * TEXT, 2))


def problem(circuit: Circuit) -> Problem:
    """Return the layout problem of a circuit."""
    joined = {(end.part.tag, end.port.id) for line in circuit.lines for end in line.ends}
    leaves = _leaves(circuit)
    back = _backwards(circuit)
    symbols = tuple(
        _symbol(part, circuit.unit, joined, part.tag in leaves, part.tag in back) for part in circuit.parts
    )
    nets = tuple(
        NetSpec(line.tag, tuple((end.part.tag, end.port.id) for end in line.ends), _sort(line))
        for line in circuit.lines
        if len(line.ends) > 1
    )
    hints = tuple(Hint(hint.word, hint.parts, hint.value) for hint in circuit.hints)
    return Problem(
        symbols,
        nets,
        _pairs(circuit),
        hints,
        SPACING,
        straight=STRAIGHT,
        page=PAGE,
        blocks=tuple(Block(tags) for tags in vehicles(circuit).values()),
    )


def _symbol(part: Part, unit: str, joined: set[tuple[str, str]], leaf: bool, back: bool) -> SymbolSpec:
    width, height = part.kind.size
    ports = tuple(
        _port(port, width, height)
        for port in part.kind.ports
        if (part.tag, port.id) in joined or not port.optional
    )
    turns = part.kind.turns or ("r0",)
    if back:
        ports = tuple(replace(port, flow={"W": "out", "E": "in"}.get(port.side, port.flow)) for port in ports)
        turns = (MIRRORED, *(turn for turn in turns if turn != MIRRORED))
    return SymbolSpec(
        part.tag,
        width,
        height,
        ports,
        part.kind.name,
        "leaf" if leaf else ROLE[part.kind.place],
        "",
        turns,
        label_size(label_lines(part, unit)),
    )


def _backwards(circuit: Circuit) -> set[str]:
    """Parts that lie in a line against their symbol: the netlist's arrows come to the port on its right, or leave the
    one on its left (a one-way throttle that is to slow the air that leaves). They are drawn mirrored."""
    votes: dict[str, int] = {}
    sides: dict[str, list[str]] = {}
    for line in circuit.lines:
        side = {end.name: SIDE[end.port.faces] for end in line.ends}
        for end in line.ends:
            sides.setdefault(end.part.tag, []).append(side[end.name])
        owner = {end.name: end.part.tag for end in line.ends}
        for join in line.joins:
            for name, wrong in ((join.start, "W"), (join.end, "E")):
                if join.directed and side[name] in "WE":
                    votes[owner[name]] = votes.get(owner[name], 0) + (1 if side[name] == wrong else -1)
    through = {tag for tag, found in sides.items() if sorted(found) == ["E", "W"]}
    return {
        part.tag
        for part in circuit.parts
        if part.tag in through and votes.get(part.tag, 0) > 0 and MIRRORED in part.kind.turns
    }


def _port(port: Port, width: int, height: int) -> PortSpec:
    side = SIDE[port.faces]
    alike = "boss" if port.role is Role.TAPPING else ""
    return PortSpec(port.id, side, port.at[0] if side in "NS" else port.at[1], FLOW[port.role], alike)


def _leaves(circuit: Circuit) -> set[str]:
    """Parts that hang on one line and end there: drains, gauges, switches, safety valves, plugs."""
    ends: dict[str, int] = {}
    for line in circuit.lines:
        for end in line.ends:
            ends[end.part.tag] = ends.get(end.part.tag, 0) + 1
    places = {Place.INSTRUMENT, Place.FITTING, Place.PROTECTION}
    return {p.tag for p in circuit.parts if p.kind.place in places and ends.get(p.tag, 0) == 1}


def _sort(line: Line) -> str:
    if line.control:
        return "control"
    places = {end.part.kind.place for end in line.ends}
    if (
        places <= ROW
        and places != {Place.CHECK}
        and not any(end.port.role is Role.TAPPING for end in line.ends)
    ):
        return "row"
    return "supply" if places & {Place.SOURCE, Place.TREATMENT, Place.STORAGE} else "service"


def _pairs(circuit: Circuit) -> tuple[tuple[str, str], ...]:
    """Wheel ends that belong together: actuators of one kind fed by the same parts, two by two in netlist order."""
    near: dict[str, set[str]] = {part.tag: set() for part in circuit.parts}
    for line in circuit.lines:
        tags = [end.part.tag for end in line.ends]
        for tag in tags:
            near[tag].update(other for other in tags if other != tag)
    groups: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    actuators = [part for part in circuit.parts if part.kind.place is Place.ACTUATOR]
    wheels = {part.tag for part in actuators}
    for part in actuators:
        feeders = tuple(sorted(near[part.tag] - wheels))
        groups.setdefault((part.kind.name, feeders), []).append(part.tag)
    return tuple((tags[i], tags[i + 1]) for tags in groups.values() for i in range(0, len(tags) - 1, 2))
