"""``pneudraw check``."""

from __future__ import annotations

from pathlib import Path

import click

from pneudraw.cli.common import (
    FOUND,
    UNREADABLE,
    announcer,
    fail,
    format_of,
    output_option,
    put,
    reading_of,
    say,
    symbols_option,
)
from pneudraw.diagnostics import Diagnostic, Severity, has_errors, render_json, render_text

FORMATS = ("text", "json")


@click.command("check", short_help="Find what is wrong with a circuit.")
@click.argument("paths", nargs=-1, required=False, metavar="FILE...", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Otherwise by the suffix of -o; text if that tells nothing.",
)
@click.option("--explain", metavar="RULE", help="Tell why a rule matters, with a bad and a good example.")
@output_option("the findings (standard output otherwise)")
@symbols_option
def command(
    paths: tuple[Path, ...],
    form: str | None,
    explain: str | None,
    output: Path | None,
    symbols: tuple[Path, ...],
) -> None:
    """Check each circuit FILE: open lines, missing check valves and worse.

    Some rules look at the drawing's logic, others compute the air in every state and look at what it does.
    Exit status: 0 nothing found, 1 findings, 2 a file could not be read. A FILE of - is read from standard input.

    \b
    Example:
      pneudraw check truck.pneu
      pneudraw check --format json circuits/*.pneu -o findings.json
      pneudraw check --explain missing-check-valve
    """
    if explain is not None:
        _explain(explain)
        return
    if not paths:
        raise click.UsageError("name at least one FILE to check")
    from pneudraw.api import check
    from pneudraw.flow.run import Options

    kind = format_of(form, output, FORMATS, "text")
    findings: list[Diagnostic] = []
    status = 0
    for path in paths:
        reading = reading_of(path, symbols)
        findings += reading.diagnostics
        if reading.circuit is None or has_errors(reading.diagnostics):
            status = UNREADABLE
            continue
        findings += check(reading.circuit, Options(announce=announcer()))
    if any(f.severity is not Severity.NOTE for f in findings):
        status = max(status, FOUND)
    if kind == "json":
        put(output, render_json(findings) + "\n", paths)
    elif findings or output is not None:
        put(output, "\n\n".join(render_text(f) for f in findings) + ("\n" if findings else ""), paths)
    if kind == "text":
        say(_summary(findings, len(paths)))
    raise SystemExit(status)


def _summary(findings: list[Diagnostic], count: int) -> str:
    files = "1 file" if count == 1 else f"{count} files"
    if not findings:
        return f"{files} checked: nothing found"
    parts = []
    for severity in Severity:
        number = sum(f.severity is severity for f in findings)
        if number:
            parts.append(f"{number} {severity.value}{'s' if number > 1 else ''}")
    return f"{files} checked: {', '.join(parts)}"


def _explain(name: str) -> None:
    from pneudraw.diagnostics import did_you_mean
    from pneudraw.rules import codes, explain

    text = explain(name)
    if text is None:
        hint = did_you_mean(name, codes()) or f"rules: {', '.join(codes())}"
        fail(f"no rule `{name}`; {hint}")
    put(None, text.rstrip("\n") + "\n")
