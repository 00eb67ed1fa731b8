"""Fault finding: all faults against all observations, what remains possible, and which question to ask next.

A *question* is answered yes or no: "held down (S), does air come at relay.3?". It separates the faults that would give
yes from those that would give no. All faults that remain count alike, so that its gain is the entropy of the split::

    gain = H(n_yes / n) = -sum p log2 p     [bit]

Of questions that separate equally well (to a twentieth of a bit), the one with least effort is asked: listening and
looking before draining and uncoupling. Undoing a fitting is never asked for.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from pneudraw.diagnostics import did_you_mean
from pneudraw.flow.conditions import Condition, prepare
from pneudraw.flow.faults import PossibleFault
from pneudraw.flow.gauges import gauge_places
from pneudraw.flow.many import each
from pneudraw.flow.run import Options
from pneudraw.flow.strokes import POSITION, SPEED
from pneudraw.flow.symptoms import AIR, NEEDLE, Observation, Reference, symptoms, symptoms_with_doubts
from pneudraw.library.model import Place

Key = tuple[str, str, str]
Answers = tuple[tuple["Question", bool], ...]

#: words a person may use -> the words of :mod:`pneudraw.flow.symptoms` that count as that, by what is looked at
GROUPS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    AIR: {
        "blows": ("steady", "long"),
        "puff": ("puff",),
        "faint": ("faint",),
        "quiet": ("quiet",),
        "steady": ("steady",),
    },
    NEEDLE: {
        "falls": ("falls", "falls fast"),
        "fast": ("falls fast",),
        "holds": ("holds", "builds"),
        "builds": ("builds",),
        "slow": ("slow",),
        "never": ("never",),
        "over": ("over",),
        "more": ("drops more",),
        "less": ("drops less",),
        "stays": ("stays up",),
    },
    "service": {"on": ("on",), "off": ("off",), "weak": ("weak",), "late": ("late",)},
    "spring": {"on": ("on",), "off": ("off",), "weak": ("weak",), "late": ("late",)},
    POSITION: {word: (word,) for word in ("out", "in", "between")},
    SPEED: {word: (word,) for word in ("late", "fast")},
    "warning": {
        "on": ("on",),
        "off": ("off",),
        "low": ("low",),
        "high": ("high",),
        "never": ("never",),
        "normal": ("normal",),
    },
    "stop-lamp": {"on": ("on",), "off": ("off",), "late": ("late",)},
    "knob": {
        "in": ("in",),
        "out": ("out",),
        "low": ("low",),
        "high": ("high",),
        "never": ("never",),
        "normal": ("normal",),
    },
    "governor": {
        "out": ("cuts out", "stays unloaded"),
        "in": ("cuts in",),
        "unloaded": ("stays unloaded",),
        "never": ("never cuts out", "never"),
        "low": ("low",),
        "high": ("high",),
        "normal": ("normal",),
    },
}

#: points of effort of looking at a thing, on top of the condition's own
EFFORT = {
    AIR: 0,
    "warning": 0,
    "stop-lamp": 0,
    "knob": 0,
    NEEDLE: 0,
    "governor": 1,
    "service": 1,
    "spring": 1,
    POSITION: 0,
    SPEED: 0,
}
TIMING = 1  # more for a stop watch
MISSED = 1  # more for what comes once and is easily missed
EQUAL = 0.05  # bit: gains nearer to the best than this count as equal to it
TEST_GAUGE = 2  # more for a reservoir without a needle on the dash


@dataclass(frozen=True)
class Question:
    """Whether an observation is among some words. ``word`` is the person's: ``R:relay.3=blows``."""

    key: Key
    word: str

    def __str__(self) -> str:
        letter, what, place = self.key
        side = "/" + what if what in ("service", "spring") else ""
        return f"{letter}:{place}{side}={self.word}"


@dataclass(frozen=True)
class Row:
    """One fault and everything of it that is not as on the sound vehicle.

    ``doubtful``: words that come out otherwise at a tenth of the tolerance, if that was computed.
    """

    fault: PossibleFault
    wrong: tuple[Observation, ...]
    messages: tuple[str, ...] = ()
    doubtful: tuple[Observation, ...] = ()


@dataclass(frozen=True)
class Table:
    """Faults against observations. ``normal`` holds the sound vehicle's word of every observation made."""

    conditions: tuple[Condition, ...]
    normal: Mapping[Key, str]
    rows: tuple[Row, ...]
    test_gauge: frozenset[str] = frozenset()  # reservoirs without a needle

    def word(self, row: Row, key: Key) -> str:
        """Return what a fault does to an observation: its own word, or the sound vehicle's."""
        return next((o.word for o in row.wrong if o.key == key), self.normal[key])


def table(
    known: Reference,
    faults: Sequence[PossibleFault],
    letters: Sequence[str] = (),
    options: Options | None = None,
    processes: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    twice: bool = False,
) -> Table:
    """Compute the table of faults in some conditions (all if no letter is given).

    ``twice``: compute each again at a tenth of the tolerance, and note the words that change.
    """
    look = symptoms_with_doubts if twice else symptoms

    def work(
        fault: PossibleFault,
    ) -> tuple[tuple[Observation, ...], tuple[str, ...], tuple[Observation, ...]]:
        found = look(known, (fault.setting,), letters, options)
        return found.wrong, found.messages, found.doubtful

    prepare(known.vehicle, len(faults) * len(known.vehicle.conditions), options)
    done = each(work, faults, processes, progress)
    rows = tuple(Row(fault, *found) for fault, found in zip(faults, done, strict=True))
    return of_rows(known, rows, letters)


def of_rows(known: Reference, rows: tuple[Row, ...], letters: Sequence[str] = ()) -> Table:
    """Return the table of rows already computed: its observations are those the sound vehicle or any fault makes."""
    conditions = tuple(c for c in known.vehicle.conditions if not letters or c.letter in letters)
    sound = symptoms(known, (), letters)
    normal: dict[Key, str] = {o.key: o.normal for one in sound.seen for o in one.observations}
    for row in rows:
        for o in row.wrong:
            normal.setdefault(o.key, o.normal)
    order = {c.letter: number for number, c in enumerate(conditions)}
    whats = {what: number for number, what in enumerate(GROUPS)}
    keys = sorted(normal, key=lambda k: (order[k[0]], whats.get(k[1], len(whats)), k[2]))
    circuit = known.vehicle.circuit
    needles = {name: (tag, end) for name, tag, end in gauge_places(circuit)}
    shown = _shown(circuit, needles)
    hidden = frozenset(
        p.tag
        for p in circuit.parts
        if p.kind.place is Place.STORAGE and p.tag in needles and p.tag not in shown
    )
    return Table(conditions, {key: normal[key] for key in keys}, rows, hidden)


def _shown(circuit: object, needles: Mapping[str, tuple[str, str]]) -> set[str]:
    """The reservoirs that a gauge hangs on directly."""
    from pneudraw.circuit.model import Circuit

    assert isinstance(circuit, Circuit)
    out: set[str] = set()
    for name, (tag, port) in needles.items():
        if name != tag:
            line = circuit.line_at(tag, port)
            out |= {end.part.tag for end in line.ends} if line is not None else set()
    return out


# --- alike ------------------------------------------------------------------------------------------


def alike(found: Table) -> tuple[tuple[Row, ...], ...]:
    """Return the groups of faults with equal rows: no observation of the table tells them apart. Single ones too.

    The first group may be that of faults which show in nothing at all.
    """
    groups: dict[tuple[tuple[Key, str], ...], list[Row]] = {}
    for row in found.rows:
        groups.setdefault(_pattern(row), []).append(row)
    return tuple(tuple(group) for group in groups.values())


def _pattern(row: Row) -> tuple[tuple[Key, str], ...]:
    return tuple(sorted((o.key, o.word) for o in row.wrong))


# --- questions --------------------------------------------------------------------------------------


def words_for(found: Table, key: Key, word: str) -> tuple[str, ...]:
    """Return the table's words that a person's word covers at an observation."""
    return GROUPS.get(key[1], {}).get(word, (word,))


def answers_yes(found: Table, row: Row, question: Question) -> bool:
    """Whether a fault would give yes."""
    return found.word(row, question.key) in words_for(found, question.key, question.word)


def remaining(found: Table, answers: Answers) -> tuple[Row, ...]:
    """Return the faults that agree with all answers."""
    return tuple(
        row
        for row in found.rows
        if all(answers_yes(found, row, question) is answer for question, answer in answers)
    )


def effort(found: Table, question: Question) -> int:
    """Return the points of effort of answering a question."""
    letter, what, place = question.key
    condition = next(c for c in found.conditions if c.letter == letter)
    points = condition.work + EFFORT.get(what, 1)
    if question.word in ("late", "slow") or what == SPEED:
        points += TIMING
    if question.word in ("puff", "faint", "quiet"):
        points += MISSED
    if what == NEEDLE and place in found.test_gauge:
        points += TEST_GAUGE
    return points


@dataclass(frozen=True)
class Suggestion:
    """A question, what it gains [bit], what it costs, and how many of the remaining faults would give yes."""

    question: Question
    gain: float
    effort: int
    yes: int
    of: int


def suggestions(found: Table, rows: Sequence[Row], asked: Iterable[Question] = ()) -> tuple[Suggestion, ...]:
    """Return the questions that separate some faults, best first.

    Those that gain as much as the best one (to :data:`EQUAL`) come first, by effort; then all others by gain.
    """
    done = set(asked)
    number = {key: place for place, key in enumerate(found.normal)}
    words: dict[Key, dict[str, None]] = {}
    own = [{o.key: o.word for o in row.wrong} for row in rows]
    for row_words in own:
        for key in row_words:
            words.setdefault(key, {})
    out = []
    for key in words:
        column = [row_words.get(key, found.normal[key]) for row_words in own]
        for word, covered in GROUPS.get(key[1], {}).items():
            question = Question(key, word)
            yes = sum(one in covered for one in column)
            if question in done or not 0 < yes < len(rows):
                continue
            out.append(Suggestion(question, gain(yes, len(rows)), effort(found, question), yes, len(rows)))
    ranks = {what: {word: place for place, word in enumerate(group)} for what, group in GROUPS.items()}
    most = max((s.gain for s in out), default=0.0) - EQUAL
    out.sort(
        key=lambda s: (
            s.gain < most,
            s.effort if s.gain >= most else 0,
            -round(s.gain, 9),
            s.effort,
            number[s.question.key],
            ranks[s.question.key[1]][s.question.word],
        )
    )
    return tuple(out)


def gain(yes: int, of: int) -> float:
    """Return the information [bit] of a question to which ``yes`` of ``of`` equally likely faults say yes.

    >>> gain(1, 2)
    1.0
    """
    shares = [n / of for n in (yes, of - yes) if n]
    return -sum(p * math.log2(p) for p in shares)


# --- the whole tree ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tree:
    """A decision tree: a question with its two branches, or (``question`` None) the faults that remain alike."""

    question: Question | None
    rows: tuple[Row, ...]
    yes: Tree | None = None
    no: Tree | None = None


def tree(found: Table, rows: Sequence[Row] | None = None, asked: tuple[Question, ...] = ()) -> Tree:
    """Return the tree that asks the best question at each step until what remains cannot be told apart."""
    rows = tuple(found.rows if rows is None else rows)
    best = next(iter(suggestions(found, rows, asked)), None)
    if best is None:
        return Tree(None, rows)
    question = best.question
    yes = [row for row in rows if answers_yes(found, row, question)]
    no = [row for row in rows if not answers_yes(found, row, question)]
    later = (*asked, question)
    return Tree(question, rows, tree(found, yes, later), tree(found, no, later))


# --- reading what a person writes -------------------------------------------------------------------


class ObservationError(ValueError):
    """A text that is no observation of the table; ``help`` says what there is."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.help = help


def read_observation(found: Table, text: str) -> tuple[Question, bool]:
    """Return what ``R:relay.3=blows`` says: the question, and its answer (``!=`` for no).

    In front of the colon stands the condition (R if none is given). A place is an outlet (``relay.3``, ``lr/service``,
    ``line:hold``), a reservoir or a needle (``prim``, ``dash.11``, ``gauge1`` for the first needle), a brake
    (``lr/service``, ``lr/spring``), a cylinder (``press``), a warning, a knob.

    Raises
    ------
    ObservationError
        If there is no such condition, place or word.
    """
    left, equals, word = text.partition("=")
    answer = not left.endswith("!")
    left, word = left.rstrip("!").strip(), word.strip()
    if not equals or not word:
        raise ObservationError(f"`{text}` is no observation", "write it as R:relay.3=blows")
    letters = [c.letter for c in found.conditions]
    letter, colon, place = left.partition(":")
    if not colon or letter == "line":
        letter, place = ("R" if "R" in letters else letters[0]), left
    if letter not in letters:
        raise ObservationError(
            f"there is no condition `{letter}`",
            did_you_mean(letter, letters) or f"conditions: {', '.join(letters)}",
        )
    keys = _keys_at(found, letter, place)
    for key in keys:
        if word in GROUPS.get(key[1], {}):
            return Question(key, word), answer
    if not keys and word in GROUPS[AIR]:  # nothing ever comes out there: an answer all the same
        places = sorted({k[2] for k in found.normal if k[1] == AIR})
        if place in places:
            raise SilentError(letter, place, word, answer)
    if keys:
        known = [w for key in keys for w in GROUPS.get(key[1], {})]
        raise ObservationError(
            f"`{place}` in {letter} cannot be `{word}`",
            did_you_mean(word, known) or f"it can be: {', '.join(known)}",
        )
    places = list(dict.fromkeys(k[2] for k in found.normal))
    help = (
        did_you_mean(place, places)
        or "places are outlets (relay.3), reservoirs, needles, brakes, pistons, warnings, knobs"
    )
    raise ObservationError(f"nothing can be observed at `{place}` in {letter}", help)


class SilentError(ObservationError):
    """An outlet that is quiet in this condition whatever the fault is."""

    def __init__(self, letter: str, place: str, word: str, answer: bool) -> None:
        super().__init__(
            f"no single fault makes `{place}` anything but quiet in {letter}",
            "leave the observation out, or look for two faults at once",
        )


def _keys_at(found: Table, letter: str, place: str) -> list[Key]:
    """The observations a place stands for: its own, those of its only needle, or of the needle of a number."""
    tag, slash, side = place.partition("/")
    here = [key for key in found.normal if key[0] == letter]
    out = [key for key in here if key[2] == place]
    if slash and side in ("service", "spring"):
        out += [key for key in here if key == (letter, side, tag)]
    if out:
        return out
    needles = [key for key in here if key[1] == NEEDLE and "." in key[2]]
    own = [key for key in needles if key[2].rpartition(".")[0] == place]
    numbered = re.fullmatch(r"gauge([0-9]{1,3})", place)
    if len(own) != 1 and numbered and 1 <= int(numbered[1]) <= len(needles):
        return [needles[int(numbered[1]) - 1]]
    return own if len(own) == 1 else []


def of_rows_subset(found: Table, rows: Sequence[Row]) -> Table:
    """Return the table with some of its rows only."""
    return Table(found.conditions, found.normal, tuple(rows), found.test_gauge)
