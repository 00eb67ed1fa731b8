"""``pneudraw chart``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pneudraw.cli.common import (
    PICTURES,
    UNREADABLE,
    announcer,
    circuit_or_exit,
    format_of,
    output_option,
    put,
    say,
    symbols_option,
)
from pneudraw.cli.sheets import file_options, picture

if TYPE_CHECKING:
    from pneudraw.drawing import Lettering

FORMATS = (*PICTURES, "csv")
PAPERS = ("A4", "A3", "A2", "letter", "tabloid", "slide")


@click.command("chart", short_help="Draw pressure, flow or force against time.")
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.argument("states", metavar="STATE[+STATE...]")
@click.argument("ports", nargs=-1, metavar="[PORT]...")
@click.option(
    "--show",
    default="pressure",
    show_default=True,
    metavar="WHAT",
    help="pressure, flow or force, or several with commas between: one below the other.",
)
@click.option(
    "--from", "start", metavar="STATE", help="Begin at the end of this state instead of the usual one."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; svg if that tells nothing.",
)
@output_option("the chart or the table (standard output otherwise)")
@click.option(
    "--paper",
    type=click.Choice(PAPERS, case_sensitive=False),
    default="A4",
    show_default=True,
    help="Lies sideways.",
)
@click.option("--grey", is_flag=True, help="No colours.")
@file_options
@symbols_option
def command(
    path: Path,
    states: str,
    ports: tuple[str, ...],
    show: str,
    start: str | None,
    form: str | None,
    output: Path | None,
    paper: str,
    grey: bool,
    lettering: Lettering,
    dpi: int,
    symbols: tuple[Path, ...],
) -> None:
    """Draw what happens over time in a STATE of the circuit FILE, or write it as a table.

    A PORT is a port (relay.4), a chamber (lr/spring), a part (prim, lr) or a line (service1); without any the
    reservoirs are shown, and the brake chambers that move. Forces are those of the brakes among the parts named,
    of all brakes otherwise. States joined by + follow one another, each from where the one before it ended. What
    happens is marked: inputs moved, cut-in and cut-out, the warning, a knob that springs out, 60 psi and 5 psi in
    the service chambers with the time since the pedal moved. Where the end of a state hangs on a knife edge, the
    chart and a note on standard error say so.

    \b
    Example:
      pneudraw chart truck.pneu charging+cut-out -o charging.svg
      pneudraw chart truck.pneu service-apply+service-release -o brake.pdf
      pneudraw chart truck.pneu service-apply lr.11 relay.4 --show pressure,flow -o rear.png
      pneudraw chart truck.pneu park-apply --from service-apply --show force -o both.svg
      pneudraw chart truck.pneu service-apply -o times.csv
    """
    circuit = circuit_or_exit(path, symbols)

    from pneudraw.api import chart, history
    from pneudraw.diagnostics import did_you_mean
    from pneudraw.flow.history import QUANTITIES
    from pneudraw.flow.places import PlaceError
    from pneudraw.flow.run import Options
    from pneudraw.flow.sequence import SequenceError

    wanted = tuple(word.strip() for word in show.split(","))
    for word in wanted:
        if word not in QUANTITIES:
            hint = did_you_mean(word, QUANTITIES) or f"it can be: {', '.join(QUANTITIES)}"
            say(f"error: --show cannot be `{word}`; {hint}")
            raise SystemExit(UNREADABLE)
    announce = announcer()
    options = Options(announce=announce, progress=lambda name: announce(f"{name} ..."), doubts=True)
    try:
        made = history(circuit, states, ports, wanted, start, options)
    except (PlaceError, SequenceError) as fault:
        say(f"error: {path}: {fault}; {fault.help}")
        raise SystemExit(UNREADABLE) from None
    from pneudraw.teach.charting import doubts_of

    for text in doubts_of(made):
        say(f"note: {text}")
    kind = format_of(form, output, FORMATS, "svg")
    if kind == "csv":
        from pneudraw.teach.charting import to_csv

        put(output, to_csv(circuit, made), (path,))
        return

    put(output, picture(chart(circuit, made, paper=paper, colour=not grey), kind, dpi, lettering), (path,))
