"""``pneudraw draw``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pneudraw.cli.common import (
    PICTURES,
    announcer,
    circuit_or_exit,
    fail,
    format_of,
    is_folder,
    is_no_folder,
    name_of,
    output_option,
    say,
    symbols_option,
)
from pneudraw.cli.sheets import options_of, sheet_options, target_in, write_sheets


@click.command("draw", short_help="Draw the diagram of a circuit.")
@click.argument("paths", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(PICTURES),
    help="Otherwise by the suffix of -o; svg if that tells nothing.",
)
@output_option("the drawing; a folder if several FILEs are drawn (standard output otherwise)")
@sheet_options
@symbols_option
def command(
    paths: tuple[Path, ...],
    form: str | None,
    output: Path | None,
    symbols: tuple[Path, ...],
    **values: Any,
) -> None:
    """Draw each circuit FILE with ISO 1219-style symbols, at rest: no pressure, hands off, brakes parked.

    Places and lines are found by the program; wishes in the file's `layout` section are honoured. A FILE of - is
    read from standard input.

    \b
    Example:
      pneudraw draw truck.pneu -o truck.svg
      pneudraw draw circuits/*.pneu --format pdf -o drawings/
    """
    from pneudraw.api import draw_sheets

    announce = announcer()

    kind = format_of(form, output, PICTURES, "svg")
    many = len(paths) > 1
    if many and (output is None or is_no_folder(output)):
        fail("several drawings need a folder to go to; name it with -o")
    into = output if output is not None and (many or is_folder(output)) else None
    targets = [output if into is None else into / f"{name_of(path)}.{kind}" for path in paths]
    for number, target in enumerate(targets):
        if into is not None and target in targets[:number]:
            fail(f"{paths[targets.index(target)]} and {paths[number]} would both be drawn into {target}")
    for path, target in zip(paths, targets, strict=True):
        circuit = circuit_or_exit(path, symbols)
        announce(f"{path} ...")
        sheets = draw_sheets(circuit, options_of(values))
        if into is not None and target is not None:
            target = target_in(into, target.name)
        written = write_sheets(sheets, kind, target, paths, values["dpi"], values["lettering"])
        for file in written if into is not None or len(written) > 1 else ():
            say(f"{path} -> {file}")
