"""Valves from their position boxes: the ``[valve]`` table of a kind file to strokes, stubs and passages.

Everything is laid out lying down: boxes in a row from left to right, ports below and above, actuating elements at
both ends. A valve that stands upright is that drawing turned a quarter clockwise: its left end is the upper one, what
is below is on the left. Box sizes, port places and the two lines of a graduating valve: ISO 1219-1:2012, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pneudraw.diagnostics import did_you_mean
from pneudraw.library import behaviour_file, strokes
from pneudraw.library.expression import Symbol
from pneudraw.library.fields import Fields
from pneudraw.library.model import (
    ATMOSPHERE,
    Arrow,
    Circle,
    Passage,
    Path,
    Point,
    Polyline,
    Port,
    Role,
    Side,
    Stroke,
    Valve,
)

MOST_BOXES = 5
BESIDE = 0.5  # M from the boxes to the lines of a graduating valve; a choice of our own
LANE = 1.0  # M from the boxes to an internal pilot line; a choice of our own
REACH = 2.0  # M from the boxes' end to an internal pilot line that passes it; more where something sticks out
TIP = 1.0  # M, length of a pilot's triangle
PILOT, PILOT_TIP, EXHAUST = "pilot", "pilot-tip", "exhaust"  # elements that are more than strokes

#: places of the ports along a box, below and above, by how many there are; and the box's length
PLACES: dict[tuple[int, int], tuple[tuple[int, ...], tuple[int, ...], int]] = {
    (1, 1): ((2,), (2,), 4),
    (2, 1): ((1, 3), (1,), 4),
    (1, 2): ((1,), (1, 3), 4),
    (2, 2): ((1, 3), (1, 3), 4),
    (3, 2): ((1, 3, 5), (2, 4), 6),
}
_PATH = re.compile(r"([a-z0-9]+)(<?>)([a-z0-9]+)\Z")
_CLOSED = "closed"


@dataclass(frozen=True)
class _Stub:
    """What belongs to one port: strokes always drawn, those with a line, those without."""

    fixed: tuple[Stroke, ...] = ()
    joined: tuple[Stroke, ...] = ()
    unjoined: tuple[Stroke, ...] = ()


@dataclass
class Composed:
    """What the ``[valve]`` tables of a file come to; :meth:`passages` has to be called once, and ends the reading."""

    valves: tuple[Valve, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    stubs: Mapping[str, _Stub] = field(default_factory=dict)
    tables: tuple[Fields, ...] = ()

    def of_port(self, port: Port) -> dict[str, Any]:
        """Return the fields of a port that the valve draws, unless the file draws them itself."""
        stub = self.stubs.get(port.id)
        if stub is None or port.joined or port.unjoined:
            return {}
        return {"joined": stub.joined, "unjoined": stub.unjoined}

    def passages(self, scope: Mapping[str, Symbol], own: Sequence[Passage]) -> tuple[Passage, ...]:
        """Return the passages of the valves that say when each of their boxes is in force."""
        out: list[Passage] = []
        taken = {passage.name for passage in own}
        for valve, fields in zip(self.valves, self.tables, strict=True):
            if valve.derived:
                out += _passages(valve, fields, scope, taken)
            fields.close()
        return tuple(out)


def read(
    top: Fields, ports: tuple[Port, ...], chambers: tuple[str, ...], element: strokes.Lookup
) -> Composed:
    """Return the valves of a file: none, ``[valve]``, or several ``[[valve]]``."""
    tables = top.tables("valve") if isinstance(top.data.get("valve"), list) else ()
    if (one := None if tables else top.table("valve")) is not None:
        tables = (one,)
    readers = [_Reader(fields, ports, chambers, element) for fields in tables]
    drawn: list[Stroke] = []
    stubs: dict[str, _Stub] = {}
    for reader in readers:
        reader.draw()
        drawn += reader.strokes
        stubs.update(reader.stubs)
    return Composed(tuple(reader.valve for reader in readers), tuple(drawn), stubs, tuple(tables))


class _Reader:
    """Reads and draws one valve; lives only inside :func:`read`."""

    def __init__(
        self, fields: Fields, ports: tuple[Port, ...], chambers: tuple[str, ...], element: strokes.Lookup
    ) -> None:
        self.fields = fields
        self.ports = {port.id: port for port in ports}
        self.chambers = chambers
        self.element = element
        self.strokes: list[Stroke] = []
        self.stubs: dict[str, _Stub] = {}
        self.upright = fields.choice("stands", ("flat", "upright"), "flat") == "upright"
        self.below, self.above = self._names("below"), self._names("above")
        found = PLACES.get((len(self.below), len(self.above)))
        if found is None:
            counts = ", ".join(f"{a} and {b}" for a, b in PLACES)
            fields.wrong("below", "this many ports below and above have no places", help=f"known: {counts}")
            found = PLACES[1, 1]
        self.width = self._size("length", found[2])
        self.height = self._size("height", 4)
        self.place = {name: (float(x), 1) for name, x in zip(self.below, found[0], strict=False)}
        self.place |= {name: (float(x), -1) for name, x in zip(self.above, found[1], strict=False)}
        boxes = fields.strings("boxes")
        if not 1 < len(boxes) <= MOST_BOXES:
            fields.wrong("boxes", f"a valve has from 2 to {MOST_BOXES} boxes")
        self.count = max(1, len(boxes))
        rest = fields.take("rest", self.count)
        if not isinstance(rest, int) or isinstance(rest, bool) or not 1 <= rest <= self.count:
            fields.wrong("rest", f"`rest` is the number of a box, 1 to {self.count}")
            rest = self.count
        at = fields.take("at")
        if not isinstance(at, list) or len(at) != 2 or not all(isinstance(v, int | float) for v in at):
            fields.wrong(
                "at" if fields.has("at") else "", "`at` must be the upper left corner of the boxes: [x, y]"
            )
            at = [0, 0]
        self.matrix = strokes.MATRICES["r90" if self.upright else "r0"]
        self.shift = (float(at[0]) + (self.height if self.upright else 0), float(at[1]))
        self.valve = Valve(
            boxes=tuple(self._box(text) for text in boxes[:MOST_BOXES]),
            rest=int(rest) - 1,
            ports=tuple(self.place),
            left=fields.strings("left"),
            right=fields.strings("right"),
            graduating=fields.flag("graduating"),
            derived=fields.has("opens"),
        )
        self.stubbed = not fields.has("stubs") or fields.flag("stubs")

    def _size(self, key: str, default: int) -> int:
        value = self.fields.take(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or not 2 <= value <= 12:
            self.fields.wrong(key, f"`{key}` must be a whole number of modules from 2 to 12")
            return default
        return value

    def _names(self, key: str) -> tuple[str, ...]:
        words = self.fields.strings(key)
        known = (*self.ports, *self.chambers, ATMOSPHERE)
        for word in words:
            if word not in known:
                help = did_you_mean(word, known) or f"known: {', '.join(known)}"
                self.fields.wrong(
                    key, f"`{word}` is neither a port nor a chamber", word, help, code="kind-name"
                )
        if not words:
            self.fields.missing(key)
        return words

    def _box(self, text: str) -> tuple[Path, ...]:
        paths: list[Path] = []
        for word in [] if text.strip() == _CLOSED else text.split():
            match = _PATH.match(word)
            if match is None:
                help = f"write 1>2, 1<>2 or, for a box with every port blocked, {_CLOSED}"
                self.fields.wrong("boxes", f"`{word}` is no path", word, help)
                continue
            for name in (match[1], match[3]):
                if name not in self.place:
                    help = did_you_mean(name, self.place)
                    self.fields.wrong(
                        "boxes", f"`{name}` has no place at this valve", word, help, code="kind-name"
                    )
            ends = [self.place.get(name) for name in (match[1], match[3])]
            if ends[0] and ends[1] and ends[0][1] == ends[1][1]:
                self.fields.wrong("boxes", f"`{word}` would run along the edge of the box", word)
                continue
            paths.append(Path(match[1], match[3], both=match[2] == "<>"))
        return tuple(paths)

    # --- drawing, in the lying-down frame ---------------------------------------------------------------

    def draw(self) -> None:
        """Make the strokes and stubs."""
        drawn: list[Stroke] = []
        for number, paths in enumerate(self.valve.boxes):
            drawn += self._one_box(number * self.width, paths)
        whole = self.count * self.width
        if self.valve.graduating:
            for y in (-BESIDE, self.height + BESIDE):
                drawn.append(Polyline(((0.0, y), (float(whole), y))))
        self.strokes += self._turned(drawn)
        if self.stubbed:
            for name in self.place:
                if name in self.ports:
                    self._stub(self.ports[name])
        self._end("left", self.valve.left, 0.0, -1)
        self._end("right", self.valve.right, float(whole), 1)

    def _turned(self, drawn: Sequence[Stroke]) -> tuple[Stroke, ...]:
        return tuple(strokes.moved(stroke, self.matrix, self.shift) for stroke in drawn)

    def _back(self, point: tuple[float, float]) -> Point:
        """A point of the drawing in the lying-down frame."""
        x, y = point[0] - self.shift[0], point[1] - self.shift[1]
        return (y, -x) if self.upright else (x, y)

    def _edge(self, side: int) -> float:
        return float(self.height) if side > 0 else 0.0

    def _one_box(self, left: float, paths: tuple[Path, ...]) -> list[Stroke]:
        w, h = float(self.width), float(self.height)
        out: list[Stroke] = [Polyline(((left, 0.0), (left + w, 0.0), (left + w, h), (left, h)), closed=True)]
        open_ports: set[str] = set()
        for path in paths:
            ends = tuple(
                (left + self.place[name][0], self._edge(self.place[name][1]))
                for name in (path.start, path.end)
                if name in self.place
            )
            if len(ends) == 2:
                out.append(Arrow(ends, both=path.both))
            open_ports |= {path.start, path.end}
        for name, (x, side) in self.place.items():
            if name not in open_ports:
                edge, inner = self._edge(side), self._edge(side) - side
                out.append(Polyline(((left + x, edge), (left + x, inner))))
                out.append(Polyline(((left + x - 0.5, inner), (left + x + 0.5, inner))))
        return out

    def _spot(self, name: str) -> tuple[float, float, int]:
        """Where a port's line meets the rest box, and to which side it leaves."""
        x, side = self.place[name]
        return self.valve.rest * self.width + x, self._edge(side), side

    def _stub(self, port: Port) -> None:
        x, edge, side = self._spot(port.id)
        px, py = self._back((float(port.at[0]), float(port.at[1])))
        if abs(px - x) > 1e-9 or (py - edge) * side < 0:
            where = self._turned([Polyline(((x, edge), (x, edge + side)))])[0]
            assert isinstance(where, Polyline)
            (x0, y0), (x1, _) = where.points
            axis = f"x = {x0:g}" if x0 == x1 else f"y = {y0:g}"
            message = f"port `{port.id}` is not in line with its place at the rest box, which is at {axis}"
            self.fields.wrong("rest" if self.fields.has("rest") else "boxes", message, code="kind-drawing")
            return
        base = edge + side * BESIDE if self.valve.graduating else edge
        fixed: list[Stroke] = []
        unjoined: list[Stroke] = []
        joined: list[Stroke] = [Polyline(((x, edge), (px, py)))]
        if port.role is Role.EXHAUST:
            if base != edge:
                fixed.append(Polyline(((x, edge), (x, base))))
            joined = [Polyline(((x, base), (px, py)))]
            shape = self.element(EXHAUST) or ()
            turn = strokes.MATRICES["r0" if side > 0 else "my"]
            unjoined = [strokes.moved(stroke, turn, (x, base)) for stroke in shape]
        elif not port.optional:
            fixed, joined = joined, []
        self.strokes += self._turned(fixed)
        self.stubs[port.id] = _Stub((), self._turned(joined), self._turned(unjoined))

    # --- actuating elements -----------------------------------------------------------------------------

    def _end(self, key: str, words: tuple[str, ...], x: float, out: int) -> None:
        """Draw the elements at one end; ``out`` points away from the boxes."""
        middle = self.height / 2
        rows = [middle + 2 * number - (len(words) - 1) for number in range(len(words))]
        lengths = [0.0] * len(words)
        pilots: list[tuple[int, str]] = []
        for number, (text, y) in enumerate(zip(words, rows, strict=True)):
            chain, _, source = text.partition(" ")
            names = [PILOT_TIP if source and name == PILOT else name for name in chain.split("+")]
            if y < 0 or y > self.height:
                self.fields.wrong(key, "more elements than this end has room for", text)
            for name in names:
                shape = self.element(name)
                if shape is None:
                    help = "elements stand in _elements.toml"
                    self.fields.wrong(
                        key, f"unknown drawing element `{name}`", name, help, code="kind-drawing"
                    )
                    continue
                turn = strokes.MATRICES["r0" if out < 0 else "mx"]
                at = (x + out * lengths[number], y)
                self.strokes += self._turned([strokes.moved(stroke, turn, at) for stroke in shape])
                box = strokes.bounds(shape)
                lengths[number] += -box[0] if box else 0.0
            if source.strip():
                pilots.append((number, source.strip()))
        for number, source in pilots:
            if source in self.place:
                self._inner(source, x, rows, number, lengths, out)
            elif source in self.ports:
                self._outer(self.ports[source], x, rows[number], out)
            else:
                help = did_you_mean(source, self.ports)
                self.fields.wrong(key, f"unknown port `{source}`", source, help, code="kind-name")

    def _inner(
        self, name: str, x: float, rows: list[float], number: int, lengths: list[float], out: int
    ) -> None:
        """A pilot line inside the symbol: from the port's stub along the boxes and round their end."""
        spot, edge, side = self._spot(name)
        lane = edge + side * LANE
        crossed = [length for other, length in enumerate(lengths) if (rows[other] - rows[number]) * side > 0]
        far = x + out * max([REACH, *(length + 0.5 for length in crossed)])
        y = rows[number]
        line = Polyline(((spot, lane), (far, lane), (far, y), (x + out * TIP, y)), style="dashed")
        self.strokes += self._turned([Circle((spot, lane), strokes.NODE, "black"), line])

    def _outer(self, port: Port, x: float, y: float, out: int) -> None:
        """A pilot line to a port of the kind, straight or round one corner or two."""
        base = x + out * TIP
        px, py = self._back((float(port.at[0]), float(port.at[1])))
        along = (port.faces in (Side.UP, Side.DOWN)) == self.upright
        points: tuple[Point, ...] = ((px, py), (px, y), (base, y))
        if abs(py - y) < 1e-9:
            points = ((px, py), (base, y))
        elif along:
            middle = (px + base) / 2
            points = ((px, py), (middle, py), (middle, y), (base, y))
        line = self._turned([Polyline(points, style="dashed")])
        if port.optional:
            self.stubs[port.id] = _Stub((), line, ())
        else:
            self.strokes += line


def _passages(valve: Valve, fields: Fields, scope: Mapping[str, Symbol], taken: set[str]) -> list[Passage]:
    """One passage for each path of each box, open while that box is in force."""
    raw = fields.take("opens")
    conductance = fields.expression("conductance", scope, "conductance")
    ratio = fields.expression("ratio", scope, "number", required=False)
    fields.take("band")
    if not isinstance(raw, list) or len(raw) != len(valve.boxes):
        fields.wrong("opens", f"`opens` wants {len(valve.boxes)} entries, one for each box")
        return []
    out: list[Passage] = []
    for paths, when in zip(valve.boxes, raw, strict=True):
        if not paths:
            continue
        conditions = behaviour_file.conditions(fields, scope, "opens", when)
        for path in paths:
            name, number = f"{path.start}-{path.end}", 1
            while name in taken:
                number += 1
                name = f"{path.start}-{path.end}~{number}"
            taken.add(name)
            out.append(Passage(name, path.start, path.end, conductance, ratio, conditions, "all", None))
    return out
