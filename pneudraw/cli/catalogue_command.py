"""``pneudraw catalogue``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pneudraw.cli.common import (
    PICTURES,
    UNREADABLE,
    fail,
    folder,
    format_of,
    is_folder,
    is_no_folder,
    output_option,
    put,
    save,
    say,
    show,
    symbols_option,
)
from pneudraw.cli.sheets import file_options, picture
from pneudraw.diagnostics import has_errors

if TYPE_CHECKING:
    from pneudraw.drawing import Lettering

FORMATS = ("text", "json", *PICTURES)


@click.command("catalogue", short_help="Show every kind of part.")
@click.argument("names", nargs=-1, metavar="[KIND...]")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@file_options
@output_option("the catalogue; several SVG or PNG plates need a folder")
@symbols_option
def command(
    names: tuple[str, ...],
    form: str | None,
    lettering: Lettering,
    dpi: int,
    output: Path | None,
    symbols: tuple[Path, ...],
) -> None:
    """Show the kinds of parts a circuit can be made of, or just the KINDs named.

    As text: without a KIND a list with one line each; with KINDs their ports, parameters with defaults
    and sources, inputs, faults and what they do. As pictures: plates with the symbols on the module grid,
    ports numbered.

    \b
    Example:
      pneudraw catalogue
      pneudraw catalogue relay-valve
      pneudraw catalogue --format pdf -o symbols.pdf
    """
    from pneudraw import api
    from pneudraw.diagnostics import did_you_mean
    from pneudraw.teach.catalogue import describe, summary, to_dict

    library, messages = api.library(symbols)
    show(messages)
    if has_errors(messages):
        raise SystemExit(UNREADABLE)
    for name in names:
        if library.get(name) is None:
            help = did_you_mean(name, library.kinds) or "`pneudraw catalogue` lists them all"
            fail(f"there is no kind `{name}`; {help}")
    kinds = [library.kinds[name] for name in (names or sorted(library.kinds))]
    kind = format_of(form, output, FORMATS, "text")
    if kind == "text":
        put(output, "\n".join(describe(k) for k in kinds) if names else summary(kinds))
    elif kind == "json":
        import json

        put(output, json.dumps([to_dict(k) for k in kinds], indent=2, ensure_ascii=False) + "\n")
    else:
        _plates(kind, dpi, lettering, output, api.catalogue_plates(names, symbols))


def _plates(
    kind: str, dpi: int, lettering: Lettering, output: Path | None, sheets: tuple[object, ...]
) -> None:
    from pneudraw.drawing import Sheet, to_pdf

    plates = [sheet for sheet in sheets if isinstance(sheet, Sheet)]
    if kind == "pdf":
        put(output, to_pdf(plates))
    elif len(plates) == 1 and not is_folder(output):
        put(output, picture(plates[0], kind, dpi, lettering))
    elif output is None or is_no_folder(output):
        fail(f"{len(plates)} plates need a folder to go to; name it with -o")
    else:
        folder(output)
        for number, plate in enumerate(plates, start=1):
            target = output / f"plate-{number}.{kind}"
            save(target, picture(plate, kind, dpi, lettering))
            say(f"{target}")
