"""An end that hangs on a knife edge is reported in every form: text, data, picture, chart, causes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.commands import RIG, pneudraw
from tests.flow.test_doubts import knife_edge, netlist

UNCERTAIN = "How edge ends is not certain: the pressure at"


@pytest.fixture(scope="module")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A park valve that springs out, or not, by a hair."""
    path = tmp_path_factory.mktemp("edge") / "edge.pneu"
    path.write_text(netlist(knife_edge()), "utf-8")
    return path


def told(svg: str) -> str:
    return " ".join(" ".join(etree.fromstring(svg.encode()).itertext()).split())


def test_a_trace_says_it_as_text_and_as_data(edge: Path) -> None:
    assert "How it ends is not certain" in pneudraw("trace", edge, "edge").out
    data = json.loads(pneudraw("trace", edge, "edge", "--format", "json").out)
    assert "lr/spring" in data["doubts"]
    after = json.loads(pneudraw("trace", edge, "later", "--format", "json").out)
    assert after["doubts_before"] == ["edge"]


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_a_picture_of_a_trace_says_it_on_the_sheet_and_beside_it(edge: Path, kind: str) -> None:
    target = edge.with_name(f"trace.{kind}")
    done = pneudraw("trace", edge, "edge", "-o", target, "--dpi", "40")
    assert done.status == 0
    assert f"note: {UNCERTAIN}" in done.err
    if kind == "svg":
        words = told(target.read_text("utf-8"))
        assert "How it ends is not certain: the pressure at lr/spring" in words
        assert "bar ?" in words  # the pressure at the brake's port


@pytest.mark.parametrize("kind", ["svg", "pdf", "png", "csv"])
def test_a_chart_says_it(edge: Path, kind: str) -> None:
    target = edge.with_name(f"chart.{kind}")
    done = pneudraw("chart", edge, "edge", "-o", target, "--dpi", "40")
    assert done.status == 0
    assert f"note: {UNCERTAIN}" in done.err
    if kind == "svg":
        assert UNCERTAIN in told(target.read_text("utf-8"))
    first = pneudraw("chart", edge, "edge+later", "--format", "csv")
    assert first.err.count("not certain") == 1  # not said twice of one end


def test_why_says_it_in_words_and_as_data(edge: Path) -> None:
    done = pneudraw("why", edge, "edge", "lr/spring")
    assert "How it ends is not certain" in done.out
    assert "lr/spring" in json.loads(pneudraw("why", edge, "edge", "lr", "--format", "json").out)["doubts"]


def test_what_is_certain_is_not_doubted_anywhere(tmp_path: Path) -> None:
    path = tmp_path / "bench.pneu"
    path.write_text(RIG, "utf-8")
    for command in (
        ("trace", path, "service-apply"),
        ("trace", path, "service-apply", "--format", "json"),
        ("trace", path, "service-apply", "--format", "svg"),
        ("chart", path, "service-apply"),
        ("why", path, "service-apply", "lf"),
        ("why", path, "service-apply", "lf", "--format", "json"),
    ):
        done = pneudraw(*command)
        assert done.status == 0
        assert "certain" not in done.out + done.err
        assert "doubts" not in done.out
