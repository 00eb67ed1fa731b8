"""The kernel's arrays: of the network, and its working storage; `pneudraw.flow.flatten` makes them."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

# lists when interpreted, numpy arrays of the same numbers when compiled: see pneudraw.flow.compile
Floats: TypeAlias = "list[float]"
Ints: TypeAlias = "list[int]"

#: pressure ratio above which the laminar cubic replaces the ISO 6358 ellipse
LAMINAR = 0.999
#: bar abs: a pump's flow falls off below the first, and it draws nothing any more below the second
THIN, VOID = 0.01, 0.002
ROWS = 128  # rows of output the kernel fills before it hands them over
LARGEST_RATIO = 0.99


class Model(NamedTuple):
    """What does not change during a run. Slots are places in the value array of the matrix; the last is for waste."""

    nodes: int
    pistons: int
    states: int
    passages: int
    unknowns: int
    terms: int
    slots: int
    # nodes
    volume: Floats
    cool: Floats  # (n - 1) / (2 n) of the polytropic exponent n
    start_pressure: Floats
    ramp_start: Ints
    ramp_low: Floats
    ramp_high: Floats
    ramp_dv: Floats
    # passages; a pump's rate is its conductance, its falloff its ratio
    end_a: Ints
    end_b: Ints
    conductance: Floats
    ratio: Floats
    over: Floats  # 1 / (1 - ratio)
    exponent: Floats
    laminar1: Floats
    laminar3: Floats
    pump: Ints
    any_of: Ints
    low: Floats
    high: Floats
    slot_aa: Ints  # row of a, column of a
    slot_ab: Ints
    slot_ba: Ints
    slot_bb: Ints
    # terms, weights over the band
    term_start: Ints
    weight_start: Ints
    weight_state: Ints
    weight: Floats
    weight_slot_a: Ints
    weight_slot_b: Ints
    # pistons
    friction: Floats
    spring: Floats
    stop: Floats
    length: Floats
    piston_slot: Ints
    area_start: Ints
    area_state: Ints
    area: Floats
    area_slot_force: Ints
    area_slot_volume: Ints
    # elimination
    pivot: Ints
    diagonal: Ints
    lower_start: Ints
    lower_row: Ints
    lower_slot: Ints
    update_start: Ints
    update_source: Ints
    update_target: Ints
    upper_start: Ints
    upper_column: Ints
    upper_slot: Ints


class Work(NamedTuple):
    """What changes: the run's state, its accumulated flows, scratch, and output rows."""

    real: Floats
    tally: Ints
    lengths: Ints  # terms that move with time, armed triggers
    capacity_rows: Ints
    y0: Floats
    y1: Floats
    y2: Floats
    f0: Floats
    f1: Floats
    f2: Floats
    q0: Floats
    q1: Floats
    q2: Floats
    mass0: Floats
    mass1: Floats
    mass2: Floats
    capacity: Floats
    volume: Floats
    base: Floats
    rate: Floats
    delta: Floats
    last: Floats
    scale: Floats  # one over the tolerance of each state
    stiff: Ints
    stiff0: Ints
    blame: Ints
    a: Floats
    opening: Floats
    steep: Floats
    net: Floats
    forward: Floats
    constants: Floats
    term_base: Floats
    term_slope: Floats
    moving: Ints
    all_pistons: Ints  # 0, 1, 2 ...
    all_triggers: Ints
    load: Floats
    load_base: Floats
    load_slope: Floats
    trigger_base: Floats
    trigger_slope: Floats
    trigger_start: Ints
    trigger_state: Ints
    trigger_weight: Floats
    trigger0: Floats
    trigger2: Floats
    out_time: Floats
    out_state: Floats
    out_rate: Floats


def laminar(ratio: float, index: float) -> tuple[float, float]:
    """Return a1, a3 of the odd cubic phi = (a1 + a3*y*y)*y, y = 1 - r, that takes over above r = 0.999.

    It meets the ellipse there in value and slope, so that Newton's method never sees the infinite slope at r = 1.
    """
    y = 1.0 - LAMINAR
    x = (LAMINAR - ratio) / (1.0 - ratio)
    value = (1.0 - x * x) ** index
    slope = 2.0 * index * x * (1.0 - x * x) ** (index - 1.0) / (1.0 - ratio)
    a3 = (slope - value / y) / (2.0 * y * y)
    return value / y - a3 * y * y, a3
