"""What a chain of causes consists of: frozen values, told in words elsewhere.

Times in s from the beginning of the state, pressures in bar gauge, air in dm3(ANR). Places are written ``relay.4``
(a port) or ``lr/spring`` (a chamber); ``atmosphere`` is the open air.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """The pressure at a place at a moment."""

    place: str
    pressure: float


@dataclass(frozen=True)
class Way:
    """A passage of a part: from and to are port ids, chamber names or ``atmosphere``."""

    part: str
    start: str
    end: str


@dataclass(frozen=True)
class Moved:
    """The pressure at a place rose or fell, by air that came ``ways`` from ``other`` (or went that way to it).

    ``begin`` is when the movement began, ``felt`` when it had gone 0.1 bar, ``by`` the moment it is told up to: that
    of its effect, or the end of the state. ``ways`` are in the order of the air,
    ``other`` is the place the air came from or went to; ``standing`` the pressure there at the beginning.
    """

    place: str
    rising: bool
    before: float
    after: float
    begin: float
    felt: float
    by: float
    ways: tuple[Way, ...]
    other: str
    standing: float


@dataclass(frozen=True)
class Vented:
    """Air left at an open port: it came ``ways`` from ``other``. With 0 litres none did."""

    place: str
    litres: float
    ways: tuple[Way, ...]
    other: str


@dataclass(frozen=True)
class PressureBecause:
    """An opening depends on a pressure, which rose or fell."""

    place: str
    rising: bool
    before: float
    after: float


@dataclass(frozen=True)
class InputBecause:
    """An opening depends on an operator input, which moved."""

    part: str
    input: str
    before: float
    after: float


@dataclass(frozen=True)
class MemoryBecause:
    """An opening depends on a memory (a knob, a governor), which flipped."""

    part: str
    memory: str
    value: int


Because = PressureBecause | InputBecause | MemoryBecause


@dataclass(frozen=True)
class Opened:
    """A passage opened, and by what; ``others`` are the other pressures its opening depends on, at that moment."""

    way: Way
    time: float
    because: Because
    others: tuple[Reading, ...]


@dataclass(frozen=True)
class Need:
    """One thing a shut passage waits for: ``weight`` above 0 if it opens as this rises.

    ``sort`` is ``pressure`` (``name`` is a place, ``value`` in bar gauge), ``input`` or ``memory`` (``name`` in the
    passage's part).
    """

    sort: str
    name: str
    weight: float
    value: float


@dataclass(frozen=True)
class Closed:
    """A passage closed, and by what; ``others`` as in :class:`Opened`.

    ``effect`` is what came of it: ``filled`` (air had left there; now the place rose) or ``drained`` (air had come
    there; now it fell). Of a limit: ``no-more-in`` (the air that filled it; ``beyond`` still has more pressure) or
    ``no-more-out`` (the air it lost; ``beyond`` has less). ``beyond`` is None where a compressor pumped.
    """

    way: Way
    time: float
    because: Because
    others: tuple[Reading, ...]
    effect: str
    beyond: Reading | None


@dataclass(frozen=True)
class Kept:
    """A passage closed or stayed closed (``time`` None) as the pressure beyond it was lost: it kept what is here.

    ``beyond``: the pressure there at the beginning and at the end. ``needs`` and ``level`` as in :class:`Shut`.
    """

    way: Way
    time: float | None
    beyond: tuple[Reading, Reading]
    needs: tuple[Need, ...]
    level: float


@dataclass(frozen=True)
class Flipped:
    """A memory flipped by itself, when the pressure at a place passed a level."""

    part: str
    memory: str
    value: int
    time: float
    place: str
    level: float | None


@dataclass(frozen=True)
class InputSet:
    """The end of a chain: somebody set an input, at a time."""

    part: str
    input: str
    value: float
    time: float


@dataclass(frozen=True)
class InputStands:
    """The end of a chain: an input stood so from the beginning of the state."""

    part: str
    input: str
    value: float


@dataclass(frozen=True)
class MemoryStands:
    """The end of a chain: a memory stood so from the beginning of the state."""

    part: str
    memory: str
    value: int


@dataclass(frozen=True)
class FaultActs:
    """The end of a chain: a fault was put in."""

    target: str
    fault: str


@dataclass(frozen=True)
class Stands:
    """The end of a chain: this pressure stood from the beginning of the state, or turned at this ``time``."""

    place: str
    pressure: float
    time: float = 0.0


@dataclass(frozen=True)
class Holds:
    """A pressure neither rose nor fell: ``shut`` are the closed ways that could have let it out."""

    place: str
    pressure: float
    shut: tuple[Way, ...]


@dataclass(frozen=True)
class Shut:
    """A passage is closed, between a place without air and the nearest pressure.

    It opens when the weighted sum of the ``needs`` rises above ``level`` [bar, or a number if no pressure is among
    them]. ``since``: when it closed in this state, None if it was closed from the beginning.
    """

    place: str
    pressure: float
    way: Way
    source: Reading
    needs: tuple[Need, ...]
    level: float
    since: float | None = None


@dataclass(frozen=True)
class NoPressure:
    """Nothing on any way to a place has pressure; ``nearest`` is the place of the first reservoir on it, or empty."""

    place: str
    nearest: str


@dataclass(frozen=True)
class Cut:
    """The telling stops: too long (``depth``); it comes back to a movement it told (``loop``); or a memory that
    cycles did earlier what it did later (``again``)."""

    reason: str


Cause = (
    Moved
    | Vented
    | Opened
    | Closed
    | Kept
    | Flipped
    | InputSet
    | InputStands
    | MemoryStands
    | FaultActs
    | Stands
    | Holds
    | Shut
    | NoPressure
    | Cut
)


@dataclass(frozen=True)
class Why:
    """Why the pressure at a place is what it is at the end of a state: causes backwards, each after what it causes.

    ``limits``: why it rose or fell no further, or kept its air, told in the same way; empty where nothing closed that
    would have changed it. ``doubts`` and ``unsure`` as in :class:`pneudraw.flow.run.Run`.
    """

    circuit: str
    state: str
    start: str
    place: str
    before: float
    after: float
    duration: float
    causes: tuple[Cause, ...]
    limits: tuple[Cause, ...] = ()
    doubts: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()
