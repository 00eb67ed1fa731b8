"""Ports that no line ends at."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Port, Role
from pneudraw.rules.registry import PRACTICE, Finding, at_part, listed, named, rule
from pneudraw.rules.study import Study, is_store
from pneudraw.rules.ways import At


@rule("open-port", severity=Severity.ERROR, source=PRACTICE)
def open_port(study: Study) -> Iterator[Finding]:
    """Report a port that no line ends at.

    Why it matters
        It is open to atmosphere: what feeds it never builds pressure, what it feeds gets none. Exhausts and
        intakes are meant to be open; a reservoir's spare bosses count as plugged.

    Bad::

        circuit "A line was forgotten"
        parts
          s   air-source
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> v.1

    Good::

        circuit "Every port has its line"
        parts
          s   air-source
          v   foot-valve-single
          c   service-chamber
        lines
          s.2 -> v.1
          v.2 -> c.1
    """
    ports: dict[str, list[Port]] = {}
    for (tag, _), port in openings(study):
        ports.setdefault(tag, []).append(port)
    for tag, opened in ports.items():
        part = study.circuit.part(tag)
        assert part is not None
        if not _joined(study, part):
            names = tuple(f"{tag}.{port.id}" for port in opened)
            yield Finding(
                f"nothing is joined to {named(part)}",
                at_part(part, "no line ends here"),
                help=f"join {listed(names)}, or take `{tag}` out of the parts",
                ports=names,
                spoils=tuple((tag, port.id) for port in opened),
            )
            continue
        for port in opened:
            yield _finding(study, part, port)


def _finding(study: Study, part: Part, port: Port) -> Finding:
    name = f"{part.tag}.{port.id}"
    words = port.role.value if port.title in ("", port.role.value) else f"{port.role.value}, {port.title}"
    gives = port.role in (Role.DELIVERY, Role.TAPPING) or is_store(part)
    return Finding(
        f"port `{port.id}` ({words}) of {named(part)} is open",
        at_part(
            part, f"port {port.id} is open to atmosphere" if gives else f"nothing comes to port {port.id}"
        ),
        help=f"join a line to `{name}`" + (", or close it with a plug" if gives else ""),
        ports=(name,),
        spoils=((part.tag, port.id),) if study.ways.takes(part, port) else (),
    )


def openings(study: Study, *, couplings: bool = False) -> tuple[tuple[At, Port], ...]:
    """Return the ports that should have a line and have none. ``couplings``: the outer side of couplings too."""
    open_to_air = (Role.EXHAUST, Role.INTAKE)
    return tuple(
        ((part.tag, port.id), port)
        for part in study.circuit.parts
        if couplings or part not in study.couplings or not _joined(study, part)
        for port in part.kind.ports
        if not port.optional
        and port.role not in open_to_air
        and study.ways.line_of((part.tag, port.id)) is None
    )


def _joined(study: Study, part: Part) -> bool:
    return any(study.ways.line_of((part.tag, port.id)) is not None for port in part.kind.ports)
