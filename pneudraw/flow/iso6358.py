"""Mass flow of air through a passage, by ISO 6358, and through an ideal nozzle. SI throughout."""

from __future__ import annotations

import math

REFERENCE_DENSITY = 1.185  # kg/m3, air at ANR (100 kPa, 20 C, 65 % humidity); ISO 8778, from memory
REFERENCE_PRESSURE = 1e5  # Pa, ISO 8778
REFERENCE_TEMPERATURE = 293.15  # K, ISO 8778
GAS_CONSTANT = 287.05  # J/(kg K), dry air
HEAT_RATIO = 1.4  # of air at ordinary temperatures
IDEAL_RATIO = 0.528282  # critical pressure ratio of an ideal nozzle, (2/2.4)**3.5


def flow_function(r: float, ratio: float, index: float = 0.5) -> float:
    """Return the share of the choked flow that passes at a pressure ratio, by ISO 6358::

        phi = 1                                    r <= b, choked
        phi = (1 - x*x)**m,  x = (r - b)/(1 - b)   r >  b, subsonic

    Parameters
    ----------
    r
        Downstream over upstream absolute pressure [-], 0 to 1.
    ratio, index
        Critical pressure ratio b [-], 0 <= b < 1; subsonic index m [-], 0.5 unless measured.

    Returns
    -------
    phi [-], 0 to 1.

    Examples
    --------
    >>> flow_function(0.2, 0.3)
    1.0
    >>> round(flow_function(6 / 7, 0.3), 4)
    0.6054

    References
    ----------
    ISO 6358-1:2013 (equations from memory). The ellipse: E. Sanville, 1971.
    """
    if not (0.0 <= r <= 1.0 and 0.0 <= ratio < 1.0):
        raise ValueError(f"pressure ratio {r} and critical ratio {ratio} must be 0 to 1")
    if r <= ratio:
        return 1.0
    x = (r - ratio) / (1.0 - ratio)
    return float((1.0 - x * x) ** index)


def mass_flow(
    p1: float,
    p2: float,
    conductance: float,
    ratio: float,
    temperature: float = REFERENCE_TEMPERATURE,
    index: float = 0.5,
) -> float:
    """Return the mass flow of air through a passage, by ISO 6358::

        m = C * rho0 * p1 * sqrt(T0/T1) * phi(p2/p1)

    Parameters
    ----------
    p1, p2
        Upstream and downstream pressure, absolute [Pa]; ValueError unless p1 >= p2 >= 0 and p1 > 0.
    conductance, ratio, index
        Sonic conductance C [m3/(s.Pa)], critical pressure ratio b [-], subsonic index m [-].
    temperature
        Upstream temperature T1 [K].

    Returns
    -------
    Mass flow from p1 to p2 [kg/s].

    Notes
    -----
    The slope is infinite at p1 = p2; the solver replaces phi above p2/p1 = 0.999 by a cubic that meets it in
    value and
    slope.

    Examples
    --------
    >>> round(mass_flow(8e5, 1e5, 2e-8, 0.3), 5)  # choked
    0.01896

    References
    ----------
    ISO 6358-1:2013, flow-rate characteristics of components using compressible fluids (equations from memory).
    """
    if not p1 >= p2 >= 0.0 or p1 <= 0.0:
        raise ValueError(f"pressures {p1} and {p2} must fall, and be absolute")
    cooling = math.sqrt(REFERENCE_TEMPERATURE / temperature)
    return conductance * REFERENCE_DENSITY * p1 * cooling * flow_function(p2 / p1, ratio, index)


def free_flow(
    p1: float,
    p2: float,
    conductance: float,
    ratio: float,
    temperature: float = REFERENCE_TEMPERATURE,
    index: float = 0.5,
) -> float:
    """Return the same flow as a volume of free air [m3(ANR)/s]: the mass flow over 1.185 kg/m3.

    Examples
    --------
    >>> round(free_flow(7e5, 1e5, 4e-8, 0.3) * 60e3)  # dm3/min(ANR), choked
    1680
    """
    return mass_flow(p1, p2, conductance, ratio, temperature, index) / REFERENCE_DENSITY


def critical_ratio(heat_ratio: float = HEAT_RATIO) -> float:
    """Return the critical pressure ratio of an ideal nozzle, (2/(k+1))**(k/(k-1)).

    Examples
    --------
    >>> round(critical_ratio(1.4), 6)
    0.528282
    """
    return float((2.0 / (heat_ratio + 1.0)) ** (heat_ratio / (heat_ratio - 1.0)))


def nozzle_mass_flow(
    area: float,
    p0: float,
    t0: float,
    back: float,
    heat_ratio: float = HEAT_RATIO,
    gas_constant: float = GAS_CONSTANT,
) -> float:
    """Return the isentropic mass flow through a convergent nozzle::

        m = A * p0/sqrt(R*T0) * sqrt(2k/(k-1) * (r**(2/k) - r**((k+1)/k))),  r = max(back/p0, critical ratio)

    Parameters
    ----------
    area
        Narrowest area [m2].
    p0, t0
        Stagnation pressure, absolute [Pa], and temperature [K] upstream.
    back
        Pressure downstream, absolute [Pa]; ValueError unless 0 <= back <= p0.
    heat_ratio, gas_constant
        k [-] and R [J/(kg K)].

    Returns
    -------
    Mass flow [kg/s].

    Examples
    --------
    >>> round(nozzle_mass_flow(1e-3, 1e6, 360.0, 5e5), 3)
    2.13

    References
    ----------
    Any text on gas dynamics, for instance J. D. Anderson, Modern Compressible Flow.
    """
    if not 0.0 <= back <= p0 or p0 <= 0.0:
        raise ValueError(f"back pressure {back} must be between 0 and {p0}")
    k = heat_ratio
    r = max(back / p0, critical_ratio(k))
    psi = math.sqrt(2.0 * k / (k - 1.0) * (r ** (2.0 / k) - r ** ((k + 1.0) / k)))
    return area * p0 / math.sqrt(gas_constant * t0) * psi


def stagnation(
    p: float,
    temperature: float,
    mach: float,
    heat_ratio: float = HEAT_RATIO,
) -> tuple[float, float]:
    """Return stagnation pressure and temperature of a stream: T0 = T (1 + (k-1)/2 M2), p0 = p (T0/T)**(k/(k-1)).

    Units as given; pressure absolute, temperature absolute.
    """
    factor = 1.0 + (heat_ratio - 1.0) / 2.0 * mach * mach
    return p * factor ** (heat_ratio / (heat_ratio - 1.0)), temperature * factor


def critical_ratio_from_test(r: float, phi: float, index: float = 0.5) -> float:
    """Return b from one subsonic point of a test at constant upstream pressure: b = (r - s)/(1 - s), s =
    sqrt(1 - phi**(1/m)).

    ``phi`` is the flow at pressure ratio ``r`` over the choked flow.

    Examples
    --------
    >>> round(critical_ratio_from_test(0.8, flow_function(0.8, 0.3)), 9)
    0.3
    """
    s = math.sqrt(1.0 - phi ** (1.0 / index))
    return (r - s) / (1.0 - s)
