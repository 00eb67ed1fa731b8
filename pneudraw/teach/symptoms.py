"""Symptoms as an instructor tells them: condition by condition, always beside the sound vehicle; and as plain data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.conditions import SHUT_OFF, TABLE
from pneudraw.flow.signs import Air, Latch, Needle, Push
from pneudraw.flow.strokes import MOVED, POSITION, SPEED, Stroke
from pneudraw.flow.symptoms import AIR, KNOB, NEEDLE, Observation, Seen, Symptoms, build_time
from pneudraw.library.model import Place
from pneudraw.teach.naming import (
    fault_words,
    force_unit,
    listed,
    memory_of,
    part_name,
    place_name,
    pressure_number,
    seconds,
    subject,
)
from pneudraw.teach.telling import pressure_text
from pneudraw.units import LBF

WIDTH = 96
LINE = "line:"

_AIR = {
    "quiet": "no air",
    "puff": "a puff of air",
    "faint": "only a faint puff of air",
    "long": "air for a long while, then no more",
    "steady": "air all the time",
}


def outlet_name(circuit: Circuit, place: str) -> str:
    """``port 3 of Rear relay valve (relay)``, ``the break in line hold``."""
    if place.startswith(LINE):
        return f"the hole in {line_name(circuit, place.removeprefix(LINE))}"
    return place_name(circuit, place)


def line_name(circuit: Circuit, tag: str) -> str:
    """``line L7 (wet.2, cv1.1)``: a line's number tells nobody where it is."""
    line = next((line for line in circuit.lines if line.tag == tag), None)
    return f"line {tag}" if line is None else f"line {tag} ({', '.join(end.name for end in line.ends)})"


def needle_name(circuit: Circuit, place: str) -> str:
    """``Primary reservoir (prim)``; a gauge's needle is ``needle 11 of Dash gauge (dash)``."""
    if circuit.part(place) is not None:
        return part_name(circuit, place)
    tag, _, port = place.rpartition(".")
    return f"needle {port} of {part_name(circuit, tag)}"


def tell_symptoms(circuit: Circuit, symptoms: Symptoms) -> str:
    """Return the symptoms as text: what is otherwise than on the sound vehicle, condition by condition."""
    title = circuit.title or circuit.name
    out = [f"{title}: what a fault does", ""]
    for setting in symptoms.faults:
        out += _wrapped(
            f"{fault_words(circuit, setting.target, setting.fault)[:1].upper()}"
            f"{fault_words(circuit, setting.target, setting.fault)[1:]}."
        )
    out.append("")
    same: list[str] = []
    for seen in symptoms.seen:
        if not seen.wrong:
            same.append(seen.condition.letter)
            continue
        out.append(f"{seen.condition.letter}  {seen.condition.title}")
        out += _wrapped(seen.condition.text, "   ")
        out += [row for text in sentences(circuit, seen) for row in _wrapped(text, "   - ")]
        out.append("")
    if same:
        out += [*_wrapped(f"As on a sound {subject(circuit)} in: {', '.join(same)}."), ""]
    out += _rates(circuit, symptoms)
    vain = innocent(circuit, symptoms)
    if vain:
        out.append("Good parts that are often changed in vain")
        out += [row for text in vain for row in _wrapped(text, "   - ")]
        out.append("")
    if symptoms.doubtful:
        out.append("Not certain: these come out otherwise when computed ten times as finely")
        out += [
            row for o in symptoms.doubtful for row in _wrapped(f"{o.letter}: {say(circuit, o)}.", "   - ")
        ]
        out.append("")
    out += [f"Not followed to its end: {message}" for message in symptoms.messages]
    return "\n".join([*out, *CAUTIONS]) + "\n"


def _wrapped(text: str, lead: str = "") -> list[str]:
    return textwrap.wrap(lead + text, WIDTH, subsequent_indent=" " * len(lead), break_on_hyphens=False)


def sentences(circuit: Circuit, seen: Seen) -> Iterator[str]:
    """Yield a sentence for each thing that is not as on the sound vehicle, with its numbers."""
    needles = {n.place: n for n in seen.signs.needles}
    usual = {n.place: n for n in seen.sound.needles}
    for o in seen.wrong:
        if o.what == AIR:
            yield _air(circuit, o, {a.place: a for a in seen.signs.air}.get(o.place))
        elif o.what == NEEDLE:
            if circuit.part(o.place) is not None or _differs(
                circuit, o, seen
            ):  # a gauge's needle only repeats its reservoir
                yield _needle(circuit, o, needles[o.place], usual[o.place], seen)
        elif o.what in (POSITION, SPEED):
            strokes = {s.place: s for s in seen.signs.strokes}
            yield _stroke(circuit, o, strokes[o.place], {s.place: s for s in seen.sound.strokes}[o.place])
        elif o.what in ("service", "spring"):
            pushes = {(p.place, p.side): p for p in seen.signs.pushes}
            others = {(p.place, p.side): p for p in seen.sound.pushes}
            yield _push(circuit, o, pushes[o.place, o.what], others[o.place, o.what])
        else:
            latch = next(m for m in seen.signs.latches if m.place == o.place and m.sort == o.what)
            yield _latch(circuit, o, latch)


def _differs(circuit: Circuit, o: Observation, seen: Seen) -> bool:
    """Whether a needle does what no reservoir does: two of them may have been exchanged."""
    words = {
        other.word for other in seen.wrong if other.what == NEEDLE and circuit.part(other.place) is not None
    }
    return o.word not in words


def _air(circuit: Circuit, o: Observation, air: Air | None) -> str:
    place = outlet_name(circuit, o.place)
    text = f"{_AIR[o.word].capitalize()} at {place}"
    if o.word in ("steady", "long") and air is not None:
        text += f": at most {_flow(air.most)}"
        text += (
            f", {_flow(air.rate)} at the end" if o.word == "steady" else f", heard for {seconds(air.heard)}"
        )
    if o.normal != "quiet":
        text += f" (sound: {_AIR[o.normal]})"
    return text + "."


def _flow(rate: float) -> str:
    return f"{rate:.1f} L/s" if rate >= 1 else f"{rate:.2f} L/s"


def _needle(circuit: Circuit, o: Observation, needle: Needle, usual: Needle, seen: Seen) -> str:
    unit = circuit.unit
    name = needle_name(circuit, o.place)
    name = name[:1].upper() + name[1:]
    if needle.times:
        time, sound_time = build_time(needle, usual)
        level = pressure_text(0.85 * usual.read, unit)
        if time is None:
            end = pressure_text(needle.read, unit)
            return (
                f"{name} never reaches {level}: it ends at {end} (sound: {pressure_text(usual.read, unit)})."
            )
        if o.word == "over":
            end = pressure_text(needle.read, unit)
            return f"{name} climbs to {end} (sound: {pressure_text(usual.read, unit)})."
        assert sound_time is not None
        return f"{name} takes {seconds(time)} to {level} (sound: {seconds(sound_time)})."
    start, settled, read = (pressure_text(p, unit) for p in (needle.start, needle.settled, needle.read))
    if o.word in ("falls", "falls fast"):
        rate = rate_text(needle.fall, unit)
        lost = (
            f" {start} to {settled} before it is watched, then" if needle.start - needle.settled > 0.1 else ""
        )
        return f"{name} {o.word}:{lost} {settled} to {read}, {rate} (sound: {rate_text(usual.fall, unit)})."
    expected = pressure_text(usual.read, unit)
    return f"{name} {o.word}: from {start} to {read} (sound: to {expected})."


def rate_text(fall: float, unit: str) -> str:
    """Return a fall [bar/s] as a rate a person reads off a gauge: ``12 psi/min``."""
    number = pressure_number(fall * 60, unit)
    digits = {"psi": 0 if abs(number) >= 10 else 1, "kPa": 0}.get(unit, 2)
    text = f"{number:.{digits}f}"
    return f"{text.removeprefix('-') if float(text) == 0 else text} {unit}/min"


def _push(circuit: Circuit, o: Observation, push: Push, usual: Push) -> str:
    name = part_name(circuit, o.place)
    side = {"service": "service brake", "spring": "spring"}[o.what]
    now, then = (force_text(p.end, circuit.unit) for p in (push, usual))
    if o.word == "late":
        assert push.time is not None
        assert usual.time is not None
        verb = "acts" if o.normal == "on" else "lets go"
        return f"The {side} of {name} {verb} late: {seconds(push.time)} (sound: {seconds(usual.time)})."
    return f"The {side} of {name} is {o.word}: {now} (sound: {then})."


_STANDS = {"out": "is out", "in": "is in", "between": "stands in between"}


def _stroke(circuit: Circuit, o: Observation, stroke: Stroke, usual: Stroke) -> str:
    name = part_name(circuit, o.place)
    if o.what == SPEED:
        assert stroke.time is not None
        assert usual.time is not None
        word = "slow" if o.word == "late" else "too fast"
        return f"{name} is {word}: it takes {seconds(stroke.time)} (sound: {seconds(usual.time)})."
    where = (
        f", {stroke.end * stroke.length * 1e3:.0f} of {stroke.length * 1e3:.0f} mm"
        if o.word == "between"
        else ""
    )
    how = (
        " and does not move" if abs(stroke.end - stroke.start) < MOVED <= abs(usual.end - usual.start) else ""
    )
    return f"{name} {_STANDS[o.word]}{where}{how} (sound: {o.normal})."


def force_text(force: float, unit: str) -> str:
    """Return a force [N] in the unit that goes with the circuit's pressures."""
    return f"{force / LBF:.0f} lbf" if force_unit(unit) == "lbf" else f"{force / 1e3:.2f} kN"


def _latch(circuit: Circuit, o: Observation, latch: Latch) -> str:
    name = part_name(circuit, o.place)
    at = "" if latch.level is None else f" at {pressure_text(latch.level, circuit.unit)}"
    if o.word in ("low", "high", "never", "normal"):
        what = _thing(circuit, latch)
        how = {"never": "never acts", "normal": f"acts{at}"}.get(o.word, f"acts too {o.word},{at}")
        return f"{what} of {name} {how}."
    if o.what == "governor":
        return f"{name}: {o.word}{at if latch.time is not None else ''} (sound: {o.normal})."
    what = _thing(circuit, latch)
    when = "" if latch.time is None else f" since {seconds(latch.time)}"
    return f"{what} of {name} is {o.word}{when} (sound: {o.normal})."


def _thing(circuit: Circuit, latch: Latch) -> str:
    if latch.sort == KNOB:
        memory = memory_of(circuit, latch.place, latch.name)
        part = circuit.part(latch.place)
        assert part is not None
        title = next((i.title for i in part.kind.inputs if i.name == memory.input), "knob")
        return f"The {title}"
    return {
        "warning": "The low-pressure warning",
        "stop-lamp": "The stop lamp",
        "governor": "The signal",
    }.get(latch.sort, f"The {latch.sort}")


def say(circuit: Circuit, o: Observation) -> str:
    """Say one observation without numbers: ``air all the time at port 3 of Rear relay valve (relay)``."""
    if o.what == AIR:
        return f"{_AIR[o.word]} at {outlet_name(circuit, o.place)}"
    if o.what == NEEDLE:
        return f"{needle_name(circuit, o.place)} {o.word}"
    if o.what in ("service", "spring"):
        return f"{'service brake' if o.what == 'service' else 'spring'} of {part_name(circuit, o.place)} {o.word}"
    if o.what in (POSITION, SPEED):
        word = {**_STANDS, "late": "is slow", "fast": "is too fast", "usual": "is as fast as usual"}[o.word]
        return f"{part_name(circuit, o.place)} {word}"
    return f"{o.what.replace('-', ' ')} {part_name(circuit, o.place)} {o.word}"


def _rates(circuit: Circuit, symptoms: Symptoms) -> list[str]:
    """A table: how fast each reservoir falls in the conditions of the fault tables, engine stopped."""
    machine = subject(circuit) == "machine"
    columns = [seen for seen in symptoms.seen if seen.condition.letter in (SHUT_OFF if machine else TABLE)]
    stores = [p.tag for p in circuit.parts if p.kind.place is Place.STORAGE]
    rows = []
    for tag in stores:
        cells = []
        for seen in columns:
            needle = next((n for n in seen.signs.needles if n.place == tag), None)
            cells.append("" if needle is None else rate_text(needle.fall, circuit.unit).partition(" ")[0])
        rows.append([tag, *cells])
    if not rows or not columns or not any(seen.wrong for seen in columns):
        return []
    head = ["", *(seen.condition.letter for seen in columns)]
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    lines = [
        "   "
        + "  ".join(
            cell.ljust(w) if i == 0 else cell.rjust(w)
            for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        for row in [head, *rows]
    ]
    how = "supply shut off" if machine else "engine stopped"
    return [f"Reservoirs, fall in {circuit.unit}/min, {how}", *(line.rstrip() for line in lines), ""]


def owner_of(place: str) -> str:
    """Return the part an outlet belongs to; empty for the hole in a line."""
    return (
        ""
        if place.startswith(LINE)
        else place.partition("/")[0].rpartition(".")[0] or place.partition("/")[0]
    )


def blowing(wrong: Iterable[Observation], guilty: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Return the sound parts that let air out for long, with the letters of the conditions.

    Looked at in the conditions of the fault tables: there nothing but the fault makes air come out for long.
    """
    barred = set(guilty)
    found: dict[str, list[str]] = {}
    for o in wrong:
        if o.what == AIR and o.word in ("steady", "long") and o.letter in TABLE:
            owner = owner_of(o.place)
            if owner and owner not in barred:
                found.setdefault(owner, []).append(o.letter)
    return {owner: tuple(dict.fromkeys(letters)) for owner, letters in found.items()}


def innocent(circuit: Circuit, symptoms: Symptoms) -> tuple[str, ...]:
    """Return a sentence for each part that lets air out although it is sound: it only passes on what comes to it."""
    found = blowing(symptoms.wrong, (setting.target for setting in symptoms.faults))
    names = listed(fault_words(circuit, s.target, s.fault) for s in symptoms.faults)
    return tuple(
        f"{part_name(circuit, owner)} blows in {', '.join(letters)}, but is good: the cause is {names}."
        for owner, letters in found.items()
    )


# --- as plain data ----------------------------------------------------------------------------------


def to_dict(circuit: Circuit, symptoms: Symptoms) -> dict[str, Any]:
    """Return the symptoms as plain data: kPa, kPa/min, L of free air, L/s, N, s."""
    return {
        "circuit": circuit.title,
        "faults": [
            {
                "target": s.target,
                "fault": s.fault,
                "bore_mm": None if s.size is None else round(s.size * 1e3, 3),
                "words": fault_words(circuit, s.target, s.fault),
            }
            for s in symptoms.faults
        ],
        "conditions": [_seen_dict(circuit, seen) for seen in symptoms.seen],
        "doubtful": [observation_dict(o) for o in symptoms.doubtful],
        "changed_in_vain": list(innocent(circuit, symptoms)),
        "messages": list(symptoms.messages),
    }


def observation_dict(o: Observation) -> dict[str, str]:
    """Return an observation as plain data."""
    return {"condition": o.letter, "what": o.what, "place": o.place, "word": o.word, "sound": o.normal}


def _seen_dict(circuit: Circuit, seen: Seen) -> dict[str, Any]:
    usual = {n.place: n for n in seen.sound.needles}
    return {
        "condition": seen.condition.letter,
        "title": seen.condition.title,
        "text": seen.condition.text,
        "wrong": [observation_dict(o) for o in seen.wrong],
        "words": list(sentences(circuit, seen)),
        "air": [
            {
                "place": a.place,
                "litres": _round(a.litres, 3),
                "heard_s": _round(a.heard, 2),
                "end_litres_per_s": _round(a.rate, 4),
            }
            for a in seen.signs.air
        ],
        "gauges": [
            {
                "place": n.place,
                "start_kpa": _round(n.start * 100, 1),
                "settled_kpa": _round(n.settled * 100, 1),
                "end_kpa": _round(n.read * 100, 1),
                "fall_kpa_per_min": _round(n.fall * 6000, 2),
                "sound_fall_kpa_per_min": _round(usual[n.place].fall * 6000, 2),
            }
            for n in seen.signs.needles
        ],
        "brakes": [
            {
                "part": p.place,
                "side": p.side,
                "start_n": _round(p.start, 0),
                "end_n": _round(p.end, 0),
                "sound_end_n": _round(u.end, 0),
                "time_s": None if p.time is None else _round(p.time, 3),
            }
            for p, u in zip(seen.signs.pushes, seen.sound.pushes, strict=True)
        ],
        "cylinders": [
            {
                "part": s.place,
                "start_mm": _round(s.start * s.length * 1e3, 1),
                "end_mm": _round(s.end * s.length * 1e3, 1),
                "sound_end_mm": _round(u.end * u.length * 1e3, 1),
                "time_s": None if s.time is None else _round(s.time, 3),
                "sound_time_s": None if u.time is None else _round(u.time, 3),
            }
            for s, u in zip(seen.signs.strokes, seen.sound.strokes, strict=True)
        ],
    }


def _round(value: float, digits: int) -> float:
    return round(value, digits) + 0.0


def tell_list(circuit: Circuit, faults: Iterable[Any]) -> str:
    """Return the faults that can be put into a circuit as text, gathered by part and line."""
    out = [f"{circuit.title or circuit.name}: faults that can be put in", ""]
    owner = None
    for fault in faults:
        target = fault.setting.target
        if target != owner:
            owner = target
            out.append(line_name(circuit, target) if fault.on_line else part_name(circuit, target))
        out.append(f"   {fault.name:36} {fault.title}")
    return "\n".join(out) + "\n"
