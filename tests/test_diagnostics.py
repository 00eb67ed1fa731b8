"""Messages as values, and how they are printed: the place marked, nothing of the user's text doing harm."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.diagnostics import (
    Diagnostic,
    Label,
    Severity,
    Suggester,
    did_you_mean,
    error,
    has_errors,
    in_source_order,
    render_json,
    render_text,
)
from pneudraw.source import Source, Span, whole

TEXT = "parts\n  lf  chambr\n\tgov governor\r\n"


def at(text: str, word: str, name: str = "a.pneu") -> Span:
    start = text.index(word)
    return Span(Source(name, text), start, start + len(word))


def test_a_message_is_printed_with_its_line_and_the_place_marked() -> None:
    found = error("unknown-kind", "there is no kind `chambr`", at(TEXT, "chambr"), "here", "look it up")
    assert render_text(found) == (
        "error[unknown-kind]: there is no kind `chambr`\n"
        " --> a.pneu:2:7\n"
        "  |\n"
        "2 |   lf  chambr\n"
        "  |       ^^^^^^ here\n"
        "  = help: look it up"
    )


def test_other_places_are_marked_with_dashes_in_one_gutter() -> None:
    text = "x\n" * 8 + "first\n" + "second\n"
    found = error("twice", "twice", at(text, "second"), "again", related=[Label(at(text, "first"), "here")])
    assert render_text(found) == (
        "error[twice]: twice\n"
        "  --> a.pneu:10:1\n"
        "   |\n"
        "10 | second\n"
        "   | ^^^^^^ again\n"
        "  ::: a.pneu:9:1\n"
        "   |\n"
        " 9 | first\n"
        "   | ----- here"
    )


def test_tabs_before_the_place_are_kept_so_that_the_mark_stands_under_it() -> None:
    lines = render_text(error("x", "x", at(TEXT, "governor"))).split("\n")
    assert lines[3] == "3 | \tgov governor"
    assert lines[4] == "  | \t    ^^^^^^^^"


@pytest.mark.parametrize(
    ("text", "word", "mark"),
    [
        ("名前 reservoir", "reservoir", " " * 5 + "^" * 9),
        ("a 名前", "名前", "  ^^^^"),
        ("e\u0301 x", "x", "  ^"),
    ],
)
def test_wide_letters_and_accents_do_not_shift_the_mark(text: str, word: str, mark: str) -> None:
    assert render_text(error("x", "x", at(text, word))).split("\n")[4] == "  | " + mark


def test_a_very_long_line_is_shown_around_the_place() -> None:
    text = "a" * 5000 + "HERE" + "b" * 5000
    lines = render_text(error("x", "x", at(text, "HERE"))).split("\n")
    assert len(lines[3]) < 200
    assert lines[3].index("HERE") == lines[4].index("^")
    assert lines[4].count("^") == 4


def test_a_place_that_is_empty_or_reaches_over_lines_still_has_a_mark() -> None:
    source = Source("a", "one\ntwo\n")
    for span in (Span(source, 3, 3), Span(source, 0, 8), Span(source, 8, 8), whole(source)):
        text = render_text(error("x", "x", span, "here"))
        assert "^" in text
        assert text.count("\n") == 4
    assert "^" not in render_text(error("x", "no text at all", whole(Source("a", ""))))


def test_escape_sequences_of_a_users_text_do_not_reach_the_terminal() -> None:
    nasty = "\x1b]0;owned\x07 \x1b[2J\x9b31m \u202e evil\r"
    text = f"  a {nasty} b\n"
    source = Source(f"dir/{nasty}.pneu", text)
    found = Diagnostic(
        "x",
        Severity.ERROR,
        nasty,
        Label(Span(source, 4, 6), nasty),
        nasty,
        (Label(Span(source, 4, 6), nasty),),
        (),
        nasty,
    )
    printed = render_text(found)
    assert all(char.isprintable() for line in printed.split("\n") for char in line)
    assert "owned" in printed


def test_json_has_the_documented_shape() -> None:
    found = Diagnostic(
        "trapped-air",
        Severity.WARNING,
        "air stays",
        Label(at(TEXT, "gov")),
        "vent it",
        (),
        ("gov.1",),
        "practice",
    )
    assert json.loads(render_json([found])) == [
        {
            "rule": "trapped-air",
            "severity": "warning",
            "file": "a.pneu",
            "line": 3,
            "column": 2,
            "message": "air stays",
            "help": "vent it",
            "ports": ["gov.1"],
            "source": "practice",
        }
    ]


def test_only_errors_are_errors() -> None:
    def made(severity: Severity) -> Diagnostic:
        return Diagnostic("x", severity, "x", Label(at(TEXT, "lf")))

    assert not has_errors([made(Severity.WARNING), made(Severity.NOTE)])
    assert has_errors([made(Severity.NOTE), made(Severity.ERROR)])


@given(st.permutations([("a", "lf"), ("a", "chambr"), ("a", "gov"), ("b", "parts")]))
def test_messages_come_in_source_order_however_they_were_found(order: list[tuple[str, str]]) -> None:
    found = in_source_order(error("x", word, at(TEXT, word, name)) for name, word in order)
    assert [message.message for message in found] == ["lf", "chambr", "gov", "parts"]


def test_the_nearest_word_is_suggested_whatever_its_capitals() -> None:
    known = ("reservoir", "relay-valve", "LeftFront")
    assert did_you_mean("resrvoir", known) == "did you mean `reservoir`?"
    assert did_you_mean("Relay_Valve", known) == "did you mean `relay-valve`?"
    assert did_you_mean("leftfront", known) == "did you mean `LeftFront`?"
    assert did_you_mean("zzz", known) == ""
    assert did_you_mean("", known) == ""
    assert did_you_mean("r" * 10_000, ["r" * 10_001]) == ""


@given(st.text(max_size=20), st.lists(st.text(max_size=20), max_size=5))
def test_what_is_suggested_is_always_one_of_the_known(word: str, known: list[str]) -> None:
    found = did_you_mean(word, known)
    assert not found or found[len("did you mean `") : -2] in known


def test_suggestions_end_after_so_many() -> None:
    suggest = Suggester(2)
    assert [suggest("resrvoir", ["reservoir"]) != "" for _ in range(4)] == [True, True, False, False]


@given(st.text(max_size=60), st.data())
def test_line_and_column_are_those_an_editor_shows(text: str, data: st.DataObject) -> None:
    source = Source("a", text)
    offset = data.draw(st.integers(0, len(text)))
    span = Span(source, offset, offset)
    before = text[:offset]
    assert span.line == before.count("\n") + 1
    assert span.column == len(before.rpartition("\n")[2]) + 1
    assert source.line(span.line) == text.split("\n")[span.line - 1].rstrip("\r")


def test_lines_that_do_not_exist_are_empty() -> None:
    source = Source("a", "one\n")
    assert [source.line(number) for number in (-1, 0, 1, 2, 3)] == ["", "", "one", "", ""]


def test_two_spans_make_one() -> None:
    assert at(TEXT, "chambr").to(at(TEXT, "lf")).text == "lf  chambr"
