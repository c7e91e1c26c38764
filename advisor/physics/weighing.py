"""Weighed flow tests: mass, the ratio of two runs and the uncertainty of both.

Uncertainties are standard ones and combine after JCGM 100:2008 (product and quotient rule).
Density is that of the solid filament at room temperature, never that of the melt.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio

__all__ = [
    "length_for_mass_uncertainty",
    "mass_uncertainty",
    "nominal_mass",
    "ratio_to_slow_run",
    "relative_uncertainty",
    "tolerance_uncertainty",
]


def nominal_mass(
    commanded_length: Quantity, *, density: Quantity, filament_area: Quantity
) -> Quantity:
    """Mass of a length of filament.

    Parameters
    ----------
    commanded_length : Quantity
        Length of filament that was commanded, [m]
    density : Quantity
        Density of the solid filament, [kg/m3]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Mass, [kg]
    """
    return density * filament_area * commanded_length


def ratio_to_slow_run(mass: Quantity, *, slow_mass: Quantity) -> Quantity:
    """Delivery of a fast run against a slow one of the same length: density and area cancel.

    Parameters
    ----------
    mass, slow_mass : Quantity
        Mass of the fast and of the slow run, [kg]

    Returns
    -------
    Quantity
        Ratio; 0 where the slow run gave nothing, [-]
    """
    return ratio(mass, slow_mass)


def mass_uncertainty(resolution: Quantity, *, repeatability: Quantity = 0.0) -> Quantity:
    """Standard uncertainty of a mass found as the difference of two readings.

    Parameters
    ----------
    resolution : Quantity
        Resolution of the scale, [kg]
    repeatability : Quantity
        Standard deviation of repeated weighings, [kg]

    Returns
    -------
    Quantity
        Standard uncertainty, [kg]
    """
    combined: Quantity = np.hypot(resolution / math.sqrt(6.0), repeatability)
    return combined


def tolerance_uncertainty(half_width: Quantity) -> Quantity:
    """Standard uncertainty of a value known only to lie within a tolerance.

    Parameters
    ----------
    half_width : Quantity
        Tolerance either way, [-]

    Returns
    -------
    Quantity
        Standard uncertainty, in the unit of the tolerance, [-]
    """
    return half_width / math.sqrt(3.0)


def relative_uncertainty(
    *,
    mass: Quantity,
    density: Quantity,
    area: Quantity,
    length: Quantity,
    time: Quantity = 0.0,
) -> Quantity:
    """Relative uncertainty of a delivery ratio, or of a delivered flow if the time is given.

    Parameters
    ----------
    mass, density, area, length, time : Quantity
        Relative standard uncertainty of each, [-]

    Returns
    -------
    Quantity
        Relative standard uncertainty, [-]
    """
    combined: Quantity = np.sqrt(mass**2 + density**2 + area**2 + length**2 + time**2)
    return combined


def length_for_mass_uncertainty(
    relative: Quantity,
    *,
    resolution: Quantity,
    density: Quantity,
    filament_area: Quantity,
) -> Quantity:
    """Length of filament that a scale can weigh to a wanted relative uncertainty.

    Parameters
    ----------
    relative : Quantity
        Wanted relative standard uncertainty of the mass, [-]
    resolution : Quantity
        Resolution of the scale, [kg]
    density : Quantity
        Density of the solid filament, [kg/m3]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Length of filament, [m]
    """
    return mass_uncertainty(resolution) / (relative * density * filament_area)
