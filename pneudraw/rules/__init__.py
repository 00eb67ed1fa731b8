"""The checker: rules that a circuit should obey, one file each.

>>> from pneudraw import api
>>> from pneudraw.rules import check
>>> circuit = api.read_text('''
... circuit "A chamber and an open port"
... parts
...   s  air-source
...   v  foot-valve-single
...   c  service-chamber
... lines
...   s.2 -> v.1
... ''').circuit
>>> for finding in check(circuit):
...     print(finding.message)
port `2` (delivery) of foot valve, single circuit `v` is open
nothing is joined to service brake chamber `c`
"""

from __future__ import annotations

from dataclasses import replace

from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import Diagnostic, Label, Severity, in_source_order
from pneudraw.rules.against_arrow import against_arrow
from pneudraw.rules.air import Solve, compute
from pneudraw.rules.brake_stays_applied import brake_stays_applied
from pneudraw.rules.check_valve_reversed import check_valve_reversed
from pneudraw.rules.circuits_not_independent import circuits_not_independent
from pneudraw.rules.cut_in_above_cut_out import cut_in_above_cut_out
from pneudraw.rules.cut_in_too_low import cut_in_too_low
from pneudraw.rules.dangling_line import dangling_line
from pneudraw.rules.exhaust_keeps_blowing import exhaust_keeps_blowing
from pneudraw.rules.experiments import plan
from pneudraw.rules.governor_not_sensing import governor_not_sensing
from pneudraw.rules.missing_check_valve import missing_check_valve
from pneudraw.rules.no_drain import no_drain
from pneudraw.rules.no_gauge import no_gauge
from pneudraw.rules.no_low_pressure_warning import no_low_pressure_warning
from pneudraw.rules.no_relief_valve import no_relief_valve
from pneudraw.rules.open_port import open_port, openings
from pneudraw.rules.parking_brake_dead import parking_brake_dead
from pneudraw.rules.registry import Finding, Rule
from pneudraw.rules.relief_below_cut_out import relief_below_cut_out
from pneudraw.rules.reservoirs_too_small import reservoirs_too_small
from pneudraw.rules.service_brake_dead import service_brake_dead
from pneudraw.rules.spring_brake_held_on import spring_brake_held_on
from pneudraw.rules.study import Study
from pneudraw.rules.trapped_air import trapped_air
from pneudraw.rules.unloader_not_connected import unloader_not_connected
from pneudraw.rules.unreachable_part import unreachable_part
from pneudraw.rules.warning_too_low import warning_too_low
from pneudraw.rules.ways import At, Ways

#: every rule, in the order they are asked. The first ones find causes: what suffers from them is not reported again.
RULES: tuple[Rule, ...] = (
    open_port,
    dangling_line,
    check_valve_reversed,
    unreachable_part,
    exhaust_keeps_blowing,
    missing_check_valve,
    circuits_not_independent,
    governor_not_sensing,
    unloader_not_connected,
    cut_in_above_cut_out,
    relief_below_cut_out,
    cut_in_too_low,
    warning_too_low,
    reservoirs_too_small,
    no_relief_valve,
    no_drain,
    no_gauge,
    no_low_pressure_warning,
    service_brake_dead,
    brake_stays_applied,
    spring_brake_held_on,
    parking_brake_dead,
    trapped_air,
    against_arrow,
)

NOT_COMPUTED = "not-computed"


def check(circuit: Circuit, solve: Solve | None = None) -> tuple[Diagnostic, ...]:
    """Return what is wrong with a circuit, in source order.

    Parameters
    ----------
    circuit
        The circuit.
    solve
        Runs the named states of a circuit (this one, with experiments added to its states) and those they start
        from: ``lambda circuit, names: api.runs(circuit, names)``. It is called at most once. Without it only what
        can be told from parts and lines is checked.
    """
    study = Study(circuit, Ways(circuit), None)
    found: list[Diagnostic] = []
    spoilt: frozenset[str] = frozenset()
    muted: tuple[str, ...] = ()
    rules = [rule for rule in RULES if rule.source(circuit.rules) is not None]
    for needs in ("structure", "air"):
        if needs == "air":
            if solve is None or not study.sources or circuit.state("ready") is None:
                break
            closed = tuple(at for at, _ in openings(study, couplings=True))
            study = replace(study, air=compute(circuit, plan(study), solve, closed, muted))
            if study.air is not None and study.air.message:
                found.append(Diagnostic(NOT_COMPUTED, Severity.NOTE, study.air.message, Label(circuit.span)))
        for rule in rules:
            if rule.needs == needs:
                findings = tuple(rule.find(study))
                kept = _kept(findings, spoilt)
                found += [_diagnostic(rule, finding, circuit.rules) for finding in kept]
                # what is not worth a message of its own has consequences all the same
                spoilt |= _behind(study, tuple(at for finding in findings for at in finding.spoils))
                muted += tuple(tag for finding in findings for tag in finding.mutes)
    return in_source_order(found)


def codes() -> tuple[str, ...]:
    """Return the names of all rules, sorted."""
    return tuple(sorted(rule.code for rule in RULES))


def explain(code: str) -> str | None:
    """Return what a rule reports, why, with a bad and a good circuit; None if there is no such rule."""
    rule = next((rule for rule in RULES if rule.code == code), None)
    if rule is None:
        return None
    sources = [f"{text}" if key == "any" else f"rules {key}: {text}" for key, text in rule.sources.items()]
    return f"{rule.code} ({rule.severity.value})\n\n{rule.text}\n\nSource\n" + "\n".join(
        f"    {s}" for s in sources
    )


def _kept(findings: tuple[Finding, ...], spoilt: frozenset[str]) -> tuple[Finding, ...]:
    """Leave out what speaks of parts that already suffer from a cause found before."""
    return tuple(finding for finding in findings if not any(tag in spoilt for tag in finding.about))


def _behind(study: Study, spoils: tuple[At, ...]) -> frozenset[str]:
    """Return the parts that get no air, or no signal they need, when none comes in at these ports."""
    outlets = [out for at in spoils for out in study.ways.outlets(at, "needed")]
    behind = study.ways.downstream(outlets, signals="needed")
    return frozenset([at[0] for at in spoils] + [at[0] for at in behind])


def _diagnostic(rule: Rule, finding: Finding, rules: str) -> Diagnostic:
    return Diagnostic(
        rule.code,
        rule.severity_in(rules),
        finding.message,
        finding.at,
        finding.help,
        finding.related,
        finding.ports,
        rule.source(rules) or "",
    )
