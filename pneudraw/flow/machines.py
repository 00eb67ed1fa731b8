"""Compressors and cylinders by hand calculation. SI throughout, pressures absolute."""

from __future__ import annotations

import math


def volumetric_efficiency(clearance: float, pressure_ratio: float, index: float = 1.25) -> float:
    """Return the share of the displacement that is drawn in afresh, 1 + c - c (p/p_in)**(1/n).

    Parameters
    ----------
    clearance, index
        Clearance volume over displacement [-]; polytropic index n of the air left in it, 1.2 to 1.3.
    pressure_ratio
        Discharge over intake, absolute [-].

    Examples
    --------
    >>> round(volumetric_efficiency(0.05, 550 / 97, 1.3), 3)
    0.86

    References
    ----------
    R. Joel, Basic Engineering Thermodynamics, and any text on reciprocating compressors.
    """
    return float(1.0 + clearance - clearance * pressure_ratio ** (1.0 / index))


def displacement(bore: float, stroke: float, speed: float, cylinders: int = 1) -> float:
    """Return the volume swept [m3/s] by single-acting cylinders of a bore and stroke [m] at a speed [rev/s]."""
    return math.pi / 4.0 * bore * bore * stroke * speed * cylinders


def free_air(flow: float, p: float, temperature: float, p_free: float, t_free: float) -> float:
    """Return a volume flow as free air: flow (p/p_free) (t_free/temperature); absolute pressures and temperatures.

    Examples
    --------
    >>> round(free_air(30.0, 125 + 14.7, 550.0, 14.7, 530.0), 1)  # ft3/min
    274.7
    """
    return flow * p / p_free * t_free / temperature


def cylinder_consumption(area: float, stroke: float, p: float, p_free: float) -> float:
    """Return the free air [m3] that one filling of a cylinder side takes: A L p/p_free.

    ``area`` [m2], ``stroke`` [m], absolute pressures. The air already in the side at atmospheric pressure is
    counted in, as
    catalogues do; a simulation that counts what enters finds less by one side's volume.
    """
    return area * stroke * p / p_free


def piston_areas(bore: float, rod: float) -> tuple[float, float]:
    """Return the areas [m2] of a cylinder's cap and rod sides, from bore and rod diameters [m]."""
    cap = math.pi / 4.0 * bore * bore
    return cap, cap - math.pi / 4.0 * rod * rod
