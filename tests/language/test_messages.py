"""What is said about a netlist with errors: each message under its culprit, all at once, one for one fault."""

from __future__ import annotations

import pytest

from pneudraw.diagnostics import Severity, render_text
from pneudraw.language.lexer import LARGEST_TEXT, LONGEST_LINE, MOST_LINES, text_lines
from pneudraw.language.parser import SHOWN, parse
from pneudraw.language.printer import format_text
from pneudraw.language.statements import LONGEST, gathered, statements
from pneudraw.language.tree import Document
from pneudraw.source import Source
from tests.language.annotated import CASES, with_marks, without_marks


def codes(text: str) -> list[str]:
    return [message.code for message in parse(Source("text", text))[1]]


def read(text: str) -> Document:
    return parse(Source("text", text))[0]


@pytest.mark.parametrize("path", sorted(CASES.glob("*.txt")), ids=lambda path: path.stem)
def test_every_message_stands_under_its_culprit(path) -> None:
    text = path.read_text("utf-8")
    assert with_marks(without_marks(text)) == text


def test_the_cases_do_hold_messages() -> None:
    text = "".join(path.read_text("utf-8") for path in CASES.glob("*.txt"))
    assert len(codes(without_marks((CASES / "lines.txt").read_text("utf-8")))) > 30
    assert text.count("^ ") > 150


def test_a_message_shows_the_line_the_place_and_the_cure() -> None:
    _, (message,) = parse(Source("truck.pneu", "lines\n\tcomp => dry\n"))
    assert render_text(message) == (
        "error[wrong-separator]: `=>` does not join two ends\n"
        " --> truck.pneu:2:7\n"
        "  |\n"
        "2 | \tcomp => dry\n"
        "  | \t     ^^\n"
        "  = help: `->` joins in the direction of flow, `--` without a direction"
    )


def test_what_is_given_twice_shows_both_places() -> None:
    _, (message,) = parse(Source("text", "parts\n  wet reservoir volume=3L volume=4L\n"))
    assert message.code == "duplicate-option"
    assert [label.span.column for label in (message.at, *message.related)] == [27, 17]


def test_messages_come_in_source_order() -> None:
    _, messages = parse(Source("text", 'lines\n  a => b\n  "x\nparts\n  \0c\n  d\nlins\n'))
    assert [message.at.span.line for message in messages] == [2, 3, 5, 5, 6, 7]


# --- a bad line does not harm the others ---------------------------------------------------------------


def test_a_bad_line_leaves_the_next_one_alone() -> None:
    document = read("parts\n  => ;\n  wet  reservoir\nlines\n  a ->\n  wet -> cv1\n")
    assert [part.tags[0].text for part in document.parts] == ["wet"]
    assert len(document.lines[-1].groups) == 2


def test_a_part_without_a_kind_keeps_its_tag() -> None:
    (part,) = read('parts\n  comp "Compressor" crack=4psi\n').parts
    assert part.tags[0].text == "comp"
    assert part.kind is None
    assert part.caption is not None
    assert part.option("crack") is not None


def test_a_wrong_separator_still_joins() -> None:
    (line,) = read("lines\n  comp => dry -- wet\n").lines
    assert [separator.directed for separator in line.separators] == [True, False]


def test_a_misspelt_section_is_read_as_what_it_was_meant_to_be() -> None:
    assert len(read("lins\n  a -> b\n  c -> d\n").lines) == 2


def test_a_section_nobody_knows_is_passed_over_in_silence() -> None:
    assert codes("wheels\n  a => b\n  ; ;\n") == ["unknown-section"]


def test_a_text_without_indentation_is_one_error() -> None:
    text = 'circuit "Rig"\npressure psi\nparts\ncomp compressor\nwet reservoir\nlines\ncomp -> wet\n'
    assert codes(text) == ["not-indented"] * 3  # one in each section
    assert len(read(text).parts) == 2


def test_a_comma_too_many_does_not_swallow_the_next_statement() -> None:
    document = read("parts\n  comp compressor,\n  wet  reservoir\n")
    assert [part.kind.text for part in document.parts if part.kind] == ["compressor", "reservoir"]


def test_an_unclosed_quote_is_one_error() -> None:
    for line in (
        'use "truck.pneu as tl',
        'parts\n  a valve "Left',
        'states\n  a "Half from ready: foot 30%',
        'circuit "',
    ):
        assert codes(line) == ["missing-quote"]


# --- characters ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "char", ["\0", "\x1b", "\x07", "\r", "\v", "\f", "\x7f", "\x85", "\u2028", "\u202e", "\ud800"]
)
@pytest.mark.parametrize("where", ["parts\n  wet{} reservoir\n", 'circuit "A{}B"\n', "parts  # c{}d\n"])
def test_a_control_character_is_an_error_wherever_it_stands(char: str, where: str) -> None:
    document, messages = parse(Source("text", where.format(char)))
    assert [message.code for message in messages] == ["bad-character"]
    assert messages[0].at.span.text == char
    assert char not in render_text(messages[0]).replace("\n", "")
    assert document.blocks


def test_byte_order_mark_tabs_and_line_ends_of_other_systems_are_taken_as_they_come() -> None:
    text = '\ufeffcircuit "Rig"\r\n\tpressure\tpsi\r\nparts\r\n\tlf,\trf\tservice-chamber\ttype=20\r\n'
    document, messages = parse(Source("text", text))
    assert messages == ()
    assert document == parse(Source("text", text.lstrip("\ufeff").replace("\r", "").replace("\t", "  ")))[0]


def test_a_space_that_does_not_break_is_a_space() -> None:
    assert codes("parts\n\u00a0\u00a0wet\u00a0reservoir\n") == []


def test_letters_of_any_script_stand_in_captions_and_comments() -> None:
    (part,) = read('parts\n  wet  reservoir  "Behälter für Luft – 空気"  # größer\n').parts
    assert part.caption is not None
    assert part.caption.text == "Behälter für Luft – 空気"
    assert part.notes.after == "# größer"


# --- bounds --------------------------------------------------------------------------------------------


def test_a_text_too_large_is_not_read() -> None:
    text = "#" * 1000 + "\n"
    assert codes(text * (LARGEST_TEXT // len(text))) == []
    assert codes(text * (LARGEST_TEXT // len(text) + 1)) == ["text-too-large"]


def test_a_line_too_long_is_passed_over() -> None:
    fits = "x" * (LONGEST_LINE - len("areservoir") - 2)
    text = 'parts\n  a reservoir "{}"\n  b reservoir\n'
    assert codes(text.format(fits)) == []
    assert codes(text.format(fits + "x")) == ["line-too-long"]
    assert [part.tags[0].text for part in read(text.format(fits + "x")).parts] == ["b"]


def test_spaces_do_not_make_a_line_too_long() -> None:
    assert codes(f"parts\n  a{' ' * 5000}reservoir\n") == []


def test_too_many_lines_end_the_reading() -> None:
    text = "parts\n" + "".join(f"  p{n}  valve\n\n" for n in range(MOST_LINES - 1))
    assert codes(text) == []
    assert codes(text + "  one  valve\n  more  valve\n") == ["too-many-lines"]
    assert len(read(text + "  one  valve\n").parts) == MOST_LINES - 1


def test_a_statement_of_too_many_lines_is_cut() -> None:
    assert codes("layout\n  order: a" + ",\n    a" * LONGEST + "\n") == []
    assert "open-comma" in codes("layout\n  order: a" + ",\n    a" * (LONGEST + 1) + "\n")


def test_endless_errors_are_not_all_shown() -> None:
    _, messages = parse(Source("text", "lines\n" + "  a => b\n" * (SHOWN + 100)))
    assert len(messages) == SHOWN + 1
    assert messages[-1].code == "too-many-errors"
    assert messages[-1].severity is Severity.NOTE
    assert all(message.severity is Severity.ERROR for message in messages[:-1])


def test_names_are_joined_eight_deep_at_most() -> None:
    assert codes("lines\n  a.b.c.d.e.f.g.1 -> x\n") == []
    assert codes("lines\n  a.b.c.d.e.f.g.h.1 -> x\n") == ["too-deep"]


# --- suggestions ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("lins\n", "lines"),
        ("Parts\n", "parts"),
        ("state\n", "states"),
        ('cirkuit "Rig"\n', "circuit"),
        ("assembley wheel-end\n", "assembly"),
        ('circuit "Rig"\n  pressure Bar\n', "bar"),
        ('circuit "Rig"\n  rule us\n', "rules"),
        ("parts\n  a valve volume=3inch\n", "in"),
        ("parts\n  a valve volume=3l\n", "L"),
        ("parts\n  a valve volume=3kpa\n", "kPa"),
        ("parts\n  a valve volume=3 cfm\n", "ft3/min"),
        ("lines\n  a -> b lenght=3m\n", "length"),
        ("lines\n  a -> b hoze\n", "hose"),
        ("states\n  a fom ready: foot 30%\n", "from"),
        ("states\n  a from ready: fault line s leak 3mm\n", "leaks"),
        ("layout\n  gruop 'x': a\n", "group"),
    ],
)
def test_the_nearest_word_is_offered(text: str, meant: str) -> None:
    _, messages = parse(Source("text", text))
    assert any(f"did you mean `{meant}`?" in message.help for message in messages)


def test_a_state_goes_on_in_lines_indented_further_behind_its_colon() -> None:
    head = 'states\n  pump "Pump" from ready:'
    one = f"{head} foot 80%, foot 0% at 2s\n  other from pump: foot 1%\n"
    two = f"{head}  # thrice\n    foot 80%,\n    foot 0% at 2s\n  other from pump: foot 1%\n"
    assert codes(one) == codes(two) == []
    assert "# thrice" in format_text(read(two))


def test_each_line_of_a_state_that_lacks_its_comma_is_one_message() -> None:
    text = 'states\n  pump "Pump" from ready:\n    foot 80%\n    lf.hold on at 1s\n    lf.hold off at 2s\n'
    assert codes(text) == ["missing-comma", "missing-comma"]


def test_a_state_gathers_no_more_lines_than_a_statement_may_have() -> None:
    text = 'states\n  pump "Pump" from ready:\n' + "    foot 80%\n" * (2 * LONGEST)
    found, _ = statements(text_lines(Source("text", text), []), [])
    lines = [len({token.span.line for token in one.tokens}) for one in gathered(found[1:])]
    assert lines[0] == LONGEST
    assert sum(lines) == 2 * LONGEST + 1
