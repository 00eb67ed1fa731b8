"""A chain of causes in plain sentences, to be read aloud."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from pneudraw.circuit.model import Circuit
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.causes import Cause, Closed, Kept, Moved, Vented, Why
from pneudraw.teach.cause_words import CauseWords, upper
from pneudraw.teach.doubts import doubt_words
from pneudraw.teach.telling import WIDTH


def tell(circuit: Circuit, whys: Sequence[Why]) -> str:
    """Return the causes of one or more pressures as text: a heading, the sentences numbered, the cautions."""
    out: list[str] = []
    for why in whys:
        state = circuit.state(why.state)
        title = state.title if state is not None else why.state
        out += [f"{why.circuit}: {title} ({why.state})", headline(circuit, why), ""]
        for text in doubt_words(why.doubts, why.unsure):
            out += [*_wrapped(text), ""]
        out += _numbered(sentences(circuit, why))
        if why.limits:
            out += ["", limit_headline(why), "", *_numbered(limit_sentences(circuit, why))]
        out.append("")
    return "\n".join([*out, *CAUTIONS]) + "\n"


def headline(circuit: Circuit, why: Why) -> str:
    """Say what is to be explained."""
    words = CauseWords(circuit)
    place = words.place(why.place)
    first = why.causes[0] if why.causes else None
    if isinstance(first, Vented):
        return f"{'Why does' if first.litres else 'Does'} air leave at {place}?"
    return f"Why is {place} at {words.pressure(why.after)} at the end?"


def sentences(circuit: Circuit, why: Why) -> tuple[str, ...]:
    """Return a sentence (or two) for each cause, in the order of the chain: effects first, what began it last."""
    return _said(circuit, why, why.causes)


def limit_headline(why: Why) -> str:
    """Ask what the limits answer: why it went no further, or was not lost."""
    first = why.limits[0]
    moved = why.causes[0] if isinstance(why.causes[0], Moved) else None
    if isinstance(first, Kept):
        return "Why did it keep its air?"
    if isinstance(first, Closed) and first.effect == "no-more-out":
        return "Why did it fall no further?"
    return (
        "Why does no more air come?"
        if moved is not None and not moved.rising
        else "Why did it rise no further?"
    )


def limit_sentences(circuit: Circuit, why: Why) -> tuple[str, ...]:
    """Return a sentence for each cause of the limits; none if there are none."""
    return _said(circuit, why, why.limits)


def _said(circuit: Circuit, why: Why, causes: Iterable[Cause]) -> tuple[str, ...]:
    words = CauseWords(circuit)
    return tuple(upper(text) for cause in causes for text in (words.cause(cause, why),) if text)


def _numbered(texts: Iterable[str]) -> list[str]:
    return [row for number, text in enumerate(texts, start=1) for row in _wrapped(text, f"{number:4}. ")]


def _wrapped(text: str, lead: str = "") -> list[str]:
    return textwrap.wrap(lead + text, WIDTH, subsequent_indent=" " * len(lead), break_on_hyphens=False)
