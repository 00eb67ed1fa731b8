"""Sources without a safety valve."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Place
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study, outlets_of

#: what a safety valve may stand behind and still protect the supply side
OPEN = (Place.TREATMENT, Place.CHECK, Place.STORAGE, Place.FITTING)


@rule(
    "no-relief-valve",
    severity=Severity.WARNING,
    source={
        "us": "driver manuals: a safety valve in the first tank, usually at 150 psi (CDL manual section 5.1)",
        "none": PRACTICE,
    },
)
def no_relief_valve(study: Study) -> Iterator[Finding]:
    """Report a compressor with no safety valve behind it.

    Why it matters
        If the governor, its line or the unloader fails, the pump would go on until something bursts.

    Bad::

        circuit "Nothing limits the pressure"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          d     drain-valve
          c     service-chamber
          v     foot-valve-single
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.d -> d.1
          wet.2 -> v.1
          v.2 -> c.1

    Good::

        circuit "A safety valve on the first reservoir"
          rules us
        parts
          comp  compressor
          gov   governor
          wet   reservoir
          sv    safety-valve
          d     drain-valve
          c     service-chamber
          v     foot-valve-single
        lines
          comp.2 -> wet.1
          wet.a -> gov.1
          gov.2 -> comp.4
          wet.b -> sv.1
          wet.d -> d.1
          wet.2 -> v.1
          v.2 -> c.1
    """
    if not study.complete or on_supply_side(study):
        return
    if study.loose(part for part in study.circuit.parts if study.relief(part) is not None):
        return  # it is there and not joined, which is reported as such
    source = study.sources[0]
    first = next((store for store in study.stores if store.tag in _behind(study, source)), None)
    where = "the first reservoir" if first is None else f"`{first.tag}`"
    yield Finding(
        f"no safety valve protects what {named(source)} fills",
        at_part(source, "nothing limits the pressure if the governor fails"),
        help=f"join a safety valve to {where}",
        related=() if first is None else (at_part(first, "the usual place"),),
        about=(source.tag,),
    )


def on_supply_side(study: Study) -> tuple[Part, ...]:
    """Return the parts that let overpressure out, with nothing between them and a source that could be shut."""
    reached = {tag for source in study.sources for tag in _behind(study, source)}
    return tuple(p for p in study.circuit.parts if p.tag in reached and study.relief(p) is not None)


def _behind(study: Study, source: Part) -> tuple[str, ...]:
    """Return the parts that the source's air comes to without going through a valve that could hold it up."""
    inlets = study.ways.downstream(
        outlets_of(study, source), stop=lambda part: part.kind.place not in OPEN or bool(part.kind.inputs)
    )
    return tuple(dict.fromkeys(at[0] for at in inlets))
