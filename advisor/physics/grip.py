"""What drive gears can hold and what the free gap can carry.

Gear force from the sheared area of the filament, bite depth from preload, and the column between
gear and guide. Slip that grows before the grip is lost is a share set by the caller.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio, select

__all__ = [
    "bite_depth_elastic",
    "bite_depth_plastic",
    "buckling_force",
    "concave_gear_area",
    "engaged_area",
    "engaged_chord",
    "euler_force",
    "filament_pressure",
    "gent_modulus",
    "grip_force",
    "johnson_force",
    "longest_free_gap",
    "ruess_modulus",
    "shallow_chord",
    "shore_a_force",
    "shore_d_force",
    "slenderness",
    "slenderness_limit",
    "teeth_engaged",
]

# A. N. Gent, Rubber Chem. Technol. 31 (1958): E in MPa from Shore A, as commonly reprinted.
GENT = {"scale": 0.0981, "offset": 56.0, "slope": 7.62336, "depth": 0.137505, "span": 254.0}
# M. Ruess (cited in hardness surveys): log10 of E in MPa; Shore D counts as A + 50.
RUESS = {"slope": 0.0235, "offset": 0.6403, "shift_d": 50.0}


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


def shallow_chord(engagement: Quantity, *, gear_radius: Quantity) -> Quantity:
    """Length of a bite that is shallow against the gear: `engaged_chord` to first order.

    Parameters
    ----------
    engagement : Quantity
        Depth of the bite, [m]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]

    Returns
    -------
    Quantity
        Chord length, about 1 % too long at usual depths, [m]
    """
    chord: Quantity = 2.0 * np.sqrt(2.0 * gear_radius * np.maximum(engagement, 0.0))
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


def concave_gear_area(
    *,
    engagement: Quantity,
    gear_radius: Quantity,
    filament_radius: Quantity,
    wrap_angle: Quantity,
) -> Quantity:
    """Area of filament that a gear with a hollow profile bites into; small depth.

    Parameters
    ----------
    engagement : Quantity
        Depth of the bite, [m]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]
    filament_radius : Quantity
        Radius of the filament, [m]
    wrap_angle : Quantity
        Angle of the filament's round that the profile wraps, [rad]

    Returns
    -------
    Quantity
        Area, [m2]
    """
    width = 2.0 * filament_radius * np.sin(wrap_angle / 2.0)
    area: Quantity = shallow_chord(engagement, gear_radius=gear_radius) * width
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


def bite_depth_plastic(
    pinch_force: Quantity,
    *,
    hardness: Quantity,
    tip_fraction: Quantity,
    gear_radius: Quantity,
    filament_radius: Quantity,
) -> Quantity:
    """Depth to which teeth indent a hard filament under preload.

    Parameters
    ----------
    pinch_force : Quantity
        Preload between the gears, [N]
    hardness : Quantity
        Indentation hardness of the filament, about three yield strengths, [Pa]
    tip_fraction : Quantity
        Share of the contact that tooth tips cover; 1 for a smooth roller, [-]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]
    filament_radius : Quantity
        Radius of the filament, [m]

    Returns
    -------
    Quantity
        Depth, [m]
    """
    mean_radius = np.sqrt(gear_radius * filament_radius)
    depth: Quantity = pinch_force / (2.0 * math.pi * hardness * tip_fraction * mean_radius)
    return depth


def bite_depth_elastic(
    pinch_force: Quantity,
    *,
    modulus: Quantity,
    poisson_ratio: Quantity,
    gear_radius: Quantity,
    filament_radius: Quantity,
) -> Quantity:
    """Depth to which a soft filament flattens elastically under preload (Hertz).

    Crossed cylinders with the mean radius sqrt(gear x filament) in place of a sphere's.

    Parameters
    ----------
    pinch_force : Quantity
        Preload between the gears, [N]
    modulus : Quantity
        Young's modulus of the filament, [Pa]
    poisson_ratio : Quantity
        Poisson's ratio of the filament, [-]
    gear_radius : Quantity
        Outer radius of the drive gear, [m]
    filament_radius : Quantity
        Radius of the filament, [m]

    Returns
    -------
    Quantity
        Depth, [m]
    """
    plane = modulus / (1.0 - poisson_ratio**2)
    mean_radius = np.sqrt(gear_radius * filament_radius)
    depth: Quantity = np.cbrt(9.0 * pinch_force**2 / (16.0 * plane**2 * mean_radius))
    return depth


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


def longest_free_gap(
    force: Quantity, *, modulus: Quantity, diameter: Quantity, end_factor: Quantity
) -> Quantity:
    """Longest gap that carries a force as an elastic column (Euler).

    Parameters
    ----------
    force : Quantity
        Feed force, [N]
    modulus : Quantity
        Young's modulus, [Pa]
    diameter : Quantity
        Filament diameter, [m]
    end_factor : Quantity
        Effective length over free length, [-]

    Returns
    -------
    Quantity
        Length; inf where there is no force, [m]
    """
    stiffness = modulus * math.pi / 64.0 * diameter**4
    reach: Quantity = np.sqrt(ratio(stiffness, np.maximum(force, 0.0), otherwise=math.inf))
    return math.pi / end_factor * reach


def gent_modulus(shore_a: Quantity) -> Quantity:
    """Young's modulus of an elastomer from Shore A hardness (Gent 1958); trust it in 30-85 only.

    Parameters
    ----------
    shore_a : Quantity
        Shore A hardness, [-]

    Returns
    -------
    Quantity
        Modulus; inf from 100 on, where the formula has no meaning, [Pa]
    """
    left = np.maximum(GENT["span"] * (1.0 - shore_a / 100.0), 0.0)
    load = GENT["scale"] * (GENT["offset"] + GENT["slope"] * shore_a)
    return 1e6 * ratio(load, GENT["depth"] * left, otherwise=math.inf)


def ruess_modulus(hardness: Quantity, *, scale: str) -> Quantity:
    """Young's modulus of an elastomer from Shore hardness (Ruess); far too low for hard plastics.

    Parameters
    ----------
    hardness : Quantity
        Shore hardness, [-]
    scale : str
        "A" or "D", [-]

    Returns
    -------
    Quantity
        Modulus, [Pa]

    Raises
    ------
    ValueError
        For another scale.
    """
    if scale not in ("A", "D"):
        raise ValueError(f"scale must be A or D (got {scale!r})")
    shift = RUESS["shift_d"] if scale == "D" else 0.0
    modulus: Quantity = 1e6 * 10.0 ** (RUESS["slope"] * (hardness + shift) - RUESS["offset"])
    return modulus


def shore_a_force(hardness: Quantity) -> Quantity:
    """Spring force of a Shore A durometer (ISO 868, from memory).

    Parameters
    ----------
    hardness : Quantity
        Shore A hardness, [-]

    Returns
    -------
    Quantity
        Force, [N]
    """
    return 0.550 + 0.075 * hardness


def shore_d_force(hardness: Quantity) -> Quantity:
    """Spring force of a Shore D durometer (ISO 868, from memory).

    Parameters
    ----------
    hardness : Quantity
        Shore D hardness, [-]

    Returns
    -------
    Quantity
        Force, [N]
    """
    return 0.445 * hardness
