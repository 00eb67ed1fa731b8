"""What holds for every netlist, and for every text that is none."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pneudraw.diagnostics import has_errors, render_text
from pneudraw.language.lexer import text_lines
from pneudraw.language.parser import parse
from pneudraw.language.printer import format_text
from pneudraw.language.tree import Document
from pneudraw.source import Source
from tests.language.strategies import documents

CIRCUITS = sorted((Path(__file__).parents[2] / "circuits").glob("*.pneu"))
MIXED = (
    'circuit "Rig" # one\n  pressure psi\n\nparts\n  a, b  valve  "Left"  crack=4psi type=24\n\nlines\n'
    "  x: a.2, b.2 -> c -- d.1,  # tee\n    e.1  length=3m hose\n\nstates\n"
    '  s  "Half"  from ready for 30s:  a 30%, b.knob in at 2s, fault line x leaks 3mm, fault a.stuck\n\n'
    'layout\n  group "Rear axle": a b\n  column 3: a\n\nuse "t.pneu" as tl\n\n'
    "assembly w  type=24\n  parts\n    q  valve  type=type\n"
)
many = settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))


def tree(text: str) -> Document:
    document, messages = parse(Source("text", text))
    assert messages == (), "\n".join(map(render_text, messages))
    return document


def said_of(text: str) -> int:
    """Parse any text; every message points into it and can be shown. Return how many there are."""
    document, messages = parse(Source("text", text))
    for message in messages:
        for label in (message.at, *message.related):
            assert 0 <= label.span.start <= label.span.end <= len(text)
        assert message.message
        assert "\n" not in message.message
        assert not message.message.endswith(".")
        assert render_text(message)
    if not has_errors(messages):
        assert tree(format_text(document)) == document
    return len(messages)


@many
@given(documents())
def test_a_printed_netlist_reads_back_as_the_same_tree(document: Document) -> None:
    assert tree(format_text(document)) == document


@many
@given(documents())
def test_formatting_twice_is_formatting_once(document: Document) -> None:
    once = format_text(document)
    assert format_text(tree(once)) == once


@many
@given(documents(), st.randoms(use_true_random=False))
def test_spaces_between_words_do_not_matter(document: Document, random: Random) -> None:
    loose = loosen(format_text(document), random)
    assert tree(loose) == document
    assert format_text(tree(loose)) == format_text(document)


def loosen(text: str, random: Random) -> str:
    """Change the width of every space between two tokens, and the line ends to those of another system."""
    source = Source("text", text)
    out: list[str] = []
    for line in text_lines(source, []):
        at = line.span.start
        made = ""
        ends = [token.span for token in line.tokens]
        for span in ends:
            gap = text[at : span.start]
            made += random.choice([" ", "  ", "\t", " \t "]) if gap else ""
            made += span.text
            at = span.end
        rest = text[at : line.span.end]
        out.append(made + (rest if line.comment else "") + random.choice(["", "  ", "\t"]))
    return random.choice(["\n", "\r\n"]).join(out)


@many
@given(st.text(max_size=300))
def test_no_text_at_all_stops_the_parser(text: str) -> None:
    said_of(text)


@many
@given(st.lists(st.sampled_from([*" \n\t\r.,:#\"'=<>-→%\\\0", "a", "b2", "9.5mm", "->", "--", "\n  ", "parts\n",
                                 "lines\n", "states\n", "layout\n", "circuit", "use", "as", "assembly", "from", "fault",
                                 "line", "at", "for", "group", "hose", "abs"]), max_size=80))  # fmt: skip
def test_no_heap_of_symbols_stops_the_parser(symbols: list[str]) -> None:
    said_of("".join(symbols))


@many
@given(st.data())
def test_no_slip_of_the_finger_stops_the_parser(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([MIXED, *[path.read_text("utf-8") for path in CIRCUITS]]))
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.integers(0, 3))
        new = data.draw(
            st.sampled_from(["", " ", "\n", ",", ":", '"', "=", "->", "#", "x", "9", "\t", "\0", "é"])
        )
        text = text[:at] + new + text[at + gone :]
    said_of(text)


@pytest.mark.parametrize("text", [MIXED, *[path.read_text("utf-8") for path in CIRCUITS]])
def test_one_word_left_out_gives_one_message_or_none(text: str) -> None:
    counts: list[int] = []
    for line in text_lines(Source("text", text), []):
        for token in line.tokens[:: 1 if text is MIXED else 7]:
            counts.append(said_of(text[: token.span.start] + text[token.span.end :]))
    assert max(counts) <= 3
    assert sum(count > 1 for count in counts) <= 0.1 * len(counts)
    assert sum(count == 1 for count in counts) >= 0.5 * len(counts)


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_the_course_circuits_read_and_print_back(path: Path) -> None:
    document = tree(path.read_text("utf-8"))
    assert document.parts
    assert document.lines
    assert tree(format_text(document)) == document
