"""A network given another start is the network built anew."""

from __future__ import annotations

import pytest

from pneudraw.flow.conditions import state_of
from pneudraw.flow.faults import all_faults
from pneudraw.flow.plumbing import plumb
from pneudraw.flow.restate import restated
from pneudraw.flow.symptoms import Reference
from tests.flow.rigs import bench, semi
from tests.library.bench import ATMOSPHERE
from tests.library.bench import bench as rig


def check(known: Reference, step: int) -> None:
    vehicle = known.vehicle
    for fault in all_faults(vehicle.circuit)[::step]:
        like = None
        for condition in vehicle.conditions:
            state = state_of(condition, (fault.setting,))
            standing = vehicle.standings[condition.begin]
            anew = plumb(vehicle.circuit, state, standing)
            if like is not None:
                assert restated(like, vehicle.circuit, state, standing) == anew, (
                    fault.name,
                    condition.letter,
                )
            like = anew


def test_with_every_fault_of_a_bench_in_every_condition() -> None:
    check(bench(), 1)


def test_with_some_faults_of_a_tractor_and_semitrailer() -> None:
    check(semi(), 17)


def test_with_other_faults_or_another_atmosphere_it_is_built_anew() -> None:
    vehicle = bench().vehicle
    first, second = (fault.setting for fault in all_faults(vehicle.circuit)[:2])
    condition = vehicle.conditions[-1]
    standing = vehicle.standings[condition.begin]
    like = plumb(vehicle.circuit, state_of(condition, (first,)), standing)
    other = state_of(condition, (second,))
    assert restated(like, vehicle.circuit, other, standing) == plumb(vehicle.circuit, other, standing)
    high = restated(like, vehicle.circuit, state_of(condition, (first,)), standing, 90000.0)
    assert high.atmosphere == pytest.approx(0.9)


def test_with_pistons_too_each_state_starts_where_the_one_before_left_them() -> None:
    runs = rig(
        """
        air air-source pressure=6bar
        valve valve-5-2-solenoid
        cyl cylinder-double-acting
        """,
        "air -> valve.1\nvalve.4 -> cyl.1\nvalve.2 -> cyl.2",
        """
        rest "In" from empty: air on, valve off
        out "Out" from rest for 0.3s: valve on
        back "In again" from out: valve off
        """,
    )
    for run in runs.values():
        assert run.plumbing == plumb(run.circuit, run.state, run.before, ATMOSPHERE)
    assert runs["back"].plumbing.network.pistons[0].position0 > 0.05
