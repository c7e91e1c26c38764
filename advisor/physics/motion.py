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
        Line width and layer height; above 0, [m]

    Returns
    -------
    Quantity
        Area, [m2]

    References
    ----------
    Derived here: geometry.

    Examples
    --------
    >>> f"{bead_area(width=0.45e-3, height=0.2e-3) * 1e6:.5f} mm2"
    '0.08142 mm2'
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
        Head speed; 0 or more, [m/s]
    width, height : Quantity
        Line width and layer height; above 0, [m]
    flow_ratio : Quantity
        Slicer's factor on the flow; 0 or more, [-]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]

    References
    ----------
    Derived here: conservation of volume.

    Examples
    --------
    >>> f"{line_flow(0.1, width=0.45e-3, height=0.2e-3) * 1e9:.3f} mm3/s"
    '8.142 mm3/s'
    """
    return speed * bead_area(width=width, height=height) * flow_ratio


def firmware_flow(*, max_speed: Quantity, max_cross_section: Quantity) -> Quantity:
    """Largest flow the firmware lets through while printing.

    Parameters
    ----------
    max_speed : Quantity
        Largest head speed; 0 or more, [m/s]
    max_cross_section : Quantity
        Largest section of a line the firmware accepts; 0 or more, [m2]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]

    References
    ----------
    Derived here: conservation of volume.

    Examples
    --------
    >>> f"{firmware_flow(max_speed=0.3, max_cross_section=0.64e-6) * 1e9:.0f} mm3/s"
    '192 mm3/s'
    """
    return max_speed * max_cross_section


def filament_acceleration(
    head_acceleration: Quantity, *, bead_area: Quantity, filament_area: Quantity
) -> Quantity:
    """Acceleration of the filament while the head accelerates along a line.

    Parameters
    ----------
    head_acceleration : Quantity
        Acceleration of the head; 0 or more, [m/s2]
    bead_area : Quantity
        Section of the line; 0 or more, [m2]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]

    Returns
    -------
    Quantity
        Acceleration of the filament, [m/s2]

    References
    ----------
    Derived here: conservation of volume.

    Examples
    --------
    >>> found = filament_acceleration(10.0, bead_area=0.09e-6, filament_area=2.4053e-6)
    >>> f"{found * 1e3:.1f} mm/s2"
    '374.2 mm/s2'
    """
    return head_acceleration * bead_area / filament_area


def advance_peak_speed(
    feed_speed: Quantity, *, pressure_advance: Quantity, filament_acceleration: Quantity
) -> Quantity:
    """Largest filament speed while the head accelerates under pressure advance.

    Parameters
    ----------
    feed_speed : Quantity
        Filament speed of the line at cruise; 0 or more, [m/s]
    pressure_advance : Quantity
        Pressure advance time; 0 or more, [s]
    filament_acceleration : Quantity
        Acceleration of the filament; 0 or more, [m/s2]

    Returns
    -------
    Quantity
        Filament speed, [m/s]

    References
    ----------
    Derived here: definition of pressure advance.

    Examples
    --------
    >>> peak = advance_peak_speed(0.010, pressure_advance=0.04, filament_acceleration=0.37418)
    >>> f"{peak * 1e3:.2f} mm/s"
    '24.97 mm/s'
    """
    return feed_speed + pressure_advance * filament_acceleration


def step_rate(speed: Quantity, *, steps_per_length: Quantity) -> Quantity:
    """Steps per second at a speed.

    Parameters
    ----------
    speed : Quantity
        Speed of the axis or filament; any, [m/s]
    steps_per_length : Quantity
        Steps per length; above 0, [1/m]

    Returns
    -------
    Quantity
        Step rate, [1/s]

    References
    ----------
    Derived here: definition.

    Examples
    --------
    >>> f"{step_rate(0.06, steps_per_length=690e3):.0f} steps/s"
    '41400 steps/s'
    """
    return np.abs(speed) * steps_per_length


def junction_deviation(square_corner_speed: Quantity, *, acceleration: Quantity) -> Quantity:
    """Deviation that lets a right-angled corner be taken at a given speed.

    Parameters
    ----------
    square_corner_speed : Quantity
        Speed through a right angle; 0 or more, [m/s]
    acceleration : Quantity
        Acceleration of the head; 0 or more, [m/s2]

    Returns
    -------
    Quantity
        Junction deviation; 0 without acceleration, [m]

    References
    ----------
    Derived here: the circle that touches both moves; the method is general in motion control.

    Examples
    --------
    >>> f"{junction_deviation(5e-3, acceleration=3.0) * 1e6:.2f} um"
    '3.45 um'
    """
    return ratio(square_corner_speed**2 * (math.sqrt(2.0) - 1.0), acceleration)
