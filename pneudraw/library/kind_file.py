"""One kind file, already parsed as TOML, to a :class:`~pneudraw.library.model.Kind`.

The keys are listed in ``format.md``.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from pneudraw.library import behaviour_file, settings_file, strokes, valve_file
from pneudraw.library.expression import UNKNOWN, Symbol
from pneudraw.library.fields import Fields, Problems, plain
from pneudraw.library.model import (
    ATMOSPHERE,
    GROUP_OF_PLACE,
    Basis,
    Drawing,
    Group,
    Input,
    Kind,
    Parameter,
    Place,
    Port,
    Role,
    Side,
    Stroke,
)
from pneudraw.library.places import Path
from pneudraw.source import Span

LARGEST_SYMBOL = 60  # modules

_PORT = re.compile(r"[a-z0-9]{1,8}\Z")


def read(
    name: str, data: dict[str, Any], problems: Problems, element: strokes.Lookup, symbol: strokes.Lookup
) -> Kind:
    """Return the kind of a file; mistakes go to ``problems``, and the kind is then not to be used.

    ``element`` and ``symbol`` return the strokes of a drawing element and of another kind.
    """
    top = Fields(data, (), problems)
    draw = _Drawing(element, symbol)
    size = top.whole_numbers("size", 2, LARGEST_SYMBOL)
    ports = tuple(_port(id, fields, size, draw) for id, fields in top.named("ports"))
    place = Place(top.choice("place", (place.value for place in Place)))
    parameters = settings_file.parameters(top)
    inputs = tuple(settings_file.read_input(word, fields) for word, fields in top.named("inputs"))
    chamber_fields = top.tables("chambers")
    chamber_names = tuple(str(fields.data.get("name", "")) for fields in chamber_fields)
    composed = valve_file.read(top, ports, chamber_names, element)
    ports = tuple(replace(port, **composed.of_port(port)) for port in ports)
    piston_fields = top.tables("pistons")
    piston_names = tuple(str(fields.data.get("name", "")) for fields in piston_fields)
    memory_fields = top.named("memories")
    curve_fields = top.named("curves")
    scope = _scope(top, ports, parameters, inputs, chamber_names, tuple(word for word, _ in memory_fields))
    for word in piston_names:
        if f"x_{word}" in scope:
            top.problems.add("kind-name", f"two pistons called `{word}`", ("pistons",), word)
        scope[f"x_{word}"] = Symbol("length", varies=True)
    curves = tuple(behaviour_file.curve(word, fields, scope, inputs) for word, fields in curve_fields)
    for word, fields in curve_fields:
        if word in scope:
            fields.wrong("", f"the name `{word}` is used twice", code="kind-name")
    for curve in curves:
        scope[curve.name] = Symbol(curve.points[0][1].dimension if curve.points else UNKNOWN, varies=True)
    ends = (*(port.id for port in ports), *chamber_names, ATMOSPHERE)
    memories = tuple(behaviour_file.memory(word, fields, scope, inputs) for word, fields in memory_fields)
    chambers = tuple(behaviour_file.chamber(fields, scope) for fields in chamber_fields)
    own = behaviour_file.passages(top, scope, ends)
    passages = (*composed.passages(scope, own), *own)
    kind = Kind(
        name=name,
        title=top.text("title"),
        summary=top.text("summary"),
        text=top.text("text"),
        standard=top.text("standard"),
        place=place,
        size=(size[0], size[1]),
        turns=_turns(top),
        ports=ports,
        parameters=parameters,
        inputs=inputs,
        curves=curves,
        memories=memories,
        chambers=chambers,
        passages=passages,
        faults=behaviour_file.faults(top, passages, ends, parameters),
        strokes=composed.strokes + draw.strokes(top, "draw"),
        beside=settings_file.beside(top, parameters),
        brake=behaviour_file.brake(top, scope, chamber_names),
        span=Span(problems.source, 0, 0),
        valves=composed.valves,
        pistons=tuple(behaviour_file.piston(f, scope, chamber_names, inputs, curves) for f in piston_fields),
        basis=Basis(top.choice("basis", (basis.value for basis in Basis), Basis.OWN.value)),
        group=Group(top.choice("group", (group.value for group in Group), GROUP_OF_PLACE[place].value)),
    )
    _check_box(top, kind)
    _check_reached(top, kind)
    top.close()
    return kind


def read_drawing(name: str, fields: Fields, element: strokes.Lookup, symbol: strokes.Lookup) -> Drawing:
    """Return a symbol that is no part; mistakes go to the problems of ``fields``."""
    draw = _Drawing(element, symbol)
    size = fields.whole_numbers("size", 2, LARGEST_SYMBOL)
    ports = tuple(_port(id, port, size, draw) for id, port in fields.named("ports"))
    composed = valve_file.read(fields, ports, (), element)
    ports = tuple(replace(port, **composed.of_port(port)) for port in ports)
    drawing = Drawing(
        name=name,
        title=fields.text("title"),
        text=fields.text("text"),
        standard=fields.text("standard"),
        size=(size[0], size[1]),
        ports=ports,
        strokes=composed.strokes + draw.strokes(fields, "draw"),
        basis=Basis(fields.choice("basis", (basis.value for basis in Basis), Basis.OWN.value)),
        group=Group(fields.choice("group", (group.value for group in Group))),
        valves=composed.valves,
    )
    _check_box(fields, drawing)
    composed.passages({}, ())
    fields.close()
    return drawing


class _Drawing:
    """Reads drawing texts with the elements and symbols at hand."""

    def __init__(self, element: strokes.Lookup, symbol: strokes.Lookup) -> None:
        self.element = element
        self.symbol = symbol

    def strokes(self, fields: Fields, key: str) -> tuple[Stroke, ...]:
        out: list[Stroke] = []
        for text in fields.strings(key):
            try:
                out += strokes.parse(text, self.element, self.symbol)
            except strokes.StrokeError as fault:
                fields.wrong(key, f"{fault} in `{text}`", word=text, code="kind-drawing")
        if len(out) > strokes.MOST_STROKES:
            fields.wrong(key, f"more than {strokes.MOST_STROKES} strokes", code="kind-drawing")
        return tuple(out[: strokes.MOST_STROKES])


def _scope(
    top: Fields,
    ports: tuple[Port, ...],
    parameters: tuple[Parameter, ...],
    inputs: tuple[Input, ...],
    chambers: tuple[str, ...],
    memories: tuple[str, ...],
) -> dict[str, Symbol]:
    """Everything an expression may name; a name used for two things is a mistake."""
    scope: dict[str, Symbol] = {}

    def add(name: str, symbol: Symbol, path: tuple[str, ...]) -> None:
        if name in scope:
            top.problems.add("kind-name", f"the name `{name}` is used twice", path)
        scope[name] = symbol

    for port in ports:
        add(f"p{port.id}", Symbol("pressure", True, pressure=True), ("ports", port.id))
    for chamber in chambers:
        add(f"p_{chamber}", Symbol("pressure", True, pressure=True), ("chambers",))
        if chamber in {port.id for port in ports} or chamber == ATMOSPHERE:
            top.problems.add("kind-name", f"`{chamber}` is both a port and a chamber", ("chambers",), chamber)
    for parameter in parameters:
        dimension = plain(parameter.default.dimension)
        positive = parameter.least is not None and parameter.least.value > 0
        positive = positive or (bool(parameter.choices) and min(parameter.choices) > 0)
        add(parameter.name, Symbol(dimension, False, positive=positive), ("parameters", parameter.name))
    for inp in inputs:
        add(inp.name, Symbol("number", True), ("inputs", inp.name))
    for memory in memories:
        add(memory, Symbol("number", True), ("memories", memory))
    return scope


def _port(id: str, fields: Fields, size: tuple[int, ...], draw: _Drawing) -> Port:
    if not _PORT.match(id):
        fields.wrong("", f"`{id}` is no port mark; at most 8 lower-case letters and digits", code="kind-name")
    at = fields.whole_numbers("at", 2, LARGEST_SYMBOL)
    port = Port(
        id=id,
        role=Role(fields.choice("role", (role.value for role in Role))),
        at=(at[0], at[1]),
        faces=Side(fields.choice("faces", (side.value for side in Side))),
        title=fields.text("title"),
        optional=fields.flag("optional"),
        joined=draw.strokes(fields, "joined"),
        unjoined=draw.strokes(fields, "unjoined"),
        sensing=fields.flag("sensing"),
    )
    edge = {
        Side.LEFT: at[0] == 0,
        Side.RIGHT: at[0] == size[0],
        Side.UP: at[1] == 0,
        Side.DOWN: at[1] == size[1],
    }
    if fields.has("at") and not (edge[port.faces] and at[0] <= size[0] and at[1] <= size[1]):
        fields.wrong("at", f"port `{id}` is not on the {port.faces.value} edge of the symbol's box")
    fields.close()
    return port


def _turns(top: Fields) -> tuple[str, ...]:
    turns = top.strings("turns") or ("r0",)
    for turn in turns:
        if turn not in strokes.MATRICES:
            top.wrong("turns", f"unknown turn `{turn}`", turn, f"known: {', '.join(strokes.MATRICES)}")
    return turns


def _check_box(top: Fields, kind: Kind | Drawing) -> None:
    if isinstance(kind, Kind) and not kind.ports:
        top.missing("ports")
    parts: list[tuple[str, tuple[Stroke, ...], Path]] = [("draw", kind.strokes, (*top.path, "draw"))]
    parts += [
        (f"port {port.id}", port.joined + port.unjoined, (*top.path, "ports", port.id)) for port in kind.ports
    ]
    for title, drawn, path in parts:
        box = strokes.bounds(drawn)
        if box and not (box[0] >= 0 and box[1] >= 0 and box[2] <= kind.size[0] and box[3] <= kind.size[1]):
            found = " ".join(f"{edge:g}" for edge in box)
            message = f"the drawing of `{title}` leaves the symbol's box (left top right bottom: {found})"
            top.problems.add("kind-drawing", message, path)


def _check_reached(top: Fields, kind: Kind) -> None:
    """Every port is an end of a passage, or says that it only senses."""
    ends = {end for passage in kind.passages for end in (passage.start, passage.end)}
    for port in kind.ports:
        if port.id not in ends and not port.sensing:
            message = f"no passage reaches port `{port.id}`"
            help = "add a passage, or `sensing = true` if no air ever passes it"
            top.problems.add("kind-name", message, ("ports", port.id), help=help)
