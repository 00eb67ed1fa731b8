"""``pneudraw fault FILE what-if``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

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
from pneudraw.cli.sheets import file_options, write_sheets

if TYPE_CHECKING:
    from pneudraw.drawing import Lettering

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
@file_options
@symbols_option
@click.pass_obj
def command(
    path: Path,
    form: str | None,
    output: Path | None,
    processes: int | None,
    lettering: Lettering,
    dpi: int,
    symbols: tuple[Path, ...],
) -> None:
    """Break every line and lose every reservoir, one at a time, and tell which brakes remain.

    A minute after the failure the pedal is pressed fully. For each brake: its service force in per cent of the sound
    vehicle's, and whether its spring is on; for the vehicle: the service force left, whether springs came on before the
    pedal was pressed, whether the driver is warned, and whether a trailer still answers, brakes itself, or neither.
    Of a machine: what each cylinder still does when its operators are worked and let go, the supply on. Each failure
    is computed twice; what comes out otherwise ten times as finely has a question mark.

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
    if kind == "text":
        data = words.tell_what_if(circuit, found)
    elif kind == "json":
        data = json.dumps(words.what_if_dict(circuit, found), indent=1, ensure_ascii=False) + "\n"
    elif kind == "html":
        from pneudraw.teach.what_if_page import what_if_page

        data = what_if_page(circuit, found)
    else:
        from pneudraw.drawing.matrix_pages import draw_matrices

        write_sheets(
            draw_matrices(words.what_if_matrix(circuit, found)), kind, output, (path,), dpi, lettering
        )
        return
    put(output, data, (path,))
