"""``pneudraw fault`` as it is typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from pneudraw.cli.fault_command import COMMANDS
from tests.cli.commands import pneudraw, refused
from tests.flow.rigs import BENCH

SVG = "{http://www.w3.org/2000/svg}svg"


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, which is the working folder, with the bench circuit in it."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "bench.pneu"
    path.write_text(BENCH, "utf-8")
    return path


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_help_with_an_example(rig: Path, name: str) -> None:
    shown = pneudraw("fault", rig, name, "--help")
    assert shown.status == 0
    assert "Example:" in shown.out
    assert f"pneudraw fault truck.pneu {name}" in shown.out
    assert all(len(line) <= 100 for line in shown.out.split("\n"))


def test_a_command_that_does_not_exist_is_told_with_what_was_meant(rig: Path) -> None:
    refused(pneudraw("fault", rig, "tabel"), "table")


def test_the_list_as_text_and_as_data(rig: Path) -> None:
    text = pneudraw("fault", rig, "list")
    assert (text.status, text.err) == (0, "")
    data = json.loads(pneudraw("fault", rig, "list", "--format", "json").out)
    assert all(item["name"] in text.out for item in data)
    assert {item["on"] for item in data} == {"part", "line"}


def test_show_tells_and_draws_a_fault(rig: Path) -> None:
    told = pneudraw("fault", rig, "show", "lr.centre-seal-leaks", "--condition", "P,R")
    assert (told.status, told.err) == (0, "")
    assert "port 3 of Foot valve (foot)" in told.out
    assert "S  Pedal held" not in told.out
    drawn = pneudraw("fault", rig, "show", "line:hold.broken", "--condition", "R", "-o", "hold.svg")
    assert drawn.status == 0
    picture = etree.fromstring(Path("hold.svg").read_bytes())
    assert picture.tag == SVG
    assert "F1" in "".join(picture.itertext())
    data = json.loads(pneudraw("fault", rig, "show", "tank.leaks", "--size", "2mm", "--format", "json").out)
    assert data["faults"][0]["bore_mm"] == 2.0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["show", "lr.broken"], ["no fault `broken`", "spring-broken"]),
        (["show", "nothing.leaks"], ["no part or line"]),
        (["show", "lr.left-caged", "--size", "3mm"], ["no size"]),
        (["show", "tank.leaks", "--size", "3 bar"], ["bore"]),
        (["show", "tank.leaks", "--size", "three"], ["--size"]),
        (["show", "tank.leaks", "--condition", "Z"], ["no condition `Z`", "conditions: "]),
        (["table", "engine"], ["no part or line `engine`"]),
        (["table", "-o", "bench.pneu", "drain", "--format", "csv"], ["written over"]),
        (["find", "R:foot.3=loud"], ["cannot be `loud`", "blows"]),
        (["find", "--ask", "-o", "x.svg"], ["session"]),
        (["list", "--format", "svg"], ["svg"]),
    ],
)
def test_what_cannot_be_done_is_refused_with_a_reason(
    rig: Path, arguments: list[str], words: list[str]
) -> None:
    before = rig.read_text("utf-8")
    refused(pneudraw("fault", rig, *arguments), *words)
    assert rig.read_text("utf-8") == before


def test_a_netlist_with_mistakes_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "bad.pneu"
    path.write_text(BENCH.replace("spring-brake  ", "sprung-brake  "), "utf-8")
    refused(pneudraw("fault", path, "list"), "sprung-brake", "bad.pneu:")


def test_the_table_in_every_form(rig: Path) -> None:
    few = ("table", "lr", "hold", "--condition", "P,R")
    text = pneudraw("fault", rig, *few)
    assert (text.status, text.err) == (0, "")
    assert "lr.centre-seal-leaks" in text.out
    values = pneudraw("fault", rig, *few, "--format", "csv").out
    assert values.startswith("fault,title,")
    data = json.loads(pneudraw("fault", rig, *few, "--format", "json").out)
    assert {f["name"].split(".")[0] for f in data["faults"]} == {"lr", "line:hold"}
    picture = pneudraw("fault", rig, *few, "-o", "table.svg")
    assert picture.status == 0
    assert etree.fromstring(Path("table.svg").read_bytes()).tag == SVG


def test_find_tells_what_remains(rig: Path) -> None:
    done = pneudraw("fault", rig, "find", "R:foot.3=blows", "P:foot.3!=blows", "--condition", "P,R")
    assert (done.status, done.err) == (0, "")
    assert "lr.centre-seal-leaks" in done.out
    grown = pneudraw("fault", rig, "find", "--tree", "--depth", "3", "--condition", "P,R")
    assert "yes: " in grown.out
    assert "no: " in grown.out


def answer(rig: Path, *words: str) -> str:
    done = pneudraw("fault", rig, "find", "--ask", "--condition", "P,R", input="\n".join(words) + "\n")
    assert (done.status, done.err) == (0, "")
    return done.out


def test_a_session_from_a_pipe_asks_until_it_is_told_to_stop(rig: Path) -> None:
    out = answer(rig, "no", "quit")
    assert out.count("[yes/no/unknown/back/list/quit]") == 2
    assert "remain possible" in out


def test_a_session_ends_with_the_pipe_and_takes_unknown_back_and_nonsense(rig: Path) -> None:
    out = answer(rig, "perhaps", "back", "unknown", "yes", "back", "list")
    assert "Answer yes, no" in out
    assert "nothing to go back to" in out
    questions = [line for line in out.split("\n") if "[yes/no" in line]
    assert len(questions) == 7
    asked = [q.partition("?")[0] for q in questions]
    assert asked[0] == asked[1] == asked[2]  # after nonsense and a vain back the same is asked again
    assert asked[3] != asked[2]  # unknown: another question
    assert asked[5] == asked[3]  # back: the last one again


def test_saying_no_to_everything_ends_with_what_shows_in_nothing(rig: Path) -> None:
    out = answer(rig, *["no"] * 200)
    assert "remain possible" in out.split("[yes/no")[-1]


def test_what_if_in_every_form(rig: Path) -> None:
    text = pneudraw("fault", rig, "what-if")
    assert (text.status, text.err) == (0, "")
    assert "tank lost" in text.out
    assert pneudraw("fault", rig, "what-if", "-o", "what.html").status == 0
    assert "<script" not in Path("what.html").read_text("utf-8")
    assert pneudraw("fault", rig, "what-if", "-o", "what.svg").status == 0
    assert etree.fromstring(Path("what.svg").read_bytes()).tag == SVG
    assert json.loads(pneudraw("fault", rig, "what-if", "--format", "json").out)["failures"]
