"""``pneudraw fault FILE table``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pneudraw.cli.common import PICTURES, circuit_or_exit, fail, format_of, output_option, put, symbols_option
from pneudraw.cli.fault_common import (
    conditions_option,
    counter,
    processes_option,
    sound_or_exit,
    split_letters,
)
from pneudraw.cli.sheets import file_options, write_sheets

if TYPE_CHECKING:
    from pneudraw.drawing import Lettering

FORMATS = ("text", "json", "csv", *PICTURES)


@click.command("table", short_help="All faults against all observations.")
@click.argument("tags", nargs=-1, metavar="[TAG]...")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the table (standard output otherwise)")
@click.option(
    "--twice", is_flag=True, help="Compute again at a tenth of the tolerance; tell which words then change."
)
@conditions_option
@processes_option
@file_options
@symbols_option
@click.pass_obj
def command(
    path: Path,
    tags: tuple[str, ...],
    form: str | None,
    output: Path | None,
    twice: bool,
    letters: str,
    processes: int | None,
    lettering: Lettering,
    dpi: int,
    symbols: tuple[Path, ...],
) -> None:
    """Put in every fault (or those of the parts and lines TAG), one at a time, and hold the observations against it.

    Told is what is otherwise than on the sound vehicle, and which faults cannot be told apart because all their
    observations are the same. The picture is a matrix, readable in black and white: one sheet up to A2, else A3 pages
    (as PDF in one file, else table.1.svg and so on). It is computed once: `--twice` takes about three times as long.

    \b
    Example:
      pneudraw fault truck.pneu table
      pneudraw fault truck.pneu table relay lr rr --condition P,R,S
      pneudraw fault truck.pneu table --condition P,PS,R,S -o table.svg
      pneudraw fault truck.pneu table -o table.csv
    """
    circuit = circuit_or_exit(path, symbols)
    wanted = split_letters(letters)
    kind = format_of(form, output, FORMATS, "text")

    from pneudraw.api import fault_table, faults

    chosen = [f for f in faults(circuit) if not tags or f.setting.target in tags]
    known_tags = {f.setting.target for f in chosen}
    for tag in tags:
        if tag not in known_tags:
            fail(f"{path} has no part or line `{tag}` with a fault; `list` shows every fault there is")
    known = sound_or_exit(circuit, wanted)
    found = fault_table(circuit, chosen, wanted, None, known, processes, counter("faults"), twice)

    from pneudraw.teach import fault_table as words

    if kind == "text":
        data = words.tell_table(circuit, found)
    elif kind == "json":
        data = json.dumps(words.table_dict(circuit, found), indent=1, ensure_ascii=False) + "\n"
    elif kind == "csv":
        data = words.table_csv(found)
    else:
        from pneudraw.drawing.matrix_pages import draw_matrices

        write_sheets(draw_matrices(words.table_matrix(circuit, found)), kind, output, (path,), dpi, lettering)
        return
    put(output, data, (path,))
