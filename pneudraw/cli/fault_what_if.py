"""``pneudraw fault FILE what-if``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from pneudraw.cli.common import (
    PICTURES,
    announcer,
    circuit_or_exit,
    format_of,
    output_option,
    put,
    symbols_option,
)
from pneudraw.cli.fault_common import counter, processes_option

FORMATS = ("text", "json", "html", *PICTURES)


@click.command("what-if", short_help="Every line broken, every reservoir lost.")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the matrix (standard output otherwise)")
@processes_option
@click.option(
    "--dpi", type=click.IntRange(30, 600), default=150, show_default=True, help="Resolution of a PNG."
)
@symbols_option
@click.pass_obj
def command(
    path: Path,
    form: str | None,
    output: Path | None,
    processes: int | None,
    dpi: int,
    symbols: tuple[Path, ...],
) -> None:
    """Break every line and lose every reservoir, one at a time, and tell which brakes remain.

    A minute after the failure the pedal is pressed fully. For each brake: its service force in per cent of the sound
    vehicle's, and whether its spring is on; for the vehicle: the service force left, whether springs came on before the
    pedal was pressed, whether the driver is warned, and whether a trailer still answers, brakes itself, or neither.

    \b
    Example:
      pneudraw fault truck.pneu what-if
      pneudraw fault truck.pneu what-if -o what-if.html
      pneudraw fault truck.pneu what-if -o what-if.svg
    """
    circuit = circuit_or_exit(path, symbols)
    kind = format_of(form, output, FORMATS, "text")

    from pneudraw.api import what_if
    from pneudraw.flow.run import Options
    from pneudraw.teach import what_if as words

    found = what_if(circuit, Options(announce=announcer()), processes, counter("failures"))
    data: str | bytes
    if kind == "text":
        data = words.tell_what_if(circuit, found)
    elif kind == "json":
        data = json.dumps(words.what_if_dict(circuit, found), indent=1, ensure_ascii=False) + "\n"
    elif kind == "html":
        data = words.what_if_page(circuit, found)
    else:
        from pneudraw.cli.sheets import picture
        from pneudraw.drawing.matrix import draw_matrix

        data = picture(draw_matrix(words.what_if_matrix(circuit, found)), kind, dpi)
    put(output, data, (path,))
