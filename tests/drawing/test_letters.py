"""The lettering of an SVG: shown without any font, and the words there to be searched, copied and read aloud."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
import typst
from fontTools.pens.boundsPen import BoundsPen
from fontTools.svgLib.path import parse_path
from lxml import etree

from pneudraw.drawing import Lettering, Sheet, SheetOptions, draw, to_png, to_svg
from pneudraw.drawing.shapes import Text, text_box
from pneudraw.lettering import text_width
from tests.drawing.measure import texts
from tests.drawing.pictures import grey
from tests.drawing.scene import laid_out, training_rig
from tests.drawing.tints_of_rig import APPLY

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
DPI = 150.0


def rig() -> Sheet:
    return draw(training_rig(), laid_out(), SheetOptions(), APPLY)


def one(text: Text) -> Sheet:
    return Sheet("x", "x", "x", 80, 80, 2.5, "bare", (text,))


def parsed(sheet: Sheet, lettering: Lettering = "outlines") -> etree._Element:
    return etree.fromstring(to_svg(sheet, lettering=lettering).encode())


def words(root: etree._Element) -> list[str]:
    return ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]


def outlines(root: etree._Element) -> list[etree._Element]:
    """The groups of letter shapes, one for each text."""
    return [group for group in root.iter(f"{SVG}g") if group.get("aria-hidden") == "true"]


def ink_box(root: etree._Element, group: etree._Element) -> tuple[float, float, float, float]:
    """The box round the letters of a group [mm], from the path data and the transforms in the file."""
    found = re.fullmatch(
        r"translate\(([\d.-]+) ([\d.-]+)\)(rotate\(-90\))?scale\(([\d.]+)\)", group.get("transform", "")
    )
    assert found is not None
    dx, dy, scale = float(found[1]), float(found[2]), float(found[4])
    paths = {path.get("id"): path.get("d", "") for path in root.iter(f"{SVG}path") if path.get("id")}
    corners = []
    for use in group:
        pen = BoundsPen(None)
        parse_path(paths[str(use.get(HREF))[1:]], pen)
        left, top, right, bottom = pen.bounds
        place = float(use.get("x", "0"))
        corners += [(left + place, top), (right + place, bottom)]
    if found[3]:
        corners = [(y, -x) for x, y in corners]
    xs, ys = [dx + scale * x for x, _ in corners], [dy + scale * y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("lettering", ["outlines", "editable", "bare"])
def test_every_string_of_the_sheet_is_text_in_the_file(lettering: Lettering) -> None:
    sheet = rig()
    assert words(parsed(sheet, lettering)) == [text.text for text in texts(sheet)]


def test_the_words_are_read_aloud_once() -> None:
    """The words are seen by a screen reader, the shapes are hidden from it (WAI-ARIA, aria-hidden)."""
    root = parsed(rig())
    assert len(list(root.iter(f"{SVG}text"))) > 50
    hidden = outlines(root)
    for element in root.iter(f"{SVG}text"):
        assert not [above for above in element.iterancestors() if above in hidden]
    for use in root.iter(f"{SVG}use"):
        assert use.getparent() in hidden
        assert len(use) == 0


def test_the_words_are_not_painted_over_the_shapes() -> None:
    sheet = rig()
    for element, text in zip(parsed(sheet).iter(f"{SVG}text"), texts(sheet), strict=True):
        assert element.get("fill-opacity") == "0"
        assert float(element.get("textLength", "")) == pytest.approx(
            text_width(text.text, text.height, text.bold), abs=0.005
        )
        shapes = element.getprevious()
        assert shapes is not None
        assert shapes.get("aria-hidden") == "true"
        assert shapes.get("fill", "#000000") == text.colour


@pytest.mark.parametrize("upward", [False, True], ids=["across", "upward"])
@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("bold", [False, True], ids=["regular", "bold"])
def test_the_letters_stand_where_the_text_does(anchor: str, bold: bool, upward: bool) -> None:
    """As high as its capitals and as wide as its width, all but the room a letter keeps at its sides."""
    text = Text((40, 40), "HMH", 5.0, anchor, bold, "#d55e00", upward)
    root = parsed(one(text))
    (group,) = outlines(root)
    left, top, right, bottom = ink_box(root, group)
    width = text_width("HMH", 5.0, bold)
    shift = {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    # an H is as far from the beginning of its text as from the end
    if upward:
        assert (left, right) == pytest.approx((35, 40), abs=0.01)
        assert (top + bottom) / 2 == pytest.approx(40 + shift - width / 2, abs=0.01)
        assert 0.85 * width < bottom - top < width
    else:
        assert (top, bottom) == pytest.approx((35, 40), abs=0.01)
        assert (left + right) / 2 == pytest.approx(40 - shift + width / 2, abs=0.01)
        assert 0.85 * width < right - left < width


def test_no_letter_of_a_sheet_leaves_the_box_its_text_was_given() -> None:
    sheet = rig()
    root = parsed(sheet)
    for group, text in zip(outlines(root), texts(sheet), strict=True):
        left, top, right, bottom = ink_box(root, group)
        box = text_box(text)
        over = 0.2 * text.height  # accents and brackets, and a letter that leans over its side
        assert left > box[0] - over, text.text
        assert top > box[1] - over, text.text
        assert right < box[2] + over, text.text
        assert bottom < box[3] + over, text.text


def test_a_letter_stands_in_the_file_once_however_often_it_is_used() -> None:
    root = parsed(rig())
    shapes = [path.get("d") for path in root.iter(f"{SVG}path") if path.get("id")]
    uses = [use.get(HREF) for use in root.iter(f"{SVG}use")]
    assert len(shapes) == len(set(shapes)) == len(set(uses))
    assert len(uses) > 5 * len(shapes)


def test_what_the_font_lacks_is_text_that_is_seen() -> None:
    root = parsed(one(Text((5, 40), "Valve 漢字 front", 2.5)))
    (element,) = root.iter(f"{SVG}text")
    pieces = [(piece.text, piece.get("fill-opacity")) for piece in element]
    assert pieces == [("Valve ", "0"), ("漢字", None), (" front", "0")]
    starts = [float(piece.get("x", "")) for piece in element]
    assert starts == pytest.approx(
        [5 + text_width(before, 2.5) for before in ("", "Valve ", "Valve 漢字")], abs=0.006
    )
    (group,) = outlines(root)
    assert len(group) == len("Valvefront")


def test_a_text_of_another_script_is_anchored_as_it_was_meant() -> None:
    root = parsed(one(Text((40, 40), "فرامل 12", 2.5, "end")))
    (element,) = root.iter(f"{SVG}text")
    assert element.get("text-anchor") == "end"
    assert element.get("fill-opacity") is None
    assert not outlines(root)


def test_editable_text_is_seen_and_brings_its_font() -> None:
    root = parsed(rig(), "editable")
    assert not outlines(root)
    assert not [e for e in root.iter(f"{SVG}text") if e.get("fill-opacity") or e.get("textLength")]
    (style,) = root.iter(f"{SVG}style")
    addresses = re.findall(r"url\((.{0,30})", style.text or "")
    assert addresses
    assert all(address.startswith("data:font/woff2;base64,") for address in addresses)


def test_a_program_without_fonts_prints_the_same_letters() -> None:
    """typst with neither the machine's fonts nor ours, against the PNG, which has ours."""
    sheet = rig()
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "sheet.svg").write_text(to_svg(sheet), encoding="utf-8")
        page = f"#set page(width: {sheet.width}mm, height: {sheet.height}mm, margin: 0pt)\n"
        source = Path(folder) / "page.typ"
        source.write_text(page + '#image("sheet.svg", width: 100%, height: 100%)', encoding="utf-8")
        seen = grey(typst.compile(str(source), root=folder, ignore_system_fonts=True, format="png", ppi=DPI))
    printed = grey(to_png(sheet, DPI))
    for text in texts(sheet):
        left, top, right, bottom = (round(side / 25.4 * DPI) for side in text_box(text))
        inks = [1 - dots[top : bottom + 1, left : right + 1].mean() / 255 for dots in (seen, printed)]
        assert inks[0] == pytest.approx(inks[1], abs=0.03), text.text
        assert inks[0] > 0.01, text.text
