"""``chart`` and ``why`` as they are typed."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.commands import BROKEN, RIG, pneudraw, refused


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own with the bench circuit in it."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "bench.pneu"
    path.write_text(RIG, "utf-8")
    return path


def test_a_chart_goes_to_standard_output_as_svg(rig: Path) -> None:
    done = pneudraw("chart", rig, "service-apply")
    assert done.status == 0
    root = etree.fromstring(done.out.encode())
    words = " ".join(root.itertext())
    assert "Service brake application" in words
    assert "60 psi after" in words
    assert "Pressure, psi gauge" in words


@pytest.mark.parametrize(
    ("name", "start"), [("c.svg", b"<"), ("c.pdf", b"%PDF"), ("c.png", b"\x89PNG"), ("c.csv", b"time (s)")]
)
def test_the_suffix_says_what_is_written(rig: Path, name: str, start: bytes) -> None:
    done = pneudraw("chart", rig, "service-apply+service-release", "lf", "-o", name, "--dpi", "50")
    assert (done.status, done.out) == (0, "")
    assert (rig.parent / name).read_bytes().startswith(start)


def test_a_table_has_the_ports_asked_for(rig: Path) -> None:
    done = pneudraw(
        "chart", rig, "half", "foot.2", "service", "lf", "--format", "csv", "--show", "pressure,force"
    )
    head, *rows = csv.reader(io.StringIO(done.out))
    # the line's first port is foot.2: asked for twice, shown once
    assert head == ["time (s)", "foot.2 (psi)", "lf/service (psi)", "lf service force (lbf)"]
    assert float(rows[-1][1]) == pytest.approx(float(rows[-1][2]), abs=0.5)


def test_without_colours_the_chart_has_none(rig: Path) -> None:
    grey, coloured = (pneudraw("chart", rig, "service-apply", *more).out for more in (("--grey",), ()))
    assert "#D55E00" in coloured
    assert "#D55E00" not in grey
    assert "#0072B2" not in grey


def test_a_chart_can_begin_at_the_end_of_another_state(rig: Path) -> None:
    usual = pneudraw("chart", rig, "service-apply", "lf", "--format", "csv").out.splitlines()
    half = pneudraw("chart", rig, "service-apply", "lf", "--from", "half", "--format", "csv").out.splitlines()
    assert float(usual[1].split(",")[1]) == pytest.approx(0, abs=0.1)
    assert float(half[1].split(",")[1]) > 20


def test_why_is_told_in_sentences(rig: Path) -> None:
    done = pneudraw("why", rig, "service-apply", "lf")
    assert done.status == 0
    assert "Why is the service side of Left front (lf) at" in done.out
    assert "because its pedal went from 0 % to 100 %" in " ".join(done.out.split())
    assert "Chock the wheels" in done.out


def test_why_as_json(rig: Path) -> None:
    done = pneudraw("why", rig, "half+service-release", "lf", "--format", "json")
    made = json.loads(done.out)
    assert (made["state"], made["from"]) == ("service-release", "half")
    (place,) = made["places"]
    assert place["place"] == "lf/service"
    assert place["start_kpa"] > 200
    assert place["causes"][-1]["cause"] == "input-set"
    assert (rig.parent / "why.json").exists() is False
    assert pneudraw("why", rig, "half", "lf", "-o", "why.json").status == 0
    assert json.loads((rig.parent / "why.json").read_text("utf-8"))["state"] == "half"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("chart", "service-aply"), ("no state `service-aply`", "did you mean `service-apply`?")),
        (("chart", "service-apply+"), ("lacks the name of a state",)),
        (("chart", "half", "tnak"), ("nothing called `tnak`", "did you mean `tank`?")),
        (("chart", "half", "foot.7"), ("`foot` has no port `7`", "ports: foot.1")),
        (("chart", "half", "--show", "pressur"), ("--show cannot be `pressur`", "did you mean `pressure`?")),
        (("chart", "half", "--from", "nowhere"), ("no state `nowhere`",)),
        (("why", "half", "lf/spring"), ("has no chamber `spring`",)),
        (("why", "nothing", "lf"), ("no state `nothing`",)),
    ],
)
def test_what_is_not_there_is_refused_with_a_hint(
    rig: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    command, *rest = arguments
    refused(pneudraw(command, rig, *rest), *words)


def test_a_circuit_without_brakes_has_no_force_to_show(rig: Path) -> None:
    rig.write_text('circuit "One tank"\nparts\n  s air-source\n  r reservoir\nlines\n  s -> r\n', "utf-8")
    refused(pneudraw("chart", rig, "ready", "--show", "force"), "no brake")
    assert pneudraw("chart", rig, "charging").status == 0


@pytest.mark.parametrize("rest", [("chart", "half"), ("why", "half", "lf")])
def test_a_circuit_with_mistakes_is_refused(rig: Path, rest: tuple[str, ...]) -> None:
    rig.write_text(BROKEN, "utf-8")
    command, *others = rest
    refused(pneudraw(command, rig, *others), "error[")
    assert list(rig.parent.glob("*.svg")) == []
