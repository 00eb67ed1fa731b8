"""The states every circuit gets for nothing, as far as its parts make them possible.

A state is offered when some part has an operator input of the purpose it needs (the words in the kind files):
``engine``, ``service-brake``, ``park``, ``trailer-supply``, ``coupling``, ``antilock-hold``, ``antilock-dump``.
No kind is named here. The chain of states follows a day's work::

    empty -> charging -> cut-out -> park-release -> ready -> service-apply -> service-release
                                                     ready -> park-apply, emergency
"""

from __future__ import annotations

from collections.abc import Iterable

from pneudraw.circuit.model import End, FaultSetting, Line, Part, Setting, State
from pneudraw.library.model import Input, Role

EMPTY = "empty"

#: the states that circuits can have by themselves
NAMES = (
    "charging",
    "cut-out",
    "park-release",
    "ready",
    "service-apply",
    "service-release",
    "park-apply",
    "emergency",
    "antilock-hold",
    "antilock-dump",
)

#: seconds from the start of the emergency until the driver presses the pedal: long enough for a broken
#: circuit to empty (some three time constants of a 26 L reservoir through a 3/8 in hole)
PEDAL_AFTER_BREAK = 15.0

# horizons in seconds: how long a state is followed when it comes to no rest of its own
SHORT, MEDIUM, LONG = 30.0, 120.0, 1200.0


def inputs_for(parts: Iterable[Part], *purposes: str) -> tuple[tuple[Part, Input], ...]:
    """Return the (part, input) pairs that serve one of the purposes, in netlist order."""
    return tuple((part, inp) for part in parts for inp in part.kind.inputs if inp.purpose in purposes)


def built_in_states(parts: tuple[Part, ...], lines: tuple[Line, ...]) -> tuple[State, ...]:
    """Return the built-in states these parts and lines make possible, in teaching order."""
    states: list[State] = []

    def add(
        name: str,
        title: str,
        start: str,
        text: str,
        settings: Iterable[Setting],
        horizon: float,
        faults: tuple[FaultSetting, ...] = (),
        stop: bool = False,
    ) -> None:
        states.append(
            State(
                name,
                title,
                start,
                tuple(settings),
                faults,
                horizon,
                stop,
                built_in=True,
                text=text,
                span=None,
            )
        )

    def known(*names: str) -> str:
        made = {state.name for state in states}
        return next((name for name in names if name in made), EMPTY)

    engine = inputs_for(parts, "engine")
    pedal = inputs_for(parts, "service-brake")
    park = inputs_for(parts, "park")
    trailer = inputs_for(parts, "trailer-supply")
    governed = any(memory.purpose == "governor" for part in parts for memory in part.kind.memories)

    if engine or any(part.kind.place.value == "source" for part in parts):
        add(
            "charging",
            "Charging from empty",
            EMPTY,
            "The engine runs, everything starts empty, the parking brake is applied.",
            _set(engine, 1.0),
            LONG,
            stop=governed,
        )
    if governed and engine:
        add(
            "cut-out",
            "Governor cut-out",
            "charging",
            "The governor has reached its cut-out pressure and unloads the compressor; a dryer purges.",
            (),
            MEDIUM,
        )
    if park or trailer:
        add(
            "park-release",
            "Park brake release",
            known("cut-out", "charging"),
            "The driver pushes the parking control in.",
            _set(park + trailer, 1.0),
            SHORT,
        )
    add(
        "ready",
        "Ready to drive",
        known("park-release", "cut-out", "charging"),
        "The compressor has filled everything up again; parking brake released if there is one, pedal up.",
        (),
        LONG,
    )
    if pedal:
        add(
            "service-apply",
            "Service brake application",
            "ready",
            "The driver presses the pedal fully.",
            _set(pedal, 1.0),
            SHORT,
        )
        add(
            "service-release",
            "Service brake release",
            "service-apply",
            "The driver lets the pedal up.",
            _set(pedal, 0.0),
            SHORT,
        )
    if park:
        add(
            "park-apply",
            "Park brake application",
            "ready",
            "The driver pulls the parking control out, the trailer's with it.",
            _set(park + trailer, 0.0),
            SHORT,
        )
    couplings = inputs_for(parts, "coupling")
    broken = _first_service_supply(pedal, lines)
    if couplings:
        add(
            "emergency",
            "Trailer breakaway",
            "ready",
            "The trailer's couplings are torn apart.",
            _set(couplings, 0.0),
            SHORT,
        )
    elif broken is not None:
        add(
            "emergency",
            "Loss of a service circuit",
            "ready",
            f"Line {broken.tag}, which feeds {_names(pedal)}, breaks; {PEDAL_AFTER_BREAK:g} s later the driver"
            " presses the pedal fully.",
            _set(pedal, 1.0, at=PEDAL_AFTER_BREAK),
            60.0,
            (FaultSetting(broken.tag, "broken", None, None),),
        )
    for name, title, hold, dump in (
        ("antilock-hold", "Anti-lock: hold", 1.0, 0.0),
        ("antilock-dump", "Anti-lock: dump", 1.0, 1.0),
    ):
        holds, dumps = inputs_for(parts, "antilock-hold"), inputs_for(parts, "antilock-dump")
        if pedal and (holds or dumps):
            add(
                name,
                title,
                "service-apply",
                "The electronic unit works the modulators while the pedal stays down.",
                _set(holds, hold) + _set(dumps, dump),
                SHORT,
            )
    return tuple(states)


def _set(pairs: Iterable[tuple[Part, Input]], value: float, at: float = 0.0) -> tuple[Setting, ...]:
    return tuple(Setting(part.tag, inp.name, value, at, None) for part, inp in pairs)


def _first_service_supply(pedal: tuple[tuple[Part, Input], ...], lines: tuple[Line, ...]) -> Line | None:
    """The line at the first supply port of the first pedal valve: the primary circuit's feed."""
    for part, _ in pedal:
        port = part.kind.first(Role.SUPPLY)
        if port is not None:
            return next((line for line in lines if any(_is(end, part, port.id) for end in line.ends)), None)
    return None


def _is(end: End, part: Part, port: str) -> bool:
    return end.part is part and end.port.id == port


def _names(pairs: tuple[tuple[Part, Input], ...]) -> str:
    return pairs[0][0].tag if pairs else ""
