"""What motion asks of the extruder: beads, pressure advance, junctions, steps.

It plans no moves and reads no print files: see `advisor.prints`.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio, select

__all__ = [
    "advance_peak_speed",
    "bead_area",
    "filament_acceleration",
    "firmware_flow",
    "junction_deviation",
    "line_flow",
    "step_rate",
]


def bead_area(*, width: Quantity, height: Quantity) -> Quantity:
    """Section of a printed bead: flat with rounded ends; a rectangle where it is not wider.

    Parameters
    ----------
    width, height : Quantity
        Line width and layer height, [m]

    Returns
    -------
    Quantity
        Area, [m2]
    """
    stadium = (width - height * (1.0 - math.pi / 4.0)) * height
    return select(np.greater(width, height), stadium, width * height)


def line_flow(
    speed: Quantity, *, width: Quantity, height: Quantity, flow_ratio: Quantity = 1.0
) -> Quantity:
    """Volumetric flow a line asks for.

    Parameters
    ----------
    speed : Quantity
        Head speed, [m/s]
    width, height : Quantity
        Line width and layer height, [m]
    flow_ratio : Quantity
        Slicer's factor on the flow, [-]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]
    """
    return speed * bead_area(width=width, height=height) * flow_ratio


def firmware_flow(*, max_speed: Quantity, max_cross_section: Quantity) -> Quantity:
    """Largest flow the firmware lets through while printing.

    Parameters
    ----------
    max_speed : Quantity
        Largest head speed, [m/s]
    max_cross_section : Quantity
        Largest section of a line the firmware accepts, [m2]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]
    """
    return max_speed * max_cross_section


def filament_acceleration(
    head_acceleration: Quantity, *, bead_area: Quantity, filament_area: Quantity
) -> Quantity:
    """Acceleration of the filament while the head accelerates along a line.

    Parameters
    ----------
    head_acceleration : Quantity
        Acceleration of the head, [m/s2]
    bead_area : Quantity
        Section of the line, [m2]
    filament_area : Quantity
        Cross-section of the filament, [m2]

    Returns
    -------
    Quantity
        Acceleration of the filament, [m/s2]
    """
    return head_acceleration * bead_area / filament_area


def advance_peak_speed(
    feed_speed: Quantity, *, pressure_advance: Quantity, filament_acceleration: Quantity
) -> Quantity:
    """Largest filament speed while the head accelerates under pressure advance.

    Parameters
    ----------
    feed_speed : Quantity
        Filament speed of the line at cruise, [m/s]
    pressure_advance : Quantity
        Pressure advance time, [s]
    filament_acceleration : Quantity
        Acceleration of the filament, [m/s2]

    Returns
    -------
    Quantity
        Filament speed, [m/s]
    """
    return feed_speed + pressure_advance * filament_acceleration


def step_rate(speed: Quantity, *, steps_per_length: Quantity) -> Quantity:
    """Steps per second at a speed.

    Parameters
    ----------
    speed : Quantity
        Speed of the axis or filament, [m/s]
    steps_per_length : Quantity
        Steps per length, [1/m]

    Returns
    -------
    Quantity
        Step rate, [1/s]
    """
    return np.abs(speed) * steps_per_length


def junction_deviation(square_corner_speed: Quantity, *, acceleration: Quantity) -> Quantity:
    """Deviation that lets a right-angled corner be taken at a given speed.

    Parameters
    ----------
    square_corner_speed : Quantity
        Speed through a right angle, [m/s]
    acceleration : Quantity
        Acceleration of the head, [m/s2]

    Returns
    -------
    Quantity
        Junction deviation; 0 without acceleration, [m]
    """
    return ratio(square_corner_speed**2 * (math.sqrt(2.0) - 1.0), acceleration)
