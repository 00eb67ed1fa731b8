"""``pneudraw fault FILE show``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from pneudraw.cli.common import (
    PICTURES,
    announcer,
    circuit_or_exit,
    fail,
    format_of,
    output_option,
    put,
    say,
    symbols_option,
)
from pneudraw.cli.fault_common import conditions_option, fault_or_exit, sound_or_exit, split_letters
from pneudraw.cli.sheets import options_of, sheet_options, write_sheets

FORMATS = ("text", "json", *PICTURES)


@click.command("show", short_help="What a fault does in each condition.")
@click.argument("names", nargs=-1, required=True, metavar="TAG.FAULT...")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the result (standard output otherwise)")
@conditions_option
@click.option("--size", metavar="BORE", help="Bore of a leak or a break, such as 3mm.")
@sheet_options
@symbols_option
@click.pass_obj
def command(
    path: Path,
    /,
    names: tuple[str, ...],
    form: str | None,
    output: Path | None,
    letters: str,
    size: str | None,
    symbols: tuple[Path, ...],
    **values: Any,
) -> None:
    """Tell what a fault does: TAG.FAULT of a part, line:TAG.broken (or blocked, restricted, leaks) of a line.

    Told is what is otherwise than on the sound vehicle: where air leaves and whether all the time, how fast which
    needle falls, which brakes act, act weakly or late, which warnings and knobs act. Several faults are put in
    together.
    What changes at a tenth of the solver's tolerance is told as not certain. A picture shows one condition: the one
    named, or the first in which the fault shows.

    \b
    Example:
      pneudraw fault truck.pneu show relay.inlet-leaks
      pneudraw fault truck.pneu show lr.centre-seal-leaks --condition P,R,S
      pneudraw fault truck.pneu show line:service1.broken --condition S -o broken.svg
      pneudraw fault truck.pneu show prim.leaks --size 3mm --format json
    """
    circuit = circuit_or_exit(path, symbols)
    bore = None if size is None else _bore(size)
    found = [fault_or_exit(path, circuit, name, bore) for name in names]
    wanted = split_letters(letters)
    kind = format_of(form, output, FORMATS, "text")

    from pneudraw.api import draw_fault, fault_symptoms
    from pneudraw.flow.run import Options

    known = sound_or_exit(circuit, wanted)
    settings = tuple(fault.setting for fault in found)
    result = fault_symptoms(
        circuit, settings, wanted, Options(announce=announcer()), known, twice=kind not in PICTURES
    )
    if kind == "text":
        from pneudraw.teach.symptoms import tell_symptoms

        put(output, tell_symptoms(circuit, result), (path,))
    elif kind == "json":
        from pneudraw.teach.symptoms import to_dict

        put(output, json.dumps(to_dict(circuit, result), indent=2, ensure_ascii=False) + "\n", (path,))
    else:
        letter = _letter(result, wanted)
        say(f"note: drawn is condition {letter}")
        sheets = draw_fault(circuit, settings, letter, known, options_of(values))
        written = write_sheets(sheets, kind, output, (path,), values["dpi"], values["lettering"])
        for file in written if len(written) > 1 else ():
            say(f"{path} -> {file}")


def _letter(result: Any, wanted: tuple[str, ...]) -> str:
    """The condition to draw: the one asked for, else the first one in which air comes out or something is wrong."""
    from pneudraw.flow.conditions import TABLE

    if wanted:
        return wanted[0]
    for usual in (TABLE, None):
        for seen in result.seen:
            if seen.wrong and (usual is None or seen.condition.letter in usual):
                return str(seen.condition.letter)
    return str(result.seen[0].condition.letter)


def _bore(text: str) -> float:
    from pneudraw.units import UnitError, parse_quantity

    try:
        quantity = parse_quantity(text)
    except UnitError as fault:
        fail(f"--size {text}: {fault}")
    if quantity.dimension != "length" or not 1e-5 <= quantity.value <= 0.1:
        fail(f"--size {text}: a bore from 0.01mm to 100mm is wanted, such as 3mm")
    return quantity.value
