"""A chain of causes in plain sentences, to be read aloud."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import fields, is_dataclass
from typing import Any, assert_never

from pneudraw.circuit.model import Circuit
from pneudraw.flow.causes import (
    Because,
    Cause,
    Cut,
    FaultActs,
    Flipped,
    Holds,
    InputBecause,
    InputSet,
    InputStands,
    MemoryBecause,
    MemoryStands,
    Moved,
    Need,
    NoPressure,
    Opened,
    PressureBecause,
    Reading,
    Shut,
    Stands,
    Vented,
    Way,
    Why,
)
from pneudraw.teach import naming
from pneudraw.teach.cautions import SHORT
from pneudraw.teach.telling import WIDTH, pressure_text

BAR_TO_KPA = 100.0
EVIDENT = 0.05  # bar: a smaller change is told without figures


def tell(circuit: Circuit, whys: Sequence[Why]) -> str:
    """Return the causes of one or more pressures as text: a heading, the sentences numbered, the cautions."""
    out: list[str] = []
    for why in whys:
        state = circuit.state(why.state)
        title = state.title if state is not None else why.state
        out += [f"{why.circuit}: {title} ({why.state})", headline(circuit, why), ""]
        for number, text in enumerate(sentences(circuit, why), start=1):
            lead = f"{number:4}. "
            out += textwrap.wrap(
                lead + text, WIDTH, subsequent_indent=" " * len(lead), break_on_hyphens=False
            )
        out.append("")
    return "\n".join([*out, *SHORT]) + "\n"


def headline(circuit: Circuit, why: Why) -> str:
    """Say what is to be explained."""
    words = _Words(circuit)
    place = words.place(why.place)
    first = why.causes[0] if why.causes else None
    if isinstance(first, Vented):
        return f"{'Why does' if first.litres else 'Does'} air leave at {place}?"
    return f"Why is {place} at {words.pressure(why.after)} at the end?"


def sentences(circuit: Circuit, why: Why) -> tuple[str, ...]:
    """Return a sentence (or two) for each cause, in the order of the chain: effects first, what began it last."""
    words = _Words(circuit)
    return tuple(_upper(text) for cause in why.causes for text in (words.cause(cause, why),) if text)


def to_dict(circuit: Circuit, whys: Sequence[Why]) -> dict[str, Any]:
    """Return chains as plain data: kPa gauge, seconds, litres of free air, each cause with its sentence."""
    words = _Words(circuit)
    return {
        "circuit": whys[0].circuit if whys else circuit.title,
        "state": whys[0].state if whys else "",
        "from": whys[0].start if whys else "",
        "places": [
            {
                "place": why.place,
                "start_kpa": round(why.before * BAR_TO_KPA, 2) + 0.0,
                "end_kpa": round(why.after * BAR_TO_KPA, 2) + 0.0,
                "causes": [
                    {"cause": _kind(cause), **_plain(cause), "text": _upper(words.cause(cause, why))}
                    for cause in why.causes
                ],
            }
            for why in whys
        ],
    }


#: which fields hold pressures [bar] and times [s]
_PRESSURES = {
    "Moved": ("before", "after", "standing"),
    "PressureBecause": ("before", "after"),
    "Reading": ("pressure",),
    "Stands": ("pressure",),
    "Holds": ("pressure",),
    "Shut": ("pressure",),
    "Flipped": ("level",),
}
_TIMES = ("begin", "felt", "time")


def _kind(value: object) -> str:
    """``moved``, ``input-set``: the name of a cause's class."""
    name = type(value).__name__
    return "".join(f"-{c.lower()}" if c.isupper() and i else c.lower() for i, c in enumerate(name))


def _plain(value: Any) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for field in fields(value):
        item = getattr(value, field.name)
        if field.name in _PRESSURES.get(type(value).__name__, ()):
            out[f"{field.name}_kpa"] = None if item is None else round(item * BAR_TO_KPA, 2) + 0.0
        elif field.name in _TIMES:
            out[f"{field.name}_s"] = round(item, 4)
        elif is_dataclass(item):
            kind = {"by": _kind(item).removesuffix("-because")} if "Because" in type(item).__name__ else {}
            out[field.name] = {**kind, **_plain(item)}
        elif isinstance(item, tuple):
            out[field.name] = [_plain(part) if is_dataclass(part) else part for part in item]
        else:
            out[field.name] = round(item, 6) if isinstance(item, float) else item
    return out


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


class _Words:
    """Says causes in the unit and with the names of one circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit

    def pressure(self, bar: float) -> str:
        return pressure_text(bar, self.circuit.unit)

    def place(self, place: str, near: str = "") -> str:
        return naming.place_name(self.circuit, place, near)

    def part(self, tag: str) -> str:
        return naming.part_name(self.circuit, tag)

    def way(self, way: Way) -> str:
        part = self.circuit.part(way.part)
        if part is None:
            return f"{self.part(way.part)} between {way.start} and {way.end}"
        start, end = (naming.end_name(part, end) for end in (way.start, way.end))
        return f"the way from {start} to {end} of {self.part(way.part)}"

    def cause(self, cause: Cause, why: Why) -> str:
        match cause:
            case Moved():
                return self._moved(cause, why)
            case Vented():
                return self._vented(cause)
            case Opened():
                others = [r for r in cause.others if r.place not in self._mentioned(cause.because)]
                meanwhile = self._readings(others, cause.way.part)
                because = self._because(cause.because, cause.way.part)
                return (
                    f"{self.way(cause.way)} opened {_when(cause.time)}, because {because}"
                    f"{f', while {meanwhile}' if meanwhile else ''}."
                )
            case Flipped():
                return self._flipped(cause)
            case InputSet():
                inp = naming.input_of(self.circuit, cause.part, cause.input)
                return (
                    f"the {inp.title} of {self.part(cause.part)} was set to"
                    f" {naming.value_words(inp, cause.value)} {_at(cause.time)}. That is where it begins."
                )
            case InputStands():
                inp = naming.input_of(self.circuit, cause.part, cause.input)
                return (
                    f"the {inp.title} of {self.part(cause.part)} is at {naming.value_words(inp, cause.value)},"
                    " as it was when the state began."
                )
            case MemoryStands():
                words = naming.stand_words(self.circuit, cause.part, cause.memory, cause.value)
                by_hand = naming.memory_of(self.circuit, cause.part, cause.memory).input is not None
                return f"{words}: so it was when the state began{'' if by_hand else self._before(why)}."
            case FaultActs():
                return f"a fault was put in: {naming.fault_words(self.circuit, cause.target, cause.fault)}."
            case Stands():
                return (
                    f"{self.place(cause.place)} stood at {self.pressure(cause.pressure)} when the state"
                    f" began{self._before(why)}."
                )
            case Holds():
                return self._holds(cause, why)
            case Shut():
                return self._shut(cause)
            case NoPressure():
                nearest = f"; the nearest reservoir is {self.place(cause.nearest)}" if cause.nearest else ""
                return f"no pressure stands on any way to {self.place(cause.place)}{nearest}."
            case Cut():
                if cause.reason == "loop":
                    return "here the telling comes back to where it was before."
                return "the chain goes on, but it is long enough."
            case _:
                assert_never(cause)

    def _before(self, why: Why) -> str:
        return "" if why.start == "empty" else f" (ask about `{why.start}`, which this state starts from)"

    def _moved(self, moved: Moved, why: Why) -> str:
        place = self.place(moved.place)
        figures = ""
        if abs(moved.after - moved.before) > EVIDENT:
            figures = f" from {self.pressure(moved.before)} to {self.pressure(moved.after)}"
        if moved.by < why.duration - 1e-6:
            verb = "had risen" if moved.rising else "had fallen"
            text = f"by then the pressure at {place} {verb}{figures} (felt there {_when(moved.felt)})"
        else:
            verb = "rose" if moved.rising else "fell"
            text = f"the pressure at {place} {verb}{figures} (felt there {_when(moved.felt)})"
        through = self._through(moved)
        if moved.rising:
            source = self._source(moved)
            return f"{text}. Its air came {source}{through}."
        if moved.other == "atmosphere":
            return f"{text}. Its air went to the open{through}."
        return f"{text}. Its air went to {self.place(moved.other)}{through}."

    def _vented(self, vented: Vented) -> str:
        if not vented.litres:
            return f"no air leaves at {self.place(vented.place)} in this state."
        text = f"{self.place(vented.place)} lets out {vented.litres:.1f} L of free air"
        if vented.other in ("atmosphere", vented.place):
            return f"{text}."
        stops = [stop for stop in self._stops(vented.ways) if stop[0] != naming.split(vented.other)[0]]
        through = ", then ".join(self._stop(*stop) for stop in stops)
        return f"{text}; it came from {self.place(vented.other)}{f', through {through}' if through else ''}."

    def _source(self, moved: Moved) -> str:
        if moved.other == "atmosphere":
            return "from the open air"
        if moved.other == moved.place:
            return "from nearby"
        return f"from {self.place(moved.other)}, which then stood at {self.pressure(moved.standing)}"

    def _through(self, moved: Moved) -> str:
        """The parts on the way; its two ends are not said again."""
        mine = {naming.split(moved.place)[0]}
        if moved.other != "atmosphere":
            mine.add(naming.split(moved.other)[0])
        stops = self._stops(moved.ways)
        last = len(stops) - 1
        words = []
        for index, (tag, start, end) in enumerate(stops):
            if tag in mine and end != "atmosphere" and not (index == last and not moved.rising):
                continue
            words.append(self._stop(tag, start, end))
        return f", through {', then '.join(words)}" if words else ""

    def _stops(self, ways: Sequence[Way]) -> list[tuple[str, str, str]]:
        """Each part on a way once, with where it is entered and left."""
        stops: list[tuple[str, str, str]] = []
        for way in ways:
            if stops and stops[-1][0] == way.part:
                stops[-1] = (way.part, stops[-1][1], way.end)
            else:
                stops.append((way.part, way.start, way.end))
        return stops

    def _stop(self, tag: str, start: str, end: str) -> str:
        part = self.circuit.part(tag)
        if part is None:
            return f"the break of {self.part(tag)}" if end == "atmosphere" else self.part(tag)
        if start == "atmosphere":
            return f"{self.part(tag)} in at {naming.end_name(part, end)}"
        return f"{self.part(tag)} {naming.end_name(part, start)} to {naming.end_name(part, end)}"

    def _because(self, because: Because, near: str) -> str:
        match because:
            case PressureBecause():
                place = self.place(because.place, near)
                verb = "rose" if because.rising else "fell"
                if abs(because.after - because.before) <= EVIDENT:
                    return f"the pressure at {place} began to {'rise' if because.rising else 'fall'}"
                return (
                    f"the pressure at {place} {verb} from {self.pressure(because.before)}"
                    f" to {self.pressure(because.after)}"
                )
            case InputBecause():
                inp = naming.input_of(self.circuit, because.part, because.input)
                return f"its {inp.title} {self._input_move(because)}"
            case MemoryBecause():
                return naming.stand_words(self.circuit, because.part, because.memory, because.value, near)
            case _:
                assert_never(because)

    def _input_move(self, because: InputBecause) -> str:
        inp = naming.input_of(self.circuit, because.part, because.input)
        before, after = (naming.value_words(inp, v) for v in (because.before, because.after))
        return f"went from {before} to {after}"

    def _mentioned(self, because: Because) -> tuple[str, ...]:
        return (because.place,) if isinstance(because, PressureBecause) else ()

    def _readings(self, readings: Sequence[Reading], near: str) -> str:
        return naming.listed(
            f"{self.place(r.place, near)} was at {self.pressure(r.pressure)}" for r in readings
        )

    def _flipped(self, flipped: Flipped) -> str:
        words = naming.turn_words(self.circuit, flipped.part, flipped.memory, flipped.value)
        if flipped.level is None:
            return f"{words} {_when(flipped.time)}."
        place = self.place(flipped.place, flipped.part)
        return (
            f"{words} {_when(flipped.time)}: the pressure at {place} passed {self.pressure(flipped.level)}."
        )

    def _holds(self, holds: Holds, why: Why) -> str:
        text = f"{self.place(holds.place)} holds {self.pressure(holds.pressure)} from the beginning{self._before(why)}."
        if holds.shut:
            verb = "is" if len(holds.shut) == 1 else "are"
            ways = naming.listed(self.way(way) for way in holds.shut)
            text += f" Nothing lets it out: {ways} {verb} closed."
        return text

    def _shut(self, shut: Shut) -> str:
        text = (
            f"no air came to {self.place(shut.place)}: {self.way(shut.way)} is closed; ahead of it,"
            f" {self.place(shut.source.place)} stands at {self.pressure(shut.source.pressure)}."
        )
        if not shut.needs:
            return text
        return f"{text} It opens when {self._condition(shut)}{self._now(shut)}."

    def _condition(self, shut: Shut) -> str:
        """What a closed passage waits for, in words: one input or memory, one pressure, or one above another."""
        tag = shut.way.part
        worked = [self._worked(tag, need) for need in shut.needs if need.sort != "pressure"]
        pressures = [need for need in shut.needs if need.sort == "pressure"]
        up = [need for need in pressures if need.weight > 0]
        down = [need for need in pressures if need.weight < 0]
        if worked:
            text = naming.listed(worked)
            return f"{text} more than {self._names(down, tag)} holds against it" if down else text
        if len(up) == 1 and not down:
            return f"the pressure at {self._names(up, tag)} rises above {self.pressure(shut.level / up[0].weight)}"
        if len(down) == 1 and not up:
            return f"the pressure at {self._names(down, tag)} falls below {self.pressure(shut.level / down[0].weight)}"
        if len(up) == 1 and len(down) == 1 and abs(up[0].weight + down[0].weight) < 1e-9:
            by = shut.level / up[0].weight
            above = (
                "is higher than that" if abs(by) < EVIDENT else f"is more than {self.pressure(by)} above that"
            )
            if by < -EVIDENT:
                above = f"is no more than {self.pressure(-by)} below that"
            return f"the pressure at {self._names(up, tag)} {above} at {self._names(down, tag)}"
        return (
            f"the pressure at {self._names(up, tag)} outweighs that at {self._names(down, tag)}"
            if up and down
            else f"the pressures at {self._names(pressures, tag)} change"
        )

    def _worked(self, tag: str, need: Need) -> str:
        if need.sort == "input":
            inp = naming.input_of(self.circuit, tag, need.name)
            if inp.positions:
                return f"its {inp.title} is {naming.value_words(inp, 1.0 if need.weight > 0 else 0.0)}"
            return f"its {inp.title} asks for"
        return naming.stand_words(self.circuit, tag, need.name, 1 if need.weight > 0 else 0, tag)

    def _names(self, needs: Iterable[Need], near: str) -> str:
        return naming.listed(self.place(need.name, near) for need in needs)

    def _now(self, shut: Shut) -> str:
        """How things stand, behind the condition."""
        return "".join(
            f"; {text}" for text in (naming.listed(self._stand(shut, n) for n in shut.needs),) if text
        )

    def _stand(self, shut: Shut, need: Need) -> str:
        tag = shut.way.part
        if need.sort == "pressure":
            return f"{self.place(need.name, tag)} is at {self.pressure(need.value)}"
        if need.sort == "input":
            inp = naming.input_of(self.circuit, tag, need.name)
            return f"its {inp.title} is at {naming.value_words(inp, need.value)}"
        return naming.stand_words(self.circuit, tag, need.name, round(need.value), tag)


def _when(time: float) -> str:
    """``at once``, ``after 0.018 s``: fine enough to show the order of things that follow closely."""
    if time < 0.0005:
        return "at once"
    if time < 0.1:
        return f"after {time:.3f} s"
    return f"after {time:.2f} s" if time < 100 else f"after {naming.seconds(time)}"


def _at(time: float) -> str:
    return "at the beginning" if time < 0.0005 else f"at {naming.seconds(time)}"
