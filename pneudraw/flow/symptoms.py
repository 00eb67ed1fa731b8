"""Symptoms of a fault: what can be observed in each condition, in words, held against the sound vehicle.

A word is only given for what was computed. Where it changes from one word to the next is written here, once:

========================  ===========================================================================================
air at an outlet          ``quiet``; ``puff``; ``faint`` (less than a fifth of the sound vehicle's flow); ``long``
                          (heard much longer than it should be, then over); ``steady`` (heard to the end)
needle of a reservoir     ``holds``; ``drops more``, ``drops less`` (at once); ``falls`` (1 psi/min more than sound);
                          ``falls fast`` (10 psi/min more, or lost before the watch begins); ``stays up``; building
                          up also ``slow``, ``never`` and ``over``
side of a brake           ``on``, ``off``, ``weak`` (less than 85 %), ``late``
warning, lamp             ``on``, ``off``; fanning down: ``normal``, ``low``, ``high``, ``never``
knob                      ``in``, ``out``; fanning down as a warning
piston of a machine       ``out``, ``in``, ``between``; its speed ``usual``, ``late``, ``fast`` (:mod:`.strokes`)
governor                  ``cuts out``, ``cuts in``, ``never``; fanning down as a warning
========================  ===========================================================================================

All thresholds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pneudraw.circuit.model import FaultSetting
from pneudraw.flow.conditions import Condition, Sound, watch
from pneudraw.flow.plumbing import Plumbing
from pneudraw.flow.run import Options
from pneudraw.flow.signs import HEARD, Air, Latch, Needle, Push, Signs, signs
from pneudraw.flow.strokes import POSITION, SPEED, speed, stand
from pneudraw.units import PSI

P = PSI / 1e5  # bar per psi
PUFF = 0.1  # dm3: less is not noticed
LONG = 3.0  # s: longer is no puff
LONGER = 1.5  # times as long as it should be
FAINT = 0.2  # share of the sound vehicle's flow
FALLS, FAST = 1.0 * P / 60, 10.0 * P / 60  # bar/s beyond the sound vehicle's
LOST = 10.0 * P  # bar beyond the sound vehicle's, lost before the watch begins
STEP, STEP_SHARE = (
    1.0 * P,
    0.05,
)  # bar (as a needle is read), and share of the sound drop, two drops must differ by
SLOW, BUILT = 1.25, 0.85  # times the time to reach this share of the sound vehicle's pressure
SLOW_BY = 5.0  # s, and at least that much later
OVER = 10.0 * P
OFF, WEAK = 0.05, 0.85  # shares of a brake's force
LATE, LATE_BY = 1.5, 0.3  # times, and s more
LEVEL = 5.0 * P  # bar that two readings of a needle must differ by

AIR, NEEDLE, SERVICE, SPRING, KNOB = "air", "needle", "service", "spring", "knob"


@dataclass(frozen=True)
class Observation:
    """One word: in the condition ``letter``, of ``what`` at ``place``; ``normal`` is the sound vehicle's word.

    ``what`` is ``air``, ``needle``, ``service`` or ``spring`` (side of a brake), ``knob``,
    ``position`` or ``speed`` (of a piston), or the purpose of a memory.
    """

    letter: str
    what: str
    place: str
    word: str
    normal: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What was looked at, where and when."""
        return self.letter, self.what, self.place

    @property
    def wrong(self) -> bool:
        """Whether it is not as on the sound vehicle."""
        return self.word != self.normal


@dataclass(frozen=True)
class Reference:
    """The sound vehicle's signs in each condition, and the full force of each side of each brake [N]."""

    vehicle: Sound
    signs: Mapping[str, Signs]
    full: Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Seen:
    """One condition with faults: what was observed, all of it, and the signs behind the words."""

    condition: Condition
    signs: Signs
    sound: Signs
    observations: tuple[Observation, ...]

    @property
    def wrong(self) -> tuple[Observation, ...]:
        """What is not as on the sound vehicle."""
        return tuple(o for o in self.observations if o.wrong)


@dataclass(frozen=True)
class Symptoms:
    """What some faults, put in together, do in every condition.

    ``doubtful``: words that come out otherwise at a tenth of the tolerance: they lie on a threshold, or the end state
    itself hangs in the balance. ``messages``: runs that could not be followed to their end.
    """

    faults: tuple[FaultSetting, ...]
    seen: tuple[Seen, ...]
    doubtful: tuple[Observation, ...] = ()

    @property
    def wrong(self) -> tuple[Observation, ...]:
        """Everything that is not as on the sound vehicle, in the order of the conditions."""
        return tuple(o for one in self.seen for o in one.wrong)

    @property
    def messages(self) -> tuple[str, ...]:
        """Which conditions could not be followed to their end."""
        return tuple(f"{one.condition.letter}: {one.signs.message}" for one in self.seen if one.signs.message)


def reference(vehicle: Sound, options: Options | None = None) -> Reference:
    """Watch the sound vehicle in every condition."""
    found = {c.letter: signs(watch(vehicle, c, (), options), c) for c in vehicle.conditions}
    full: dict[tuple[str, str], float] = {}
    for one in found.values():
        for push in one.pushes:
            key = push.place, push.side
            full[key] = max(full.get(key, 0.0), push.start, push.soon, push.end)
    return Reference(vehicle, found, full)


def symptoms(
    known: Reference,
    faults: tuple[FaultSetting, ...],
    letters: Sequence[str] = (),
    options: Options | None = None,
) -> Symptoms:
    """Return the symptoms of faults in the conditions of some letters (all if none is given)."""
    wanted = [c for c in known.vehicle.conditions if not letters or c.letter in letters]
    seen: list[Seen] = []
    like: Plumbing | None = None
    for condition in wanted:
        run = watch(known.vehicle, condition, faults, options, like)
        like = run.plumbing
        found, normal = signs(run, condition), known.signs[condition.letter]
        seen.append(Seen(condition, found, normal, tuple(observe(found, normal, known.full))))
    return Symptoms(faults, tuple(seen))


def doubts(coarse: Symptoms, fine: Symptoms) -> tuple[Observation, ...]:
    """Return the words of ``coarse`` that are others in ``fine``, which was computed at a tenth of the tolerance."""
    words = {o.key: o.word for one in fine.seen for o in one.observations}
    return tuple(o for one in coarse.seen for o in one.observations if words.get(o.key, o.normal) != o.word)


def symptoms_with_doubts(
    known: Reference,
    faults: tuple[FaultSetting, ...],
    letters: Sequence[str] = (),
    options: Options | None = None,
) -> Symptoms:
    """Return the symptoms, with what comes out otherwise at a tenth of the tolerance."""
    options = options or Options()
    first = symptoms(known, faults, letters, options)
    fine = replace(options, tolerance=options.tolerance / 10)
    # the sound vehicle's words stay those of the usual tolerance: only the faults' runs are in question
    return replace(first, doubtful=doubts(first, symptoms(known, faults, letters, fine)))


def observe(found: Signs, sound: Signs, full: Mapping[tuple[str, str], float]) -> Iterator[Observation]:
    """Put the signs of a run into words, beside those of the sound vehicle in the same condition."""
    letter = found.letter

    def say(what: str, place: str, word: str, normal: str) -> Observation:
        return Observation(letter, what, place, word, normal)

    here, there = {a.place: a for a in found.air}, {a.place: a for a in sound.air}
    for place in dict.fromkeys((*there, *here)):
        air, usual = here.get(place), there.get(place)
        normal = air_word(usual, None)
        word = normal if _alike(air, usual) else air_word(air, usual)
        if word != "quiet" or normal != "quiet":
            yield say(AIR, place, word, normal)
    for needle, usual_needle in zip(found.needles, sound.needles, strict=True):
        yield say(NEEDLE, needle.place, *needle_words(letter, needle, usual_needle))
    for push, usual_push in zip(found.pushes, sound.pushes, strict=True):
        words = push_words(push, usual_push, full[push.place, push.side])
        yield say(push.side, push.place, *words)
    for stroke, usual_stroke in zip(found.strokes, sound.strokes, strict=True):
        yield say(POSITION, stroke.place, stand(stroke.end), stand(usual_stroke.end))
        pace = speed(stroke, usual_stroke)
        if pace is not None:
            yield say(SPEED, stroke.place, pace, "usual")
    for latch, usual_latch in zip(found.latches, sound.latches, strict=True):
        yield say(latch.sort, latch.place, *latch_words(letter, latch, usual_latch))


def _alike(air: Air | None, usual: Air | None) -> bool:
    """Whether the ear could not tell them apart."""
    if air is None or usual is None:
        return air is usual
    if (air.rate > HEARD) != (usual.rate > HEARD):
        return False
    longer = air.heard > LONGER * usual.heard + LONG
    return not longer and usual.most > HEARD and air.most > FAINT * usual.most


def air_word(air: Air | None, usual: Air | None) -> str:
    """Say what is heard at an outlet; ``usual`` is what is heard there on the sound vehicle, if anything."""
    if air is None or (air.litres < PUFF and air.rate <= HEARD) or air.most <= HEARD:
        return "quiet"
    if air.rate > HEARD:
        return "steady"
    longest = LONG if usual is None else max(LONG, LONGER * usual.heard + LONG)
    if air.heard > longest:
        return "long"
    if usual is not None and usual.litres > PUFF and air.most < FAINT * usual.most:
        return "faint"
    return "puff"


def needle_words(letter: str, needle: Needle, usual: Needle) -> tuple[str, str]:
    """Say what a needle does, and what the sound vehicle's does."""
    if needle.times:
        return _building(needle, usual), "builds"
    if letter == "F":
        return ("stays up" if needle.read > usual.read + LOST else "falls"), "falls"
    extra_fall = needle.fall - usual.fall
    drop, usual_drop = needle.start - needle.settled, usual.start - usual.settled
    extra = drop - usual_drop
    word = "holds"
    if extra_fall >= FAST or (extra >= LOST and needle.settled < 0.6 * needle.start):
        word = "falls fast"
    elif extra_fall >= FALLS:
        word = "falls"
    elif needle.read > usual.read + LOST:
        word = "stays up"
    elif extra > STEP + STEP_SHARE * max(0.0, usual_drop):
        word = "drops more"
    elif extra < -(STEP + STEP_SHARE * max(0.0, usual_drop)):
        word = "drops less"
    return word, "holds"


def _building(needle: Needle, usual: Needle) -> str:
    level = BUILT * usual.read
    time, usual_time = _reaches(needle, level), _reaches(usual, level)
    if time is None or usual_time is None:
        return "never" if usual_time is not None else "builds"
    if needle.read > usual.read + OVER:
        return "over"
    return "slow" if time > SLOW * usual_time + SLOW_BY else "builds"


def _reaches(needle: Needle, level: float) -> float | None:
    values = np.array(needle.values)
    rows = np.nonzero(values >= level)[0]
    if len(rows) == 0:
        return None
    row = int(rows[0])
    if row == 0:
        return needle.times[0]
    p0, p1 = needle.values[row - 1], needle.values[row]
    t0, t1 = needle.times[row - 1], needle.times[row]
    return t0 + (t1 - t0) * (level - p0) / (p1 - p0)


def build_time(needle: Needle, usual: Needle) -> tuple[float | None, float | None]:
    """Return when a needle, and the sound vehicle's, reach 85 % of the latter's end [s]; None: never."""
    level = BUILT * usual.read
    return _reaches(needle, level), _reaches(usual, level)


def push_words(push: Push, usual: Push, full: float) -> tuple[str, str]:
    """Say how a side of a brake stands at the end, and how the sound vehicle's does."""
    normal = "on" if usual.end > OFF * full and full > 0 else "off"
    if push.end <= OFF * full or full <= 0:
        on = False
        word = "off"
    else:
        on = True
        word = "weak" if normal == "on" and push.end < WEAK * usual.end else "on"
    if on == (normal == "on") and word != "weak" and _late(push, usual, full):
        word = "late"
    return word, normal


def _late(push: Push, usual: Push, full: float) -> bool:
    if push.time is None or usual.time is None or abs(usual.end - usual.start) < OFF * full:
        return False
    return push.time > LATE * usual.time + LATE_BY


def latch_words(letter: str, latch: Latch, usual: Latch) -> tuple[str, str]:
    """Say what a warning, a knob or the governor does, and what the sound vehicle's does."""
    if letter == "F" and latch.sort != "stop-lamp":
        normal = "normal" if usual.time is not None else "never"
        if latch.time is None:
            return "never", normal
        if usual.time is None or latch.level is None or usual.level is None:
            return "normal", normal
        if abs(latch.level - usual.level) <= LEVEL:
            return "normal", normal
        return ("low" if latch.level < usual.level else "high"), normal
    if latch.sort == "governor":
        return _governor(latch), _governor(usual)
    names = ("out", "in") if latch.sort == KNOB else ("off", "on")
    word, normal = names[latch.end], names[usual.end]
    lamp = word == normal and latch.sort == "stop-lamp"
    if (
        lamp
        and latch.time is not None
        and usual.time is not None
        and latch.time > LATE * usual.time + LATE_BY
    ):
        word = "late"
    return word, normal


def _governor(latch: Latch) -> str:
    if latch.time is None:
        return "stays unloaded" if latch.end else "never cuts out"
    return "cuts out" if latch.end else "cuts in"
