"""The letters as shapes. The reference is the font itself, read by fontTools, which the program does not use."""

from __future__ import annotations

from typing import Any

import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.lettering import CAP_UNITS, advances, font_folder, outline, plain, runs, text_width
from pneudraw.lettering.make_outlines import outlines

WEIGHTS = ("regular", "bold")


def font(weight: str) -> Any:
    return TTFont(font_folder() / f"pneudraw-sans-{weight}.ttf")


@pytest.mark.parametrize("weight", WEIGHTS)
def test_every_character_has_the_shape_it_has_in_the_font(weight: str) -> None:
    """Its box and its area (counters and all), to a thousandth of a font unit squared."""
    glyphs, names = font(weight).getGlyphSet(), font(weight).getBestCmap()
    assert len(names) > 600
    for code, name in names.items():
        area, box = AreaPen(glyphs), BoundsPen(glyphs)
        for pen in (area, box):
            glyphs[name].draw(TransformPen(pen, (1, 0, 0, -1, 0, 0)))  # an SVG has its y downwards
        drawn_area, drawn_box = AreaPen(), BoundsPen(None)
        parse_path(outline(chr(code), weight == "bold"), drawn_area)
        parse_path(outline(chr(code), weight == "bold"), drawn_box)
        assert drawn_area.value == pytest.approx(area.value, abs=1e-3), chr(code)
        assert drawn_box.bounds == pytest.approx(box.bounds, abs=1e-6), chr(code)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_the_files_are_made_from_the_font_files(weight: str) -> None:
    made = outlines(font_folder() / f"pneudraw-sans-{weight}.ttf")
    assert {code: outline(chr(code), weight == "bold") for code in made} == made


def test_a_blank_has_no_shape_nor_has_what_the_font_lacks() -> None:
    assert outline(" ") == outline("漢") == ""


@given(text=st.text(max_size=40), bold=st.booleans())
def test_a_text_is_as_wide_as_its_letters_side_by_side(text: str, bold: bool) -> None:
    shown = plain(text)
    assert advances(shown, bold)[-1] == pytest.approx(text_width(text, CAP_UNITS, bold))
    assert list(advances(shown, bold)) == sorted(advances(shown, bold))


@given(text=st.text(max_size=40))
def test_the_pieces_of_a_text_are_the_text(text: str) -> None:
    pieces = runs(text)
    assert "".join(piece.text for piece in pieces) == plain(text)
    for piece in pieces:
        assert piece.start == pytest.approx(
            text_width("".join(p.text for p in pieces[: pieces.index(piece)]), CAP_UNITS)
        )


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("Relay valve", ["+Relay valve"]),
        ("Тормоз, frein, Bremskraftverstärker", ["+Тормоз, frein, Bremskraftverstärker"]),
        ("valve 漢字 front", ["+valve ", "-漢字", "+ front"]),
        ("漢 字", ["-漢 字"]),
        ("x\u0302 axle", ["-x\u0302", "+ axle"]),  # the circumflex is not in the font: the x goes with it
        ("فرامل 12 psi", ["-فرامل 12 psi"]),  # right to left: one piece
        ("", []),
    ],
)
def test_only_what_the_font_lacks_is_left_to_another_font(text: str, pieces: list[str]) -> None:
    assert [("+" if piece.known else "-") + piece.text for piece in runs(text)] == pieces


def test_a_mark_on_a_letter_takes_no_room() -> None:
    assert text_width("x\u0302", 2.5) == text_width("x", 2.5)
