"""How parts, places, inputs and memories are called in sentences and on charts."""

from __future__ import annotations

from collections.abc import Iterable

from pneudraw.circuit.model import Circuit, Part
from pneudraw.flow.working import cylinders
from pneudraw.library.model import Input, Memory
from pneudraw.library.model import Place as Where
from pneudraw.units import convert

BAR = 1e5

#: what a memory of a purpose does when it becomes 1, and when it becomes 0
_TURNS = {
    "governor": ("cuts out", "cuts in"),
    "warning": ("turns the low-pressure warning on", "turns the low-pressure warning off"),
    "stop-lamp": ("turns the stop lamps on", "turns the stop lamps off"),
}
_STANDS = {
    "governor": ("has cut out", "has cut in"),
    "warning": ("gives the low-pressure warning", "gives no low-pressure warning"),
    "stop-lamp": ("has the stop lamps on", "has the stop lamps off"),
}


def caption(part: Part) -> str:
    """``Rear relay valve``: the name in the netlist, or the kind's."""
    return part.name or part.kind.title.lower()


def part_name(circuit: Circuit, tag: str) -> str:
    """``Rear relay valve (relay)``, ``line service1``."""
    part = circuit.part(tag)
    return f"line {tag}" if part is None else f"{caption(part)} ({tag})"


def split(place: str) -> tuple[str, str, str]:
    """Take the name of a place apart: tag, port or chamber, and which of both (``port`` or ``chamber``)."""
    tag, slash, chamber = place.partition("/")
    if slash:
        return tag, chamber, "chamber"
    tag, _, port = place.rpartition(".")
    return tag, port, "port"


def place_name(circuit: Circuit, place: str, near: str = "") -> str:
    """``port 4 of Rear relay valve (relay)``, ``the spring side of Left rear (lr)``, ``Primary reservoir (prim)``.

    Of the part ``near`` the listener has just heard: its port is ``its port 4``.
    """
    tag, name, sort = split(place)
    part = circuit.part(tag)
    if part is None:
        return place
    if sort == "chamber":
        if len(part.kind.chambers) == 1 and part.kind.place is Where.STORAGE:
            return part_name(circuit, tag)
        name = side(part, name)
    else:
        name = f"port {name}"
    if tag == near:
        return f"its {name}"
    return f"{'the ' if sort == 'chamber' else ''}{name} of {part_name(circuit, tag)}"


def side(part: Part, chamber: str) -> str:
    """``spring side``: what a person calls a chamber."""
    return next((c.title or c.name for c in part.kind.chambers if c.name == chamber), chamber)


def end_name(part: Part | None, end: str) -> str:
    """An end of a passage: a port's mark, a chamber's title, ``the open air``."""
    if end == "atmosphere":
        return "the open air"
    if part is not None and any(c.name == end for c in part.kind.chambers):
        return f"the {side(part, end)}"
    return end


def input_of(circuit: Circuit, tag: str, name: str) -> Input:
    """Return the input of a part by name, or by the name of a curve of it."""
    part = circuit.part(tag)
    assert part is not None
    for curve in part.kind.curves:
        if curve.name == name:
            name = curve.input
    return next(inp for inp in part.kind.inputs if inp.name == name)


def memory_of(circuit: Circuit, tag: str, name: str) -> Memory:
    """Return the memory of a part by name."""
    part = circuit.part(tag)
    assert part is not None
    return next(memory for memory in part.kind.memories if memory.name == name)


def value_words(inp: Input, value: float) -> str:
    """``in``, ``running``, ``30 %``: an input's value as the netlist writes it."""
    if inp.positions:
        return inp.positions[max(0, min(len(inp.positions) - 1, round(value)))]
    return f"{value * 100:.0f} %"


def move_words(inp: Input, value: float) -> str:
    """``pedal to 30 %``, ``parking knob in``."""
    return (
        f"{inp.title} {value_words(inp, value)}"
        if inp.positions
        else f"{inp.title} to {value_words(inp, value)}"
    )


def turn_words(circuit: Circuit, tag: str, name: str, value: int) -> str:
    """What a memory does as it flips: ``cuts out``, ``springs out`` (the knob), with its part before it."""
    memory = memory_of(circuit, tag, name)
    if memory.purpose in _TURNS:
        return f"{part_name(circuit, tag)} {_TURNS[memory.purpose][0 if value else 1]}"
    if memory.input is not None:
        inp = input_of(circuit, tag, memory.input)
        return f"the {inp.title} of {part_name(circuit, tag)} springs {value_words(inp, value)}"
    return f"{part_name(circuit, tag)} switches{_stand(memory, value)}"


def stand_words(circuit: Circuit, tag: str, name: str, value: int, near: str = "") -> str:
    """What a memory is: ``Governor (gov) has cut out``, ``the parking knob of Park valve (park) is in``.

    Of the part ``near`` the listener has just heard: ``it``, ``its``.
    """
    who = "it" if tag == near else part_name(circuit, tag)
    memory = memory_of(circuit, tag, name)
    if memory.purpose in _STANDS:
        return f"{who} {_STANDS[memory.purpose][0 if value else 1]}"
    if memory.input is not None:
        inp = input_of(circuit, tag, memory.input)
        whose = f"its {inp.title}" if tag == near else f"the {inp.title} of {who}"
        return f"{whose} is {value_words(inp, value)}"
    return f"{who} has switched{_stand(memory, value)}"


def _stand(memory: Memory, value: int) -> str:
    """`` (1 is joined to 4)``, or `` back``: what a memory without a purpose means, as its file says."""
    meaning = memory.text.removeprefix("1 while ")
    return (f" ({meaning})" if meaning else "") if value else " back"


def fault_words(circuit: Circuit, target: str, fault: str) -> str:
    """``line feed1 broken``, ``Rear relay valve (relay): inlet seat leaks``."""
    part = circuit.part(target)
    if part is None:
        return f"line {target} {fault}"
    title = next((f.title for f in part.kind.faults if f.name == fault), fault)
    return f"{part_name(circuit, target)}: {title[:1].lower()}{title[1:]}"


def subject(circuit: Circuit) -> str:
    """What the circuit is of: a ``vehicle``, or a ``machine`` where there are cylinders and no brakes."""
    if any(part.kind.brake is not None for part in circuit.parts):
        return "vehicle"
    return "machine" if cylinders(circuit) else "vehicle"


def seconds(value: float) -> str:
    """A time to three figures or so: ``0.27 s``, ``12.3 s``, ``146 s``."""
    digits = 2 if value < 9.995 else 1 if value < 99.95 else 0
    return f"{value:.{digits}f} s"


def listed(words: Iterable[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def force_unit(pressure: str) -> str:
    """The unit of force that goes with one of pressure."""
    return "lbf" if pressure == "psi" else "kN"


def pressure_number(bar: float, unit: str) -> float:
    """Return a gauge pressure [bar] as a number in a unit."""
    return convert(bar * BAR, unit)
