"""An end that hangs on a knife edge is told; a reservoir is drained to within a hair of where the park valve trips."""

from __future__ import annotations

from pneudraw import api
from pneudraw.circuit.model import Circuit
from pneudraw.flow.run import Options, Run
from pneudraw.flow.trace import to_dict, trace
from pneudraw.teach.telling import tell

PLAIN = Options(compiled="no")


def netlist(trip: str, seconds: str = "12s") -> str:
    """A park valve whose reservoir is drained for a while with the engine stopped."""
    return f"""circuit "Knife edge"
  pressure bar
parts
  comp   compressor
  gov    governor
  tank   reservoir     volume=10L
  drain  drain-valve   seat=0.5L/(s.bar)
  park   park-valve    trip={trip}
  lr     spring-brake
lines
  comp.2 -> tank
  tank.a -> gov.1
  gov.2 -> comp.4
  tank.d -> drain
  tank.2 -> park.1
  park.2 -> lr.12
states
  edge "Drained to the edge" from ready for 60s: comp stopped, drain open at 1s, drain closed at {seconds}
  later "Held afterwards"     from edge for 10s:  comp stopped
"""


def drained(trip: str, seconds: str = "12s") -> Circuit:
    circuit = api.read_text(netlist(trip, seconds)).circuit
    assert circuit is not None
    return circuit


def ended(trip: str, options: Options) -> Run:
    return api.runs(drained(trip), ("edge",), options)["edge"]


def lowest(run: Run) -> float:
    """The lowest gauge pressure the valve's supply port saw [bar]."""
    names = [node.name for node in run.plumbing.network.nodes]
    return float(run.solution.pressures[:, names.index("park.1")].min()) - run.plumbing.atmosphere


def knife_edge() -> str:
    """The trip pressure between what one and the other tolerance make of the same draining."""
    low = [lowest(ended("1bar", Options(compiled="no", tolerance=t))) for t in (1e-3, 1e-4)]
    assert 1e-4 < abs(low[0] - low[1]) < 1e-2  # what one and the other make of the same draining
    return f"{sum(low) / 2:.5f}bar"


def test_a_valve_that_trips_or_not_by_a_hair_is_told_with_the_brake_that_hangs_on_it() -> None:
    edge = knife_edge()
    run = ended(edge, Options(compiled="no", doubts=True))
    assert "lr/spring" in run.doubts
    assert "tank.2" not in run.doubts  # the reservoir gives a little air or none, which is no matter
    told = trace(run)
    assert told.doubts == run.doubts
    assert "How it ends is not certain" in tell(run.circuit, told)
    plain = to_dict(trace(ended("1bar", PLAIN)))
    assert to_dict(told)["doubts"] == list(run.doubts)
    assert to_dict(told).keys() - plain.keys() == {"doubts"}


def test_a_state_that_begins_at_an_uncertain_end_says_so() -> None:
    runs = api.runs(drained(knife_edge()), ("later",), Options(compiled="no", doubts=True))
    assert runs["edge"].unsure == ()
    assert runs["later"].unsure == ("edge",)
    later = trace(runs["later"])
    assert "Where it begins is not certain: the end of `edge` hangs on a knife edge." in tell(
        runs["later"].circuit, later
    )
    assert to_dict(later)["doubts_before"] == ["edge"]


def test_an_uncertain_end_is_the_same_compiled_or_interpreted() -> None:
    edge = knife_edge()
    one, other = (ended(edge, Options(compiled=how, doubts=True)).doubts for how in ("no", "yes"))
    assert one == other != ()


def test_nothing_is_in_doubt_well_away_from_the_edge_or_if_nobody_asked() -> None:
    for trip, options in (("1bar", Options(compiled="no", doubts=True)), ("4.591bar", PLAIN)):
        run = ended(trip, options)
        assert run.doubts == ()
        assert "not certain" not in tell(run.circuit, trace(run))


def test_a_governor_that_cycles_is_not_in_doubt_because_the_moment_of_the_end_differs() -> None:
    text = """circuit "Leak"
  pressure bar
parts
  comp   compressor
  gov    governor      cut_in=7bar  cut_out=8bar
  tank   reservoir     volume=3L
  leak   restrictor    orifice=0.3L/(s.bar)
  brake  foot-valve-single
lines
  comp.2 -> tank
  tank.a -> gov.1
  gov.2 -> comp.4
  tank.2 -> leak.1
  tank.b -> brake.1
"""
    circuit = api.read_text(text).circuit
    assert circuit is not None
    run = api.runs(circuit, ("ready",), Options(compiled="yes", doubts=True))["ready"]
    assert len(run.solution.flips) > 20
    assert run.solution.status in ("horizon", "stalled")
    assert run.doubts == ()
