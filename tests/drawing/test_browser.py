"""What a browser shows is what the program prints: the SVG in Chromium, with fonts on the machine and without any."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from pneudraw.drawing import Lettering, SheetOptions, draw, to_png, to_svg
from pneudraw.drawing.shapes import Sheet, text_box
from tests.drawing.measure import texts
from tests.drawing.pictures import grey
from tests.drawing.scene import laid_out, training_rig
from tests.drawing.tints_of_rig import APPLY

CHROMIUM = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
DPI = 96.0  # a CSS pixel is a 96th of an inch
SWITCHES = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


def empty_font(path: Path) -> None:
    """Write a font with nothing in it but the sign for a missing letter, which is blank."""
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder([".notdef"])
    font.setupCharacterMap({})
    font.setupGlyf({".notdef": TTGlyphPen(None).glyph()})
    font.setupHorizontalMetrics({".notdef": (500, 0)})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": "Empty", "styleName": "Regular"})
    font.setupOS2()
    font.setupPost()
    font.save(path)


def shown(svg: str, width: int, height: int, folder: Path, fonts: str = "all", motion: bool = True) -> Any:
    """The dots Chromium paints of an SVG file on a page.

    ``fonts`` on the machine: "all" it has; "none"; "empty": one that has no letters (with none at all Chromium paints
    no text in a document that is XML, whatever font it brings along).
    """
    (folder / "picture.svg").write_text(svg, encoding="utf-8")
    page = (
        '<!doctype html><body style="margin:0;background:white"><img src="picture.svg" style="display:block">'
    )
    (folder / "page.html").write_text(page, encoding="utf-8")
    environment = dict(os.environ)
    if fonts != "all":
        (folder / "fonts").mkdir()
        if fonts == "empty":
            empty_font(folder / "fonts" / "empty.ttf")
        settings = folder / "fonts.conf"
        settings.write_text(f"<fontconfig><dir>{folder / 'fonts'}</dir></fontconfig>", encoding="utf-8")
        environment["FONTCONFIG_FILE"] = str(settings)
    photo = folder / "photo.png"
    assert CHROMIUM is not None
    subprocess.run(
        [
            CHROMIUM,
            *SWITCHES,
            *(() if motion else ("--force-prefers-reduced-motion",)),
            f"--user-data-dir={folder / 'profile'}",
            f"--window-size={width},{height + 200}",
            f"--screenshot={photo}",
            (folder / "page.html").as_uri(),
        ],
        check=True,
        capture_output=True,
        timeout=120,
        env=environment,
    )
    return grey(photo.read_bytes())[:height, :width]


def made() -> Sheet:
    return draw(training_rig(), laid_out(), SheetOptions(paper="bare"), APPLY)


def ink(dots: Any, box: tuple[float, float, float, float]) -> float:
    """Share of black in a box [mm]."""
    left, top, right, bottom = (round(v / 25.4 * DPI) for v in box)
    return float(1 - dots[top : bottom + 1, left : right + 1].mean() / 255)


@pytest.mark.parametrize(
    ("lettering", "fonts"),
    [("outlines", "all"), ("outlines", "none"), ("editable", "all"), ("editable", "empty")],
)
def test_a_browser_shows_what_is_printed(lettering: Lettering, fonts: str, tmp_path: Path) -> None:
    sheet = made()
    printed = grey(to_png(sheet, DPI))
    height, width = printed.shape
    seen = shown(to_svg(sheet, lettering=lettering), width, height, tmp_path, fonts)
    assert seen.shape == printed.shape
    # every lettering is there, in the same font: as much ink in its box
    for text in texts(sheet):
        box = text_box(text)
        assert ink(seen, box) == pytest.approx(ink(printed, box), abs=0.05), text.text
        assert ink(seen, box) > 0.02, text.text
    # everything else is where it should be: black where the other is black, give or take a dot of anti-aliasing
    for text in texts(sheet):  # the letters apart, which each shapes to the dots in its own way
        left, top, right, bottom = (round(v / 25.4 * DPI) for v in text_box(text))
        for dots in (seen, printed):
            dots[max(0, top - 1) : bottom + 2, max(0, left - 1) : right + 2] = 255
    for one, other in ((seen, printed), (printed, seen)):
        black = np.argwhere(one < 90)
        near = np.minimum.reduce([np.roll(other, (dy, dx), (0, 1)) for dy in (-1, 0, 1) for dx in (-1, 0, 1)])
        lost = sum(near[y, x] > 200 for y, x in black)
        assert lost <= 0.0005 * len(black)


@pytest.mark.parametrize(("lettering", "fonts"), [("bare", "empty"), ("editable", "none")])
def test_missing_letters_would_be_noticed(lettering: Lettering, fonts: str, tmp_path: Path) -> None:
    """The check above can fail: real text without a font in the file, or in a browser without any."""
    sheet = made()
    printed = grey(to_png(sheet, DPI))
    height, width = printed.shape
    seen = shown(to_svg(sheet, lettering=lettering), width, height, tmp_path, fonts)
    wrong = [t.text for t in texts(sheet) if abs(ink(seen, text_box(t)) - ink(printed, text_box(t))) > 0.05]
    assert len(wrong) > len(texts(sheet)) / 3


def test_the_words_in_front_of_the_letters_are_not_seen(tmp_path: Path) -> None:
    """With or without fonts on the machine it is the same picture."""
    sheet = made()
    height, width = grey(to_png(sheet, DPI)).shape
    pictures = []
    for fonts in ("all", "none"):
        (tmp_path / fonts).mkdir()
        pictures.append(shown(to_svg(sheet), width, height, tmp_path / fonts, fonts))
    assert np.array_equal(*pictures)


def test_who_wants_less_motion_gets_the_still_picture(tmp_path: Path) -> None:
    """Media Queries Level 5, prefers-reduced-motion."""
    sheet = made()
    height, width = grey(to_png(sheet, DPI)).shape
    (tmp_path / "still").mkdir()
    (tmp_path / "calm").mkdir()
    (tmp_path / "moving").mkdir()
    still = shown(to_svg(sheet), width, height, tmp_path / "still")
    calm = shown(to_svg(sheet, animate=True), width, height, tmp_path / "calm", motion=False)
    moving = shown(to_svg(sheet, animate=True), width, height, tmp_path / "moving")
    assert np.array_equal(still, calm)
    assert not np.array_equal(still, moving)
