"""The font inside a picture."""

from __future__ import annotations

import base64
import re

from pneudraw.lettering import font_face


def carried(css: str) -> bytes:
    found = re.search(r"base64,([A-Za-z0-9+/=]+)", css)
    assert found is not None
    return base64.b64decode(found[1])


def test_an_english_drawing_carries_a_small_font() -> None:
    css = font_face(["Relay valve", "crack 4 psi", "15 °C"], bold=False)
    assert carried(css)[:4] == b"wOF2"  # WOFF 2.0, W3C recommendation, section 4.1: the signature
    assert len(css) < 12_000


def test_a_drawing_in_another_script_carries_the_whole_font() -> None:
    assert len(carried(font_face(["Тормоз"], bold=True))) > len(carried(font_face(["Brake"], bold=True)))


def test_bold_is_another_file() -> None:
    assert "font-weight:bold" in font_face(["a"], bold=True)
    assert "font-weight:normal" in font_face(["a"], bold=False)
    assert carried(font_face(["a"], bold=True)) != carried(font_face(["a"], bold=False))
