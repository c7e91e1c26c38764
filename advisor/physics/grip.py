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
        Depth of the bite; any; held between 0 and the radius, [m]
    gear_radius : Quantity
        Outer radius of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Chord length, [m]

    References
    ----------
    Derived here: geometry of a circle.

    Examples
    --------
    >>> f"{engaged_chord(0.15e-3, gear_radius=4e-3) * 1e3:.4f} mm"
    '2.1703 mm'
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
        Depth of the bite; small against both radii; below 0 as 0, [m]
    gear_radius : Quantity
        Outer radius of the drive gear; above 0, [m]
    filament_radius : Quantity
        Radius of the filament; above 0, [m]

    Returns
    -------
    Quantity
        Area of the ellipse of contact, [m2]

    References
    ----------
    Derived here: source grip-geometry of rules/sources.yaml; 2 to 8 % above the exact overlap.

    Examples
    --------
    >>> area = engaged_area(engagement=0.15e-3, gear_radius=4e-3, filament_radius=0.875e-3)
    >>> f"{area * 1e6:.4f} mm2"
    '1.7632 mm2'
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
        Length of the bite; 0 or more, [m]
    tooth_count : Quantity
        Teeth of the gear; 0 or more, [-]
    gear_radius : Quantity
        Outer radius of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Teeth, not rounded, [-]

    References
    ----------
    Derived here: chord over pitch.

    Examples
    --------
    >>> f"{teeth_engaged(2.19e-3, tooth_count=34, gear_radius=4e-3):.2f}"
    '2.96'
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

    Parameters
    ----------
    driven_gears : Quantity
        Gears that drive, 1 or 2; 0 or more, [-]
    fill : Quantity
        Share of the bitten area that is filament between teeth; 0 to 1, [-]
    shear_strength : Quantity
        Shear strength of the filament; 0 or more, [Pa]
    engagement : Quantity
        Depth of the bite; small against both radii; below 0 as 0, [m]
    gear_radius : Quantity
        Outer radius of the drive gear; above 0, [m]
    filament_radius : Quantity
        Radius of the filament; above 0, [m]
    correction : Quantity
        Factor from model to practice; 0 or more, [-]

    Returns
    -------
    Quantity
        Force, [N]

    Notes
    -----
    Traction limited by shear of the polymer in the teeth.

    References
    ----------
    J. Go, S. N. Schiffres, A. G. Stevens, A. J. Hart, Additive Manufacturing 16 (2017) 1-11, doi
    10.1016/j.addma.2017.03.007 (abstract): the idea. The area: source grip-geometry.

    Examples
    --------
    >>> force = grip_force(
    ...     driven_gears=2, fill=0.5, shear_strength=35e6, engagement=0.15e-3, gear_radius=4e-3,
    ...     filament_radius=0.875e-3, correction=1.0,
    ... )
    >>> f"{force:.2f} N"
    '61.71 N'
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
        Feed force; 0 or more, [N]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]

    Returns
    -------
    Quantity
        Pressure, [Pa]

    References
    ----------
    Derived here: statics.

    Examples
    --------
    >>> f"{filament_pressure(52.4, filament_area=2.4053e-6) / 1e6:.1f} MPa"
    '21.8 MPa'
    """
    return force / filament_area


def slenderness(*, free_length: Quantity, diameter: Quantity, end_factor: Quantity) -> Quantity:
    """Slenderness of a round column.

    Parameters
    ----------
    free_length : Quantity
        Length without guide; 0 or more, [m]
    diameter : Quantity
        Filament diameter; above 0, [m]
    end_factor : Quantity
        Effective length over free length, by the way the ends are held; above 0, [-]

    Returns
    -------
    Quantity
        Effective length over radius of gyration, [-]

    References
    ----------
    Any text on the strength of materials, from memory.

    Examples
    --------
    >>> f"{slenderness(free_length=4e-3, diameter=1.75e-3, end_factor=0.7):.1f}"
    '6.4'
    """
    return end_factor * free_length / (diameter / 4.0)


def slenderness_limit(*, modulus: Quantity, yield_strength: Quantity) -> Quantity:
    """Slenderness below which yield governs and the Johnson parabola replaces Euler.

    Parameters
    ----------
    modulus : Quantity
        Young's modulus; 0 or more, [Pa]
    yield_strength : Quantity
        Yield strength; 0 or more, [Pa]

    Returns
    -------
    Quantity
        Slenderness at half the yield strength; inf for a strength of zero, [-]

    References
    ----------
    J. B. Johnson, from memory; source column-buckling of rules/sources.yaml.

    Examples
    --------
    >>> f"{slenderness_limit(modulus=3e9, yield_strength=60e6):.1f}"
    '31.4'
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
        Young's modulus; 0 or more, [Pa]
    diameter : Quantity
        Filament diameter; above 0, [m]
    free_length : Quantity
        Length without guide; 0 or more, [m]
    end_factor : Quantity
        Effective length over free length; above 0, [-]

    Returns
    -------
    Quantity
        Force; inf for a gap of zero, [N]

    References
    ----------
    L. Euler, from memory; source column-buckling of rules/sources.yaml.

    Examples
    --------
    >>> force = euler_force(modulus=50e6, diameter=1.75e-3, free_length=5e-3, end_factor=0.7)
    >>> f"{force:.2f} N"
    '18.55 N'
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
        Young's modulus; 0 or more, [Pa]
    yield_strength : Quantity
        Yield strength; 0 or more, [Pa]
    diameter : Quantity
        Filament diameter; above 0, [m]
    free_length : Quantity
        Length without guide; 0 or more, [m]
    end_factor : Quantity
        Effective length over free length; above 0, [-]

    Returns
    -------
    Quantity
        Force, never below zero, [N]

    References
    ----------
    J. B. Johnson, from memory; source column-buckling of rules/sources.yaml.

    Examples
    --------
    >>> force = johnson_force(
    ...     modulus=3e9, yield_strength=60e6, diameter=1.75e-3, free_length=5e-3, end_factor=0.7
    ... )
    >>> f"{force:.2f} N"
    '139.64 N'
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
        Young's modulus; 0 or more, [Pa]
    yield_strength : Quantity
        Yield strength; 0 or more, [Pa]
    diameter : Quantity
        Filament diameter; above 0, [m]
    free_length : Quantity
        Longest length without guide; 0 or more, [m]
    end_factor : Quantity
        Effective length over free length; above 0, [-]

    Returns
    -------
    Quantity
        Force, [N]

    References
    ----------
    As `johnson_force` and `euler_force`.

    Examples
    --------
    >>> column = {"yield_strength": 60e6, "diameter": 1.75e-3, "end_factor": 0.7}
    >>> [f"{buckling_force(modulus=3e9, free_length=gap, **column):.1f} N" for gap in (5e-3, 20e-3)]
    ['139.6 N', '69.5 N']
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
