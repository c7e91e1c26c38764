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
        Length of filament that was commanded; 0 or more, [m]
    density : Quantity
        Density of the solid filament; above 0, [kg/m3]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]

    Returns
    -------
    Quantity
        Mass, [kg]

    References
    ----------
    Derived here: definition of density.

    Examples
    --------
    >>> f"{nominal_mass(0.1, density=1240.0, filament_area=2.40528e-6) * 1e3:.4f} g"
    '0.2983 g'
    """
    return density * filament_area * commanded_length


def ratio_to_slow_run(mass: Quantity, *, slow_mass: Quantity) -> Quantity:
    """Delivery of a fast run against a slow one of the same length: density and area cancel.

    Parameters
    ----------
    mass, slow_mass : Quantity
        Mass of the fast and of the slow run; 0 or more, [kg]

    Returns
    -------
    Quantity
        Ratio; 0 where the slow run gave nothing, [-]

    References
    ----------
    Derived here: definition.

    Examples
    --------
    >>> f"{ratio_to_slow_run(1.4e-3, slow_mass=1.4913e-3):.4f}"
    '0.9388'
    """
    return ratio(mass, slow_mass)


def mass_uncertainty(resolution: Quantity, *, repeatability: Quantity = 0.0) -> Quantity:
    """Standard uncertainty of a mass found as the difference of two readings.

    Parameters
    ----------
    resolution : Quantity
        Resolution of the scale; 0 or more, [kg]
    repeatability : Quantity
        Standard deviation of repeated weighings; 0 or more, [kg]

    Returns
    -------
    Quantity
        Standard uncertainty, [kg]

    References
    ----------
    JCGM 100:2008, from memory: two rectangular distributions.

    Examples
    --------
    >>> f"{mass_uncertainty(0.01e-3) * 1e6:.2f} mg"
    '4.08 mg'
    """
    combined: Quantity = np.hypot(resolution / math.sqrt(6.0), repeatability)
    return combined


def tolerance_uncertainty(half_width: Quantity) -> Quantity:
    """Standard uncertainty of a value known only to lie within a tolerance.

    Parameters
    ----------
    half_width : Quantity
        Tolerance either way; 0 or more, [-]

    Returns
    -------
    Quantity
        Standard uncertainty, in the unit of the tolerance, [-]

    References
    ----------
    JCGM 100:2008, from memory: a rectangular distribution.

    Examples
    --------
    >>> f"{tolerance_uncertainty(0.02):.4f}"
    '0.0115'
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
        Relative standard uncertainty of each; 0 or more, [-]

    Returns
    -------
    Quantity
        Relative standard uncertainty, [-]

    References
    ----------
    JCGM 100:2008, from memory: rule of products and quotients.

    Examples
    --------
    >>> f"{relative_uncertainty(mass=0.03, density=0.0, area=0.0, length=0.0, time=0.04):.3f}"
    '0.050'
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
        Wanted relative standard uncertainty of the mass; above 0, [-]
    resolution : Quantity
        Resolution of the scale; 0 or more, [kg]
    density : Quantity
        Density of the solid filament; above 0, [kg/m3]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]

    Returns
    -------
    Quantity
        Length of filament, [m]

    References
    ----------
    Derived here: `mass_uncertainty` over the mass.

    Examples
    --------
    >>> length = length_for_mass_uncertainty(
    ...     0.005, resolution=0.01e-3, density=1240.0, filament_area=2.40528e-6
    ... )
    >>> f"{length * 1e3:.0f} mm"
    '274 mm'
    """
    return mass_uncertainty(resolution) / (relative * density * filament_area)
