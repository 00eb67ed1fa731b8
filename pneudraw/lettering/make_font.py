"""Makes the program's font files and their width table from a variable sans font under the OFL.

For developers, after a change of the character set or of the font: ``python -m pneudraw.lettering.make_font
FONT.ttf`` (the font of the PyPI package ``fontpkg-inter``; needs ``fonttools`` and ``brotli``). The program
itself never runs this: it uses the files made here.

What is changed against the original, as the OFL asks to be said: two fixed weights, fewer characters, no
kerning or other layout features (so that a text is exactly as wide as the sum of its advances in every
program that shows it), and another name, under which it may not be taken for the original.
"""

from __future__ import annotations

import sys
from pathlib import Path

from pneudraw.lettering import make_outlines
from pneudraw.lettering.characters import CORE, FULL

FAMILY = "Pneudraw Sans"
WEIGHTS = {"regular": 400, "bold": 700}


def main(original: str) -> None:
    """Write ``fonts/*.ttf``, ``fonts/*.woff2``, ``fonts/*.outlines.txt`` and ``advances.py`` beside this file."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont

    here = Path(__file__).parent
    tables: dict[str, dict[int, int]] = {}
    heights: dict[str, int] = {}
    for weight, value in WEIGHTS.items():
        for name, characters in (("", FULL), ("-core", CORE)):
            font = TTFont(original, recalcTimestamp=False)
            axes = {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes}
            instantiateVariableFont(font, {**axes, "wght": value}, inplace=True)
            options = Options()
            options.layout_features = []
            options.hinting = False
            options.name_IDs = [0, 13, 14]
            options.notdef_outline = True
            options.glyph_names = False
            options.drop_tables += ["STAT", "HVAR", "MVAR", "DSIG", "GPOS", "GSUB", "GDEF", "meta"]
            subsetter = Subsetter(options)
            subsetter.populate(unicodes=characters)
            subsetter.subset(font)
            _rename(font, weight)
            stem = here / "fonts" / f"pneudraw-sans-{weight}{name}"
            if not name:
                font.save(stem.with_suffix(".ttf"))
                widths = font["hmtx"].metrics
                tables[weight] = {
                    code: widths[glyph][0] for code, glyph in sorted(font.getBestCmap().items())
                }
                heights = {
                    "UNITS_PER_EM": font["head"].unitsPerEm,
                    "CAP_UNITS": font["OS/2"].sCapHeight,
                    "X_UNITS": font["OS/2"].sxHeight,
                }
            font.flavor = "woff2"
            font.save(stem.with_suffix(".woff2"))
    _write_table(here / "advances.py", heights, tables)
    make_outlines.main()


def _rename(font: object, weight: str) -> None:
    names = font["name"]  # type: ignore[index]
    style = weight.capitalize()
    for identifier, text in ((1, FAMILY), (2, style), (3, f"{FAMILY} {style}"), (4, f"{FAMILY} {style}")):
        names.setName(text, identifier, 3, 1, 0x409)
    names.setName(f"PneudrawSans-{style}", 6, 3, 1, 0x409)
    bold = weight == "bold"
    font["head"].macStyle = int(bold)  # type: ignore[index]
    font["OS/2"].fsSelection = 0x80 | (0x20 if bold else 0x40)  # type: ignore[index]


def _write_table(path: Path, heights: dict[str, int], tables: dict[str, dict[int, int]]) -> None:
    lines = ['"""Widths of the program\'s font, made by make_font.py. Do not edit."""', ""]
    lines += ["# fmt: off"]
    lines += [f"{name} = {value}" for name, value in heights.items()]
    for weight, table in tables.items():
        lines += [
            "",
            "#: code point: advance width in font units",
            f"{weight.upper()}: dict[int, int] = {{",
        ]
        row: list[str] = []
        for code, width in table.items():
            row.append(f"{code}: {width},")
            if len(row) == 8:
                lines.append("    " + " ".join(row))
                row = []
        lines += ["    " + " ".join(row)] if row else []
        lines.append("}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
