"""``pneudraw fault FILE list``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from pneudraw.cli.common import circuit_or_exit, format_of, output_option, put, symbols_option

FORMATS = ("text", "json")


@click.command("list", short_help="Every fault that can be put into the circuit.")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the list (standard output otherwise)")
@symbols_option
@click.pass_obj
def command(path: Path, form: str | None, output: Path | None, symbols: tuple[Path, ...]) -> None:
    """List every fault that can be put into the circuit, part by part, then line by line.

    \b
    Example:
      pneudraw fault truck.pneu list
      pneudraw fault truck.pneu list --format json
    """
    circuit = circuit_or_exit(path, symbols)

    from pneudraw.api import faults
    from pneudraw.teach.symptoms import tell_list

    found = faults(circuit)
    if format_of(form, output, FORMATS, "text") == "text":
        put(output, tell_list(circuit, found), (path,))
        return
    data = [
        {
            "name": f.name,
            "on": "line" if f.on_line else "part",
            "target": f.setting.target,
            "fault": f.setting.fault,
            "title": f.title,
            "text": f.text,
        }
        for f in found
    ]
    put(output, json.dumps(data, indent=2, ensure_ascii=False) + "\n", (path,))
