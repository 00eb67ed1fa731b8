"""Air that leaves all the time."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.rules.registry import PRACTICE, Finding, at_part, named, rule
from pneudraw.rules.study import Study, inlets_of
from pneudraw.rules.unloader_not_connected import never_unloaded
from pneudraw.rules.ways import OUTSIDE, At
from pneudraw.units import show

#: dm3/s of free air: less is within what driver manuals allow a single vehicle to lose, 2 psi in a minute (CDL manual
#: section 5.3), out of 5568 in3, the least reservoir volume for two type 20 and four type 30 chambers
WORTH = 12.4 / 60
#: states that come to rest, and how they are told
STATES = {"ready": "nothing is worked", "service-apply": "the pedal is held", "park-apply": "parked"}


@rule("exhaust-keeps-blowing", severity=Severity.ERROR, source=PRACTICE, needs="air")
def exhaust_keeps_blowing(study: Study) -> Iterator[Finding]:
    """Report an exhaust that still blows when everything has come to rest: ready to drive, pedal held, or parked.

    Why it matters
        The circuit has a way from pressure to atmosphere that is always open: two lines exchanged at a valve, most
        often. Safety valves are left aside.

    Bad::

        circuit "The spring line is fed past the park valve"
        parts
          s     air-source
          t     reservoir
          park  park-valve
          foot  foot-valve-single
          c     spring-brake
          o     silencer
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> park.1
          t.b -> o.1
          foot.2 -> c.11
          park.2 -> c.12

    Good::

        circuit "The spring line is fed by the park valve"
        parts
          s     air-source
          t     reservoir
          park  park-valve
          foot  foot-valve-single
          c     spring-brake
        lines
          s.2 -> t.1
          t.2 -> foot.1
          t.a -> park.1
          foot.2 -> c.11
          park.2 -> c.12
    """
    air = study.air
    if air is None:
        return
    told: set[At] = set()
    for state, when in STATES.items():
        for exhaust in air.traces[state].exhausts if state in air.traces else ():
            at = (exhaust.part, exhaust.port)
            part = study.circuit.part(exhaust.part)
            if part is None or exhaust.rate < WORTH or study.relief(part) is not None or at in told:
                continue
            if state == "park-apply" and part.tag in _worked(study, state):
                continue  # it lets out what it was pulled to let out; a reservoir behind it is another rule's matter
            if never_unloaded(study) and not any(_feeds(study, store, at) for store in study.stores):
                continue  # the pump's own air, which should not come any more
            told.add(at)
            rate = show(exhaust.rate * 1e-3, "L/min")
            yield Finding(
                f"{named(part)} blows {rate} of air off at `{exhaust.part}.{exhaust.port}` while {when}",
                at_part(part, "air leaves here all the time"),
                help="see whether two lines are exchanged at this valve",
                ports=(f"{exhaust.part}.{exhaust.port}",),
                about=(part.tag,),
                spoils=_short_of_air(study, at),
            )


def _worked(study: Study, name: str) -> set[str]:
    """Return the parts whose inputs a state sets."""
    state = study.circuit.state(name)
    return {setting.part for setting in state.settings} if state is not None else set()


def _short_of_air(study: Study, at: At) -> tuple[At, ...]:
    """Return the inlets of the reservoirs that lose their air at an exhaust: what they feed suffers too."""
    losing = [store for store in study.stores if _feeds(study, store, at)]
    return tuple(inlet for store in losing for inlet in inlets_of(study, store))


def _feeds(study: Study, store: Part, exhaust: At) -> bool:
    """Whether a reservoir's air could get to an exhaust without going through another reservoir."""
    others = {part.tag for part in study.stores} - {store.tag}
    reached = study.ways.reach(
        [("chamber", store.tag, chamber.name) for chamber in store.kind.chambers],
        lambda way: way.part.tag not in others,
    )
    return any(
        way.part.tag == exhaust[0] and OUTSIDE in (way.start, way.end) and {way.start, way.end} & reached
        for way in study.ways.ways
    )
