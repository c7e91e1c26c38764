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
        Filament diameter, [m]

    Returns
    -------
    Quantity
        Area, [m2]
    """
    return math.pi / 4.0 * diameter**2


def filament_speed(flow: Quantity, *, filament_area: Quantity) -> Quantity:
    """Speed of the filament that carries a volumetric flow.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow, [m3/s]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Filament speed, [m/s]
    """
    return flow / filament_area


def drive_radius(rotation_distance: Quantity) -> Quantity:
    """Effective radius of the drive gear.

    Parameters
    ----------
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Radius, [m]
    """
    return rotation_distance / (2.0 * math.pi)


def travel_per_motor_turn(*, gear_ratio: Quantity, rotation_distance: Quantity) -> Quantity:
    """Filament moved by one turn of the motor.

    Parameters
    ----------
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Filament length per motor turn, [m]
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
        Motor turns per turn of the drive gear, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]
    full_steps : Quantity
        Full steps per motor turn, [-]
    microsteps : Quantity
        Microsteps per full step, [-]

    Returns
    -------
    Quantity
        Steps per length of filament, [1/m]
    """
    return full_steps * microsteps * gear_ratio / rotation_distance


def feed_force(
    torque: Quantity, *, gear_ratio: Quantity, efficiency: Quantity, rotation_distance: Quantity
) -> Quantity:
    """Force on the filament from a torque at the motor shaft.

    Parameters
    ----------
    torque : Quantity
        Torque at the motor shaft, [N m]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    efficiency : Quantity
        Efficiency of the whole train, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Feed force, [N]
    """
    return torque * gear_ratio * efficiency * 2.0 * math.pi / rotation_distance


def wrap_factor(*, friction: Quantity, angle: Quantity) -> Quantity:
    """Push before a bent tube over the push behind it (Euler and Eytelwein, rope round a post).

    Parameters
    ----------
    friction : Quantity
        Coefficient of friction of the filament in the tube, [-]
    angle : Quantity
        All bends together, [rad]

    Returns
    -------
    Quantity
        Ratio of the forces, 1 without a bend, [-]
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
        Feed force, [N]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    efficiency : Quantity
        Efficiency of the whole train, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Torque, [N m]
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
        Pull-out torque at this speed, [N m]
    detent_torque : Quantity
        Detent torque, counted as a loss, [N m]
    usable_share : Quantity
        Share of the torque that may be used; 1 is the point of skipping, [-]
    acceleration_torque : Quantity
        Torque that goes into speeding up the rotor and gears, [N m]

    Returns
    -------
    Quantity
        Torque for the load, never below zero, [N m]
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
        Rotor inertia with pinion, [kg m2]
    gear_inertia : Quantity
        Inertia of the drive gears about their own shaft, [kg m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    efficiency : Quantity
        Efficiency of the whole train, [-]

    Returns
    -------
    Quantity
        Inertia at the motor shaft, [kg m2]
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
        Acceleration of the filament, [m/s2]
    motor_inertia : Quantity
        Rotor inertia with pinion, [kg m2]
    gear_inertia : Quantity
        Inertia of the drive gears about their own shaft, [kg m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    efficiency : Quantity
        Efficiency of the whole train, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Torque at the motor shaft, [N m]
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
        Efficiency of one stage, [-]
    stages : Quantity
        Number of stages; 0 is a direct drive, [-]

    Returns
    -------
    Quantity
        Efficiency of the train, [-]
    """
    return stage_efficiency**stages


def lag_angle(load_torque: Quantity, *, peak_torque: Quantity) -> Quantity:
    """Electrical angle by which the rotor trails its field under load.

    Holds below the corner speed. A load at or above the peak gives the quarter turn at which a
    step is lost.

    Parameters
    ----------
    load_torque : Quantity
        Load at the motor shaft, [N m]
    peak_torque : Quantity
        Peak torque at the applied current, [N m]

    Returns
    -------
    Quantity
        Electrical lag angle, [rad]
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
        Electrical lag angle, [rad]
    pole_pairs : Quantity
        Electrical periods per motor turn, [-]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear, [m]

    Returns
    -------
    Quantity
        Filament length, [m]
    """
    return lag_angle / pole_pairs * rotation_distance / (2.0 * math.pi * gear_ratio)
