"""Sonic conductances: from an orifice, a tube, a flow coefficient, a leak; in parallel and in series. SI throughout.

1 m3/(s.Pa) = 1e8 dm3/(s.bar).
"""

from __future__ import annotations

import math

from pneudraw.flow.iso6358 import (
    GAS_CONSTANT,
    HEAT_RATIO,
    IDEAL_RATIO,
    REFERENCE_DENSITY,
    REFERENCE_TEMPERATURE,
    flow_function,
)

#: choked flow number of air, sqrt(k) (2/(k+1))**((k+1)/(2(k-1)))
CHOKED = math.sqrt(HEAT_RATIO) * math.pow(
    2.0 / (HEAT_RATIO + 1.0), (HEAT_RATIO + 1.0) / (2.0 * (HEAT_RATIO - 1.0))
)
#: sonic conductance of an ideal nozzle over its area [m/(s.Pa)]: 0.1992 dm3/(s.bar) per mm2
PER_AREA = CHOKED / (math.sqrt(GAS_CONSTANT * REFERENCE_TEMPERATURE) * REFERENCE_DENSITY)

PER_CV = 3.9e-8  # m3/(s.Pa) per US flow coefficient; IEC 60534 with xT = 0.7, between 3.4 and 4.2
CV_RATIO = 0.3  # taken for a valve of which only Cv is known; common practice, no source
CV_PER_KV = 1.1560992  # US gal/min at 1 psi per m3/h at 1 bar


def orifice(bore: float, discharge: float = 0.65) -> float:
    """Return the sonic conductance of a round hole, C = Cd * A * psi/(rho0 * sqrt(R * T0)).

    Parameters
    ----------
    bore
        Diameter [m].
    discharge
        Coefficient Cd [-]: sharp edge 0.65, short drilled passage 0.8, rounded entrance 0.97 (handbook values).

    Returns
    -------
    C [m3/(s.Pa)].

    Examples
    --------
    >>> round(orifice(1e-3, 1.0) * 1e8, 4)  # 0.1992 dm3/(s.bar) per mm2
    0.1564

    References
    ----------
    ISO 6358-1:2013 for C; the choked nozzle in any text on gas dynamics.
    """
    return PER_AREA * discharge * math.pi / 4.0 * bore * bore


def orifice_area(conductance: float, discharge: float = 0.65) -> float:
    """Return the area [m2] of the hole that has a sonic conductance [m3/(s.Pa)]; the inverse of `orifice`.

    Examples
    --------
    >>> round(orifice_area(1.992e-9, 1.0) * 1e6, 3)
    1.0
    """
    return conductance / (PER_AREA * discharge)


def tube(bore: float, length: float) -> tuple[float, float]:
    """Return sonic conductance and critical pressure ratio of a straight tube::

        C = 0.029 * d**2 / sqrt(L/d**1.25 + 510)      b = 474 * C / d**2

    Parameters
    ----------
    bore, length
        d and L [m]; ValueError unless d > 0 and L >= 0. An elbow counts as 30 d of length, a tee's branch as 60 d.

    Returns
    -------
    C [m3/(s.Pa)], b [-].

    Notes
    -----
    2 to 12 % below the choked adiabatic flow with friction in a smooth tube, for 4 to 15 mm and 0.5 to 20 m. Above 10 m
    the air's inertia counts: cut the tube into pieces.

    Examples
    --------
    >>> c, b = tube(9e-3, 6.0)
    >>> round(c * 1e8, 2), round(b, 2)
    (4.54, 0.27)

    References
    ----------
    Given with ISO 6358:1989 and in textbooks on pneumatic drives; from memory.
    """
    if not (bore > 0.0 and length >= 0.0):
        raise ValueError(f"a tube of bore {bore} m and length {length} m is none")
    conductance = 0.029 * bore**2 / math.sqrt(length / bore**1.25 + 510.0)
    return conductance, 474.0 * conductance / bore**2


def parallel(*passages: tuple[float, float]) -> tuple[float, float]:
    """Return C and b of (C, b) passages side by side: C = sum Ci, b = 1 - (C / sum(Ci/sqrt(1-bi)))**2.

    C is exact; the flow between choked and equal pressures is right within 0.1 % for most pairs, 3 % at worst.

    Examples
    --------
    >>> parallel((1.0, 0.3), (1.0, 0.3))[0]
    2.0
    """
    total = sum(c for c, _ in passages)
    if total == 0.0:
        return 0.0, IDEAL_RATIO
    return total, 1.0 - (total / sum(c / math.sqrt(1.0 - b) for c, b in passages)) ** 2


def series(first: tuple[float, float], second: tuple[float, float]) -> tuple[float, float]:
    """Return C and b of two (C, b) passages in series, the first upstream::

        C = C1                                             if C2*b1 >= C1, the first chokes alone
        C = C2 (b1 + sqrt(b1*b1 + (1+K)(1-2*b1))) / (1+K)  else, K = ((1-b1) C2/C1)**2
        b ~ 1 - C*C ((1-b1)/C1**2 + (1-b2)/C2**2)

    C is exact; with this b the flow is right within 2 %. For hand checks: the solver puts a small volume between.

    Examples
    --------
    >>> round(series((1.0, 0.5), (1.0, 0.5))[0], 4)
    0.8
    >>> series((1.0, 0.5), (4.0, 0.5))[0]
    1.0
    """
    (c1, b1), (c2, b2) = first, second
    if c1 == 0.0 or c2 == 0.0:
        return 0.0, IDEAL_RATIO
    if c2 * b1 >= c1:
        c = c1
    else:
        k = ((1.0 - b1) * c2 / c1) ** 2
        c = c2 * (b1 + math.sqrt(b1 * b1 + (1.0 + k) * (1.0 - 2.0 * b1))) / (1.0 + k)
    return c, max(0.0, 1.0 - c * c * ((1.0 - b1) / c1**2 + (1.0 - b2) / c2**2))


def from_cv(cv: float) -> tuple[float, float]:
    """Return C [m3/(s.Pa)] and b of a valve of which only the US flow coefficient Cv is known: 3.9e-8 Cv and 0.3.

    There is no single factor: by IEC 60534 it is 3.4e-8 to 4.2e-8 depending on where the valve chokes; see
    `from_cv_xt`.
    """
    return PER_CV * cv, CV_RATIO


def from_cv_xt(cv: float, xt: float) -> float:
    """Return C [m3/(s.Pa)] of a valve of flow coefficient Cv and choking pressure drop ratio xT, 4.66e-8 Cv sqrt(xT).

    Examples
    --------
    >>> round(from_cv_xt(1.0, 0.7) * 1e8, 2)
    3.9

    References
    ----------
    IEC 60534-2-1 with an expansion factor of 2/3, for air.
    """
    return 4.664e-8 * cv * math.sqrt(xt)


def from_kv(kv: float) -> tuple[float, float]:
    """Return C [m3/(s.Pa)] and b of a valve of which only Kv [m3/h at 1 bar] is known, by way of Cv = 1.156 Kv."""
    return from_cv(CV_PER_KV * kv)


def cv_flow(cv: float, p1: float, p2: float, temperature: float) -> float:
    """Return the flow of standard air by the formula of the US fluid power trade, Q = 22.7 Cv sqrt((p1-p2) p2/T).

    Parameters
    ----------
    cv
        US flow coefficient [-].
    p1, p2
        Absolute pressures [psi]; p2 below 0.53 p1 is taken as 0.53 p1, where the formula has the flow choked.
    temperature
        [degree R].

    Returns
    -------
    Flow [standard ft3/min].

    References
    ----------
    A. Esposito, Fluid Power with Applications.
    """
    p2 = max(p2, 0.53 * p1)
    return 22.7 * cv * math.sqrt((p1 - p2) * p2 / temperature)


def cv_for(flow: float, p1: float, p2: float, temperature: float) -> float:
    """Return the Cv that passes a flow [standard ft3/min]; the inverse of `cv_flow`, with its units."""
    return flow / cv_flow(1.0, p1, p2, temperature)


def nominal_flow(conductance: float, ratio: float) -> float:
    """Return the nominal flow of a valve, as catalogues give it: 6 bar gauge in, 5 bar out.

    Takes C [m3/(s.Pa)] and b; returns m3(ANR)/s, with 1 bar of atmosphere.

    Examples
    --------
    >>> round(nominal_flow(1e-8, 0.3) * 60e3)  # dm3/min(ANR)
    254
    """
    return conductance * 7e5 * flow_function(6.0 / 7.0, ratio)


def leak_flow(rate: float, volume: float) -> float:
    """Return the leak [m3(ANR)/s] that lets a volume [m3] fall by ``rate`` [Pa/s] at 20 C: q = V R / 1 bar.

    Examples
    --------
    >>> round(leak_flow(3 * 6894.757 / 60, 0.1) * 1e3, 3)  # 3 psi/min on 100 dm3, in dm3/s
    0.345
    """
    return volume * rate / 1e5


def leak_conductance(rate: float, volume: float, pressure: float) -> float:
    """Return the sonic conductance [m3/(s.Pa)] of a leak from the rate [Pa/s] at which a volume [m3] falls.

    C = V R / (p * 1 bar) with the absolute pressure p [Pa]; choked, that is p above 1.9 times the atmosphere.
    Flow and
    rate fall with the pressure, so a rate means little without the pressure it was read at.

    Examples
    --------
    >>> round(leak_conductance(3 * 6894.757 / 60, 0.1, 9.01325e5) * 1e8, 4)
    0.0382
    """
    return leak_flow(rate, volume) / pressure
