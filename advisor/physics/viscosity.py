"""Pressure of melt in capillaries, cones and nozzles; viscosity laws and melt-index anchors.

Isothermal, fully developed, no slip at the wall, no entrance loss. Measured feed forces are far
larger than these pressures: use them for ratios and for the excess of a narrow nozzle.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio

__all__ = [
    "apparent_shear_rate",
    "capillary_pressure",
    "cone_pressure",
    "consistency_from_melt_index",
    "cross_capillary_pressure",
    "cross_viscosity",
    "cross_wlf_zero_viscosity",
    "die_wall_stress",
    "rabinowitsch_factor",
    "shifted_consistency",
    "wall_shear_stress",
]

STANDARD_GRAVITY = 9.80665  # [m/s2], exact by definition
LOCAL_INDEX_STEPS = 40


def apparent_shear_rate(flow: Quantity, *, radius: Quantity) -> Quantity:
    """Shear rate at the wall that a Newtonian liquid would have.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow, [m3/s]
    radius : Quantity
        Radius of the bore, [m]

    Returns
    -------
    Quantity
        Shear rate, [1/s]
    """
    return 4.0 * flow / (math.pi * radius**3)


def rabinowitsch_factor(index: Quantity) -> Quantity:
    """True over apparent shear rate at the wall (Rabinowitsch) for a power-law melt.

    Parameters
    ----------
    index : Quantity
        Flow index n, 1 for a Newtonian liquid, [-]

    Returns
    -------
    Quantity
        Factor, [-]
    """
    return (3.0 * index + 1.0) / (4.0 * index)


def wall_shear_stress(pressure: Quantity, *, radius: Quantity, length: Quantity) -> Quantity:
    """Shear stress at the wall of a capillary.

    Parameters
    ----------
    pressure : Quantity
        Pressure drop, [Pa]
    radius, length : Quantity
        Radius and length of the bore, [m]

    Returns
    -------
    Quantity
        Stress, [Pa]
    """
    return radius * pressure / (2.0 * length)


def capillary_pressure(
    flow: Quantity, *, radius: Quantity, length: Quantity, consistency: Quantity, index: Quantity
) -> Quantity:
    """Pressure drop of a power-law melt in a round bore.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow, [m3/s]
    radius, length : Quantity
        Radius and length of the bore, [m]
    consistency : Quantity
        Consistency K of the power law, [Pa s^n]
    index : Quantity
        Flow index n, [-]

    Returns
    -------
    Quantity
        Pressure drop, [Pa]
    """
    rate = rabinowitsch_factor(index) * apparent_shear_rate(np.maximum(flow, 0.0), radius=radius)
    return 2.0 * consistency * length / radius * rate**index


def cone_pressure(
    flow: Quantity,
    *,
    inlet_radius: Quantity,
    outlet_radius: Quantity,
    half_angle: Quantity,
    consistency: Quantity,
    index: Quantity,
) -> Quantity:
    """Pressure drop of a power-law melt in a cone (lubrication approximation).

    Parameters
    ----------
    flow : Quantity
        Volumetric flow, [m3/s]
    inlet_radius, outlet_radius : Quantity
        Radius at the wide and at the narrow end, [m]
    half_angle : Quantity
        Angle between wall and axis, [rad]
    consistency : Quantity
        Consistency K of the power law, [Pa s^n]
    index : Quantity
        Flow index n, [-]

    Returns
    -------
    Quantity
        Pressure drop, [Pa]
    """
    reduced = (3.0 * index + 1.0) * np.maximum(flow, 0.0) / (index * math.pi)
    taper = outlet_radius ** (-3.0 * index) - inlet_radius ** (-3.0 * index)
    drop: Quantity = 2.0 * consistency / (3.0 * index * np.tan(half_angle)) * reduced**index * taper
    return drop


def cross_wlf_zero_viscosity(
    temperature: Quantity,
    *,
    pre_factor: Quantity,
    reference_temperature: Quantity,
    slope: Quantity,
    span: Quantity,
) -> Quantity:
    """Zero-shear viscosity after Williams, Landel and Ferry, as the Cross-WLF sets state it.

    Parameters
    ----------
    temperature : Quantity
        Melt temperature, [K]
    pre_factor : Quantity
        Viscosity D1 at the reference temperature, [Pa s]
    reference_temperature : Quantity
        Reference temperature D2, [K]
    slope : Quantity
        Constant A1, [-]
    span : Quantity
        Constant A2, [K]

    Returns
    -------
    Quantity
        Viscosity, [Pa s]
    """
    above = temperature - reference_temperature
    viscosity: Quantity = pre_factor * np.exp(-slope * above / (span + above))
    return viscosity


def cross_viscosity(
    shear_rate: Quantity, *, zero_viscosity: Quantity, critical_stress: Quantity, index: Quantity
) -> Quantity:
    """Viscosity of a Cross melt.

    Parameters
    ----------
    shear_rate : Quantity
        Shear rate, [1/s]
    zero_viscosity : Quantity
        Viscosity at rest, [Pa s]
    critical_stress : Quantity
        Stress at which thinning sets in, [Pa]
    index : Quantity
        Flow index far in the thinning range, [-]

    Returns
    -------
    Quantity
        Viscosity, [Pa s]
    """
    reduced = (zero_viscosity * shear_rate / critical_stress) ** (1.0 - index)
    return zero_viscosity / (1.0 + reduced)


def cross_capillary_pressure(
    flow: Quantity,
    *,
    radius: Quantity,
    length: Quantity,
    zero_viscosity: Quantity,
    critical_stress: Quantity,
    index: Quantity,
) -> Quantity:
    """Pressure drop of a Cross melt in a round bore, by its local power law.

    Some 0.5 to 2.5 % above the exact integral in the printing range.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow, [m3/s]
    radius, length : Quantity
        Radius and length of the bore, [m]
    zero_viscosity : Quantity
        Viscosity at rest, [Pa s]
    critical_stress : Quantity
        Stress at which thinning sets in, [Pa]
    index : Quantity
        Flow index far in the thinning range, [-]

    Returns
    -------
    Quantity
        Pressure drop, [Pa]
    """
    apparent = apparent_shear_rate(np.maximum(flow, 0.0), radius=radius)
    local: Quantity = index
    for _ in range(LOCAL_INDEX_STEPS):
        rate = apparent * rabinowitsch_factor(local)
        reduced = (zero_viscosity * rate / critical_stress) ** (1.0 - index)
        local = 1.0 - (1.0 - index) * reduced / (1.0 + reduced)
    rate = apparent * rabinowitsch_factor(local)
    viscosity = cross_viscosity(
        rate, zero_viscosity=zero_viscosity, critical_stress=critical_stress, index=index
    )
    return 2.0 * length / radius * viscosity * rate


def shifted_consistency(
    consistency: Quantity,
    *,
    temperature: Quantity,
    reference_temperature: Quantity,
    sensitivity: Quantity,
) -> Quantity:
    """Consistency at another temperature, by an exponential law.

    Parameters
    ----------
    consistency : Quantity
        Consistency at the reference temperature, [Pa s^n]
    temperature, reference_temperature : Quantity
        Melt temperature and that of the stated consistency, [K]
    sensitivity : Quantity
        Relative fall per kelvin, [1/K]

    Returns
    -------
    Quantity
        Consistency, [Pa s^n]
    """
    shift: Quantity = consistency * np.exp(-sensitivity * (temperature - reference_temperature))
    return shift


def die_wall_stress(
    load_mass: Quantity, *, die_radius: Quantity, die_length: Quantity, piston_area: Quantity
) -> Quantity:
    """Shear stress at the die wall of a melt-index test.

    Parameters
    ----------
    load_mass : Quantity
        Mass on the piston, [kg]
    die_radius, die_length : Quantity
        Radius and length of the die, [m]
    piston_area : Quantity
        Area of the piston, [m2]

    Returns
    -------
    Quantity
        Stress, [Pa]
    """
    pressure = load_mass * STANDARD_GRAVITY / piston_area
    return wall_shear_stress(pressure, radius=die_radius, length=die_length)


def consistency_from_melt_index(
    mass_flow: Quantity,
    *,
    melt_density: Quantity,
    load_mass: Quantity,
    index: Quantity,
    die_radius: Quantity,
    die_length: Quantity,
    piston_area: Quantity,
) -> Quantity:
    """Consistency of the power law through the one point a melt index gives.

    The test shears a hundred times slower than printing does: expect a factor of two.

    Parameters
    ----------
    mass_flow : Quantity
        Melt mass-flow rate, [kg/s]
    melt_density : Quantity
        Density of the melt, [kg/m3]
    load_mass : Quantity
        Mass on the piston, [kg]
    index : Quantity
        Flow index n, [-]
    die_radius, die_length : Quantity
        Radius and length of the die, [m]
    piston_area : Quantity
        Area of the piston, [m2]

    Returns
    -------
    Quantity
        Consistency, 0 without flow, [Pa s^n]
    """
    stress = die_wall_stress(
        load_mass, die_radius=die_radius, die_length=die_length, piston_area=piston_area
    )
    apparent = apparent_shear_rate(mass_flow / melt_density, radius=die_radius)
    return ratio(stress, (rabinowitsch_factor(index) * apparent) ** index)
