"""``pneudraw fault``: a group; each of its commands lives in a file of its own."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click

#: command -> the line shown in the list; the module ``fault_<command>`` holds it
COMMANDS = {
    "list": "Every fault that can be put into the circuit.",
    "show": "What a fault does: what is heard, read and felt, in each condition.",
    "table": "All faults against all observations; which cannot be told apart.",
    "find": "From what was observed to what remains possible, and the best next test.",
    "what-if": "Every line broken, every reservoir lost: which brakes remain.",
}


class FaultCommands(click.Group):
    """Commands by name, imported when used."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command = import_module(f"pneudraw.cli.fault_{name.replace('-', '_')}").command
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
            ctx.fail(f"`fault` has no command `{args[0]}`; {hint or 'there are ' + ', '.join(COMMANDS)}")
        return super().resolve_command(ctx, args)


@click.group(
    "fault",
    cls=FaultCommands,
    short_help="Put faults in; symptoms, table, diagnosis, what-if.",
    subcommand_metavar="COMMAND [ARGS]...",
)
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.pass_context
def command(ctx: click.Context, path: Path) -> None:
    """Put faults into the circuit FILE and compute what a person would hear, read and feel.

    Each fault is put into the charged, sound vehicle, which is then watched in several conditions: parked (P), parked
    with the pedal held (PS), released (R), released with the pedal held (S), building up (B), reservoirs drained and
    more, as far as the circuit's parts allow. Everything is told beside the sound vehicle. Nothing is looked up.

    \b
    Example:
      pneudraw fault truck.pneu list
      pneudraw fault truck.pneu show relay.inlet-leaks
      pneudraw fault truck.pneu show line:service1.broken --condition S -o broken.svg
      pneudraw fault truck.pneu table -o table.csv
      pneudraw fault truck.pneu find R:relay.3=blows S:relay.3=quiet
      pneudraw fault truck.pneu what-if -o what-if.html

    `pneudraw fault FILE COMMAND --help` tells more. Looking for faults on a vehicle is dangerous work: chock the
    wheels, vent lines before opening them, never open a spring-brake chamber.
    """
    ctx.obj = path
