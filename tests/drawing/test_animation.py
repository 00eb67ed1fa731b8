"""The moving picture: only CSS, in the order of arrival, and the still picture for whoever wants or needs that."""

from __future__ import annotations

import re

from lxml import etree

from pneudraw.drawing import draw, to_pdf, to_svg
from pneudraw.drawing.lines import BEADS
from pneudraw.drawing.shapes import Moving, box_of, leaves
from tests.drawing.measure import groups
from tests.drawing.scene import laid_out, training_rig
from tests.drawing.tints_of_rig import APPLY, RELEASE

SVG = "{http://www.w3.org/2000/svg}"


def test_a_still_picture_has_nothing_of_it() -> None:
    text = to_svg(draw(training_rig(), laid_out(), tints=APPLY))
    assert "animation" not in text
    assert "keyframes" not in text


def test_it_moves_without_scripts_and_needs_nothing_from_elsewhere() -> None:
    """SVG 2, 2.3: a script or a reference to another file does not work in a picture on a page."""
    root = etree.fromstring(to_svg(draw(training_rig(), laid_out(), tints=APPLY), animate=True).encode())
    assert not list(root.iter(f"{SVG}script"))
    assert not [a for e in root.iter() for a in e.attrib if a.startswith("on")]
    assert all(v.startswith("#") for e in root.iter() for a, v in e.attrib.items() if a.endswith("href"))


def test_taken_without_its_beads_it_is_the_still_picture() -> None:
    sheet = draw(training_rig(), laid_out(), tints=APPLY)
    still, moving = (etree.fromstring(to_svg(sheet, animate=a).encode()) for a in (False, True))
    for bead in [e for e in moving.iter() if "air" in (e.get("class") or "").split()]:
        bead.getparent().remove(bead)
    for style in [e for e in moving.iter(f"{SVG}style") if "keyframes" in (e.text or "")]:
        style.getparent().remove(style)
    assert etree.tostring(still) == etree.tostring(moving)
    assert to_pdf(sheet) == to_pdf(sheet)


def test_beads_show_only_on_a_screen_and_to_those_who_accept_motion() -> None:
    """Media Queries Level 5, prefers-reduced-motion."""
    text = to_svg(draw(training_rig(), laid_out(), tints=APPLY), animate=True)
    outside, _, within = text.partition("@media screen and (prefers-reduced-motion:no-preference)")
    assert ".air{visibility:hidden" in outside
    assert "animation:" not in outside
    assert ".air{visibility:visible}" in within


def test_every_line_that_carries_air_moves_the_way_of_its_arrows() -> None:
    for tints in (APPLY, RELEASE):
        sheet = draw(training_rig(), laid_out(), tints=tints)
        moving = {tint.line for tint in tints.lines if tint.branches}
        shown = {
            line.name
            for line in groups(sheet.shapes, "line")
            if any(isinstance(i, Moving) for i in line.items)
        }
        assert shown == moving
    sheet = draw(training_rig(), laid_out(), tints=APPLY)
    (feed,) = [g for g in groups(sheet.shapes, "line") if g.name == "signal"]
    ways = [item for item in feed.items if isinstance(item, Moving)]
    (foot,) = [box_of(g) for g in groups(sheet.shapes, "part") if g.name == "foot"]
    assert foot is not None
    start = ways[0].points[0]
    assert foot[0] - 1 <= start[0] <= foot[2] + 1
    assert foot[1] - 1 <= start[1] <= foot[3] + 1


def test_what_arrives_later_begins_later() -> None:
    text = to_svg(draw(training_rig(), laid_out(), tints=APPLY), animate=True)
    begins = [float(m) for m in re.findall(r"@keyframes turn-\d+\{0%,([\d.]+)%", text)]
    orders = {
        i.order for i in leaves(draw(training_rig(), laid_out(), tints=APPLY).shapes) if isinstance(i, Moving)
    }
    assert begins == sorted(set(begins))
    assert len(begins) == len(orders - {None}) - 1  # the first one moves from the start


def test_a_bead_takes_the_place_of_the_next_when_the_round_is_over() -> None:
    """Else the beads would jump: the dash offset runs over exactly one period of the dashes (SVG 2, 13.5.6)."""
    sheet = draw(training_rig(), laid_out(), tints=APPLY)
    text = to_svg(sheet, animate=True)
    period = f"{BEADS * sheet.module:.2f}"
    assert f"stroke-dasharray:0 {period}}}" in text
    assert f"from{{stroke-dashoffset:{period}}}to{{stroke-dashoffset:0}}" in text
