"""What a rule is, and what it finds. Each rule is one file; :mod:`pneudraw.rules` lists them."""

from __future__ import annotations

import inspect
import textwrap
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pneudraw.circuit.model import End, Part
from pneudraw.diagnostics import Label, Severity

if TYPE_CHECKING:
    from pneudraw.rules.study import Study

#: a source that holds whatever the regulation a circuit goes by
ANY = "any"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Finding:
    """One thing a rule found.

    ``about`` names the parts it speaks of: it is kept back if one of them suffers from a fault that was found
    before. ``spoils`` names the ports behind which air will be missing because of this one, ``mutes`` the parts that
    would switch without end and are kept from it when the states are computed.
    """

    message: str
    at: Label
    help: str = ""
    related: tuple[Label, ...] = ()
    ports: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    spoils: tuple[tuple[str, str], ...] = ()
    mutes: tuple[str, ...] = ()


Finder = Callable[["Study"], Iterator[Finding]]


@dataclass(frozen=True)
class Rule:
    """A rule: its name, what it needs to look at, and where it comes from.

    ``sources`` gives the source by rule set (``us``, ``un``, ``none``; ``any`` for every one). A rule does not speak in
    a set it has no source for; ``none`` stands in for a set that is not named. What rests on practice alone there is
    given as a note.
    """

    code: str
    severity: Severity
    sources: Mapping[str, str]
    needs: str
    find: Finder

    def source(self, rules: str) -> str | None:
        """Return the source in a rule set, None if the rule does not belong to it."""
        return self.sources.get(rules) or self.sources.get(ANY) or self.sources.get("none")

    def severity_in(self, rules: str) -> Severity:
        """Return how bad a finding is in a rule set."""
        named = rules in self.sources and rules != "none"
        return (
            self.severity if named or self.source(rules) != PRACTICE or ANY in self.sources else Severity.NOTE
        )

    @property
    def text(self) -> str:
        """The docstring: what is reported, why it matters, a bad and a good circuit."""
        return inspect.getdoc(self.find) or ""

    def example(self, word: str) -> str:
        """Return the netlist under ``Bad::`` or ``Good::`` of the docstring; empty if there is none."""
        lines = self.text.splitlines()
        if f"{word}::" not in lines:
            return ""
        rest = lines[lines.index(f"{word}::") + 1 :]
        length = next((i for i, line in enumerate(rest) if line and not line.startswith(" ")), len(rest))
        return textwrap.dedent("\n".join(rest[:length])).strip("\n") + "\n"


def rule(
    code: str, *, severity: Severity, source: str | Mapping[str, str], needs: str = "structure"
) -> Callable[[Finder], Rule]:
    """Make a function that yields findings into a rule.

    ``needs`` is ``structure`` (parts and lines alone) or ``air`` (the states must be computed too).

    Raises
    ------
    ValueError
        If the name of the function is not that of the rule.
    """
    sources = {ANY: source} if isinstance(source, str) else dict(source)

    def register(find: Finder) -> Rule:
        if find.__name__ != code.replace("-", "_"):
            raise ValueError(f"rule {code} in function {find.__name__}")
        return Rule(code, severity, sources, needs, find)

    return register


def at_end(end: End, text: str) -> Label:
    """Point at the end of a line."""
    return Label(end.span, text)


def at_part(part: Part, text: str = "") -> Label:
    """Point at a part's statement."""
    return Label(part.span, text)


def named(part: Part) -> str:
    """Return how a message speaks of a part: kind and tag."""
    return f"{part.kind.title.lower()} `{part.tag}`"


def listed(names: list[str] | tuple[str, ...]) -> str:
    """Return names as a person lists them, each in backticks."""
    quoted = [f"`{name}`" for name in names]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + " and " + quoted[-1]
