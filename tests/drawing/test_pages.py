"""A train too long for one sheet: a sheet for each vehicle, in the order of the train, and like ones alike."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.course import circuits_folder
from pneudraw.drawing import Arrangement, arrange

THIRD = """
  gs3    gladhand-supply           "Third supply coupling"
  gc3    gladhand-service          "Third service coupling"
"""
JOINED = """
  t2.rs.2 -> gs3.1
  t2.rc.2 -> gc3.1
  red3:      gs3.2 -> t3.valve.1, t3.rs.1
  blue3:     gc3.2 -> t3.relay.4, t3.rc.1
  t3.rs.2 -> ps
  t3.rc.2 -> pc
"""


@pytest.fixture(scope="module")
def train(tmp_path_factory: pytest.TempPathFactory) -> Arrangement:
    """The course's tractor with two trailers, and a third one behind them."""
    folder = tmp_path_factory.mktemp("train")
    shutil.copytree(circuits_folder() / "vehicles", folder / "vehicles")
    text = (circuits_folder() / "tractor-two-trailers.pneu").read_text("utf-8")
    second = 'use "vehicles/link-trailer.pneu" as t2\n'
    ends = "".join(line for line in text.splitlines(True) if line.startswith(("  t2.rs.2", "  t2.rc.2")))
    assert second in text
    assert ends in text
    text = text.replace(second, second + second.replace("t2", "t3")).replace("\nlines\n", f"{THIRD}\nlines\n")
    path: Path = folder / "train.pneu"
    path.write_text(text.replace(ends, JOINED), "utf-8")
    reading = api.read(path)
    assert reading.circuit is not None, reading.diagnostics
    return arrange(reading.circuit)


def test_each_vehicle_has_its_sheet_in_the_order_of_the_train(train: Arrangement) -> None:
    homes = [[part.tag.partition(".")[0] for part in view.circuit.parts] for view in train.views]
    assert [max(set(tags), key=tags.count) for tags in homes[1:]] == ["t1", "t2", "t3"]
    assert {"gs2", "gc2"} <= {
        part.tag for part in train.views[1].circuit.parts
    }  # what hangs on it goes with it
    assert "A3" in train.messages[0]


def test_every_vehicle_is_framed(train: Arrangement) -> None:
    assert [frame.name[:3] for view in train.views for frame in view.frames] == ["t1:", "t2:", "t3:"]


def test_like_vehicles_look_alike_on_their_sheets(train: Arrangement) -> None:
    shapes = []
    for number, view in enumerate(train.views[1:], start=1):
        at = {s.id: (s.x, s.y, s.transform) for s in view.layout.symbols}
        x, y, _ = at[f"t{number}.tank"]
        shapes.append(
            {
                tag.partition(".")[2]: (left - x, top - y, turn)
                for tag, (left, top, turn) in at.items()
                if tag.startswith(f"t{number}.")
            }
        )
    assert len(shapes[0]) == 10
    assert shapes[0] == shapes[1] == shapes[2]
