"""Circuits with timed states of their own, for the tests of histories and causes: examples of what can be written."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.history import History, history, usual_places
from pneudraw.flow.places import find
from pneudraw.flow.run import Run
from pneudraw.flow.sequence import read, run_sequence
from pneudraw.flow.why import why
from pneudraw.units import PSI

ATMOSPHERE = 1.01325
P = PSI / 1e5  # bar per psi
CIRCUITS = Path(__file__).parent.parent.parent / "circuits"

#: the pedal pressed and let go ten times with the engine stopped
_STROKES = ", ".join(f"foot 100% at {t}s, foot 0% at {t + 2}s" for t in range(1, 60, 4))

TRUCK = (
    (CIRCUITS / "two-axle-truck.pneu").read_text("utf-8").rstrip()
    + f"""

states
  fanned    "Fanning the pedal down"    from ready for 60s:  comp stopped, {_STROKES}
  cycles    "The governor cycles"       from ready for 60s:  dwet open at 5s, dwet closed at 30s,
      dwet open at 150s, dwet closed at 175s
  drained   "All reservoirs drained"    from ready for 120s: comp stopped, dprim open, dsec open, dwet open
  seat      "Leaking inlet seat"        from ready:          fault relay.inlet-leaks, comp stopped
  stuck     "Inlet does not open"       from ready:          fault relay.stuck-shut, foot 50%
  kinked    "Signal line blocked"       from ready:          fault line service1 blocked, foot 50%
"""
)

ANTILOCK = """
circuit "One axle with an anti-lock modulator"
  pressure psi

parts
  air    air-source          "Shop air"
  cv     check-valve         "Check valve"
  tank   reservoir           "Service reservoir"    volume=20L
  foot   foot-valve-single   "Foot valve"
  mod    abs-modulator       "Anti-lock modulator"
  lf     service-chamber     "Left front"           type=20

lines
  air -> cv -> tank -> foot -> mod -> lf

states
  cycling  "Anti-lock cycling"  from ready for 3s:  foot 80%, mod.hold on at 0.5s, mod.dump on at 0.6s,
      mod.dump off at 0.75s, mod.hold off at 1s, mod.hold on at 1.05s, mod.dump on at 1.3s,
      mod.dump off at 1.42s, mod.hold off at 1.7s
"""

CLOSINGS = """
circuit "What closes, and what comes of it"
  pressure psi

parts
  comp    compressor          "Compressor"
  gov     governor            "Governor"           cut_in=100psi cut_out=125psi
  tank    reservoir           "Reservoir"          volume=20L
  drain   drain-valve         "Drain"
  foot    foot-valve-single   "Foot valve"
  relay   relay-valve         "Relay valve"
  lf      service-chamber     "Left front"         type=20
  leak    restrictor          "Leak"               orifice=0.05L/(s.bar)

lines
  comp.2 -> tank
  tank.a -> gov.1
  gov.2 -> comp.4
  tank.d -> drain
  tank.2 -> foot.1
  tank.b -> relay.1
  foot.2 -> relay.4
  relay.2 -> lf
  tank.c -> leak.1

states
  open    "Drain open"                 from ready for 20s:  drain open
  shut    "Drain shut again"           from ready for 15s:  drain open, drain closed at 60s
  stop    "Engine stopped"             from shut for 60s:   comp stopped
  half    "Half application"           from ready:          foot 50%
  ease    "Eased to a quarter"         from half:           foot 25%
"""


@cache
def circuit(text: str = TRUCK) -> Circuit:
    """A circuit from its text, which must be without mistakes."""
    reading = api.read_text(text)
    assert reading.circuit is not None, reading.diagnostics
    return reading.circuit


@cache
def runs(states: str, text: str = TRUCK, start: str | None = None) -> tuple[Run, ...]:
    """The runs of states joined by ``+``."""
    made = circuit(text)
    return run_sequence(made, read(made, states, start))


def over_time(states: str, *ports: str, show: tuple[str, ...] = ("pressure",), text: str = TRUCK) -> History:
    """The history of some places, or of the usual ones."""
    made = circuit(text)
    places = tuple(place for port in ports for place in find(made, port))
    done = runs(states, text)
    return history(done, places or usual_places(made, done), show)


def limits(states: str, port: str, text: str = TRUCK):  # type: ignore[no-untyped-def]
    """What ended the last movement of one place, or kept its air."""
    (place,) = find(circuit(text), port)
    return why(runs(states, text)[-1], place).limits


def causes(states: str, port: str, text: str = TRUCK):  # type: ignore[no-untyped-def]
    """The causes of the pressure at one place."""
    (place,) = find(circuit(text), port)
    return why(runs(states, text)[-1], place).causes
