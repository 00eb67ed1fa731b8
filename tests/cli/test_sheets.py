"""Drawings of several sheets and moving pictures, from the command line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.commands import RIG
from tests.cli.commands import pneudraw as run

ROOT = Path(__file__).parents[2]
BASIC = str(ROOT / "circuits" / "basic-single.pneu")


def test_a_circuit_too_large_for_the_paper_becomes_several_numbered_files(tmp_path: Path) -> None:
    done = run("draw", BASIC, "--paper", "A4", "-o", str(tmp_path / "rig.svg"))
    assert done.status == 0
    names = sorted(path.name for path in tmp_path.iterdir())
    assert len(names) > 1
    assert names == [f"rig.{number}.svg" for number in range(1, len(names) + 1)]
    for path in tmp_path.iterdir():
        root = etree.fromstring(path.read_bytes())
        assert (root.get("width"), root.get("height")) in (("297mm", "210mm"), ("210mm", "297mm"))
    assert all(name in done.err for name in names)


def test_as_pdf_they_are_pages_of_one_file(tmp_path: Path) -> None:
    done = run("draw", BASIC, "--paper", "A4", "-o", str(tmp_path / "rig.pdf"))
    assert done.status == 0
    data = (tmp_path / "rig.pdf").read_bytes()
    svgs = tmp_path / "svg"
    svgs.mkdir()
    run("draw", BASIC, "--paper", "A4", "-o", str(svgs / "rig.svg"))
    assert data.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == len(list(svgs.iterdir()))


def test_several_sheets_do_not_go_to_standard_output() -> None:
    done = run("draw", BASIC, "--paper", "A4")
    assert done.status == 2
    assert "-o" in done.err
    assert "pdf" in done.err
    assert done.out == ""


def test_one_sheet_does() -> None:
    done = run("draw", BASIC)
    assert done.status == 0
    assert etree.fromstring(done.raw).tag.endswith("svg")


def test_a_trace_of_several_sheets_goes_into_a_folder(tmp_path: Path) -> None:
    done = run("trace", BASIC, "service-apply", "--paper", "A4", "--format", "svg", "-o", f"{tmp_path}/out/")
    assert done.status == 0
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == [f"basic-single.service-apply.{number}.svg" for number in range(1, len(names) + 1)]
    assert len(names) > 1


def test_a_fault_is_drawn_on_as_many_sheets_as_a_trace(tmp_path: Path) -> None:
    done = run("fault", BASIC, "show", "tank.leaks", "--paper", "A4", "-o", str(tmp_path / "leak.svg"))
    assert done.status == 0
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == [f"leak.{number}.svg" for number in range(1, len(names) + 1)]
    assert len(names) > 1
    texts = [(tmp_path / name).read_text("utf-8") for name in names]
    assert sum("Fault F1 at tank" in text for text in texts) == 1
    assert any("What the fault does here" in text for text in texts)


def test_a_moving_picture_is_made_on_request_only(tmp_path: Path) -> None:
    for wish, moves in (((), False), (("--animate",), True)):
        done = run("trace", BASIC, "service-apply", *wish, "-o", str(tmp_path / "t.svg"))
        assert done.status == 0
        assert ("@keyframes" in (tmp_path / "t.svg").read_text("utf-8")) is moves


@pytest.mark.parametrize("form", ["text", "json", "png", "pdf"])
def test_what_cannot_move_is_not_asked_to(form: str, tmp_path: Path) -> None:
    done = run("trace", BASIC, "service-apply", "--animate", "--format", form, "-o", str(tmp_path / "t"))
    assert done.status == 2
    assert "svg" in done.err
    assert not (tmp_path / "t").exists()


def test_lists_and_codes_are_printed_on_request(tmp_path: Path) -> None:
    done = run("draw", BASIC, "--codes", "--lists", "own", "-o", str(tmp_path / "rig.svg"))
    assert done.status == 0
    last = (tmp_path / "rig.2.svg").read_text("utf-8")
    for word in ("Parts list", "Line list", "P0.1", "Designation"):
        assert word in last
    assert "P0.1" in (tmp_path / "rig.1.svg").read_text("utf-8")


@pytest.mark.parametrize(
    "command",
    [
        ("draw", "RIG"),
        ("trace", "RIG", "half"),
        ("chart", "RIG", "half"),
        ("catalogue", "relay-valve"),
        ("fault", "RIG", "show", "foot.inlet-leaks"),
        ("fault", "RIG", "table", "foot", "--condition", "R", "--processes", "1"),
        ("fault", "RIG", "find", "--condition", "R", "--processes", "1"),
        ("fault", "RIG", "what-if", "--processes", "1"),
    ],
    ids=lambda command: " ".join(word for word in command if word.isalpha() and word != "RIG"),
)
def test_the_lettering_of_every_picture_can_be_chosen(command: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "rig.pneu").write_text(RIG, encoding="utf-8")
    words = [str(tmp_path / "rig.pneu") if word == "RIG" else word for word in command]
    usual = run(*words, "--format", "svg")
    editable = run(*words, "--format", "svg", "--lettering", "editable")
    assert (usual.status, editable.status) == (0, 0), usual.err + editable.err
    assert "@font-face" in editable.out
    assert "<use" not in editable.out
    assert "@font-face" not in usual.out
    assert "<use" in usual.out
