"""Makes the files of glyph outlines from the program's font files.

For developers, after a change of the font: ``python -m pneudraw.lettering.make_outlines`` (needs ``fonttools``;
:mod:`make_font` does it too). The program itself never runs this: it uses the files made here.

A line for each character: its number, a blank, and its outline as the path data of an SVG, in font units, y down,
from the character's origin on the baseline. The curves are the font's own; nothing is rounded.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

FONTS = Path(__file__).parent / "fonts"


def main() -> None:
    """Write ``fonts/*.outlines.txt`` from ``fonts/*.ttf``."""
    for weight in ("regular", "bold"):
        path = FONTS / f"pneudraw-sans-{weight}.ttf"
        lines = [f"{code} {data}\n" for code, data in sorted(outlines(path).items())]
        path.with_suffix(".outlines.txt").write_text("".join(lines), encoding="ascii")


def outlines(path: Path) -> dict[int, str]:
    """Return the path data of every character of a TrueType font, by code point; "" for a blank."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.ttLib import TTFont

    font = TTFont(path)
    glyphs = font.getGlyphSet()
    found = {}
    for code, name in font.getBestCmap().items():
        pen = DecomposingRecordingPen(glyphs)
        glyphs[name].draw(pen)
        found[code] = _data(pen.value)
    return found


def _data(steps: list[tuple[str, Any]]) -> str:
    """Path data, relative and short: h and v for straight lines along an axis, t where a curve runs on smoothly."""
    out: list[str] = []
    x = y = 0.0  # where the pen is
    begin = (0.0, 0.0)
    last = ""

    def emit(command: str, *points: tuple[float, float]) -> None:
        nonlocal x, y, last
        values = [part for px, py in points for part in (px - x, py - y)]
        if command == "l" and 0 in values:
            command, values = ("h", values[:1]) if values[1] == 0 else ("v", values[1:])
        words = ""
        for value in values:
            text = f"{value:g}"
            words += text if not words or text.startswith("-") else f" {text}"
        if command == last:
            out.append(words if words.startswith("-") else f" {words}")
        else:
            out.append(command + words)
        last = command
        x, y = points[-1]

    for step, raw in steps:
        points = [(px, -py) for px, py in raw]
        if step == "moveTo":
            emit("m" if out else "M", *points)
            begin = points[0]
        elif step == "lineTo":
            if points[0] != (x, y):
                emit("l", *points)
        elif step == "qCurveTo":
            *controls, end = points
            for number, (cx, cy) in enumerate(controls):
                if number + 1 < len(controls):  # two controls in a row: the curve passes midway between them
                    nx, ny = controls[number + 1]
                    goal = ((cx + nx) / 2, (cy + ny) / 2)
                else:
                    goal = end
                emit(*(("t", goal) if number else ("q", (cx, cy), goal)))
        elif step == "closePath":
            out.append("z")
            last = "z"
            x, y = begin
        else:
            raise ValueError(f"no TrueType outline: {step}")
    return "".join(out)


if __name__ == "__main__":
    main()
