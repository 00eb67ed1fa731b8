"""``pneudraw fault FILE find``."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pneudraw.cli.common import (
    PICTURES,
    UNREADABLE,
    circuit_or_exit,
    fail,
    format_of,
    output_option,
    put,
    say,
    symbols_option,
)
from pneudraw.cli.fault_common import (
    conditions_option,
    counter,
    processes_option,
    sound_or_exit,
    split_letters,
)
from pneudraw.cli.sheets import file_options, picture

if TYPE_CHECKING:
    from pneudraw.circuit.model import Circuit
    from pneudraw.drawing import Lettering
    from pneudraw.flow.diagnosis import Answers, Question, Table

FORMATS = ("text", "json", *PICTURES)


@click.command("find", short_help="From observations to what remains possible.")
@click.argument("texts", nargs=-1, metavar="[OBSERVATION]...")
@click.option(
    "--ask", "session", is_flag=True, help="Ask question after question, on the terminal or from a pipe."
)
@click.option("--tree", "whole", is_flag=True, help="Print the whole decision tree for what remains.")
@click.option(
    "--depth", type=click.IntRange(1, 99), default=99, help="At most so many questions of the tree."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing. A picture is that of the tree.",
)
@output_option("the result (standard output otherwise)")
@conditions_option
@processes_option
@file_options
@symbols_option
@click.pass_obj
def command(
    path: Path,
    texts: tuple[str, ...],
    session: bool,
    whole: bool,
    depth: int,
    form: str | None,
    output: Path | None,
    letters: str,
    processes: int | None,
    lettering: Lettering,
    dpi: int,
    symbols: tuple[Path, ...],
) -> None:
    """From what was observed tell which single faults remain possible, and what to look at next.

    An OBSERVATION is CONDITION:PLACE=WORD, with != for "not so". Conditions are P, PS, R, S and the others that `show`
    tells; without one R is meant. Places and words:

    \b
      an outlet      relay.3  lr/service  line:hold   blows puff faint quiet steady
      a needle       prim  dash.11  gauge1            falls fast holds more less stays
        building up  (condition B)                    builds slow never over
      a brake        lr/service  lr/spring            on off weak late
      a warning, a lamp, a knob                       on off   in out
        fanning down (condition F)                    normal low high never
      a cylinder     press (conditions W, O)          out in between late fast

    The next test is the one that separates what remains best; of equally good ones that with the least effort,
    listening and looking before draining and uncoupling.

    \b
    Example:
      pneudraw fault truck.pneu find R:relay.3=blows S:relay.3=quiet P:relay.3=quiet
      pneudraw fault truck.pneu find --ask
      pneudraw fault truck.pneu find R:relay.3=blows --tree -o tree.svg
    """
    circuit = circuit_or_exit(path, symbols)
    wanted = split_letters(letters)
    kind = format_of(form, output, FORMATS, "text")
    if session and (kind != "text" or output is not None):
        fail("a session is held on the terminal; leave --format and -o away")
    known = sound_or_exit(circuit, wanted)

    from pneudraw.api import fault_table
    from pneudraw.flow.diagnosis import (
        ObservationError,
        of_rows_subset,
        read_observation,
        remaining,
        suggestions,
        tree,
    )
    from pneudraw.teach import fault_finding as words

    found = fault_table(circuit, None, wanted, None, known, processes, counter("faults"))
    answers: Answers = ()
    for text in texts:
        try:
            answers = (*answers, read_observation(found, text))
        except ObservationError as fault:
            say(f"error: {fault}; {fault.help}")
            raise SystemExit(UNREADABLE) from None
    if session:
        hold_session(circuit, found, answers)
        return
    rows = remaining(found, answers)
    data: str | bytes
    if whole or kind in PICTURES:
        if not rows:
            fail("no single fault fits these observations; there is no tree to draw")
        made = tree(of_rows_subset(found, rows), rows, tuple(q for q, _ in answers))
        if kind == "text":
            data = words.tell_tree(circuit, found, made, depth)
        elif kind == "json":
            fail("a tree is told as text or drawn; leave --format json or --tree away")
        else:
            from pneudraw.teach.finding_sheet import draw_tree

            data = picture(draw_tree(circuit, found, made, depth), kind, dpi, lettering)
    else:
        best = suggestions(found, rows, tuple(q for q, _ in answers))
        if kind == "text":
            data = words.tell_find(circuit, found, answers, rows, best)
        else:
            plain = words.find_dict(circuit, found, answers, rows, best)
            data = json.dumps(plain, indent=2, ensure_ascii=False) + "\n"
    put(output, data, (path,))


def hold_session(circuit: Circuit, found: Table, answers: Answers) -> None:
    """Ask until one fault, or a group that looks alike, remains; read answers line by line from standard input."""
    from pneudraw.drawing.options import CAUTIONS
    from pneudraw.flow.diagnosis import remaining, suggestions
    from pneudraw.teach.fault_finding import (
        HELP,
        ask,
        condition_words,
        steps_words,
        tell_remaining,
        understood,
    )

    for text in (*CAUTIONS, HELP):
        click.echo(text)
    steps: list[tuple[Question, bool | None]] = [(q, a) for q, a in answers]
    while True:
        given, asked = steps_words(steps)
        rows = remaining(found, given)
        best = next(iter(suggestions(found, rows, asked)), None)
        if best is None:
            click.echo("\n" + tell_remaining(circuit, found, rows), nl=False)
            return
        click.echo(f"\n{len(rows)} faults remain. {condition_words(found, best.question.key[0])}")
        click.echo(f"{ask(circuit, found, best.question)} [yes/no/unknown/back/list/quit] ", nl=False)
        sys.stdout.flush()
        typed = sys.stdin.readline()
        if not sys.stdin.isatty():
            click.echo(typed.strip())
        match understood(typed) if typed else "quit":
            case "yes" | "no" as word:
                steps.append((best.question, word == "yes"))
            case "unknown":
                steps.append((best.question, None))
            case "back":
                if steps:
                    steps.pop()
                else:
                    click.echo("There is nothing to go back to.")
            case "list":
                click.echo(tell_remaining(circuit, found, rows), nl=False)
            case "quit":
                click.echo("\n" + tell_remaining(circuit, found, rows), nl=False)
                return
            case _:
                click.echo(HELP)
