"""Vehicles used twice or more are drawn alike, each with its frame and title; others get a place of their own."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.circuit.vehicles import vehicles
from pneudraw.drawing import SheetOptions
from pneudraw.drawing.groups import frames
from pneudraw.drawing.view import View
from pneudraw.layout.from_circuit import problem
from tests.layout.scoring import faults_of

SEMITRAILER = Path(__file__).parents[2] / "circuits" / "vehicles" / "semitrailer.pneu"
BARE = SheetOptions(paper="bare")

TRAILER = """
circuit "Trailer with rear couplings"
parts
  valve  trailer-spring-valve  "Trailer spring valve"
  tank   reservoir             "Trailer reservoir"
  drain  drain-valve           "Drain"
  relay  relay-valve           "Trailer relay valve"
  l, r   spring-brake
  rs     gladhand-supply       "Rear supply coupling"
  rc     gladhand-service      "Rear service coupling"
lines
  valve.1 -> rs.1
  relay.4 -> rc.1
  valve.21 -> tank.1
  tank.e -> drain
  tank.2 -> relay.1
  relay.2 -> l.11, r.11
  valve.22 -> l.12, r.12
"""

TOWING = """
parts
  air   air-source         "Shop air"
  tank  reservoir          "Reservoir"
  foot  foot-valve-single  "Foot valve"
  lf    service-chamber    "Left front"
  gs    gladhand-supply    "Supply coupling"
  gc    gladhand-service   "Service coupling"
lines
  air -> tank.1
  tank.2 -> foot.1, gs.1
  foot.2 -> lf, gc.1
"""


def train(folder: Path, *tags: str) -> Circuit:
    """A towing vehicle with trailers of one file, each coupled to the one before."""
    (folder / "trailer.pneu").write_text(TRAILER, encoding="utf-8")
    uses = "".join(f'use "trailer.pneu" as {tag}\n' for tag in tags)
    couplings = "  gs.2 -> {0}.valve.1\n  gc.2 -> {0}.relay.4\n".format(tags[0]) + "".join(
        f"  {a}.rs.2 -> {b}.valve.1\n  {a}.rc.2 -> {b}.relay.4\n" for a, b in pairwise(tags)
    )
    return _read(folder, f'circuit "Train"\n{uses}{TOWING}{couplings}')


def _read(folder: Path, text: str) -> Circuit:
    (folder / "whole.pneu").write_text(text, encoding="utf-8")
    circuit = api.read(folder / "whole.pneu").circuit
    assert circuit is not None
    return circuit


def _one_view(circuit: Circuit) -> View:
    (view,) = api.arrange(circuit, BARE).views
    return view


@pytest.mark.parametrize("tags", [("t1", "t2"), ("t1", "t2", "t3"), ("front", "middle", "tail")])
def test_like_trailers_behind_a_towing_vehicle_differ_by_a_shift_only(
    tmp_path: Path, tags: tuple[str, ...]
) -> None:
    circuit = train(tmp_path, *tags)
    layout = _one_view(circuit).layout
    assert faults_of(problem(circuit), layout) == []
    placed = {symbol.id: symbol for symbol in layout.symbols}
    labels = {label.symbol: label for label in layout.labels}
    routes = {route.net: route.lines for route in layout.routes}
    own = [
        [line.tag for line in circuit.lines if all(end.part.tag.startswith(f"{tag}.") for end in line.ends)]
        for tag in tags
    ]
    first = tags[0]
    for number, tag in enumerate(tags[1:], start=1):
        dx = placed[f"{tag}.relay"].x - placed[f"{first}.relay"].x
        dy = placed[f"{tag}.relay"].y - placed[f"{first}.relay"].y
        assert (dx, dy) != (0, 0)
        for part in vehicles(circuit)[first]:
            mate = tag + part[len(first) :]
            a, b = placed[part], placed[mate]
            assert (b.x - a.x, b.y - a.y, b.transform) == (dx, dy, a.transform)
            one, other = labels[part], labels[mate]
            assert other.anchor == one.anchor
            if other.width == one.width:  # a longer tag makes a longer label, flush with the same symbol
                assert (other.x - one.x, other.y - one.y) == pytest.approx((dx, dy), abs=0.01)
        assert len(own[0]) == len(own[number]) > 3
        for a_line, b_line in zip(own[0], own[number], strict=True):
            moved = tuple(tuple((x + dx, y + dy) for x, y in points) for points in routes[a_line])
            assert routes[b_line] == moved


def test_lines_through_a_train_are_straight_from_the_first_trailer_to_the_last(tmp_path: Path) -> None:
    layout = _one_view(train(tmp_path, "t1", "t2", "t3")).layout
    y = {(port.symbol, port.port): port.y for port in layout.ports}
    for coupling in ("rs", "rc"):
        assert len({y[f"{tag}.{coupling}", "2"] for tag in ("t1", "t2", "t3")}) == 1


@pytest.mark.parametrize("letters", [1.0, 1.25])
@pytest.mark.parametrize("codes", [False, True])
def test_every_trailer_has_a_frame_and_a_title(tmp_path: Path, letters: float, codes: bool) -> None:
    circuit = train(tmp_path, "t1", "t2")
    (view,) = api.arrange(circuit, SheetOptions(paper="bare", codes=codes)).views
    made, messages = frames(circuit, view.layout, letters)
    assert messages == ()
    assert [frame.name.partition(":")[0] for frame in made] == ["t1", "t2"]
    assert all(frame.title is not None for frame in made)
    for frame in made:
        assert len(frame.outline) == 4  # no notch for what stands among its parts


def test_trailers_that_are_not_alike_get_a_place_of_their_own_where_no_frame_could_be_drawn(
    tmp_path: Path,
) -> None:
    (tmp_path / "trailer.pneu").write_text(TRAILER, encoding="utf-8")
    (tmp_path / "semitrailer.pneu").write_text(SEMITRAILER.read_text(encoding="utf-8"), encoding="utf-8")
    circuit = _read(
        tmp_path,
        """
circuit "Two trailers on a bench"
use "semitrailer.pneu" as a
use "trailer.pneu" as b
parts
  shop    air-source  "Shop air"
  tank    reservoir
  hand    hand-valve
  g1, g2  gauge
lines
  shop -> tank.1
  tank.2 -> a.valve.1, b.valve.1, hand.1
  hand.2 -> a.relay.4, b.relay.4
  a.tank.a -> g1
  b.tank.a -> g2
""",
    )
    flat = api.lay_out(circuit)
    assert any("no frame" in message for message in frames(circuit, flat, 1.0)[1])
    view = _one_view(circuit)
    assert view.messages == ()
    assert [frame.name.partition(":")[0] for frame in view.frames] == ["a", "b"]
    assert faults_of(problem(circuit), view.layout) == []
