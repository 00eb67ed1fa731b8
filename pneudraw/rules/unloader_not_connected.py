"""Compressors that nobody tells to stop."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Role
from pneudraw.rules.registry import PRACTICE, Finding, at_end, at_part, named, rule
from pneudraw.rules.study import Study
from pneudraw.rules.ways import At


@rule("unloader-not-connected", severity=Severity.ERROR, source=PRACTICE)
def unloader_not_connected(study: Study) -> Iterator[Finding]:
    """Report a compressor whose unloader gets no signal from a governor.

    Why it matters
        It pumps on until the safety valve lifts, and then pumps against the safety valve.

    Bad::

        circuit "The governor only works the dryer"
        parts
          comp  compressor
          gov   governor
          dry   air-dryer
          wet   reservoir
          x     plug
        lines
          comp.2 -> dry.1
          dry.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> dry.4
          wet.2 -> x.1

    Good::

        circuit "The governor unloads the compressor too"
        parts
          comp  compressor
          gov   governor
          dry   air-dryer
          wet   reservoir
          x     plug
        lines
          comp.2 -> dry.1
          dry.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4, dry.4
          wet.2 -> x.1
    """
    if any(study.ways.line_of(at) is None for governor in study.governors for at in _outlets(governor)):
        return  # reported as an open port
    for source in never_unloaded(study):
        if not (study.governors or study.complete):
            continue  # a pump alone is a sketch
        port = source.kind.first(Role.CONTROL)
        assert port is not None
        end = study.ways.end_at((source.tag, port.id))
        name = f"{source.tag}.{port.id}"
        signal = next((at for governor in study.governors for at in _outlets(governor)), None)
        gov_end = None if signal is None else study.ways.end_at(signal)
        yield Finding(
            f"{named(source)} is never told to stop pumping: no governor's signal comes to `{name}`",
            at_part(source, "this one pumps for ever")
            if end is None
            else at_end(end, "no signal comes here"),
            help=f"join `{name}` to the governor's delivery"
            + ("" if signal is None else f" `{signal[0]}.{signal[1]}`"),
            related=() if gov_end is None else (at_end(gov_end, "the governor's signal"),),
            ports=(name,),
            about=(source.tag, *(governor.tag for governor in study.governors)),
        )


def never_unloaded(study: Study) -> tuple[Part, ...]:
    """Return the sources with a control port that no governor's signal comes to."""
    told: set[At] = set()
    for governor in study.governors:
        told |= set(study.ways.downstream(_outlets(governor), signals="any"))
    return tuple(
        source
        for source in study.sources
        if (ports := [(source.tag, port.id) for port in source.kind.ports if port.role is Role.CONTROL])
        and not any(at in told for at in ports)
    )


def _outlets(governor: Part) -> tuple[At, ...]:
    return tuple((governor.tag, port.id) for port in governor.kind.ports if port.role is Role.DELIVERY)
