"""What a component kind is: the frozen picture of one file in ``symbols/``.

Nothing here is particular to any kind. All quantities are SI (:mod:`pneudraw.units`); pressures in a
kind file are gauge pressures. Coordinates are in modules M of ISO 1219-1, x to the right, y down, from
the upper left corner of the symbol's box.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum

from pneudraw.diagnostics import Diagnostic
from pneudraw.source import Span
from pneudraw.units import Quantity

ATMOSPHERE = "atmosphere"  # the end of a passage that is no part of the kind


class Role(Enum):
    """What a port is for; the digit is the function digit of ISO 6786 (from memory)."""

    INTAKE = "intake"  # 0, open to atmosphere
    SUPPLY = "supply"  # 1, energy in
    DELIVERY = "delivery"  # 2, energy out
    EXHAUST = "exhaust"  # 3, to atmosphere unless piped
    CONTROL = "control"  # 4, a signal; its line is drawn dashed
    TAPPING = "tapping"  # a boss of a reservoir: either way


class Side(Enum):
    """The way a port faces, away from its symbol, before any turning."""

    LEFT = "left"
    RIGHT = "right"
    UP = "up"
    DOWN = "down"


class Place(Enum):
    """What a kind does in a circuit: drives layout ties and lets rules ask for a function, not a kind."""

    SOURCE = "source"  # makes compressed air
    TREATMENT = "treatment"  # dries, cleans
    STORAGE = "storage"  # keeps it
    CHECK = "check"  # lets it through one way
    PROTECTION = "protection"  # relief and protection valves
    CONTROL = "control"  # worked by the driver
    MODULATION = "modulation"  # relays and the like
    ACTUATOR = "actuator"  # turns pressure into force
    INSTRUMENT = "instrument"  # shows or warns
    FITTING = "fitting"  # drain, plug, coupling, hose end


@dataclass(frozen=True)
class Port:
    """A place where a line ends.

    ``joined`` are strokes drawn only where a line ends here, ``unjoined`` only where none does (an
    exhaust's triangle). ``optional``: a closed boss while unused; any other port is open to atmosphere.
    ``sensing``: a dead end, no air ever passes it (a gauge, the control side of a relay).
    """

    id: str
    role: Role
    at: tuple[int, int]
    faces: Side
    title: str = ""
    optional: bool = False
    joined: tuple[Stroke, ...] = ()
    unjoined: tuple[Stroke, ...] = ()
    sensing: bool = False


@dataclass(frozen=True)
class Parameter:
    """A number a netlist may set, with the source of its default. Bounds are inclusive; None = no bound.

    ``choices``: the only values allowed (the types of a brake chamber). ``by`` and ``table``: the default
    follows another parameter (a rated volume by chamber type); ``default`` is then the row of that
    parameter's own default.
    """

    name: str
    default: Quantity
    least: Quantity | None
    most: Quantity | None
    text: str
    source: str
    choices: tuple[float, ...] = ()
    by: str | None = None
    table: tuple[tuple[float, Quantity], ...] = ()


@dataclass(frozen=True)
class Input:
    """Something the operator (or the road, or an electronic unit) sets.

    ``positions`` names the values 0, 1, ... of a knob or cock; empty for a continuous input, which runs from
    0 to 1 and is written in %. ``purpose`` says what it is for in words the built-in states know
    (``"engine"``, ``"service-brake"``, ``"park"``, ``"trailer-supply"``, ``"drain"``, ...). ``ramp``: time of
    a full stroke [s].
    """

    name: str
    title: str
    positions: tuple[str, ...]
    rest: float
    purpose: str
    ramp: float
    text: str = ""


@dataclass(frozen=True)
class Expression:
    """A sum of products over names, checked when loaded; see :mod:`pneudraw.library.expression`.

    Names: parameters; ``p`` followed by a port id or a chamber name for the gauge pressure there
    (``p4``, ``p_body``); inputs; curves; memories.
    """

    text: str
    tree: ast.expr
    dimension: str


@dataclass(frozen=True)
class Curve:
    """A piecewise linear function of an input: what the driver's foot asks for. Points by rising input."""

    name: str
    input: str
    points: tuple[tuple[Expression, Expression], ...]


@dataclass(frozen=True)
class Memory:
    """A two-state latch: a governor, a push-pull knob.

    It turns to 1 when any of ``to_one`` rises above zero, to 0 when any of ``to_zero`` does. ``input``: the
    operator sets it too, through that input. ``purpose``: what it means, in words other stages know
    (``"governor"`` is 1 while the compressor is told to idle, ``"warning"`` is 1 while the driver is warned),
    or empty.
    """

    name: str
    start: int
    input: str | None
    to_one: tuple[Expression, ...]
    to_zero: tuple[Expression, ...]
    text: str = ""
    purpose: str = ""


@dataclass(frozen=True)
class Swell:
    """A smooth ramp of a chamber's volume: by ``by`` [m3] between two gauge pressures."""

    low: Expression
    high: Expression
    by: Expression


@dataclass(frozen=True)
class Chamber:
    """A volume of air inside the part. ``title`` is what a person calls it ("service side")."""

    name: str
    title: str
    volume: Expression
    swells: tuple[Swell, ...] = ()


@dataclass(frozen=True)
class Displacement:
    """A compressor's delivery: free air ``rate`` [m3/s] at intake pressure, less ``falloff`` of it for each
    unit of pressure ratio above 1."""

    rate: Expression
    falloff: Expression


@dataclass(frozen=True)
class Condition:
    """Opens as ``form`` goes from 0 to ``band`` (both pressures, or both pure numbers)."""

    form: Expression
    band: Expression


@dataclass(frozen=True)
class Passage:
    """A way for air between two ends: port ids, chamber names or ``"atmosphere"``.

    ``combine``: all conditions must hold, or any. Without conditions it is always open.
    """

    name: str
    start: str
    end: str
    conductance: Expression | None
    ratio: Expression | None
    conditions: tuple[Condition, ...]
    combine: str
    displacement: Displacement | None
    text: str = ""


@dataclass(frozen=True)
class Piston:
    """A piston between chambers, or the height of a bellows.

    ``areas``: chamber and signed area [m2]; gauge pressure on a positive area pushes it towards ``travel`` [m] and its
    way adds to that chamber's volume, so a rod side's own volume is that at 0. ``friction`` [N.s/m], ``spring`` [N/m]
    pulls back towards 0; ``load`` [N] is added to the push, and may hold inputs; ``starts`` [m] is where it stands in
    the empty circuit.
    """

    name: str
    title: str
    areas: tuple[tuple[str, Expression], ...]
    travel: Expression
    friction: Expression
    spring: Expression | None = None
    load: Expression | None = None
    starts: Expression | None = None


@dataclass(frozen=True)
class Path:
    """An open way through one position of a valve; ``both``: drawn with a head at either end."""

    start: str
    end: str
    both: bool = False


@dataclass(frozen=True)
class Valve:
    """A valve as ISO 1219-1 puts it: one box for each position, actuated from its ends.

    ``boxes`` from the left end (the upper one if it stands upright) to the right; ``rest`` is the place of the box
    that carries the lines. ``ports`` are port ids, chamber names or ``"atmosphere"`` at their places round a box.
    ``left`` and ``right`` are the actuating elements as written. ``derived``: the passages follow from the boxes.
    """

    boxes: tuple[tuple[Path, ...], ...]
    rest: int
    ports: tuple[str, ...]
    left: tuple[str, ...]
    right: tuple[str, ...]
    graduating: bool = False
    derived: bool = False


@dataclass(frozen=True)
class Fault:
    """Something that can be wrong: a change of some passages, a leak, or changed parameters.

    ``low``/``high`` bound the opening of the ``passages``, ``factor`` multiplies their conductance;
    ``closes`` names passages that stay shut meanwhile (the other seat of a stuck valve). ``leak`` opens a
    hole of ``bore`` [m] from ``leak[0]`` to ``leak[1]`` (ports, chambers or ``"atmosphere"``); ``sets`` gives
    parameters other values.
    """

    name: str
    title: str
    text: str
    passages: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    factor: float | None = None
    leak: tuple[str, str] | None = None
    bore: Quantity | None = None
    sets: tuple[tuple[str, Quantity], ...] = ()
    closes: tuple[str, ...] = ()


@dataclass(frozen=True)
class ServiceForce:
    """Push-rod force of a service chamber: ``area`` times the gauge pressure above ``starts``, at least 0."""

    chamber: str
    area: Expression
    starts: Expression


@dataclass(frozen=True)
class SpringForce:
    """Push-rod force of a spring: ``force`` less ``area`` times the hold-off gauge pressure, at least 0."""

    chamber: str
    force: Expression
    area: Expression


@dataclass(frozen=True)
class Brake:
    """How a kind brakes a wheel."""

    service: ServiceForce | None
    spring: SpringForce | None
    rated_volume: Expression | None = None  # swept volume for reservoir rules [m3]


# --- drawing: strokes in modules --------------------------------------------------------------------

Point = tuple[float, float]


@dataclass(frozen=True)
class Polyline:
    """A chain of straight pieces. ``style``: solid, dashed (control) or chain (enclosure).

    ``closed`` shapes may be filled.
    """

    points: tuple[Point, ...]
    style: str = "solid"
    closed: bool = False
    fill: str = "none"  # none, white, black


@dataclass(frozen=True)
class Circle:
    """A circle; ``fill`` none, white or black."""

    centre: Point
    radius: float
    fill: str = "none"


@dataclass(frozen=True)
class Arc:
    """A circular arc, angles in degrees clockwise on the screen, 0 = right, 90 = down."""

    centre: Point
    radius: float
    start: float
    end: float


@dataclass(frozen=True)
class Arrow:
    """A line whose last point (or both ends) carries a filled head 1M long, 30 degrees included.

    ``upright``: when the symbol is turned or mirrored, the arrow goes with its middle but keeps its own
    direction (a gauge's pointer, the arrow across an adjustable spring).
    """

    points: tuple[Point, ...]
    both: bool = False
    upright: bool = False


@dataclass(frozen=True)
class Text:
    """Upright text, never mirrored or turned with its symbol: centre of the baseline, height in M."""

    at: Point
    text: str
    height: float = 1.0


Stroke = Polyline | Circle | Arc | Arrow | Text


class Basis(Enum):
    """What a drawing rests on, for the mark on the plates."""

    CONFIRMED = "confirmed"  # a symbol of the standard, its form read in open texts that report it
    MEMORY = "memory"  # a symbol of the standard, details from memory
    COMPOSED = (
        "composed"  # composed from the standard's elements by its rules; others may compose differently
    )
    OWN = "own"  # a form of our own, explained in the legend


class Group(Enum):
    """The chapter of the catalogue a kind stands in."""

    SOURCES = "sources"
    TREATMENT = "treatment"
    INSTRUMENTS = "instruments"
    CHECKS = "checks"
    PRESSURE = "pressure"
    DIRECTIONAL = "directional"
    CONTROL = "control"
    MODULATION = "modulation"
    TRAILER = "trailer"
    BRAKES = "brakes"
    CYLINDERS = "cylinders"
    FITTINGS = "fittings"
    LINES = "lines"
    BOXES = "boxes"
    ELEMENTS = "elements"


GROUP_OF_PLACE = {
    Place.SOURCE: Group.SOURCES,
    Place.TREATMENT: Group.TREATMENT,
    Place.STORAGE: Group.SOURCES,
    Place.CHECK: Group.CHECKS,
    Place.PROTECTION: Group.PRESSURE,
    Place.CONTROL: Group.CONTROL,
    Place.MODULATION: Group.MODULATION,
    Place.ACTUATOR: Group.BRAKES,
    Place.INSTRUMENT: Group.INSTRUMENTS,
    Place.FITTING: Group.FITTINGS,
}


@dataclass(frozen=True)
class Drawing:
    """A symbol that is no part of a circuit: a junction, a lamp, the position boxes of a valve.

    ``text`` says what it means, ``standard`` what the drawing rests on. Its ports are only marks.
    """

    name: str
    title: str
    text: str
    standard: str
    size: tuple[int, int]
    ports: tuple[Port, ...]
    strokes: tuple[Stroke, ...]
    basis: Basis
    group: Group
    valves: tuple[Valve, ...] = ()


@dataclass(frozen=True)
class Kind:
    """A component kind: everything the program knows about it.

    ``size`` is the symbol's box in M. ``turns`` lists the transforms layout may use: ``r0 r90 r180 r270``
    (quarter turns clockwise) and ``mx my`` (mirrored left-right, mirrored top-bottom). ``beside`` are format
    strings for the settings written beside the symbol, with parameter names in braces. The strokes of ``valves``
    are already among ``strokes``, and the passages that follow from their boxes among ``passages``.
    """

    name: str
    title: str
    summary: str
    text: str
    standard: str
    place: Place
    size: tuple[int, int]
    turns: tuple[str, ...]
    ports: tuple[Port, ...]
    parameters: tuple[Parameter, ...]
    inputs: tuple[Input, ...]
    curves: tuple[Curve, ...]
    memories: tuple[Memory, ...]
    chambers: tuple[Chamber, ...]
    passages: tuple[Passage, ...]
    faults: tuple[Fault, ...]
    strokes: tuple[Stroke, ...]
    beside: tuple[str, ...]
    brake: Brake | None
    span: Span
    valves: tuple[Valve, ...] = ()
    pistons: tuple[Piston, ...] = ()
    basis: Basis = Basis.OWN
    group: Group = Group.FITTINGS

    def port(self, id: str) -> Port | None:
        """Return the port with this id, or None."""
        return next((p for p in self.ports if p.id == id), None)

    @property
    def passes_on(self) -> bool:
        """True for what is fitted into a line and has the line go on behind it: a cock, a coupling, a hose."""
        return self.place is Place.FITTING and self.first(Role.DELIVERY) is not None

    def first(self, *roles: Role) -> Port | None:
        """Return the first port, in file order, that has one of the roles."""
        return next((p for p in self.ports if p.role in roles), None)

    def parameter(self, name: str) -> Parameter | None:
        """Return the parameter of this name, or None."""
        return next((p for p in self.parameters if p.name == name), None)


def _no_mistakes() -> tuple[Diagnostic, ...]:
    return ()


def _no_drawings() -> tuple[Drawing, ...]:
    return ()


@dataclass(frozen=True)
class Library:
    """All kinds by name, in name order.

    The mapping may read a kind's file only when that kind is first asked for; ``mistakes`` then returns what
    was found wrong in the files read so far. A file with an error gives no kind. ``drawings`` returns the
    symbols that are no parts.
    """

    kinds: Mapping[str, Kind]
    mistakes: Callable[[], tuple[Diagnostic, ...]] = _no_mistakes
    drawings: Callable[[], tuple[Drawing, ...]] = _no_drawings

    def get(self, name: str) -> Kind | None:
        """Return the kind of this name, or None."""
        return self.kinds.get(name)
