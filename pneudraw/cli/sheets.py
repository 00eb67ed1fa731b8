"""Options of every command that makes pictures, and the making of the file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pneudraw.cli.common import STANDARD, fail, folder, put, save, say
from pneudraw.drawing.options import CAUTIONS

if TYPE_CHECKING:
    from pneudraw.drawing import Lettering, Sheet, SheetOptions

F = TypeVar("F", bound=Callable[..., Any])

PAPERS = ("auto", "bare", "A4", "A3", "A2", "A1", "A0", "letter", "tabloid", "slide")


def file_options(function: F) -> F:
    """Add the options of a picture's file: resolution, how an SVG holds its text."""
    for option in (
        click.option(
            "--lettering",
            type=click.Choice(["outlines", "editable"]),
            default="outlines",
            show_default=True,
            help="Of an SVG. outlines: letters as shapes, alike on every machine; words can be searched and copied all "
            "the same. editable: text, for changing words in a drawing program.",
        ),
        click.option(
            "--dpi", type=click.IntRange(30, 600), default=150, show_default=True, help="Resolution of a PNG."
        ),
    ):
        function = option(function)
    return function


def sheet_options(function: F) -> F:
    """Add the options of a sheet: paper, title-block words, what is shown, and those of its file."""
    for option in reversed(
        (
            click.option(
                "--paper",
                type=click.Choice(PAPERS, case_sensitive=False),
                default="auto",
                show_default=True,
                help="auto: one sheet, the smallest A size on which the text stays readable, A3s beyond A2; a named "
                "paper: as many sheets of it as it takes; bare: no frame.",
            ),
            click.option(
                "--turned",
                type=click.Choice(["auto", "portrait", "landscape"]),
                default="auto",
                show_default=True,
                help="How the paper lies.",
            ),
            click.option("--owner", default="", help="School or owner, for the title block."),
            click.option("--creator", default="", help="Who made the circuit, for the title block."),
            click.option("--date", default="", help="Date for the title block; none is printed otherwise."),
            click.option(
                "--lists",
                type=click.Choice(["none", "beside", "own"]),
                default="none",
                show_default=True,
                help="Parts list and line list: beside the drawing, or as tables on sheets of their own.",
            ),
            click.option(
                "--codes", is_flag=True, help="Print ISO 1219-2 identification codes beside the symbols."
            ),
            click.option("--no-groups", is_flag=True, help="No frames round groups and vehicles."),
            click.option(
                "--no-fold", is_flag=True, help="Never draw a long circuit in bands, one below the other."
            ),
            click.option(
                "--port-numbers",
                type=click.Choice(["useful", "all", "none"]),
                default="useful",
                show_default=True,
                help="Which ports are numbered.",
            ),
            click.option("--line-tags", is_flag=True, help="Print the tags of the lines."),
            click.option("--grey", is_flag=True, help="No colours."),
            file_options,
        )
    ):
        function = option(function)
    return function


def options_of(values: dict[str, Any]) -> SheetOptions:
    """Return the sheet options of the command-line values."""
    from pneudraw.drawing import SheetOptions

    return SheetOptions(
        paper=values["paper"],
        turned=values["turned"],
        owner=values["owner"],
        creator=values["creator"],
        date=values["date"],
        lists=values["lists"],
        codes=values["codes"],
        groups=not values["no_groups"],
        fold=not values["no_fold"],
        port_numbers=values["port_numbers"],
        line_tags=values["line_tags"],
        colour=not values["grey"],
        cautions=CAUTIONS,
    )


def picture(sheet: Sheet, kind: str, dpi: int, lettering: Lettering) -> str | bytes:
    """Return the sheet as a file of the given kind; what was decided against the wishes is said on standard error."""
    return _file((sheet,), kind, dpi, lettering, False)


def write_sheets(
    sheets: Sequence[Sheet],
    kind: str,
    target: Path | None,
    sources: Sequence[Path],
    dpi: int,
    lettering: Lettering,
    animate: bool = False,
) -> tuple[Path, ...]:
    """Write sheets: one file of pages as PDF; else one file each, ``truck.1.svg`` and so on if there are several.

    A single file may go to standard output. Returns the files written, none if it went there.
    """
    if kind == "pdf" or len(sheets) == 1:
        put(target, _file(sheets, kind, dpi, lettering, animate), sources)
        return () if target is None or target == STANDARD else (target,)
    if target is None or target == STANDARD:
        fail(
            f"{len(sheets)} sheets are {len(sheets)} files; name the first part of them with -o, or ask for a pdf"
        )
    targets = tuple(
        target.with_name(f"{target.stem}.{number}{target.suffix}") for number in range(1, len(sheets) + 1)
    )
    for sheet, path in zip(sheets, targets, strict=True):
        save(path, _file((sheet,), kind, dpi, lettering, animate), sources)
    return targets


def target_in(into: Path, name: str) -> Path:
    """Return a file to be written in a folder, which is made if it is missing."""
    return folder(into) / name


def _file(sheets: Sequence[Sheet], kind: str, dpi: int, lettering: Lettering, animate: bool) -> str | bytes:
    from pneudraw.drawing import to_pdf, to_png, to_svg

    for message in dict.fromkeys(message for sheet in sheets for message in sheet.messages):
        say(f"note: {message}")
    if kind == "svg":
        return to_svg(sheets[0], lettering=lettering, animate=animate)
    return to_pdf(sheets) if kind == "pdf" else to_png(sheets[0], dpi)
