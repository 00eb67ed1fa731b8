"""The laws as the kernel computes them: stored air, flow through passages, force on pistons, and their derivatives.

In the subset numba compiles, see :mod:`pneudraw.flow.kernel`. Units as in :mod:`pneudraw.flow.network`.
"""

from __future__ import annotations

import math

from pneudraw.flow.arrays import LAMINAR, THIN, VOID, Floats, Ints, Model, Work
from pneudraw.flow.linear import copy, zero


def store(m: Model, y: Floats, mass: Floats, capacity: Floats, volume: Floats) -> None:
    """Fill in the stored air of each node [dm3 ANR], its slope dM/dp and the volume; friction * x for pistons."""
    low, high, dv, start = m.ramp_low, m.ramp_high, m.ramp_dv, m.ramp_start
    n = m.nodes
    copy(volume, m.volume, n)
    for j in range(m.pistons):
        x = y[n + j]
        for k in range(m.area_start[j], m.area_start[j + 1]):
            volume[m.area_state[k]] += m.area[k] * x
    for i in range(n):
        p = y[i]
        v = volume[i]
        slope = 0.0
        for k in range(start[i], start[i + 1]):
            z = (p - low[k]) / (high[k] - low[k])
            if z >= 1.0:
                v += dv[k]
            elif z > 0.0:
                v += dv[k] * z * z * (3.0 - 2.0 * z)
                slope += dv[k] * 6.0 * z * (1.0 - z) / (high[k] - low[k])
        cool = m.cool[i]
        if cool == 0.0:
            mass[i] = p * v
            capacity[i] = v + p * slope
        else:  # polytropic: density falls behind pressure as the temperature rises
            g = (p / m.start_pressure[i]) ** (-2.0 * cool)
            mass[i] = p * v * g
            capacity[i] = g * (v * (1.0 - 2.0 * cool) + p * slope)
        volume[i] = v
    for j in range(m.pistons):
        mass[n + j] = m.friction[j] * y[n + j]
        capacity[n + j] = m.friction[j]


def flows(
    m: Model, w: Work, y: Floats, constants: Floats, dh: float, q: Floats, f: Floats, a: Floats
) -> None:
    """Fill in the flow ``q`` of each passage and their sums ``f`` into each node.

    Unless dh is 0, ``a`` becomes -dh * dF/dy on the elimination's slots (the capacities are added by the caller).
    """
    jacobian = dh > 0.0
    term_start, any_of, low, high = m.term_start, m.any_of, m.low, m.high
    weight_start, weight_state, weight = m.weight_start, m.weight_state, m.weight
    weight_a, weight_b = m.weight_slot_a, m.weight_slot_b
    end_a, end_b, conductance, ratio, index, pump = (
        m.end_a,
        m.end_b,
        m.conductance,
        m.ratio,
        m.exponent,
        m.pump,
    )
    over, laminar1, laminar3, cool = m.over, m.laminar1, m.laminar3, m.cool
    aa, ab, ba, bb = m.slot_aa, m.slot_ab, m.slot_ba, m.slot_bb
    opening, steep = w.opening, w.steep
    zero(f, m.states)
    if jacobian:
        zero(a, m.slots)
    for k in range(m.passages):
        first = term_start[k]
        last = term_start[k + 1]
        s = high[k]
        combined = 1.0
        if last > first:
            if any_of[k]:
                combined = -1.0
                best = first
                slope = 0.0
                for i in range(first, last):
                    z = constants[i]
                    for j in range(weight_start[i], weight_start[i + 1]):
                        z += weight[j] * y[weight_state[j]]
                    steep[i] = 0.0
                    if z <= 0.0:
                        value = 0.0
                    elif z >= 1.0:
                        value = 1.0
                    else:
                        value = z * z * (3.0 - 2.0 * z)
                    if value > combined:
                        combined = value
                        best = i
                        slope = 6.0 * z * (1.0 - z) if 0.0 < z < 1.0 else 0.0
                steep[best] = slope
            else:
                for i in range(first, last):
                    z = constants[i]
                    for j in range(weight_start[i], weight_start[i + 1]):
                        z += weight[j] * y[weight_state[j]]
                    if z <= 0.0:
                        combined = 0.0
                        break
                    if z >= 1.0:
                        opening[i] = 1.0
                        steep[i] = 0.0
                    else:
                        value = z * z * (3.0 - 2.0 * z)
                        opening[i] = value
                        steep[i] = 6.0 * z * (1.0 - z)
                        combined *= value
            s = low[k] + (high[k] - low[k]) * combined
        if s <= 0.0:
            q[k] = 0.0
            continue
        ia = end_a[k]
        ib = end_b[k]
        pa = y[ia]
        pb = y[ib]
        if pump[k]:
            eta = 1.0 - ratio[k] * (pb / pa - 1.0)
            if eta <= 0.0 or pa <= VOID:
                q[k] = 0.0
                continue
            thin = 1.0
            slope = 0.0
            if pa < THIN:
                z = (pa - VOID) / (THIN - VOID)
                thin = z * z * (3.0 - 2.0 * z)
                slope = 6.0 * z * (1.0 - z) / (THIN - VOID)
            flow = conductance[k] * eta * thin
            flow_a = conductance[k] * (ratio[k] * pb / (pa * pa) * thin + eta * slope)
            flow_b = -conductance[k] * ratio[k] / pa * thin
        else:
            forward = pa >= pb
            if forward:
                p1 = pa
                r = pb / pa
                cooling = cool[ia]
            else:
                p1 = pb
                r = pa / pb
                cooling = cool[ib]
            b = ratio[k]
            if r <= b:
                phi = 1.0
                slope = 0.0
            elif r < LAMINAR:
                x = (r - b) * over[k]
                if index[k] == 0.5:
                    phi = math.sqrt(1.0 - x * x)
                    slope = -x / phi * over[k]
                else:
                    phi = (1.0 - x * x) ** index[k]
                    slope = -2.0 * index[k] * x * phi / (1.0 - x * x) * over[k]
            else:
                drop = 1.0 - r
                phi = (laminar1[k] + laminar3[k] * drop * drop) * drop
                slope = -(laminar1[k] + 3.0 * laminar3[k] * drop * drop)
            c = conductance[k]
            up = c * (phi - r * slope)
            down = c * slope
            flow = c * p1 * phi
            if cooling != 0.0:
                i = ia if forward else ib
                g = (p1 / m.start_pressure[i]) ** (-cooling)
                flow *= g
                up = up * g - cooling * flow / p1
                down *= g
            if forward:
                flow_a = up
                flow_b = down
            else:
                flow = -flow
                flow_a = -down
                flow_b = -up
        q[k] = s * flow
        f[ia] -= s * flow
        f[ib] += s * flow
        if jacobian:
            ga = dh * s * flow_a
            gb = dh * s * flow_b
            a[aa[k]] += ga
            a[ab[k]] += gb
            a[ba[k]] -= ga
            a[bb[k]] -= gb
            if last > first and combined > 0.0:
                scale = dh * flow * (high[k] - low[k])
                for i in range(first, last):
                    if steep[i] != 0.0:
                        g = scale * steep[i]
                        if not any_of[k]:
                            g *= combined / opening[i]
                        for j in range(weight_start[i], weight_start[i + 1]):
                            a[weight_a[j]] += g * weight[j]
                            a[weight_b[j]] -= g * weight[j]


def forces(m: Model, y: Floats, load: Floats, dh: float, f: Floats, a: Floats) -> None:
    """Fill in the net force on each piston and, unless dh is 0, its part of ``a``."""
    jacobian = dh > 0.0
    n = m.nodes
    for j in range(m.pistons):
        x = y[n + j]
        force = load[j] - m.spring[j] * x
        stiffness = m.spring[j]
        if x < 0.0:
            force -= m.stop[j] * x
            stiffness += m.stop[j]
        elif x > m.length[j]:
            force -= m.stop[j] * (x - m.length[j])
            stiffness += m.stop[j]
        for k in range(m.area_start[j], m.area_start[j + 1]):
            force += m.area[k] * y[m.area_state[k]]
            if jacobian:
                a[m.area_slot_force[k]] -= dh * m.area[k]
        f[n + j] = force
        if jacobian:
            a[m.piston_slot[j]] += dh * stiffness


def add_capacity(m: Model, y: Floats, capacity: Floats, a: Floats) -> None:
    """Add dM/dy to ``a``: the diagonal, and what a piston's position adds to the air of a node."""
    diagonal, pivot = m.diagonal, m.pivot
    for k in range(m.unknowns):
        a[diagonal[k]] += capacity[pivot[k]]
    for k in range(m.area_start[m.pistons]):
        i = m.area_state[k]
        p = y[i]
        if m.cool[i] != 0.0:
            p *= (p / m.start_pressure[i]) ** (-2.0 * m.cool[i])
        a[m.area_slot_volume[k]] += p * m.area[k]


def triggered(values: Floats, count: int, start: Ints, state: Ints, weight: Floats, y: Floats) -> float:
    """Add the pressures' part to the values of the armed triggers; return the largest."""
    most = -1e300
    for i in range(count):
        v = values[i]
        for j in range(start[i], start[i + 1]):
            v += weight[j] * y[state[j]]
        values[i] = v
        if v > most:
            most = v
    return most
