"""The causes of a pressure as sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from pneudraw.flow.causes import (
    Because,
    Cause,
    Closed,
    Cut,
    FaultActs,
    Flipped,
    Holds,
    InputBecause,
    InputSet,
    InputStands,
    Kept,
    MemoryBecause,
    MemoryStands,
    Moved,
    NoPressure,
    Opened,
    PressureBecause,
    Shut,
    Stands,
    Vented,
    Way,
    Why,
)
from pneudraw.teach import naming
from pneudraw.teach.conditions import EVIDENT, Condition
from pneudraw.teach.speaking import Speaker


class CauseWords(Speaker):
    """Says causes."""

    def cause(self, cause: Cause, why: Why) -> str:
        """Return a cause as a sentence or two, the first letter small."""
        match cause:
            case Moved():
                return self._moved(cause, why)
            case Vented():
                return self._vented(cause)
            case Opened():
                return f"{self._turned(cause)}."
            case Closed():
                return f"{self._turned(cause)}{self._effect(cause)}"
            case Kept():
                return self._kept(cause)
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
                if cause.time:
                    return (
                        f"{self.place(cause.place)} stood at {self.pressure(cause.pressure)} {_at(cause.time)};"
                        " before that it had gone the other way."
                    )
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
                if cause.reason == "again":
                    return "before that it had gone round in the same way."
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
        stands = "is closed, as it was when the state began"
        if shut.since is not None:
            stands = f"has been closed since {_moment(shut.since)}"
        text = (
            f"no air came to {self.place(shut.place)}: {self.way(shut.way)} {stands}; ahead of it,"
            f" {self.place(shut.source.place)} stands at {self.pressure(shut.source.pressure)}."
        )
        if not shut.needs:
            return text
        condition = Condition(self, shut.way.part, shut.needs, shut.level)
        return f"{text} It opens when {condition.opens_when()}{condition.now()}."

    def _turned(self, turn: Opened | Closed) -> str:
        others = [r for r in turn.others if r.place not in self._mentioned(turn.because)]
        meanwhile = self.readings(others, turn.way.part)
        verb = "opened" if isinstance(turn, Opened) else "closed"
        return (
            f"{self.way(turn.way)} {verb} {_when(turn.time)}, because {self._because(turn.because, turn.way.part)}"
            f"{f', while {meanwhile}' if meanwhile else ''}"
        )

    def _effect(self, closed: Closed) -> str:
        match closed.effect:
            case "filled":
                return "; until then the air left there."
            case "drained":
                return "; until then air came that way."
            case "no-more-out":
                return ". So no more air went out."
            case _:
                if closed.beyond is None:
                    return ". So no more was pumped."
                stands = f"{self.place(closed.beyond.place, closed.way.part)} has"
                return f". So no more air came in, although {stands} {self.pressure(closed.beyond.pressure)}."

    def _kept(self, kept: Kept) -> str:
        then, now = kept.beyond
        how = "stayed closed" if kept.time is None else f"closed {_when(kept.time)}"
        text = (
            f"{self.way(kept.way)} {how}, as the pressure at {self.place(then.place, kept.way.part)} fell from"
            f" {self.pressure(then.pressure)} to {self.pressure(now.pressure)}"
        )
        if not kept.needs:
            return f"{text}."
        return f"{text}: it opens only when {Condition(self, kept.way.part, kept.needs, kept.level).opens_when()}."


def _when(time: float) -> str:
    """``at once``, ``after 0.018 s``: fine enough to show the order of things that follow closely."""
    if time < 0.0005:
        return "at once"
    if time < 0.1:
        return f"after {time:.3f} s"
    return f"after {time:.2f} s" if time < 100 else f"after {naming.seconds(time)}"


def _at(time: float) -> str:
    return "at the beginning" if time < 0.0005 else f"at {naming.seconds(time)}"


def _moment(time: float) -> str:
    """``the beginning``, ``0.018 s``."""
    return "the beginning" if time < 0.0005 else _when(time).removeprefix("after ")


def upper(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]
