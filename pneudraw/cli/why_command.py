"""``pneudraw why``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from pneudraw.cli.common import (
    UNREADABLE,
    announcer,
    circuit_or_exit,
    format_of,
    output_option,
    put,
    say,
    symbols_option,
)

FORMATS = ("text", "json")


@click.command("why", short_help="Tell why the pressure at a port is what it is.")
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.argument("states", metavar="STATE[+STATE...]")
@click.argument("port", metavar="PORT")
@click.option(
    "--from", "start", metavar="STATE", help="Begin at the end of this state instead of the usual one."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the explanation (standard output otherwise)")
@symbols_option
def command(
    path: Path,
    states: str,
    port: str,
    start: str | None,
    form: str | None,
    output: Path | None,
    symbols: tuple[Path, ...],
) -> None:
    """Tell why the pressure at a PORT is what it is at the end of a STATE of the circuit FILE.

    The causes are told backwards, each with its time: which way the air came or went, what opened that way (or
    closed another), what made that open, until a pedal, a knob, a fault or a pressure that stood from the
    beginning. Where no air came, the closed way is named, since when, and what would open it. Then what ended
    it, if something closed: why it rose or fell no further, or kept its air while others lost theirs. PORT is a
    port (relay.4), a chamber (lr/spring), a brake or reservoir (lr, prim), a line (service1), or an exhaust
    (relay.3): why does air come out there. Where the end of the state hangs on a knife edge, it says so.

    \b
    Example:
      pneudraw why truck.pneu service-apply lr.11
      pneudraw why truck.pneu park-apply lr/spring
      pneudraw why truck.pneu ready lr/service
      pneudraw why truck.pneu emergency lr --format json
    """
    circuit = circuit_or_exit(path, symbols)

    from pneudraw.api import why
    from pneudraw.flow.places import PlaceError
    from pneudraw.flow.run import Options
    from pneudraw.flow.sequence import SequenceError
    from pneudraw.teach.reasons import tell
    from pneudraw.teach.reasons_data import to_dict

    announce = announcer()
    options = Options(announce=announce, progress=lambda name: announce(f"{name} ..."), doubts=True)
    try:
        found = why(circuit, states, port, start, options)
    except (PlaceError, SequenceError) as fault:
        say(f"error: {path}: {fault}; {fault.help}")
        raise SystemExit(UNREADABLE) from None
    if format_of(form, output, FORMATS, "text") == "json":
        put(output, json.dumps(to_dict(circuit, found), indent=2, ensure_ascii=False) + "\n")
    else:
        put(output, tell(circuit, found))
