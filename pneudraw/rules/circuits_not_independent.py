"""Dual service circuits that do not survive each other."""

from __future__ import annotations

from collections.abc import Iterator

from pneudraw.circuit.model import Part
from pneudraw.diagnostics import Severity
from pneudraw.library.model import Role
from pneudraw.rules.brakes import FORCE, grouped
from pneudraw.rules.experiments import Section, loss_name, lost, sections
from pneudraw.rules.follow import blocked_at
from pneudraw.rules.missing_check_valve import back_flow
from pneudraw.rules.registry import Finding, at_end, at_part, listed, named, rule
from pneudraw.rules.study import Study, service_ports

WEAK = 0.1  # share of its force in a healthy circuit below which a brake counts as lost


@rule(
    "circuits-not-independent",
    severity=Severity.ERROR,
    source={
        "us": "49 CFR 571.121 S5.7.1 and S5.7.2 (from memory)",
        "un": "UN Regulation No. 13 5.2.1.2 (from memory)",
        "none": "common practice: dual service circuits",
    },
    needs="air",
)
def circuits_not_independent(study: Study) -> Iterator[Finding]:
    """Report a service circuit that is lost together with the other one.

    Why it matters
        There are two circuits so that one break leaves brakes on some wheels. The feed of each is broken in turn, and
        a minute later the pedal is pressed: the other reservoir must still have its air and its brakes must work.

    Bad::

        circuit "The front brakes take air from one circuit and their signal from the other"
        parts
          s     air-source
          cv1   check-valve
          cv2   check-valve
          prim  reservoir
          sec   reservoir
          foot  foot-valve
          rear  relay-valve
          front relay-valve
          x     plug
          lr    service-chamber
          lf    service-chamber
        lines
          s.2 -> cv1.1, cv2.1
          cv1.2 -> prim.1
          cv2.2 -> sec.1
          prim.2 -> foot.11
          sec.2 -> foot.12
          prim.a -> rear.1
          sec.a -> front.1
          foot.21 -> rear.4, front.4
          foot.22 -> x.1
          rear.2 -> lr.1
          front.2 -> lf.1

    Good::

        circuit "Each circuit stands alone"
        parts
          s     air-source
          cv1   check-valve
          cv2   check-valve
          prim  reservoir
          sec   reservoir
          foot  foot-valve
          rear  relay-valve
          front relay-valve
          lr    service-chamber
          lf    service-chamber
        lines
          s.2 -> cv1.1, cv2.1
          cv1.2 -> prim.1
          cv2.2 -> sec.1
          prim.2 -> foot.11
          sec.2 -> foot.12
          prim.a -> rear.1
          sec.a -> front.1
          foot.21 -> rear.4
          foot.22 -> front.4
          rear.2 -> lr.1
          front.2 -> lf.1
    """
    for group in sections(study):
        joined = tuple(_joined_deliveries(study, group[0].part))
        yield from joined
        if joined:
            continue
        seen: set[str] = set()  # one message a place: two reservoirs may empty into each other at one line
        for broken in group:
            for other in group:
                if other is broken:
                    continue
                same = [store for store in other.stores if store in broken.stores]
                if len(same) == len(other.stores):
                    if other.port.id > broken.port.id:
                        yield _one_reservoir(study, broken, other)
                    continue
                for finding in _after_loss(study, broken, other):
                    place = _line_name(study, finding) or finding.message
                    if place not in seen:
                        seen.add(place)
                        yield finding


def _line_name(study: Study, finding: Finding) -> str | None:
    """Return the tag of the line a finding points at."""
    if not finding.ports:
        return None
    tag, _, port = finding.ports[0].rpartition(".")
    line = study.ways.line_of((tag, port))
    return None if line is None else line.tag


def _joined_deliveries(study: Study, pedal: Part) -> Iterator[Finding]:
    """Report lines into which two sections of a pedal valve deliver: the air of one leaves through the other."""
    for line in study.circuit.lines:
        ends = [end for end in line.ends if end.part is pedal and end.port.role is Role.DELIVERY]
        if len(ends) > 1:
            yield Finding(
                f"{listed([end.name for end in ends])} deliver into one line: when one circuit is lost its section"
                " lets the other's air out",
                at_end(ends[1], "joined to the other section's delivery"),
                help="part the two with a double check valve",
                related=(at_end(ends[0], "the other section's delivery"),),
                ports=tuple(end.name for end in ends),
                about=(pedal.tag,),
            )


def _one_reservoir(study: Study, first: Section, second: Section) -> Finding:
    a, b = f"{first.part.tag}.{first.port.id}", f"{second.part.tag}.{second.port.id}"
    end = study.ways.end_at((second.part.tag, second.port.id))
    other = study.ways.end_at((first.part.tag, first.port.id))
    stores = listed([store.tag for store in second.stores])
    return Finding(
        f"both sections of {named(first.part)} live on {stores}: one loss takes both",
        at_part(first.part) if end is None else at_end(end, f"fed from {second.stores[0].tag}"),
        help=f"feed `{b}` from a reservoir of its own, with its own check valve",
        related=() if other is None else (at_end(other, "and so is this one"),),
        ports=(a, b),
        about=(first.part.tag, *(store.tag for store in second.stores)),
    )


def _after_loss(study: Study, broken: Section, other: Section) -> Iterator[Finding]:
    name = loss_name(broken)
    if study.air is None or name not in study.air.runs:
        return
    feed = study.ways.end_at((broken.part.tag, broken.port.id))
    related = () if feed is None else (at_end(feed, "when this feed breaks"),)
    dead = False
    for store in other.stores:
        if store in broken.stores:
            continue
        port = lost(study, name, store)
        if port is None:
            continue
        dead = True
        end = study.ways.end_at((store.tag, port))
        if back_flow(study, store) is not None:
            continue  # said by missing-check-valve
        yield Finding(
            f"{named(store)} is emptied together with the other circuit",
            at_part(store) if end is None else at_end(end, "its air leaves here"),
            help="part the two circuits here with a double check valve or a check valve each",
            related=related,
            ports=(f"{store.tag}.{port}",),
            about=(store.tag, broken.part.tag),
        )
    if not dead:
        yield from _lost_brakes(study, broken, other, name)


def _lost_brakes(study: Study, broken: Section, other: Section, name: str) -> Iterator[Finding]:
    """Report brakes that live on the other reservoirs alone and do not work any more."""
    air = study.air
    if air is None or "service-apply" not in air.runs:
        return
    working = [brake for brake in study.brakes if _works(study, brake)]
    failing = [brake for brake in working if _fails(study, brake, name)]
    # if no wheel brakes any more, whatever does not live on the lost reservoirs themselves should have
    lost_brakes = [
        brake
        for brake in failing
        if (stores := study.stores_of(brake))
        and not any(store in broken.stores for store in stores)
        and (len(failing) == len(working) or all(store in other.stores for store in stores))
    ]
    feed = study.ways.end_at((broken.part.tag, broken.port.id))
    for group in grouped(study, lost_brakes, service_ports, lambda at: blocked_at(study, name, at)):
        stop = group.stop
        control = None if stop is None or stop.control is None else (stop.part.tag, stop.control)
        end = group.ends[0] if control is None else study.ways.end_at(control)
        assert end is not None
        yield Finding(
            f"{listed([brake.tag for brake in group.brakes])} cannot brake when the feed of"
            f" `{broken.part.tag}.{broken.port.id}` is lost, though `{other.stores[0].tag}` still has its air",
            at_end(end, "too little comes here then" if control is None else "no signal comes here then"),
            help="let air and signal of these brakes come from one and the same circuit",
            related=() if feed is None else (at_end(feed, "when this feed breaks"),),
            ports=(end.name,),
            about=(end.part.tag, broken.part.tag, *(brake.tag for brake in group.brakes)),
        )


def _works(study: Study, brake: Part) -> bool:
    """Whether a brake is off with the pedal up and on with it down, as long as all is well."""
    air = study.air
    assert air is not None
    up, down = air.brake("ready", brake).service_force, air.brake("service-apply", brake).service_force
    return up <= FORCE < down


def _fails(study: Study, brake: Part, name: str) -> bool:
    """Whether a brake that works otherwise does not after the loss."""
    air = study.air
    assert air is not None
    healthy = air.brake("service-apply", brake).service_force
    return air.brake(name, brake).service_force <= WEAK * healthy
