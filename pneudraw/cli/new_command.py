"""``pneudraw new``."""

from __future__ import annotations

from pathlib import Path

import click

from pneudraw.cli.common import STANDARD, fail, is_folder, is_no_folder, put, save, say

USUAL = "basic-single"


@click.command("new", short_help="Write a starting circuit.")
@click.argument("path", required=False, metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--like",
    "model",
    default=USUAL,
    show_default=True,
    metavar="NAME",
    help="The course circuit to start from.",
)
@click.option("--list", "show_list", is_flag=True, help="List the course circuits.")
@click.option("--force", is_flag=True, help="Overwrite FILE if it exists.")
def command(path: Path | None, model: str, show_list: bool, force: bool) -> None:
    """Write a starting circuit to FILE: a complete small air-brake circuit to change to your needs.

    \b
    Example:
      pneudraw new my-truck.pneu
      pneudraw new two-axles.pneu --like two-axle-truck
    """
    from pneudraw import files
    from pneudraw.circuit.course import circuits_folder
    from pneudraw.diagnostics import did_you_mean

    folder = circuits_folder()
    names = sorted(file.stem for file in folder.glob("*.pneu"))
    if show_list:
        put(None, "".join(f"{name}\n" for name in names))
        return
    if path is None:
        raise click.UsageError("name the FILE to write")
    if model not in names:
        fail(f"no course circuit `{model}`; {did_you_mean(model, names) or 'there are ' + ', '.join(names)}")
    text = files.read_text(folder / f"{model}.pneu")
    if path == STANDARD:
        put(path, text)
        return
    if is_folder(path):
        fail(f"{path} is a folder; name a file in it, such as {path / (model + '.pneu')}")
    if is_no_folder(path) and not force:
        fail(f"{path} exists; choose another name, or add --force to overwrite it")
    save(path, text)
    _copy_used(text, folder, path.parent)
    drawing = path.with_suffix(".svg")
    say(
        f"{path}: written. Next: pneudraw draw {path} -o {drawing if drawing != path else str(path) + '.svg'}"
    )


def _copy_used(text: str, folder: Path, into: Path) -> None:
    """Put the circuits that a course circuit uses beside its copy; one that is there already is left alone."""
    from pneudraw import files
    from pneudraw.language.parser import parse
    from pneudraw.source import Source

    document, _ = parse(Source("course", text))
    for use in document.uses:
        target = into / use.file.text
        used = files.read_text(folder / use.file.text)
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            save(target, used)
            say(f"{target}: written, because the circuit uses it")
        _copy_used(used, folder / Path(use.file.text).parent, target.parent)
