"""The written reference holds: every example in it is read, formatted, or refused as it says."""

from __future__ import annotations

import ast
import re
from importlib.resources import files

import pytest

from pneudraw.language.parser import parse
from pneudraw.language.printer import format_text
from pneudraw.language.read_head import SETTINGS
from pneudraw.language.read_hint import FORMS
from pneudraw.language.sections import SECTIONS
from pneudraw.source import Source
from pneudraw.units import UNITS

FOLDER = files("pneudraw.language")
REFERENCE = FOLDER.joinpath("reference.md").read_text("utf-8")
EXAMPLES = [
    (match["kind"], match["code"], match["text"])
    for match in re.finditer(
        r"^```(?P<kind>pneu[a-z-]*) ?(?P<code>\S*)\n(?P<text>.*?)^```$", REFERENCE, re.M | re.S
    )
]
GOOD = [text for kind, _, text in EXAMPLES if kind == "pneu"]
LOOSE = [text for kind, _, text in EXAMPLES if kind == "pneu-loose"]
BAD = [(code, text) for kind, code, text in EXAMPLES if kind == "pneu-bad"]
#: those that no short example can show; they are tested in test_messages.py
BOUNDS = {"bad-character", "text-too-large", "too-many-lines", "line-too-long", "too-many-errors"}


def rows(heading: str) -> dict[str, str]:
    """Return the rows of the table below a table's heading, by what stands in their first cell."""
    table = REFERENCE.split(heading, 1)[1].split("\n\n", 1)[0]
    cells = [line.strip("| ").split("|", 1) for line in table.splitlines()[2:]]
    return {first.strip(): rest.strip() for first, rest in cells}


def test_the_reference_has_examples_of_all_sorts() -> None:
    assert len(GOOD) >= 15
    assert len(LOOSE) >= 1
    assert len(BAD) >= 30
    assert {kind for kind, _, _ in EXAMPLES} == {"pneu", "pneu-loose", "pneu-bad"}


@pytest.mark.parametrize("text", GOOD)
def test_every_example_is_right_and_in_the_canonical_layout(text: str) -> None:
    document, messages = parse(Source("reference", text))
    assert messages == ()
    assert format_text(document) == text


@pytest.mark.parametrize("text", LOOSE)
def test_every_loose_example_is_right_and_gets_formatted(text: str) -> None:
    document, messages = parse(Source("reference", text))
    assert messages == ()
    once = format_text(document)
    assert once != text
    again, _ = parse(Source("reference", once))
    assert again == document
    assert format_text(again) == once


@pytest.mark.parametrize(("code", "text"), BAD, ids=[code for code, _ in BAD])
def test_every_wrong_example_gets_the_message_it_shows_and_no_other(code: str, text: str) -> None:
    _, messages = parse(Source("reference", text))
    assert [message.code for message in messages] == [code]
    assert messages[0].help


def codes_in_the_code() -> set[str]:
    """Return the first argument of every call that makes a message, anywhere in the folder."""
    found: set[str] = set()
    for file in FOLDER.iterdir():
        if file.name.endswith(".py"):
            for node in ast.walk(ast.parse(file.read_text("utf-8"))):
                if isinstance(node, ast.Call) and node.args:
                    name = (
                        node.func.attr
                        if isinstance(node.func, ast.Attribute)
                        else getattr(node.func, "id", "")
                    )
                    if name in ("error", "say", "stop", "Diagnostic"):
                        constants = [n.value for n in ast.walk(node.args[0]) if isinstance(n, ast.Constant)]
                        found |= {value for value in constants if isinstance(value, str)}
    return found | {"wrong-unit"}  # chosen beside unknown-unit, given on by name


def test_every_message_is_listed_and_every_listed_one_exists() -> None:
    listed = set(re.findall(r"^\| `([a-z-]+)` \|", REFERENCE.split("## Messages", 1)[1], re.M))
    assert listed == codes_in_the_code()


def test_every_message_has_an_example() -> None:
    assert {code for code, _ in BAD} | BOUNDS == codes_in_the_code()


def test_every_unit_is_in_the_table() -> None:
    units = re.findall(r"`([^`]+)`", " ".join(rows("| for | units |").values()))
    assert sorted(units) == sorted(UNITS)


def test_every_section_setting_and_wish_is_in_its_table() -> None:
    first = [re.match(r"`([a-z]+)", cell) for cell in rows("| section | what stands in it |")]
    assert {match[1] for match in first if match} == set(SECTIONS)
    settings = rows("| setting | may be | what it does |")
    assert {name.strip("`") for name in settings} == set(SETTINGS)
    for name, rest in settings.items():
        assert re.findall(r"`([^`]+)`", rest.split("|")[0]) == list(SETTINGS[name.strip("`")])
    wishes = [re.match(r"`([a-z]+)", cell) for cell in rows("| wish | what it asks for |")]
    assert {match[1] for match in wishes if match} == set(FORMS)


def test_every_keyword_is_in_the_grammar() -> None:
    grammar = REFERENCE.split("```ebnf", 1)[1].split("```", 1)[0]
    for word in [
        *SECTIONS,
        *FORMS,
        *SETTINGS,
        "as",
        "from",
        "for",
        "at",
        "fault",
        "hose",
        "length",
        "bore",
        "->",
        "--",
    ]:
        assert f'"{word}"' in grammar
