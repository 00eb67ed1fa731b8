"""What remains after a single failure, on a tractor with a semitrailer."""

from __future__ import annotations

from functools import cache

import pytest

from pneudraw.flow.run import Options
from pneudraw.flow.whatif import Failure, WhatIf, failures_of, trailer_parts, what_if
from tests.flow.rigs import bench, semi


@cache
def found() -> WhatIf:
    return what_if(semi().vehicle.circuit, Options(compiled="yes"))


def after(name: str) -> Failure:
    return next(f for f in found().failures if f.name == name)


def share(failure: Failure, tag: str) -> float:
    return next(b.share for b in failure.brakes if b.part == tag)


def test_every_line_and_every_reservoir_fails_once() -> None:
    circuit = semi().vehicle.circuit
    assert len(failures_of(circuit)) == len(circuit.lines) + 4
    assert [f.name for f in found().failures] == [name for name, *_ in failures_of(circuit)]


def test_without_a_failure_all_brakes_have_their_force_and_no_spring_is_on() -> None:
    assert found().sound.share == pytest.approx(1.0)
    assert found().sound.springs_after == ()
    assert found().sound.trailer == "answers"


def test_the_trailer_is_what_is_beyond_the_couplings() -> None:
    assert trailer_parts(semi().vehicle.circuit) == {"tsv", "ttank", "dtt", "trel", "tl", "tr"}
    assert trailer_parts(bench().vehicle.circuit) == frozenset()


def test_with_the_primary_circuit_lost_steer_axle_and_trailer_still_brake() -> None:
    # Driving Commercial Vehicles (British Columbia) p. 187
    lost = after("prim lost")
    assert share(lost, "lf") > 0.9
    assert share(lost, "tl") > 0.9
    assert share(lost, "lr") < 0.05
    assert lost.warned
    assert lost.trailer == "answers"


def test_with_the_secondary_circuit_lost_the_drive_axle_still_brakes() -> None:
    # Driving Commercial Vehicles (British Columbia) p. 187
    lost = after("sec lost")
    assert share(lost, "lf") < 0.05
    assert share(lost, "lr") > 0.9
    assert lost.warned


def test_losing_the_supply_reservoir_costs_no_brake() -> None:
    # the check valves keep the service reservoirs: test of 49 CFR 393.50(b)
    lost = after("wet lost")
    assert lost.share > 0.95
    assert lost.stores["wet"] < 0.1
    assert lost.stores["prim"] > 7
    assert not lost.warned


def test_a_broken_trailer_supply_line_sets_the_trailers_springs_and_leaves_the_tractor_its_air() -> None:
    # 49 CFR 393.43: automatic application on breakaway, tractor protected between 20 and 45 psi, from memory
    lost = after("line:tsupply.broken")
    assert lost.trailer == "brakes itself"
    assert {"tl", "tr"} <= set(lost.springs)
    assert lost.stores["prim"] > 1.38  # 20 psi


def test_a_broken_trailer_service_line_leaves_only_the_knob() -> None:
    # gov.nl.ca trailer systems: no trailer service brake; held, the air goes until the trailer's own brakes come on
    lost = after("line:tservice.broken")
    assert share(lost, "tl") < 0.05
    assert lost.trailer == "by the knob"


def test_the_result_is_the_same_for_any_number_of_processes() -> None:
    circuit = semi().vehicle.circuit
    assert what_if(circuit, Options(compiled="yes"), 1) == what_if(circuit, Options(compiled="yes"), 2)
