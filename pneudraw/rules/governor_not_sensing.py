"""Governors that watch the wrong line."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import PRACTICE, Finding, at_end, named, rule
from pneudraw.rules.study import Study, is_store, outlets_of, threshold
from pneudraw.rules.ways import At


@rule("governor-not-sensing", severity=Severity.ERROR, source=PRACTICE)
def governor_not_sensing(study: Study) -> Iterator[Finding]:
    """Report a governor whose sensing port gets no air from a reservoir.

    Why it matters
        The governor must know what is stored. On the compressor's own discharge it sees every stroke of the piston,
        cuts out too early and in again at once; on a line without air it never cuts out.

    Bad::

        circuit "The governor watches the discharge line"
        parts
          comp  compressor
          gov   governor
          dry   air-dryer
          wet   reservoir
          x     plug
        lines
          comp.2 -> dry.1, gov.1
          dry.2 -> wet.1
          gov.2 -> comp.4, dry.4
          wet.2 -> x.1

    Good::

        circuit "The governor watches the reservoir"
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
    fed = {
        at for store in study.stores for at in study.ways.downstream(outlets_of(study, store), stop=is_store)
    }
    for part in study.governors:
        for port in watched(part):
            end = study.ways.end_at((part.tag, port))
            if end is None or (part.tag, port) in fed or _behind_check(study, (part.tag, port)):
                continue
            yield Finding(
                f"{named(part)} does not watch a reservoir: no stored air comes to `{end.name}`",
                at_end(end, "no reservoir feeds this line"),
                help=f"join `{end.name}` to a boss of the first reservoir",
                ports=(end.name,),
                about=(part.tag,),
                mutes=(part.tag,),
            )


def _behind_check(study: Study, at: At) -> bool:
    """Whether a line that no reservoir feeds back into is parted from the source by a check, and leads to reservoirs.

    So it is where an air dryer's outlet goes straight to a multi-circuit protection valve.
    """
    line = study.ways.line_of(at)
    seeds = [spot for out in study.origins if (spot := study.ways.spot(study.part(out), out[1])) is not None]
    if line is None or ("line", line.tag) in study.ways.reach(seeds, lambda way: way.free):
        return False
    if at not in study.ways.downstream(study.origins):
        return False
    onward = [(end.part.tag, end.port.id) for end in line.ends if study.ways.gives(end.part, end.port)]
    return any(is_store(study.part(inlet)) for inlet in study.ways.downstream(onward))


def watched(part: Part) -> tuple[str, ...]:
    """Return the ports whose pressure the part's governor memory watches."""
    return tuple(
        dict.fromkeys(
            found[0]
            for memory in part.kind.memories
            if memory.purpose == "governor"
            for form in (*memory.to_one, *memory.to_zero)
            if (found := threshold(part, form)) is not None
        )
    )
