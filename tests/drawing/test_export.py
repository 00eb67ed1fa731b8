"""PDF and PNG."""

from __future__ import annotations

import re
import struct

import pytest

from pneudraw.drawing import SheetOptions, draw, to_pdf, to_png
from tests.drawing.scene import laid_out, training_rig
from tests.drawing.tints_of_rig import APPLY, RELEASE


def test_a_png_has_the_sheets_size_at_the_dots_asked_for() -> None:
    """PNG specification, IHDR: width and height at byte 16."""
    sheet = draw(training_rig(), laid_out(), SheetOptions(paper="bare"))
    for dpi in (60, 120):
        data = to_png(sheet, dpi)
        width, height = struct.unpack(">II", data[16:24])
        assert width == pytest.approx(sheet.width / 25.4 * dpi, abs=1.5)
        assert height == pytest.approx(sheet.height / 25.4 * dpi, abs=1.5)


def test_a_pdf_has_a_page_a_sheet_in_its_size_and_carries_only_our_font() -> None:
    """ISO 32000-1: /MediaBox in points of 1/72 inch, /BaseFont of an embedded subset XXXXXX+Name."""
    sheets = [
        draw(training_rig(), laid_out(), SheetOptions(paper="A3"), tints) for tints in (None, APPLY, RELEASE)
    ]
    data = to_pdf(sheets)
    wide, high = sheets[0].width / 25.4 * 72, sheets[0].height / 25.4 * 72
    boxes = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", data)
    size = (pytest.approx(wide, abs=0.1), pytest.approx(high, abs=0.1))
    assert [(float(box[0]), float(box[1])) for box in boxes] == [size] * 3
    fonts = set(re.findall(rb"/BaseFont ?/([^/\s]+)", data))
    assert fonts
    assert all(b"+PneudrawSans" in name for name in fonts)


def test_a_pdf_is_the_same_every_time_and_has_no_date() -> None:
    sheet = draw(training_rig(), laid_out())
    first = to_pdf(sheet)
    assert first == to_pdf(sheet)
    assert b"CreationDate" not in first


def test_a_monstrous_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="dots per inch"):
        to_png(draw(training_rig(), laid_out()), 2400)
