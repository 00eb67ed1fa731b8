"""``pneudraw format``."""

from __future__ import annotations

from pathlib import Path

import click

from pneudraw.cli.common import FOUND, STANDARD, UNREADABLE, put, save, say, show, standard_input


@click.command("format", short_help="Rewrite netlists in the canonical layout.")
@click.argument("paths", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit 1 if a file would change.")
@click.option("--stdout", is_flag=True, help="Print the result instead of rewriting the file.")
def command(paths: tuple[Path, ...], only_check: bool, stdout: bool) -> None:
    """Rewrite each netlist FILE in the canonical layout; comments stay.

    Nothing but spaces and blank lines changes. A FILE of - is read from standard input and printed. A file
    with errors is left as it is and its errors are shown.

    \b
    Example:
      pneudraw format truck.pneu
      pneudraw format --check circuits/*.pneu
    """
    from pneudraw import files
    from pneudraw.api import format_netlist

    status = 0
    for path in paths:
        if path == STANDARD:
            name, text = "standard input", standard_input()
        else:
            name = str(path)
            try:
                text = files.read_text(path)
            except files.UnreadableError as fault:
                say(f"error: cannot read {path}: {fault}")
                status = UNREADABLE
                continue
        result, messages = format_netlist(text, name)
        show(messages)
        if result is None:
            status = UNREADABLE
        elif only_check:
            if result != text:
                say(f"{name}: would change")
                status = max(status, FOUND)
        elif stdout or path == STANDARD:
            put(None, result)
        elif result != text:
            save(path, result)
            say(f"{name}: rewritten")
    raise SystemExit(status)
