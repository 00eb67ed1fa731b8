"""Drawing: a circuit with its layout becomes a sheet, and the sheet a file. Loaded only when used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pneudraw.drawing.arrangement import Arrangement as Arrangement
    from pneudraw.drawing.arrangement import arrange as arrange
    from pneudraw.drawing.export import ExportError as ExportError
    from pneudraw.drawing.export import to_pdf as to_pdf
    from pneudraw.drawing.export import to_png as to_png
    from pneudraw.drawing.letters import Lettering as Lettering
    from pneudraw.drawing.options import SheetOptions as SheetOptions
    from pneudraw.drawing.plate import plates as plates
    from pneudraw.drawing.plate_sheets import catalogue as catalogue
    from pneudraw.drawing.shapes import Sheet as Sheet
    from pneudraw.drawing.sheet import draw as draw
    from pneudraw.drawing.sheets import draw_sheets as draw_sheets
    from pneudraw.drawing.svg import to_svg as to_svg
    from pneudraw.drawing.tints import Badge as Badge
    from pneudraw.drawing.tints import BranchTint as BranchTint
    from pneudraw.drawing.tints import LineTint as LineTint
    from pneudraw.drawing.tints import Mark as Mark
    from pneudraw.drawing.tints import Style as Style
    from pneudraw.drawing.tints import Tints as Tints

_HOMES = {
    "draw": "sheet",
    "arrange": "arrangement",
    "Arrangement": "arrangement",
    "draw_sheets": "sheets",
    "plates": "plate",
    "catalogue": "plate_sheets",
    "to_svg": "svg",
    "to_pdf": "export",
    "to_png": "export",
    "ExportError": "export",
    "SheetOptions": "options",
    "Sheet": "shapes",
    "Lettering": "letters",
    "Tints": "tints",
    "LineTint": "tints",
    "BranchTint": "tints",
    "Badge": "tints",
    "Mark": "tints",
    "Style": "tints",
}

__all__ = [
    "Arrangement",
    "Badge",
    "BranchTint",
    "ExportError",
    "Lettering",
    "LineTint",
    "Mark",
    "Sheet",
    "SheetOptions",
    "Style",
    "Tints",
    "arrange",
    "catalogue",
    "draw",
    "draw_sheets",
    "plates",
    "to_pdf",
    "to_png",
    "to_svg",
]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(f"pneudraw.drawing.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
