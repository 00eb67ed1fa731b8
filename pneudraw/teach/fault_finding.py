"""Fault finding in words: questions, what remains, the decision tree as text, and the session."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.diagnosis import Answers, Question, Row, Suggestion, Table, Tree, alike, of_rows_subset
from pneudraw.flow.strokes import POSITION, SPEED
from pneudraw.flow.symptoms import AIR, FAST, NEEDLE
from pneudraw.teach.naming import fault_words, listed, part_name
from pneudraw.teach.symptoms import WIDTH, blowing, needle_name, outlet_name
from pneudraw.teach.telling import pressure_text

MOST = 12  # faults listed one by one before they are only counted

_AIR = {
    "blows": "does air come at {place} for longer than a puff",
    "puff": "does a puff of air, and no more, come at {place}",
    "faint": "is the puff at {place} much fainter than it should be",
    "quiet": "is it quiet at {place}",
    "steady": "does air still come at {place} when you stop listening, after all else is over",
}
_GAUGE = {
    "falls": "does {place} fall while you watch it for a minute",
    "fast": "does {place} fall fast, {fast} a minute or more, or at once",
    "holds": "does {place} do what it should",
    "builds": "does {place} build up in the time it should",
    "slow": "does {place} build up slowly",
    "never": "does {place} never build up",
    "over": "does {place} climb too high",
    "more": "does {place} drop further than it should, at once, and then hold",
    "less": "does {place} drop less than it should",
    "stays": "does {place} stay up although it should fall",
}
_BRAKE = {
    "on": "is the {side} of {place} on",
    "off": "is the {side} of {place} off",
    "weak": "is the {side} of {place} on, but weak",
    "late": "does the {side} of {place} act late",
}
_STROKE = {
    "out": "is {place} out",
    "in": "is {place} in",
    "between": "does {place} stand in between, neither out nor in",
    "late": "is {place} slow to get there",
    "fast": "does {place} get there too fast",
}
_LEVEL = {
    "low": "does the {what} of {place} act at too low a pressure",
    "high": "does the {what} of {place} act at too high a pressure",
    "never": "does the {what} of {place} never act",
    "normal": "does the {what} of {place} act at the right pressure",
}
_STANDS = {
    "on": "is the {what} of {place} on",
    "off": "is the {what} of {place} off",
    "late": "is the {what} of {place} late",
    "in": "does the {what} of {place} stay in",
    "out": "is the {what} of {place} out",
}
_GOVERNOR = {
    "out": "is the compressor unloaded in the end",
    "in": "does {place} cut in",
    "unloaded": "is the compressor unloaded all the time",
    "never": "does {place} never act",
    **_LEVEL,
}


def ask(circuit: Circuit, found: Table, question: Question) -> str:
    """Return a question as a sentence, without the condition it is asked in."""
    _, what, place = question.key
    word = question.word
    if what == AIR:
        text = _AIR[word].format(place=outlet_name(circuit, place))
    elif what == NEEDLE:
        fast = pressure_text(FAST * 60, circuit.unit)
        text = _GAUGE[word].format(place=needle_name(circuit, place), fast=fast)
    elif what in ("service", "spring"):
        side = "service brake" if what == "service" else "spring brake"
        text = _BRAKE[word].format(side=side, place=part_name(circuit, place))
    elif what in (POSITION, SPEED):
        text = _STROKE[word].format(place=part_name(circuit, place))
    elif what == "governor":
        text = _GOVERNOR[word].format(what="signal", place=part_name(circuit, place))
    else:
        name = {"warning": "warning", "stop-lamp": "stop lamp"}.get(what, what)
        text = {**_LEVEL, **_STANDS}[word].format(what=name, place=part_name(circuit, place))
    return text[:1].upper() + text[1:] + "?"


def condition_words(found: Table, letter: str) -> str:
    """``R: Ready to drive, engine stopped, pedal up.``"""
    condition = next(c for c in found.conditions if c.letter == letter)
    return f"{letter}: {condition.text}"


def fault_name(circuit: Circuit, row: Row) -> str:
    """``relay.inlet-leaks: Rear relay valve (relay): inlet seat leaks``."""
    setting = row.fault.setting
    return f"{row.fault.name}  {fault_words(circuit, setting.target, setting.fault)}"


def tell_remaining(circuit: Circuit, found: Table, rows: Sequence[Row]) -> str:
    """Return what remains possible: faults that cannot be told apart together, and which good parts to leave alone."""
    if not rows:
        return (
            "No single fault of this circuit fits all of that. Look again, leave a doubtful observation out, or\n"
            "think of two faults at once.\n"
        )
    groups = alike(of_rows_subset(found, rows))
    out = [f"{len(rows)} of {len(found.rows)} faults remain possible."]
    for group in groups[:MOST]:
        out += [f"   {fault_name(circuit, row)}" for row in group[:MOST]]
        if len(group) > MOST:
            out.append(f"   ... and {len(group) - MOST} more")
        if len(group) > 1:
            out.append("      (these cannot be told apart by any observation)")
    if len(groups) > MOST:
        out.append(f"   ... and {len(groups) - MOST} more")
    vain = _vain(circuit, rows)
    if vain:
        out += _wrapped(vain)
    return "\n".join(out) + "\n"


def _vain(circuit: Circuit, rows: Sequence[Row]) -> str:
    """Parts that blow whichever of the remaining faults it is, and are at fault in none of them."""
    guilty = {row.fault.setting.target for row in rows}
    common: list[str] | None = None
    for row in rows:
        tags = list(blowing(row.wrong, guilty))
        common = tags if common is None else [tag for tag in common if tag in tags]
    if not common:
        return ""
    names = listed(part_name(circuit, tag) for tag in common)
    return f"Do not change {names}: air comes out there, but none of these faults is in it."


def _wrapped(text: str, lead: str = "") -> list[str]:
    return textwrap.wrap(lead + text, WIDTH, subsequent_indent=" " * len(lead), break_on_hyphens=False)


def tell_next(circuit: Circuit, found: Table, best: Sequence[Suggestion], count: int = 3) -> str:
    """Return the best next questions, with what they gain and cost."""
    if not best:
        return ""
    out = ["Next, best first:"]
    first: dict[tuple[str, str, str], Suggestion] = {}
    for one in best:
        first.setdefault(one.question.key, one)  # the same look asked the other way round is no other test
    for number, one in enumerate(list(first.values())[:count], start=1):
        lead = f"{number:4}. "
        out += _wrapped(f"{condition_words(found, one.question.key[0])}", lead)
        out += _wrapped(ask(circuit, found, one.question), " " * len(lead))
        out.append(
            f"{' ' * len(lead)}[{one.question}]  separates {one.yes} from {one.of - one.yes}: {one.gain:.2f} bit,"
            f" effort {one.effort}"
        )
    return "\n".join(out) + "\n"


def tell_find(
    circuit: Circuit, found: Table, answers: Answers, rows: Sequence[Row], best: Sequence[Suggestion]
) -> str:
    """Return the whole answer to some observations: what they were, what remains, what to look at next."""
    out = [f"{circuit.title or circuit.name}: fault finding", ""]
    if answers:
        out.append("Observed:")
        for question, answer in answers:
            text = f"{question.key[0]}: {ask(circuit, found, question)} {'Yes.' if answer else 'No.'}"
            out += _wrapped(text, "   ")
        out.append("")
    body = tell_remaining(circuit, found, rows)
    following = tell_next(circuit, found, best)
    return "\n".join([*out, body, *([following] if following else []), *CAUTIONS]) + "\n"


def find_dict(
    circuit: Circuit, found: Table, answers: Answers, rows: Sequence[Row], best: Sequence[Suggestion]
) -> dict[str, Any]:
    """Return the same as plain data."""
    return {
        "circuit": circuit.title,
        "observed": [{"question": str(q), "answer": "yes" if a else "no"} for q, a in answers],
        "remaining": [row.fault.name for row in rows],
        "alike": [[row.fault.name for row in g] for g in alike(of_rows_subset(found, rows)) if len(g) > 1],
        "do_not_change": _vain_tags(rows),
        "next": [
            {
                "question": str(s.question),
                "words": ask(circuit, found, s.question),
                "gain_bit": round(s.gain, 4),
                "effort": s.effort,
                "yes": s.yes,
                "no": s.of - s.yes,
            }
            for s in best[:10]
        ],
    }


def _vain_tags(rows: Sequence[Row]) -> list[str]:
    guilty = {row.fault.setting.target for row in rows}
    lists = [list(blowing(row.wrong, guilty)) for row in rows]
    return [tag for tag in (lists[0] if lists else []) if all(tag in tags for tags in lists)]


# --- the tree ---------------------------------------------------------------------------------------


def branches(
    circuit: Circuit, found: Table, tree: Tree, depth: int, level: int = 0, word: str = ""
) -> Iterator[tuple[int, str, str]]:
    """Yield the tree's rows: level, ``yes`` or ``no``, text; that of what remains begins with ``->``."""
    if tree.question is None or level >= depth:
        names = ", ".join(row.fault.name for row in tree.rows[:MOST])
        more = f" and {len(tree.rows) - MOST} more" if len(tree.rows) > MOST else ""
        alone = "" if len(tree.rows) == 1 or tree.question is not None else "  (alike)"
        yield level, word, f"-> {names}{more}{alone}"
        return
    letter = tree.question.key[0]
    yield level, word, f"{letter}: {ask(circuit, found, tree.question)}"
    assert tree.yes is not None
    assert tree.no is not None
    yield from branches(circuit, found, tree.yes, depth, level + 1, "yes")
    yield from branches(circuit, found, tree.no, depth, level + 1, "no")


def tell_tree(circuit: Circuit, found: Table, tree: Tree, depth: int = 99) -> str:
    """Return the decision tree as text, a step further in for each answer."""
    out = [f"{circuit.title or circuit.name}: fault finding, {len(tree.rows)} faults", ""]
    out += [f"{c.letter:6} {c.text}" for c in found.conditions]
    out.append("")
    for level, word, text in branches(circuit, found, tree, depth):
        out.append(f"{'|  ' * level}{word + ': ' if word else ''}{text}")
    return "\n".join([*out, "", *CAUTIONS]) + "\n"


# --- the session ------------------------------------------------------------------------------------

HELP = "Answer yes, no, unknown, back (undo the last answer), list (what remains) or quit."
_WORDS = {
    "y": "yes",
    "n": "no",
    "u": "unknown",
    "?": "unknown",
    "b": "back",
    "l": "list",
    "q": "quit",
}


def understood(text: str) -> str:
    """Return the answer a person typed, or an empty text."""
    word = text.strip().lower()
    word = _WORDS.get(word, word)
    return word if word in ("yes", "no", "unknown", "back", "list", "quit") else ""


def steps_words(steps: Iterable[tuple[Question, bool | None]]) -> tuple[Answers, tuple[Question, ...]]:
    """Split a session's steps into answers, and questions that were asked."""
    steps = tuple(steps)
    return tuple((q, a) for q, a in steps if a is not None), tuple(q for q, _ in steps)
