"""How wide a text is. The reference is the font itself, read by fontTools, which the program does not use."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pneudraw.lettering import CAP_HEIGHT, DESCENT, LINE_PITCH, font_folder, plain, shorten, text_width, wrap
from pneudraw.lettering.characters import CORE, FULL

words = st.text(alphabet=st.sampled_from([chr(code) for code in CORE]), max_size=40)
anything = st.text(max_size=60)


@cache
def font(weight: str) -> Any:
    from fontTools.ttLib import TTFont

    return TTFont(font_folder() / f"pneudraw-sans-{weight}.ttf")


def outline_box(weight: str, char: str) -> tuple[float, float, float, float]:
    from fontTools.pens.boundsPen import BoundsPen

    glyphs = font(weight).getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[font(weight).getBestCmap()[ord(char)]].draw(pen)
    return pen.bounds  # type: ignore[no-any-return]


@pytest.mark.parametrize("weight", ["regular", "bold"])
@settings(deadline=None, max_examples=100)
@given(text=words)
def test_a_text_is_as_wide_as_the_advances_of_its_glyphs(weight: str, text: str) -> None:
    cmap, advances = font(weight).getBestCmap(), font(weight)["hmtx"].metrics
    shown = plain(text)
    units = sum(advances[cmap[ord(char)]][0] for char in shown)
    size = 3.5 / CAP_HEIGHT  # the font size that gives capitals of 3.5 mm
    assert text_width(text, 3.5, weight == "bold") == pytest.approx(units / 2048 * size, abs=1e-9)


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_the_font_has_no_kerning_that_would_change_a_width(weight: str) -> None:
    assert not {"kern", "GPOS", "GSUB"} & set(font(weight).keys())


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_height_is_the_height_of_the_capitals(weight: str) -> None:
    """ISO 3098: the nominal height of lettering is that of its capitals (from memory)."""
    assert outline_box(weight, "H")[3] / 2048 == pytest.approx(CAP_HEIGHT, abs=0.005)


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_no_tail_hangs_into_the_next_line(weight: str) -> None:
    cap = CAP_HEIGHT * 2048
    lowest = min(outline_box(weight, char)[1] for char in "gjpqyQ,;çÇşţğ")
    highest = max(outline_box(weight, char)[3] for char in "bdfhklAÄ")
    assert -lowest / cap <= DESCENT
    assert (highest - lowest) / cap <= LINE_PITCH


def test_lines_stand_as_far_apart_as_the_standard_asks() -> None:
    """ISO 3098: at least 1.4 times the height from line to line (from memory)."""
    assert LINE_PITCH >= 1.4


def test_every_character_of_an_english_drawing_is_in_both_weights() -> None:
    for weight in ("regular", "bold"):
        assert set(CORE) <= set(font(weight).getBestCmap())


def test_the_whole_font_has_the_letters_of_its_languages() -> None:
    for text in ("Frein à air, Bremskraft, hjul, fără", "Тормозная система", "Πέδηση", "přívěs, ciągnik"):
        for weight in ("regular", "bold"):
            assert {ord(char) for char in plain(text)} <= set(font(weight).getBestCmap())
    assert len(FULL) > len(CORE)


def test_the_licence_travels_with_the_font_and_the_font_has_its_own_name() -> None:
    """SIL Open Font License 1.1, conditions 2 and 3: the licence goes along; reserved names are not used."""
    assert "SIL OPEN FONT LICENSE Version 1.1" in (font_folder() / "OFL.txt").read_text("utf-8")
    for weight in ("regular", "bold"):
        names = {record.nameID: record.toUnicode() for record in font(weight)["name"].names}
        assert names[1] == "Pneudraw Sans"
        assert "Open Font License" in names[13]


@settings(deadline=None, max_examples=100)
@given(text=anything)
def test_what_is_lettered_is_valid_in_xml_and_turns_no_writing_direction(text: str) -> None:
    """XML 1.0, production 2 (Char): no control characters but tab and line ends; here not even those."""
    shown = plain(text)
    assert all(ord(char) >= 0x20 and not 0x7F <= ord(char) <= 0x9F for char in shown)
    assert not set(shown) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200f\ufffe\uffff")


@settings(deadline=None, max_examples=100)
@given(text=words, width=st.floats(5, 80))
def test_wrapping_loses_no_letter_and_stays_within_its_width(text: str, width: float) -> None:
    lines = wrap(text, width, 2.5)
    assert "".join(lines).replace(" ", "") == plain(text).replace(" ", "").replace("\xa0", "")
    assert all(text_width(line, 2.5) <= width or len(line) == 1 for line in lines)


@settings(deadline=None, max_examples=100)
@given(text=words, width=st.floats(6, 80))
def test_a_shortened_text_fits(text: str, width: float) -> None:
    shown = shorten(text, width, 2.5)
    assert text_width(shown, 2.5) <= width
    assert shown == plain(text) or plain(text).startswith(shown.removesuffix("…"))
