"""``pneudraw trace``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from pneudraw.circuit.states import EMPTY
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
    put,
    save,
    say,
    symbols_option,
)
from pneudraw.cli.sheets import options_of, sheet_options, target_in, write_sheets

FORMATS = ("text", "json", *PICTURES)
SUFFIX = {"text": "txt"}


@click.command("trace", short_help="Compute the air path of a state; tell it or draw it.")
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.argument("state", required=False, metavar="[STATE]")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@output_option("the result; a folder if STATE is `all` (standard output otherwise)")
@sheet_options
@click.option(
    "--animate", is_flag=True, help="An SVG in which the air moves; printed, it is the still picture."
)
@symbols_option
def command(
    path: Path,
    state: str | None,
    form: str | None,
    output: Path | None,
    symbols: tuple[Path, ...],
    **values: Any,
) -> None:
    """Compute what the air does in a STATE of the circuit FILE, and tell or draw it.

    Without STATE the states of the circuit are listed. STATE `all` does every state, into the folder
    given by -o. Pressures are computed from what the parts do, never looked up. Each state is computed
    twice, and pressures whose end hangs on a knife edge are named: in the text, under `doubts` in the json
    (earlier states that end so under `doubts_before`), among the notes of a picture and on standard error.
    A FILE of - is read from standard input.

    \b
    Example:
      pneudraw trace truck.pneu
      pneudraw trace truck.pneu service-apply
      pneudraw trace truck.pneu park-release -o park-release.svg
      pneudraw trace truck.pneu all --format pdf -o handout/
    """
    circuit = circuit_or_exit(path, symbols)
    if state is None:
        width = max((len(s.name) for s in circuit.states), default=0)
        put(None, "".join(f"{s.name:{width}}  {s.title}, {_start(s.start)}\n" for s in circuit.states))
        return
    names = [s.name for s in circuit.states]
    if state != "all" and state not in names:
        from pneudraw.diagnostics import did_you_mean

        hint = did_you_mean(state, names)
        fail(f"{path} has no state `{state}`; {hint or 'its states are ' + ', '.join(names)}")

    from pneudraw.api import arrange, traces
    from pneudraw.flow.run import Options

    kind = format_of(form, output, FORMATS, "text")
    if values["animate"] and kind != "svg":
        fail(f"only an svg can move, not {kind}; leave out --animate, or name an svg")
    wanted = names if state == "all" else [state]
    if state == "all" and (output is None or is_no_folder(output)):
        fail("`all` needs a folder to write to; name it with -o")
    into = output if output is not None and (state == "all" or is_folder(output)) else None
    announce = announcer()
    how = Options(
        announce=announce,
        progress=lambda name: announce(f"{name} ..."),
        doubts=True,
    )
    done = traces(circuit, wanted, how)
    options = options_of(values)
    arrangement = arrange(circuit, options) if kind in PICTURES else None
    for name in wanted:
        result = done[name]
        target = output
        if into is not None:
            target = target_in(into, f"{name_of(path)}.{name}.{SUFFIX.get(kind, kind)}")
        if arrangement is not None:
            from pneudraw.api import draw_sheets
            from pneudraw.teach.doubts import doubt_words

            for text in doubt_words(result.doubts, result.unsure, name):
                say(f"note: {text}")

            sheets = draw_sheets(circuit, options, result, arrangement)
            written = write_sheets(
                sheets, kind, target, (path,), values["dpi"], values["lettering"], values["animate"]
            )
            for file in written if into is not None or len(written) > 1 else ():
                say(f"{name} -> {file}")
            continue
        if kind == "text":
            from pneudraw.teach.telling import tell

            data = tell(circuit, result)
        else:
            from pneudraw.flow.trace import to_dict

            data = json.dumps(to_dict(result), indent=2, ensure_ascii=False) + "\n"
        if into is None or target is None:
            put(output, data, (path,))
        else:
            save(target, data, (path,))
            say(f"{name} -> {target}")


def _start(name: str) -> str:
    return "from an empty circuit" if name == EMPTY else f"from the end of {name}"
