"""Sheets as PDF and PNG, by way of SVG and the typst compiler, with the program's own font and no other.

Raises :class:`ExportError` if the compiler refuses.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from pneudraw.drawing.shapes import Sheet
from pneudraw.drawing.svg import to_svg
from pneudraw.lettering import font_folder, plain

MOST_PIXELS = 120_000_000


class ExportError(RuntimeError):
    """The compiler could not make the file; the message is its own."""


def to_pdf(sheets: Sheet | Sequence[Sheet]) -> bytes:
    """Return one page for each sheet, in their own sizes; fonts embedded, no date in the file."""
    return _compile((sheets,) if isinstance(sheets, Sheet) else tuple(sheets), "pdf", None)


def to_png(sheet: Sheet, dpi: float = 150.0) -> bytes:
    """Return the sheet as a PNG of so many dots per inch.

    Raises
    ------
    ValueError
        If the picture would have more than 120 million dots.
    """
    if not 10 <= dpi <= 2400 or sheet.width * sheet.height * (dpi / 25.4) ** 2 > MOST_PIXELS:
        raise ValueError(f"{dpi:g} dots per inch are too many for a sheet of this size")
    return _compile((sheet,), "png", dpi)


def _compile(sheets: tuple[Sheet, ...], form: Literal["pdf", "png"], dpi: float | None) -> bytes:
    import typst

    pages = []
    with tempfile.TemporaryDirectory(prefix="pneudraw-") as folder:
        for number, sheet in enumerate(sheets):
            name = f"sheet-{number}.svg"
            wide, high, size = _page(sheet, dpi)
            (Path(folder) / name).write_text(to_svg(sheet, lettering="bare", size=size), encoding="utf-8")
            pages.append(
                f"#page(width: {wide:.6f}pt, height: {high:.6f}pt, margin: 0pt)"
                f'[#image({_string(name)}, width: 100%, height: 100%, fit: "stretch", alt: {_string(sheet.desc)})]'
            )
        title = _string(sheets[0].title if sheets else "")
        source = Path(folder) / "sheets.typ"
        source.write_text(f"#set document(title: {title}, date: none)\n" + "\n".join(pages), encoding="utf-8")
        try:
            made = typst.compile(
                str(source),
                root=folder,
                font_paths=[str(font_folder())],
                ignore_system_fonts=True,
                format=form,
                ppi=dpi,
            )
        except Exception as fault:
            raise ExportError(str(fault)) from fault
    if not isinstance(made, bytes):
        raise ExportError("the compiler gave no single file")
    return made


def _page(sheet: Sheet, dpi: float | None) -> tuple[float, float, tuple[str, str] | None]:
    """The page in points, and for a picture of dots the size to give the drawing.

    The compiler paints a drawing on a ground of ceil(w) by ceil(ceil(w) / aspect) dots and lays that over the page
    without smoothing. Unless both have the same whole number of dots, rows or columns in the middle are lost; the
    hundredths keep the roundings from going up by one.
    """
    if dpi is None:
        return sheet.width / 25.4 * 72, sheet.height / 25.4 * 72, None
    across, down = (max(1, round(side / 25.4 * dpi)) for side in (sheet.width, sheet.height))
    return (across - 0.001) * 72 / dpi, (down - 0.02) * 72 / dpi, (str(across), f"{down - 0.01:.2f}")


def _string(text: str) -> str:
    """A string of the compiler's language."""
    return '"' + plain(text).replace("\\", "\\\\").replace('"', '\\"') + '"'
