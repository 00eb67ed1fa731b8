"""The circuits of the course obey all rules; and what is broken in them is reported where it is broken."""

from __future__ import annotations

from pathlib import Path

import pytest

from pneudraw import api
from pneudraw.rules import check
from tests.rules.circuits import FOUR_CIRCUITS, TRACTOR, TRACTOR_AND_TRAILER, TRAILER, TRUCK
from tests.rules.helpers import CIRCUITS, changed, circuit_of, findings, solve, structural, told

NAMES = sorted(path.stem for path in CIRCUITS.glob("*.pneu"))
OWN = {
    "truck": TRUCK,
    "tractor and trailer": TRACTOR_AND_TRAILER,
    "tractor alone": TRACTOR,
    "trailer alone": TRAILER,
    "four circuits": FOUR_CIRCUITS,
}


@pytest.mark.parametrize("name", ["basic-single", "two-axle-truck"])
def test_the_course_circuits_are_clean(name: str) -> None:
    text = (CIRCUITS / f"{name}.pneu").read_text(encoding="utf-8")
    assert [found.message for found in findings(text)] == []


@pytest.mark.parametrize("name", OWN)
def test_a_sound_circuit_is_clean(name: str) -> None:
    assert [found.message for found in findings(OWN[name])] == []


def test_a_trailer_used_in_another_netlist_is_checked_with_it(tmp_path: Path) -> None:
    """Its parts are told by their whole tag, and pointed at in their own file."""
    broken = changed(
        TRAILER, ("  ttank  reservoir          volume=2900in3\n", "  ttank  reservoir volume=2000in3\n")
    )
    (tmp_path / "trailer.pneu").write_text(
        broken.replace("  gs     gladhand-supply\n", "")
        .replace("  gc     gladhand-service\n", "")
        .replace("  gs.2 -> tsv.1       length=10m\n", "")
        .replace("  gc.2 -> trel.4      length=10m\n", ""),
        encoding="utf-8",
    )
    rig = (
        changed(TRACTOR, ("parts\n", 'use "trailer.pneu" as tl\n\nparts\n'))
        + "  gs.2 -> tl.tsv.1\n  gc.2 -> tl.trel.4\n"
    )
    (tmp_path / "rig.pneu").write_text(rig, encoding="utf-8")
    reading = api.read(tmp_path / "rig.pneu")
    assert reading.circuit is not None, [message.message for message in reading.diagnostics]
    (found,) = check(reading.circuit, solve)
    assert found.code == "reservoirs-too-small"
    assert "`tl.ttank`" in found.message
    assert found.at.span.source.name.endswith("trailer.pneu")


def test_the_same_circuit_gives_the_same_findings() -> None:
    text = changed(TRUCK, ("  prim.b -> low1.4\n", ""), ("  qrf.21 -> lf.1\n", ""))
    assert check(circuit_of(text)) == check(circuit_of(text))


def statements(text: str) -> list[str]:
    """The statements of the lines section."""
    return [line for line in text.partition("\nlines\n")[2].splitlines() if line.strip()]


@pytest.mark.parametrize("statement", statements(TRUCK))
def test_a_forgotten_line_is_reported_at_its_own_ports_only(statement: str) -> None:
    """Nothing else is said of parts that only suffer from it."""
    ends = set(statement.replace("->", " ").replace(",", " ").split())
    text = changed(TRUCK, (statement + "\n", ""))
    found = structural(text)
    assert found
    assert {finding.code for finding in found} == {"open-port"}
    assert {port for finding in found for port in finding.ports} <= ends


@pytest.mark.parametrize(
    "statement", ["  foot.21 -> relay.4\n", "  qrf.21 -> lf.1\n", "  dcv.2 -> park.1\n", "  cv2.2 -> sec.1\n"]
)
def test_nor_when_the_air_is_computed(statement: str) -> None:
    ends = set(statement.replace("->", " ").split())
    found = findings(changed(TRUCK, (statement, "")))
    assert {finding.code for finding in found} == {"open-port"}
    assert {port for finding in found for port in finding.ports} <= ends


CV1_OUT = (("  wet.2 -> cv1.1\n  cv1.2 -> prim.1\n", "  wet.2 -> prim.1\n"), ("  cv1    check-valve\n", ""))
CV2_OUT = (("  wet.c -> cv2.1\n  cv2.2 -> sec.1\n", "  wet.c -> sec.1\n"), ("  cv2    check-valve\n", ""))
MORE = "  foot   foot-valve\n"

#: what is done to a circuit, and what is said of it: rule and marked text
BROKEN = {
    "check valve left out": (TRUCK, CV1_OUT, [("missing-check-valve", "prim.1")]),
    "the other one left out": (TRUCK, CV2_OUT, [("missing-check-valve", "sec.1")]),
    "both left out": (
        TRUCK,
        CV1_OUT + CV2_OUT,
        [("missing-check-valve", "prim.1"), ("missing-check-valve", "sec.1")],
    ),
    "check valve bridged": (
        TRUCK,
        (("  prim.b -> low1.4\n", "  prim.b -> low1.4\n  wet.e -> prim.f\n"),),
        [("missing-check-valve", "prim.f")],
    ),
    "check valve reversed": (
        TRUCK,
        (("  wet.2 -> cv1.1\n  cv1.2 -> prim.1\n", "  wet.2 -> cv1.2\n  cv1.1 -> prim.1\n"),),
        [("check-valve-reversed", "cv1.2")],
    ),
    "dryer the wrong way round": (
        TRUCK,
        (("  comp.2 -> dry.1\n  dry.2 -> wet.1\n", "  comp.2 -> dry.2\n  dry.1 -> wet.1\n"),),
        [("check-valve-reversed", "dry.2")],
    ),
    "double check valve replaced by a tee": (
        TRUCK,
        (
            ("  prim.e -> dcv.11\n  sec.e -> dcv.12\n  dcv.2 -> park.1\n", "  prim.e, sec.e -> park.1\n"),
            ("  dcv    double-check-valve\n", ""),
        ),
        [("circuits-not-independent", "sec.e")],
    ),
    "both sections on one reservoir": (
        TRUCK,
        (("  sec.2 -> foot.12\n", "  prim.f -> foot.12\n  sec.2 -> x.1\n"), (MORE, MORE + "  x plug\n")),
        [("circuits-not-independent", "foot.12")],
    ),
    "both sections into one line": (
        TRUCK,
        (
            ("  foot.21 -> relay.4\n", "  foot.21 -> relay.4, qrf.1\n"),
            ("  foot.22 -> qrf.1\n", "  foot.22 -> relay.4\n"),
        ),
        [("circuits-not-independent", "foot.22")],
    ),
    "rear signal from the front circuit": (
        TRUCK,
        (
            ("  foot.21 -> relay.4\n", "  foot.21 -> x.1\n"),
            ("  foot.22 -> qrf.1\n", "  foot.22 -> qrf.1, relay.4\n"),
            (MORE, MORE + "  x plug\n"),
        ),
        [("circuits-not-independent", "relay.4")],
    ),
    "rear brakes fed from the supply reservoir": (  # which the loss of either circuit empties
        TRUCK,
        (("  prim.c -> relay.1\n", "  wet.f -> relay.1\n"),),
        [("circuits-not-independent", "lr.11")],
    ),
    "governor on the discharge line": (
        TRUCK,
        (("  comp.2 -> dry.1\n", "  comp.2 -> dry.1, gov.1\n"), ("  wet.a -> gov.1\n", "")),
        [("governor-not-sensing", "gov.1")],
    ),
    "unloader forgotten": (
        TRUCK,
        (("  gov.2 -> comp.4, dry.4\n", "  gov.2 -> dry.4\n"),),
        [("unloader-not-connected", "comp")],
    ),
    "relay's supply and delivery exchanged": (
        TRUCK,
        (("  prim.c -> relay.1\n", "  prim.c -> relay.2\n"), ("  relay.2 -> lr.11,", "  relay.1 -> lr.11,")),
        [("dangling-line", "relay.1 -> lr.11, rr.11")],
    ),
    "park valve's supply and delivery exchanged": (
        TRUCK,
        (("  dcv.2 -> park.1\n  park.2 -> qrp.1\n", "  dcv.2 -> park.2\n  park.1 -> qrp.1\n"),),
        [("dangling-line", "dcv.2 -> park.2"), ("dangling-line", "park.1 -> qrp.1")],
    ),
    "service and spring lines exchanged": (
        TRUCK,
        (
            ("  relay.2 -> lr.11, rr.11\n", "  relay.2 -> lr.12, rr.12\n"),
            ("  qrp.21 -> lr.12\n  qrp.22 -> rr.12\n", "  qrp.21 -> lr.11\n  qrp.22 -> rr.11\n"),
        ),
        [("spring-brake-held-on", "lr.12"), ("brake-stays-applied", "lr.11")],
    ),
    "check valve in the front service line": (
        TRUCK,
        (
            ("  foot.22 -> qrf.1\n", "  foot.22 -> x.1\n  x.2 -> qrf.1\n"),
            (MORE, MORE + "  x check-valve\n"),
        ),
        [("brake-stays-applied", "lf.1")],
    ),
    "check valve in the parking line": (
        TRUCK,
        (("  park.2 -> qrp.1\n", "  park.2 -> x.1\n  x.2 -> qrp.1\n"), (MORE, MORE + "  x check-valve\n")),
        [("parking-brake-dead", "lr.12")],
    ),
    "exhaust piped into its own delivery": (
        TRUCK,
        (("  relay.2 -> lr.11, rr.11\n", "  relay.2 -> lr.11, rr.11, relay.3\n"),),
        [("brake-stays-applied", "lr.11")],
    ),
    "an open silencer on a service reservoir": (
        TRUCK,
        (("  sec.d -> dsec.1\n", "  sec.d -> dsec.1, o.1\n"), (MORE, MORE + "  o silencer\n")),
        [("exhaust-keeps-blowing", "o")],
    ),
    "arrow turned": (
        TRUCK,
        (("  qrf.21 -> lf.1\n", "  lf.1 -> qrf.21\n"),),
        [("against-arrow", "lf.1 -> qrf.21")],
    ),
    "governor exchanged with a drain": (
        TRUCK,
        (("  wet.a -> gov.1\n", "  wet.a -> dsec.1\n"), ("  sec.d -> dsec.1\n", "  sec.d -> gov.1\n")),
        [("no-drain", "sec")],
    ),
    "trailer reservoir on the supply line": (
        TRACTOR_AND_TRAILER,
        (
            ("  gs.2 -> tsv.1       length=10m\n", "  gs.2 -> tsv.1, ttank.1       length=10m\n"),
            ("  tsv.21 -> ttank.1\n", "  tsv.21 -> x.1\n"),
            (MORE, MORE + "  x plug\n"),
        ),
        [("missing-check-valve", "ttank.1")],
    ),
    "trailer couplings crossed": (
        TRACTOR_AND_TRAILER,
        (("  gs.2 -> tsv.1 ", "  gs.2 -> trel.4 "), ("  gc.2 -> trel.4 ", "  gc.2 -> tsv.1 ")),
        [("brake-stays-applied", "t1.11"), ("spring-brake-held-on", "t1.12")],
    ),
    "trailer service signal joined with a tee": (
        TRACTOR_AND_TRAILER,
        (
            ("  foot.21 -> relay.4, dcvs.11\n", "  foot.21 -> relay.4, dcvh.11\n"),
            ("  foot.22 -> qrf.1, dcvs.12\n", "  foot.22 -> qrf.1, dcvh.11\n"),
            ("  dcvs.2 -> dcvh.11\n", ""),
            ("  dcvs   double-check-valve\n", ""),
        ),
        [("circuits-not-independent", "foot.22")],
    ),
}


@pytest.mark.parametrize("case", BROKEN)
def test_what_is_broken_is_reported_at_its_place_and_nothing_else(case: str) -> None:
    text, changes, expected = BROKEN[case]
    assert told(findings(changed(text, *changes))) == expected


def test_an_open_port_does_not_hide_an_independent_fault() -> None:
    text = changed(TRUCK, *CV1_OUT, ("  qrf.21 -> lf.1\n", ""))
    assert {code for code, _ in told(findings(text))} == {"open-port", "missing-check-valve"}


def test_unequal_reservoirs_that_fill_each_other_are_no_fault() -> None:
    """The fuller one fills the other through the double check valve while the compressor pumps."""
    text = changed(
        TRUCK, ("  prim   reservoir          volume=1600in3\n", "  prim   reservoir          volume=700in3\n")
    )
    assert "against-arrow" not in {found.code for found in findings(text)}


def test_an_experiment_finds_what_a_driver_manual_says() -> None:
    """British Columbia, *Driving Commercial Vehicles* p. 187: with the primary circuit lost the steer axle still
    brakes, with the secondary lost the rear axle does. (From memory.)"""
    from pneudraw.rules.air import compute
    from pneudraw.rules.experiments import plan
    from pneudraw.rules.study import Study
    from pneudraw.rules.ways import Ways
    from tests.rules.helpers import solve

    circuit = circuit_of(TRUCK)
    study = Study(circuit, Ways(circuit), None)
    air = compute(circuit, plan(study), solve)
    force = {
        (lost, tag): air.brake(f"without {lost}", part).service_force
        for lost in ("foot.11", "foot.12")
        for tag in ("lf", "lr")
        if (part := circuit.part(tag)) is not None
    }
    assert force["foot.11", "lf"] > 1000.0 > 1.0 > force["foot.11", "lr"]
    assert force["foot.12", "lr"] > 1000.0 > 1.0 > force["foot.12", "lf"]
