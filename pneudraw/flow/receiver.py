"""Reservoirs filled, emptied and tested: the closed forms, exact where a simulation is not. SI throughout.

They serve hand calculation, and to check the solver against.
"""

from __future__ import annotations

import itertools
import math

from pneudraw.flow.iso6358 import REFERENCE_PRESSURE, REFERENCE_TEMPERATURE


def time_constant(volume: float, conductance: float, temperature: float = REFERENCE_TEMPERATURE) -> float:
    """Return tau = V/(C p_ref) sqrt(T0/T) [s] of a volume [m3] behind a sonic conductance [m3/(s.Pa)]."""
    return volume / (conductance * REFERENCE_PRESSURE) * math.sqrt(REFERENCE_TEMPERATURE / temperature)


def _check(*rising: float) -> None:
    if any(b < a for a, b in itertools.pairwise(rising)) or rising[0] <= 0.0:
        raise ValueError(f"pressures must be absolute and in order: {rising}")


def emptying_time(tau: float, p0: float, p: float, atmosphere: float, ratio: float) -> float:
    """Return how long a volume kept at ambient temperature takes to empty from ``p0`` to ``p``::

        choked      t = tau ln(p0/p)
        subsonic    dr/dt = r phi(r)/tau,  r = atmosphere/p, integrated in closed form

    Parameters
    ----------
    tau
        Time constant [s], see `time_constant`.
    p0, p, atmosphere
        Absolute pressures, one unit; ValueError unless p0 >= p >= atmosphere > 0.
    ratio
        Critical pressure ratio b of the passage [-], 0 <= b < 1.

    Returns
    -------
    Time [s]; finite for p = atmosphere.

    Examples
    --------
    >>> round(emptying_time(20 / 1.5, 9.0, 6.0, 1.01325, 0.2), 7)
    5.4062014

    References
    ----------
    Derived from the ISO 6358-1 flow function.
    """
    _check(atmosphere, p, p0)
    edge = atmosphere / ratio if ratio > 0.0 else math.inf
    time = tau * math.log(p0 / max(p, edge)) if p0 > edge else 0.0
    if p < edge:
        start = min(p0, edge)
        time += tau * (_ellipse(atmosphere / p, ratio) - _ellipse(atmosphere / start, ratio))
    return time


def _ellipse(r: float, ratio: float) -> float:
    """The integral of d(theta)/(beta + sin theta), x = (r-b)/(1-b) = sin theta, beta = b/(1-b)."""
    beta = ratio / (1.0 - ratio)
    half = math.tan(math.asin(min(1.0, (r - ratio) / (1.0 - ratio))) / 2.0)
    if abs(beta - 1.0) < 1e-9:
        return math.tan(math.atan(half) - math.pi / 4.0)
    if beta < 1.0:
        s = math.sqrt(1.0 - beta * beta)
        # the usual form has ln((beta T + 1 - s)/...); a constant ln(beta) is left out, so that beta may be 0
        return math.log((half + beta / (1.0 + s)) / (beta * half + 1.0 + s)) / s
    s = math.sqrt(beta * beta - 1.0)
    return 2.0 / s * math.atan((beta * half + 1.0) / s)


def filling_time(tau: float, p0: float, p: float, supply: float, ratio: float) -> float:
    """Return how long a volume kept at ambient temperature takes to fill from ``p0`` to ``p``::

        choked      p = p0 + supply t/tau
        subsonic    p = supply (b + (1-b) sin(t/((1-b) tau) + asin x0)),  x = (p/supply - b)/(1-b)

    Parameters
    ----------
    tau
        Time constant [s], see `time_constant`.
    p0, p, supply
        Absolute pressures, one unit; ValueError unless supply >= p >= p0 > 0.
    ratio
        Critical pressure ratio b of the passage [-].

    Returns
    -------
    Time [s]; finite for p = supply.

    Examples
    --------
    >>> round(filling_time(20 / 1.5, 1.01325, 9.0, 9.0, 0.4), 7)
    16.3985928

    References
    ----------
    Derived from the ISO 6358-1 flow function.
    """
    _check(p0, p, supply)
    edge = ratio * supply
    time = tau * (min(p, edge) - p0) / supply if p0 < edge else 0.0
    if p > edge:
        x0, x1 = (max(0.0, (q / supply - ratio) / (1.0 - ratio)) for q in (p0, p))
        time += (1.0 - ratio) * tau * (math.asin(min(1.0, x1)) - math.asin(x0))
    return time


def polytropic_emptying_time(tau: float, p0: float, p: float, exponent: float) -> float:
    """Return how long a choked volume that cools takes from ``p0`` to ``p``, t = 2 tau/(n-1)
    ((p0/p)**((n-1)/2n) - 1).

    ``tau`` [s] is taken at the initial temperature; ``exponent`` n is 1.4 without heat from the walls, above 1.

    Examples
    --------
    >>> round(polytropic_emptying_time(20 / 1.5, 9.0, 3.0, 1.4), 7)
    11.3287209
    """
    _check(p, p0)
    n = exponent
    return float(2.0 * tau / (n - 1.0) * ((p0 / p) ** ((n - 1.0) / (2.0 * n)) - 1.0))


def compressor_filling_time(
    volume: float, flow: float, falloff: float, p0: float, p: float, intake: float
) -> float:
    """Return how long a compressor takes to fill a volume from ``p0`` to ``p``::

        q = flow (1 - a (p/intake - 1)),  p_inf = intake (1 + 1/a)
        t = V intake/(a flow p_ref) ln((p_inf - p0)/(p_inf - p))

    Parameters
    ----------
    volume, flow
        V [m3]; free air delivered at p = intake [m3(ANR)/s].
    falloff
        a [-], above 0.
    p0, p, intake
        Absolute pressures [Pa]; ValueError unless 0 < p0 <= p < p_inf.

    Examples
    --------
    >>> round(compressor_filling_time(0.04, 6.5e-3, 0.045, 101325.0, 9e5, 101325.0), 7)
    60.6974555
    """
    limit = intake * (1.0 + 1.0 / falloff)
    _check(p0, p, limit)
    if p >= limit:
        return math.inf
    return volume * intake / (falloff * flow * REFERENCE_PRESSURE) * math.log((limit - p0) / (limit - p))


def receiver_volume(
    demand: float, supply: float, time: float, p_max: float, p_min: float, atmosphere: float
) -> float:
    """Return the volume [m3] that covers a demand for a time while it falls: V = t (demand - supply)
    p_a/(p_max - p_min).

    ``demand`` and ``supply`` are free air at the atmosphere's pressure [m3/s], ``time`` [s]; pressures in one
    unit, their
    differences alone count.

    Examples
    --------
    >>> round(receiver_volume(20.0, 0.0, 6.0, 100.0, 80.0, 14.7), 1)  # ft3/min, min, psi -> ft3
    88.2
    """
    return time * (demand - supply) * atmosphere / (p_max - p_min)


def joined_pressure(*volumes: tuple[float, float]) -> float:
    """Return the pressure of (pressure, volume) pairs once joined, sum(p V)/sum(V), at one temperature."""
    return sum(p * v for p, v in volumes) / sum(v for _, v in volumes)


def pressure_after(p0: float, volume: float, temperature: float, mass: float, gas_constant: float) -> float:
    """Return the pressure [Pa] of a volume [m3] at a temperature [K] after a mass of air [kg] was added to
    ``p0`` [Pa]."""
    return p0 + mass * gas_constant * temperature / volume


def molar_leak(volume: float, p1: float, t1: float, p2: float, t2: float, time: float) -> float:
    """Return the molar flow [mol/s] into a volume [m3], V/R (p2/T2 - p1/T1)/t, from pressures [Pa] and
    temperatures [K].

    The pressure-rise form of a tightness test, as 40 CFR 1065 has it.
    """
    return volume / 8.314462618 * (p2 / t2 - p1 / t1) / time
