"""``python -m pneudraw``: the command, where no folder of programs is on the path."""

from pneudraw.cli.main import main

main(prog_name="pneudraw")
