"""From motor turns to filament: speeds, forces, inertia and lag of the gear train.

It does not know how much torque the motor has (see `motor`) nor what the gears can hold (`grip`).
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio

__all__ = [
    "acceleration_torque",
    "drive_radius",
    "feed_force",
    "filament_area",
    "filament_lag",
    "filament_speed",
    "lag_angle",
    "reflected_inertia",
    "steps_per_length",
    "torque_for_force",
    "train_efficiency",
    "travel_per_motor_turn",
    "usable_torque",
    "wrap_factor",
]


def filament_area(diameter: Quantity) -> Quantity:
    """Cross-section of round filament.

    Parameters
    ----------
    diameter : Quantity
        Filament diameter; above 0, [m]

    Returns
    -------
    Quantity
        Area, [m2]

    References
    ----------
    Derived here: geometry.

    Examples
    --------
    >>> f"{filament_area(1.75e-3) * 1e6:.4f} mm2"
    '2.4053 mm2'
    """
    return math.pi / 4.0 * diameter**2


def filament_speed(flow: Quantity, *, filament_area: Quantity) -> Quantity:
    """Speed of the filament that carries a volumetric flow.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow; 0 or more, [m3/s]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]

    Returns
    -------
    Quantity
        Filament speed, [m/s]

    References
    ----------
    Derived here: conservation of volume.

    Examples
    --------
    >>> f"{filament_speed(24e-9, filament_area=2.4053e-6) * 1e3:.3f} mm/s"
    '9.978 mm/s'
    """
    return flow / filament_area


def drive_radius(rotation_distance: Quantity) -> Quantity:
    """Effective radius of the drive gear.

    Parameters
    ----------
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Radius, [m]

    References
    ----------
    Derived here: geometry.

    Examples
    --------
    >>> f"{drive_radius(22.7e-3) * 1e3:.3f} mm"
    '3.613 mm'
    """
    return rotation_distance / (2.0 * math.pi)


def travel_per_motor_turn(*, gear_ratio: Quantity, rotation_distance: Quantity) -> Quantity:
    """Filament moved by one turn of the motor.

    Parameters
    ----------
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Filament length per motor turn, [m]

    References
    ----------
    Derived here: kinematics.

    Examples
    --------
    >>> f"{travel_per_motor_turn(gear_ratio=9.5, rotation_distance=47.1e-3) * 1e3:.3f} mm"
    '4.958 mm'
    """
    return rotation_distance / gear_ratio


def steps_per_length(
    *,
    gear_ratio: Quantity,
    rotation_distance: Quantity,
    full_steps: Quantity,
    microsteps: Quantity,
) -> Quantity:
    """Microsteps per length of filament.

    Parameters
    ----------
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]
    full_steps : Quantity
        Full steps per motor turn; above 0, [-]
    microsteps : Quantity
        Microsteps per full step; above 0, [-]

    Returns
    -------
    Quantity
        Steps per length of filament, [1/m]

    References
    ----------
    Derived here: kinematics.

    Examples
    --------
    >>> steps = steps_per_length(
    ...     gear_ratio=3.0, rotation_distance=22.679e-3, full_steps=200, microsteps=16
    ... )
    >>> f"{steps / 1e3:.2f} per mm"
    '423.30 per mm'
    """
    return full_steps * microsteps * gear_ratio / rotation_distance


def feed_force(
    torque: Quantity, *, gear_ratio: Quantity, efficiency: Quantity, rotation_distance: Quantity
) -> Quantity:
    """Force on the filament from a torque at the motor shaft.

    Parameters
    ----------
    torque : Quantity
        Torque at the motor shaft; any, [N m]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Feed force, [N]

    References
    ----------
    Derived here: statics.

    Examples
    --------
    >>> force = feed_force(0.05, gear_ratio=5.0, efficiency=0.95, rotation_distance=31.416e-3)
    >>> f"{force:.2f} N"
    '47.50 N'
    """
    return torque * gear_ratio * efficiency * 2.0 * math.pi / rotation_distance


def wrap_factor(*, friction: Quantity, angle: Quantity) -> Quantity:
    """Push before a bent tube over the push behind it (Euler and Eytelwein, rope round a post).

    Parameters
    ----------
    friction : Quantity
        Coefficient of friction of the filament in the tube; 0 or more, [-]
    angle : Quantity
        All bends together; 0 or more, [rad]

    Returns
    -------
    Quantity
        Ratio of the forces, 1 without a bend, [-]

    References
    ----------
    L. Euler, J. A. Eytelwein, from memory; source tube-friction of rules/sources.yaml.

    Examples
    --------
    >>> f"{wrap_factor(friction=0.1, angle=math.pi):.3f}"
    '1.369'
    """
    factor: Quantity = np.exp(friction * angle)
    return factor


def torque_for_force(
    force: Quantity, *, gear_ratio: Quantity, efficiency: Quantity, rotation_distance: Quantity
) -> Quantity:
    """Torque at the motor shaft that gives a feed force: the inverse of `feed_force`.

    Parameters
    ----------
    force : Quantity
        Feed force; any, [N]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Torque, [N m]

    References
    ----------
    Derived here: statics.

    Examples
    --------
    >>> torque = torque_for_force(
    ...     47.5, gear_ratio=5.0, efficiency=0.95, rotation_distance=31.416e-3
    ... )
    >>> f"{torque:.4f} N m"
    '0.0500 N m'
    """
    return force * rotation_distance / (2.0 * math.pi * gear_ratio * efficiency)


def usable_torque(
    pull_out_torque: Quantity,
    *,
    detent_torque: Quantity,
    usable_share: Quantity,
    acceleration_torque: Quantity = 0.0,
) -> Quantity:
    """Torque left for the load, after detent loss, margin and acceleration.

    Parameters
    ----------
    pull_out_torque : Quantity
        Pull-out torque at this speed; 0 or more, [N m]
    detent_torque : Quantity
        Detent torque, counted as a loss; 0 or more, [N m]
    usable_share : Quantity
        Share of the torque that may be used; 1 is the point of skipping; 0 to 1, [-]
    acceleration_torque : Quantity
        Torque that goes into speeding up the rotor and gears; 0 or more, [N m]

    Returns
    -------
    Quantity
        Torque for the load, never below zero, [N m]

    References
    ----------
    Derived here: a balance of torques. The share: source torque-margin of rules/sources.yaml.

    Examples
    --------
    >>> f"{usable_torque(0.08, detent_torque=0.005, usable_share=0.7):.4f} N m"
    '0.0525 N m'
    """
    left: Quantity = np.maximum(
        usable_share * (pull_out_torque - detent_torque) - acceleration_torque, 0.0
    )
    return left


def reflected_inertia(
    *, motor_inertia: Quantity, gear_inertia: Quantity, gear_ratio: Quantity, efficiency: Quantity
) -> Quantity:
    """Inertia of rotor and driven gears as the motor feels it.

    Parameters
    ----------
    motor_inertia : Quantity
        Rotor inertia with pinion; 0 or more, [kg m2]
    gear_inertia : Quantity
        Inertia of the drive gears about their own shaft; 0 or more, [kg m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]

    Returns
    -------
    Quantity
        Inertia at the motor shaft, [kg m2]

    References
    ----------
    Derived here: energy of rigid bodies.

    Examples
    --------
    >>> inertia = reflected_inertia(
    ...     motor_inertia=1e-6, gear_inertia=2e-7, gear_ratio=9.5, efficiency=0.9
    ... )
    >>> f"{inertia:.4g} kg m2"
    '1.002e-06 kg m2'
    """
    return motor_inertia + gear_inertia / (gear_ratio**2 * efficiency)


def acceleration_torque(
    feed_acceleration: Quantity,
    *,
    motor_inertia: Quantity,
    gear_inertia: Quantity,
    gear_ratio: Quantity,
    efficiency: Quantity,
    rotation_distance: Quantity,
) -> Quantity:
    """Motor torque that speeds up rotor and gears; the filament's own mass is negligible.

    Parameters
    ----------
    feed_acceleration : Quantity
        Acceleration of the filament; any, [m/s2]
    motor_inertia : Quantity
        Rotor inertia with pinion; 0 or more, [kg m2]
    gear_inertia : Quantity
        Inertia of the drive gears about their own shaft; 0 or more, [kg m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Torque at the motor shaft, [N m]

    References
    ----------
    Derived here: dynamics of rigid bodies.

    Examples
    --------
    >>> torque = acceleration_torque(
    ...     5.0, motor_inertia=1e-6, gear_inertia=2e-7, gear_ratio=9.5, efficiency=0.9,
    ...     rotation_distance=47.1e-3,
    ... )
    >>> f"{torque * 1e3:.2f} mN m"
    '6.35 mN m'
    """
    inertia = reflected_inertia(
        motor_inertia=motor_inertia,
        gear_inertia=gear_inertia,
        gear_ratio=gear_ratio,
        efficiency=efficiency,
    )
    return inertia * 2.0 * math.pi * gear_ratio * feed_acceleration / rotation_distance


def train_efficiency(stage_efficiency: Quantity, *, stages: Quantity) -> Quantity:
    """Efficiency of several like stages in a row.

    Parameters
    ----------
    stage_efficiency : Quantity
        Efficiency of one stage; above 0, at most 1, [-]
    stages : Quantity
        Number of stages; 0 is a direct drive; 0 or more, [-]

    Returns
    -------
    Quantity
        Efficiency of the train, [-]

    References
    ----------
    Derived here: losses in a row. The share of one stage: source gear-stage-practice.

    Examples
    --------
    >>> f"{train_efficiency(0.95, stages=2):.4f}"
    '0.9025'
    """
    return stage_efficiency**stages


def lag_angle(load_torque: Quantity, *, peak_torque: Quantity) -> Quantity:
    """Electrical angle by which the rotor trails its field under load.

    Parameters
    ----------
    load_torque : Quantity
        Load at the motor shaft; any, [N m]
    peak_torque : Quantity
        Peak torque at the applied current; 0 or more, [N m]

    Returns
    -------
    Quantity
        Electrical lag angle, [rad]

    Notes
    -----
    Holds below the corner speed. A load at or above the peak gives the quarter turn at which a step
    is lost.

    References
    ----------
    Derived here: the sine torque curve of a two-phase motor.

    Examples
    --------
    >>> f"{math.degrees(lag_angle(0.04, peak_torque=0.08)):.1f} deg"
    '30.0 deg'
    """
    share = ratio(load_torque, peak_torque, otherwise=np.sign(load_torque))
    angle: Quantity = np.arcsin(np.clip(share, -1.0, 1.0))
    return angle


def filament_lag(
    lag_angle: Quantity,
    *,
    pole_pairs: Quantity,
    gear_ratio: Quantity,
    rotation_distance: Quantity,
) -> Quantity:
    """Length of filament by which the feed trails the command.

    Parameters
    ----------
    lag_angle : Quantity
        Electrical lag angle; -pi/2 to pi/2, [rad]
    pole_pairs : Quantity
        Electrical periods per motor turn; above 0, [-]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]

    Returns
    -------
    Quantity
        Filament length, [m]

    References
    ----------
    Derived here: kinematics.

    Examples
    --------
    >>> lag = filament_lag(
    ...     math.radians(30.0), pole_pairs=50, gear_ratio=9.5, rotation_distance=47.1e-3
    ... )
    >>> f"{lag * 1e6:.2f} um"
    '8.26 um'
    """
    return lag_angle / pole_pairs * rotation_distance / (2.0 * math.pi * gear_ratio)
