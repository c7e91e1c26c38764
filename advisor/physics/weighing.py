"""Weighed flow tests: mass, delivery ratio and the uncertainty of both.

Uncertainties are standard ones and combine after JCGM 100:2008 (product and quotient rule).
Density is that of the solid filament at room temperature, never that of the melt.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio

__all__ = [
    "area_uncertainty",
    "delivered_flow",
    "delivery_ratio",
    "expanded_uncertainty",
    "length_for_mass_uncertainty",
    "mass_uncertainty",
    "melt_mass_flow_rate",
    "melt_volume_flow_rate",
    "nominal_mass",
    "quotient_uncertainty",
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


def delivered_flow(mass: Quantity, *, density: Quantity, time: Quantity) -> Quantity:
    """Volumetric flow that was really delivered.

    Parameters
    ----------
    mass : Quantity
        Mass that came out, [kg]
    density : Quantity
        Density of the solid filament, [kg/m3]
    time : Quantity
        Time in which it came out, [s]

    Returns
    -------
    Quantity
        Volumetric flow; 0 for no time, [m3/s]
    """
    return ratio(mass, density * time)


def delivery_ratio(
    mass: Quantity, *, commanded_length: Quantity, density: Quantity, filament_area: Quantity
) -> Quantity:
    """Delivered over commanded filament; the time cancels.

    Parameters
    ----------
    mass : Quantity
        Mass that came out, [kg]
    commanded_length : Quantity
        Length of filament that was commanded, [m]
    density : Quantity
        Density of the solid filament, [kg/m3]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Ratio; 0 where nothing was commanded, [-]
    """
    nominal = nominal_mass(commanded_length, density=density, filament_area=filament_area)
    return ratio(mass, nominal)


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


def area_uncertainty(*, diameter: Quantity, diameter_uncertainty: Quantity) -> Quantity:
    """Relative uncertainty of the filament's cross-section.

    Parameters
    ----------
    diameter : Quantity
        Filament diameter, [m]
    diameter_uncertainty : Quantity
        Standard uncertainty of the diameter, [m]

    Returns
    -------
    Quantity
        Relative standard uncertainty, [-]
    """
    return 2.0 * diameter_uncertainty / diameter


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


def quotient_uncertainty(
    *, mass: Quantity, slow_mass: Quantity, mass_uncertainty: Quantity
) -> Quantity:
    """Standard uncertainty of the ratio of two weighed runs.

    Parameters
    ----------
    mass, slow_mass : Quantity
        Mass of the fast and of the slow run, [kg]
    mass_uncertainty : Quantity
        Standard uncertainty of either mass, [kg]

    Returns
    -------
    Quantity
        Standard uncertainty of the ratio; 0 where the slow run gave nothing, [-]
    """
    share = ratio_to_slow_run(mass, slow_mass=slow_mass)
    uncertainty: Quantity = ratio(mass_uncertainty, slow_mass) * np.hypot(1.0, share)
    return uncertainty


def expanded_uncertainty(standard: Quantity, *, coverage_factor: Quantity) -> Quantity:
    """Expanded uncertainty.

    Parameters
    ----------
    standard : Quantity
        Standard uncertainty, [-]
    coverage_factor : Quantity
        Coverage factor; 2 stands for about 95 %, [-]

    Returns
    -------
    Quantity
        Expanded uncertainty, in the unit of the standard one, [-]
    """
    return coverage_factor * standard


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


def melt_mass_flow_rate(mass: Quantity, *, time: Quantity) -> Quantity:
    """Melt mass-flow rate of a melt-index test (ISO 1133-1, procedure A).

    Parameters
    ----------
    mass : Quantity
        Mass of the cut piece, [kg]
    time : Quantity
        Time between cuts, [s]

    Returns
    -------
    Quantity
        Mass flow; 0 for no time, [kg/s]
    """
    return ratio(mass, time)


def melt_volume_flow_rate(stroke: Quantity, *, time: Quantity, piston_area: Quantity) -> Quantity:
    """Melt volume-flow rate of a melt-index test (ISO 1133-1, procedure B).

    Parameters
    ----------
    stroke : Quantity
        Way of the piston, [m]
    time : Quantity
        Time it took, [s]
    piston_area : Quantity
        Mean area of piston and cylinder, [m2]

    Returns
    -------
    Quantity
        Volume flow; 0 for no time, [m3/s]
    """
    return ratio(piston_area * stroke, time)
