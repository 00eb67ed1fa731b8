"""The loops of the flow solver: flows, Newton's method, and TR-BDF2 steps until something happens.

Written as plain loops over flat arrays, in the subset numba compiles. The very same source also runs
interpreted, with
lists in place of arrays (three times faster than indexing numpy arrays); :mod:`pneudraw.flow.compile` chooses.
Nothing here allocates: the caller owns every array.

One step of length h, from state 0 over 1 (at gamma*h) to 2, with M the stored air and F the sum of flows into
a node::

    M1 - d*h*F1 = M0 + d*h*F0
    M2 - d*h*F2 = c1*M1 - c2*M0
    air through a passage = h * (w*(q0 + q1) + d*q2)

M is carried on, never recomputed from the pressures, so air is conserved to rounding whatever the step.
Method: TR-BDF2 (Bank et al. 1985; Hosea and Shampine 1996).
"""

from __future__ import annotations

import math

from pneudraw.flow.arrays import Floats, Ints, Model, Work
from pneudraw.flow.laws import add_capacity, flows, forces, store, triggered
from pneudraw.flow.linear import copy, factorise, line, substitute, zero

GAMMA = 2.0 - math.sqrt(2.0)
D = GAMMA / 2.0
C1 = 1.0 / (GAMMA * (2.0 - GAMMA))
C2 = (1.0 - GAMMA) ** 2 / (GAMMA * (2.0 - GAMMA))
W = 1.0 / (2.0 * (2.0 - GAMMA))
ERROR = (3.0 * GAMMA * GAMMA - 4.0 * GAMMA + 2.0) / (6.0 * (2.0 - GAMMA))

RESTART = 1e-3  # s, first step, and after every event and corner
SMALLEST = 1e-9  # s, no step below
UNTESTED = 1e-7  # s, steps this short are taken whatever their error estimate
EVENT_STEP = 1e-5  # s, an event is taken as found within this
OVERSHOOT = 1e-3  # bar past a trigger that an event may have; less if the tolerance is
MARGIN = 0.05  # bar outside the range of the sources that a step may end
# Length of the next step over that of this one. Tried on 40 states of the course at equal tolerance: with more hope
# (0.85, 0.85, 4, and growth straight after a refusal) 26 % of the steps were refused instead of 16 %, the work was an
# eighth more and the mean error a quarter larger.
NEXT, AGAIN = 0.75, 0.6  # times error^(-1/3), after a step that was taken, or refused
MOST, LEAST = 6.0, 0.3  # bounds of it; after a refusal it does not grow
ROUNDS = 10  # Newton iterations before the step is cut
RISE = 2.0  # bar, the most a Newton update may raise a pressure
TRAVEL = 0.5  # dm, the most a Newton update may move a piston
LEAST_CAPACITY = 0.05  # dm3, below this the mass residual is not judged more strictly
MOST_REST = 2e-5  # dm3(ANR), and above this it never passes
MOST_SHARE = 0.02  # nor above this share of the stored air

END, FULL, EVENT, QUIET, STALLED, TOO_MANY = 0, 1, 2, 3, 4, 5
# places in Work.real and Work.tally
TIME, STEP, STOP, ORIGIN, BEFORE, LOWEST, HIGHEST, RTOL, ATOL = range(9)
QUIET_RATE, QUIET_TIME, QUIET_AFTER, QUIET_SINCE = range(9, 13)
FRESH, ROW, STEPS, ITERATIONS, FACTORS, MOST_STEPS, WORST, REJECTED = range(8)


def newton(m: Model, w: Work, y: Floats, base: Floats, dh: float, q: Floats, f: Floats, mass: Floats) -> bool:
    """Solve M(y) - dh*F(y) = base for ``y`` from the guess in it; False if that fails.

    On success ``q``, ``f``, ``mass`` and ``w.capacity`` belong to the final y, ``w.a`` holds the factors of the last
    iteration and ``w.stiff`` tells the nodes whose flows settle well within dh.
    """
    real, count = w.real, w.tally
    rtol, atol = real[RTOL], real[ATOL]
    pivot, diagonal, n = m.pivot, m.diagonal, m.nodes
    a, delta, last, capacity, stiff, scale = w.a, w.delta, w.last, w.capacity, w.stiff, w.scale
    damping = 1.0
    size_before = 0.0
    for attempt in range(ROUNDS):
        count[ITERATIONS] += 1
        flows(m, w, y, w.constants, dh, q, f, a)
        if m.pistons > 0:
            forces(m, y, w.load, dh, f, a)
        store(m, y, mass, capacity, w.volume)
        add_capacity(m, y, capacity, a)
        for k in range(m.unknowns):
            i = pivot[k]
            stiff[i] = 1 if a[diagonal[k]] > 3.0 * capacity[i] else 0
            delta[i] = base[i] + dh * f[i] - mass[i]
        count[FACTORS] += 1
        if not factorise(m, a):
            return False
        substitute(m, a, delta)
        size = 0.0
        along = 0.0
        square = 0.0
        for k in range(m.unknowns):
            i = pivot[k]
            scaled = delta[i] * scale[i]
            if not abs(scaled) < 1e12:
                count[WORST] = i
                return False
            if abs(scaled) > size:
                size = abs(scaled)
                count[WORST] = i
            along += scaled * last[i]
            square += last[i] * last[i]
            last[i] = scaled
        if attempt > 0:
            if along < -0.2 * square:  # two-cycle on a ramp: take shorter steps
                damping = max(0.1, 0.5 * damping)
            else:
                damping = min(1.0, 2.0 * damping)
        clipped = False
        for k in range(m.unknowns):
            i = pivot[k]
            change = damping * delta[i]
            if i < n:
                if change < -0.5 * y[i]:
                    change = -0.5 * y[i]
                    clipped = True
                elif change > RISE:
                    change = RISE
                    clipped = True
            elif change < -TRAVEL or change > TRAVEL:
                change = TRAVEL if change > 0.0 else -TRAVEL
                clipped = True
            y[i] += change
        close = size < 0.1
        if not close and attempt > 0 and size < 1.0 and 3.0 * size < size_before:
            close = size * size < 0.1 * size_before
        size_before = size
        if close and not clipped:
            flows(m, w, y, w.constants, 0.0, q, f, a)
            if m.pistons > 0:
                forces(m, y, w.load, 0.0, f, a)
            store(m, y, mass, capacity, w.volume)
            balanced = True
            for k in range(m.unknowns):
                i = pivot[k]
                rest = abs(mass[i] - dh * f[i] - base[i])
                most = min(MOST_REST, (atol + rtol * abs(y[i])) * max(capacity[i], LEAST_CAPACITY))
                if i < n:  # in a near vacuum the rest must not outweigh the air itself
                    most = min(most, MOST_SHARE * mass[i])
                if rest > most:
                    balanced = False
                    count[WORST] = i
                    break
            if balanced:
                return True
    return False


def begin(m: Model, w: Work) -> None:
    """Start afresh at the present time: flows, rates, step length, a first row of output."""
    y0, a = w.y0, w.a
    dh = D * RESTART
    copy(w.constants, w.term_base, m.terms)
    since = w.real[TIME] - w.real[ORIGIN]
    line(w.load, w.load_base, w.load_slope, w.all_pistons, m.pistons, since)
    flows(m, w, y0, w.constants, dh, w.q0, w.f0, a)
    if m.pistons > 0:
        forces(m, y0, w.load, dh, w.f0, a)
    store(m, y0, w.mass1, w.capacity, w.volume)
    if w.tally[STEPS] == 0:
        copy(w.mass0, w.mass1, m.states)
    zero(w.rate, m.states)
    for k in range(m.unknowns):
        i = m.pivot[k]
        # a node that settles within the first step has no rate worth extrapolating; the first step gives it one
        if a[m.diagonal[k]] <= 2.0 * w.capacity[i]:
            w.rate[i] = w.f0[i] / w.capacity[i]
        w.stiff0[i] = 1 if a[m.diagonal[k]] > 2.0 * w.capacity[i] else 0
    for k in range(m.area_start[m.pistons]):
        w.rate[m.area_state[k]] = 0.0
        w.stiff0[m.area_state[k]] = 1
    armed = w.lengths[1]
    line(w.trigger0, w.trigger_base, w.trigger_slope, w.all_triggers, armed, since)
    triggered(w.trigger0, armed, w.trigger_start, w.trigger_state, w.trigger_weight, y0)
    w.real[STEP] = RESTART
    w.real[QUIET_SINCE] = -1.0
    w.tally[FRESH] = 2
    record(w.tally, w.real[TIME], y0, w.rate, w.out_time, w.out_state, w.out_rate, m.states)


def record(
    count: Ints, time: float, y: Floats, rate: Floats, times: Floats, states: Floats, rates: Floats, n: int
) -> None:
    """Write a time, its state and rates as the next row of output."""
    row = count[ROW]
    times[row] = time
    at = row * n
    for i in range(n):
        states[at + i] = y[i]
        rates[at + i] = rate[i]
    count[ROW] = row + 1


def trial(m: Model, w: Work, h: float) -> bool:
    """Make one step of length h from y0 to y2, without judging it; False if Newton's method fails."""
    t = w.real[TIME]
    n = m.nodes
    y0, y1, y2, base, rate = w.y0, w.y1, w.y2, w.base, w.rate
    f0, mass0, mass1 = w.f0, w.mass0, w.mass1
    dh = D * h
    copy(y1, y0, m.states)
    copy(y2, y0, m.states)
    for k in range(m.unknowns):
        i = m.pivot[k]
        base[i] = mass0[i] + dh * f0[i]
        w.scale[i] = 1.0 / (w.real[ATOL] + w.real[RTOL] * abs(y0[i]))
        change = GAMMA * h * rate[i]
        if i < n:
            change = max(-0.5 * y0[i], min(0.5 * y0[i], change))
        y1[i] = y0[i] + change
    since = t + GAMMA * h - w.real[ORIGIN]
    line(w.constants, w.term_base, w.term_slope, w.moving, w.lengths[0], since)
    line(w.load, w.load_base, w.load_slope, w.all_pistons, m.pistons, since)
    if not newton(m, w, y1, base, dh, w.q1, w.f1, w.mass2):
        return False
    for k in range(m.unknowns):
        i = m.pivot[k]
        mass1[i] = base[i] + dh * w.f1[i]
        base[i] = mass0[i] + C1 * (mass1[i] - mass0[i])  # C1 - C2 is 1: what is shut off stays to the bit
        change = (1.0 - GAMMA) / GAMMA * (y1[i] - y0[i])
        if i < n:
            change = max(-0.5 * y1[i], min(0.5 * y1[i], change))
        y2[i] = y1[i] + change
    since = t + h - w.real[ORIGIN]
    line(w.constants, w.term_base, w.term_slope, w.moving, w.lengths[0], since)
    line(w.load, w.load_base, w.load_slope, w.all_pistons, m.pistons, since)
    return newton(m, w, y2, base, dh, w.q2, w.f2, w.mass2)


def estimate(m: Model, w: Work, h: float) -> float:
    """Return the error of the step just tried over its tolerance, the largest of all unknowns."""
    e, f0, f1, f2, y2 = w.delta, w.f0, w.f1, w.f2, w.y2
    g0 = ERROR * h / GAMMA
    g1 = -ERROR * h / (GAMMA * (1.0 - GAMMA))
    g2 = ERROR * h / (1.0 - GAMMA)
    for k in range(m.unknowns):
        i = m.pivot[k]
        e[i] = g0 * f0[i] + g1 * f1[i] + g2 * f2[i]
    substitute(m, w.a, e)
    worst = 0.0
    for k in range(m.unknowns):
        i = m.pivot[k]
        scaled = abs(e[i]) / (w.real[ATOL] + w.real[RTOL] * abs(y2[i]))
        if scaled > worst:
            worst = scaled
            w.tally[WORST] = i
    return worst


def outside(y: Floats, n: int, low: float, high: float) -> int:
    """Return the first of n pressures that is not between ``low`` and ``high`` and above 0, or -1."""
    for i in range(n):
        if y[i] < low or y[i] > high or not y[i] > 0.0:
            return i
    return -1


def accept(m: Model, w: Work, h: float) -> bool:
    """Make the step tried the present state; return whether nothing moved much in it."""
    y0, y1, y2, f2, rate = w.y0, w.y1, w.y2, w.f2, w.rate
    dh = D * h
    moved = 0.0
    first = w.tally[FRESH] == 2
    at = (w.tally[ROW] - 1) * m.states
    # a piston's way is not in the flows of the rooms it works in
    for k in range(m.area_start[m.pistons]):
        w.stiff[m.area_state[k]] = 1
    for k in range(m.unknowns):
        i = m.pivot[k]
        mean = (y2[i] - y0[i]) / h
        if first and w.stiff0[i]:
            w.out_rate[at + i] = mean
        if w.stiff[i]:  # its flows are tiny differences of large ones: take the slope from the pressures
            rate[i] = (y2[i] - C1 * y1[i] + C2 * y0[i]) / dh
        else:
            rate[i] = f2[i] / w.capacity[i]
        moved = max(moved, abs(mean), abs(rate[i]))
        w.mass0[i] = w.base[i] + dh * f2[i]
    copy(y0, y2, m.states)
    copy(w.f0, f2, m.states)
    wh = W * h
    q0, q1, q2, net, forward = w.q0, w.q1, w.q2, w.net, w.forward
    for k in range(m.passages):
        if q0[k] != 0.0 or q1[k] != 0.0 or q2[k] != 0.0:
            net[k] += wh * (q0[k] + q1[k]) + dh * q2[k]
            forward[k] += wh * (max(q0[k], 0.0) + max(q1[k], 0.0)) + dh * max(q2[k], 0.0)
            q0[k] = q2[k]
    copy(w.trigger0, w.trigger2, w.lengths[1])
    w.tally[FRESH] = 0
    return moved < w.real[QUIET_RATE]


def advance(m: Model, w: Work) -> int:
    """Step until the end of the stretch, an event, quiet, a full output or trouble; return which."""
    real, count = w.real, w.tally
    overshoot = min(OVERSHOOT, real[ATOL])
    grow = MOST
    if count[FRESH] == 1:
        if count[ROW] + 2 > w.capacity_rows[0]:
            return FULL
        begin(m, w)
    while True:
        t = real[TIME]
        if t >= real[STOP]:
            return END
        if count[ROW] >= w.capacity_rows[0]:
            return FULL
        if count[STEPS] >= count[MOST_STEPS]:
            return TOO_MANY
        h = real[STEP]
        left = real[STOP] - t
        ends = h >= left  # never longer than h: a step that was just refused would be tried again for ever
        if ends:
            h = left
        elif 2.0 * h > left:
            h = 0.5 * left
        count[STEPS] += 1
        good = trial(m, w, h)
        if good:
            astray = outside(w.y2, m.nodes, real[LOWEST] - MARGIN, real[HIGHEST] + MARGIN)
            if astray >= 0:
                good = False
                count[WORST] = astray
        if not good:
            count[REJECTED] += 1
            w.blame[count[WORST]] += 1
            if h <= SMALLEST:
                return STALLED
            real[STEP] = max(0.25 * h, SMALLEST)
            continue
        error = estimate(m, w, h)
        if error > 1.0 and h > UNTESTED:
            count[REJECTED] += 1
            w.blame[count[WORST]] += 1
            real[STEP] = h * max(LEAST, AGAIN * error ** (-1.0 / 3.0))
            grow = 1.0
            continue
        since = t + h - real[ORIGIN]
        armed = w.lengths[1]
        line(w.trigger2, w.trigger_base, w.trigger_slope, w.all_triggers, armed, since)
        most = triggered(w.trigger2, armed, w.trigger_start, w.trigger_state, w.trigger_weight, w.y2)
        if most > overshoot and h > EVENT_STEP:  # step again, to just past the earliest trigger
            fraction = 0.95
            for i in range(armed):
                v0, v2 = w.trigger0[i], w.trigger2[i]
                if v2 > overshoot and v2 > v0:
                    fraction = min(fraction, max(0.02, (0.3 * overshoot - v0) / (v2 - v0)))
            real[STEP] = max(fraction * h, 0.5 * EVENT_STEP)
            count[REJECTED] += 1
            continue
        real[BEFORE] = t
        real[TIME] = real[STOP] if ends else t + h
        still = accept(m, w, h)
        record(count, real[TIME], w.y0, w.rate, w.out_time, w.out_state, w.out_rate, m.states)
        if most > 0.0:
            return EVENT
        real[STEP] = h * min(grow, max(LEAST, NEXT * max(error, 1e-9) ** (-1.0 / 3.0)))
        grow = MOST
        if still:
            if real[QUIET_SINCE] < 0.0:
                real[QUIET_SINCE] = t
            if real[TIME] - max(real[QUIET_SINCE], real[QUIET_AFTER]) >= real[QUIET_TIME]:
                return QUIET
        else:
            real[QUIET_SINCE] = -1.0
