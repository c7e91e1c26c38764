"""What drive gears can hold and what the free gap can carry.

Gear force from the sheared area of the filament, and the column between gear and guide. Slip that
grows before the grip is lost is a share set by the caller.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio, select

__all__ = [
    "buckling_force",
    "engaged_area",
    "engaged_chord",
    "euler_force",
    "filament_pressure",
    "grip_force",
    "johnson_force",
    "slenderness",
    "slenderness_limit",
    "teeth_engaged",
]


def engaged_chord(engagement: Quantity, *, gear_radius: Quantity) -> Quantity:
    """Length over which a gear of given radius is pressed into the filament.

    Parameters
    ----------
    engagement : Quantity
        Depth of the bite, [m]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]

    Returns
    -------
    Quantity
        Chord length, [m]
    """
    depth = np.minimum(np.maximum(engagement, 0.0), gear_radius)
    chord: Quantity = 2.0 * np.sqrt(2.0 * gear_radius * depth - depth**2)
    return chord


def engaged_area(
    *, engagement: Quantity, gear_radius: Quantity, filament_radius: Quantity
) -> Quantity:
    """Area of filament a flat-profile gear bites into: crossed cylinders, small depth.

    Parameters
    ----------
    engagement : Quantity
        Depth of the bite, [m]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]
    filament_radius : Quantity
        Radius of the filament, [m]

    Returns
    -------
    Quantity
        Area of the ellipse of contact, [m2]
    """
    area: Quantity = (
        2.0 * math.pi * np.maximum(engagement, 0.0) * np.sqrt(gear_radius * filament_radius)
    )
    return area


def teeth_engaged(chord: Quantity, *, tooth_count: Quantity, gear_radius: Quantity) -> Quantity:
    """Number of teeth within the bite.

    Parameters
    ----------
    chord : Quantity
        Length of the bite, [m]
    tooth_count : Quantity
        Teeth of the gear, [-]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]

    Returns
    -------
    Quantity
        Teeth, not rounded, [-]
    """
    return chord * tooth_count / (2.0 * math.pi * gear_radius)


def grip_force(
    *,
    driven_gears: Quantity,
    fill: Quantity,
    shear_strength: Quantity,
    engagement: Quantity,
    gear_radius: Quantity,
    filament_radius: Quantity,
    correction: Quantity,
) -> Quantity:
    """Force at which the bitten layer of filament shears off.

    Traction limited by shear of the polymer in the teeth, the idea of Go, Schiffres, Stevens and
    Hart, Additive Manufacturing 16 (2017).

    Parameters
    ----------
    driven_gears : Quantity
        Gears that drive, 1 or 2, [-]
    fill : Quantity
        Share of the bitten area that is filament between teeth, [-]
    shear_strength : Quantity
        Shear strength of the filament, [Pa]
    engagement : Quantity
        Depth of the bite, [m]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]
    filament_radius : Quantity
        Radius of the filament, [m]
    correction : Quantity
        Factor from model to practice, [-]

    Returns
    -------
    Quantity
        Force, [N]
    """
    area = engaged_area(
        engagement=engagement, gear_radius=gear_radius, filament_radius=filament_radius
    )
    return correction * driven_gears * fill * shear_strength * area


def filament_pressure(force: Quantity, *, filament_area: Quantity) -> Quantity:
    """Pressure a feed force puts on the filament and so on the melt.

    Parameters
    ----------
    force : Quantity
        Feed force, [N]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Pressure, [Pa]
    """
    return force / filament_area


def slenderness(*, free_length: Quantity, diameter: Quantity, end_factor: Quantity) -> Quantity:
    """Slenderness of a round column.

    Parameters
    ----------
    free_length : Quantity
        Length without guide, [m]
    diameter : Quantity
        Filament diameter, [m]
    end_factor : Quantity
        Effective length over free length, by the way the ends are held, [-]

    Returns
    -------
    Quantity
        Effective length over radius of gyration, [-]
    """
    return end_factor * free_length / (diameter / 4.0)


def slenderness_limit(*, modulus: Quantity, yield_strength: Quantity) -> Quantity:
    """Slenderness below which yield governs and the Johnson parabola replaces Euler.

    Parameters
    ----------
    modulus : Quantity
        Young's modulus, [Pa]
    yield_strength : Quantity
        Yield strength, [Pa]

    Returns
    -------
    Quantity
        Slenderness at half the yield strength; inf for a strength of zero, [-]
    """
    limit: Quantity = np.sqrt(2.0 * math.pi**2 * ratio(modulus, yield_strength, math.inf))
    return limit


def euler_force(
    *, modulus: Quantity, diameter: Quantity, free_length: Quantity, end_factor: Quantity
) -> Quantity:
    """Force at which a long elastic column buckles (Euler).

    Parameters
    ----------
    modulus : Quantity
        Young's modulus, [Pa]
    diameter : Quantity
        Filament diameter, [m]
    free_length : Quantity
        Length without guide, [m]
    end_factor : Quantity
        Effective length over free length, [-]

    Returns
    -------
    Quantity
        Force; inf for a gap of zero, [N]
    """
    second_moment = math.pi / 64.0 * diameter**4
    effective = end_factor * free_length
    return ratio(math.pi**2 * modulus * second_moment, effective**2, otherwise=math.inf)


def johnson_force(
    *,
    modulus: Quantity,
    yield_strength: Quantity,
    diameter: Quantity,
    free_length: Quantity,
    end_factor: Quantity,
) -> Quantity:
    """Force at which a short column yields and folds (Johnson parabola).

    Parameters
    ----------
    modulus : Quantity
        Young's modulus, [Pa]
    yield_strength : Quantity
        Yield strength, [Pa]
    diameter : Quantity
        Filament diameter, [m]
    free_length : Quantity
        Length without guide, [m]
    end_factor : Quantity
        Effective length over free length, [-]

    Returns
    -------
    Quantity
        Force, never below zero, [N]
    """
    slim = slenderness(free_length=free_length, diameter=diameter, end_factor=end_factor)
    loss = ratio(yield_strength * slim**2, 4.0 * math.pi**2 * modulus, otherwise=1.0)
    area = math.pi / 4.0 * diameter**2
    force: Quantity = area * yield_strength * np.maximum(1.0 - loss, 0.0)
    return force


def buckling_force(
    *,
    modulus: Quantity,
    yield_strength: Quantity,
    diameter: Quantity,
    free_length: Quantity,
    end_factor: Quantity,
) -> Quantity:
    """Force at which the filament folds in the free gap: Johnson if short, Euler if long.

    Parameters
    ----------
    modulus : Quantity
        Young's modulus, [Pa]
    yield_strength : Quantity
        Yield strength, [Pa]
    diameter : Quantity
        Filament diameter, [m]
    free_length : Quantity
        Longest length without guide, [m]
    end_factor : Quantity
        Effective length over free length, [-]

    Returns
    -------
    Quantity
        Force, [N]
    """
    slim = slenderness(free_length=free_length, diameter=diameter, end_factor=end_factor)
    short = slim < slenderness_limit(modulus=modulus, yield_strength=yield_strength)
    johnson = johnson_force(
        modulus=modulus,
        yield_strength=yield_strength,
        diameter=diameter,
        free_length=free_length,
        end_factor=end_factor,
    )
    euler = euler_force(
        modulus=modulus, diameter=diameter, free_length=free_length, end_factor=end_factor
    )
    return select(short, johnson, euler)
