"""The command line: ``pneudraw COMMAND ...``. Each command lives in a file of its own, loaded when it is called."""

from __future__ import annotations

import sys
from importlib import import_module

import click

from pneudraw import __version__

#: command -> the line shown in the list of commands; the module of the same name holds it
COMMANDS = {
    "draw": "Draw the diagram of a circuit.",
    "trace": "Compute the air path of a state; tell it or draw it.",
    "chart": "Draw pressure, flow or force against time.",
    "why": "Tell why the pressure at a port is what it is.",
    "fault": "Put faults in: symptoms, diagnosis table, what-if.",
    "check": "Find what is wrong with a circuit.",
    "format": "Rewrite netlists in the canonical layout.",
    "catalogue": "Show every kind of part: symbol, ports, parameters, what it does.",
    "new": "Write a starting circuit.",
}


class Commands(click.Group):
    """Commands by name; a command's module is imported only when that command is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        module = import_module(f"pneudraw.cli.{name}_command")
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        from pneudraw.diagnostics import did_you_mean

        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            hint = did_you_mean(args[0], COMMANDS)
            ctx.fail(f"no command `{args[0]}`; {hint or 'there are ' + ', '.join(COMMANDS)}")
        return super().resolve_command(ctx, args)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="pneudraw")
def main() -> None:
    """Air-brake circuits from a plain-text parts and pipe list.

    A circuit is a text file (*.pneu). Draw it, trace the air through it in a state such as `charging`
    or `service-apply`, and check it for mistakes:

    \b
      pneudraw new truck.pneu
      pneudraw draw truck.pneu -o truck.svg
      pneudraw trace truck.pneu service-apply
      pneudraw check truck.pneu

    Results go to standard output or to the file named by -o; messages go to standard error. The exit
    status is 0 when all is well, 1 when `check` or `format --check` found something, 2 when a
    file could not be read or the command was wrong.

    Drawings and computed figures are for teaching. The vehicle maker's manual, local code and licensed
    practice decide.
    """
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:  # a captured stream in tests has none
            reconfigure(errors="replace")
