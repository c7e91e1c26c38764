"""What motion asks of the extruder: beads, pressure advance, junctions, speed profiles, look-ahead.

Look-ahead without a minimum cruise ratio. It plans arrays of moves and reads no print files.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from advisor.frozen import frozen
from advisor.physics._arrays import Quantity, ratio, select

__all__ = [
    "Trapezoid",
    "advance_peak_speed",
    "bead_area",
    "filament_acceleration",
    "firmware_flow",
    "junction_caps_squared",
    "junction_deviation",
    "junction_speed_squared",
    "line_flow",
    "look_ahead_squared",
    "step_rate",
    "trapezoid",
]

Array = NDArray[np.float64]

STRAIGHT = 1.0 - 1e-12  # direction cosine from which two moves count as one line


@frozen
class Trapezoid:
    """Speed profile of a move: peak speed [m/s] and the three times [s]."""

    peak_speed: Quantity
    accelerate_time: Quantity
    cruise_time: Quantity
    decelerate_time: Quantity


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


def junction_speed_squared(
    direction_cosine: Quantity,
    *,
    junction_deviation: Quantity,
    acceleration: Quantity,
    length: Quantity,
) -> Quantity:
    """Square of the speed at which one move may enter or leave a junction.

    The circle that touches both moves within the deviation, and the centripetal limit of a move
    of this length. Straight on there is no cap; a reversal is taken at rest.

    Parameters
    ----------
    direction_cosine : Quantity
        Dot product of the unit directions before and after: 1 straight on, -1 back, [-]
    junction_deviation : Quantity
        Junction deviation of the move, [m]
    acceleration : Quantity
        Acceleration of the move, [m/s2]
    length : Quantity
        Length of the move, [m]

    Returns
    -------
    Quantity
        Speed squared; inf straight on, [m2/s2]
    """
    cosine = np.clip(direction_cosine, -1.0, 1.0)
    sine_half = np.sqrt(0.5 * (1.0 + cosine))
    cosine_half = np.sqrt(0.5 * (1.0 - cosine))
    deviation = junction_deviation * acceleration * ratio(sine_half, 1.0 - sine_half)
    centripetal = 0.5 * length * acceleration * ratio(sine_half, cosine_half)
    straight = np.greater_equal(direction_cosine, STRAIGHT)
    return select(straight, math.inf, np.minimum(deviation, centripetal))


def junction_caps_squared(
    direction_cosines: Array,
    *,
    cruise_speed: Array,
    acceleration: Array,
    length: Array,
    square_corner_speed: Quantity,
) -> Array:
    """Largest squared speed at each end of a row of moves, at rest before and after.

    Parameters
    ----------
    direction_cosines : ndarray of shape (n - 1,)
        Dot product of the unit directions of each move and the next, [-]
    cruise_speed : ndarray of shape (n,)
        Cruise speed of each move, [m/s]
    acceleration : ndarray of shape (n,)
        Acceleration of each move, [m/s2]
    length : ndarray of shape (n,)
        Length of each move, [m]
    square_corner_speed : Quantity
        Speed through a right angle, [m/s]

    Returns
    -------
    ndarray of shape (n + 1,)
        Speed squared, [m2/s2]
    """
    caps = np.zeros(len(length) + 1)
    deviation = junction_deviation(square_corner_speed, acceleration=acceleration)
    deviation = np.broadcast_to(deviation, np.shape(length))
    cruise = cruise_speed**2
    inner = np.minimum(cruise[:-1], cruise[1:])
    for side in (slice(None, -1), slice(1, None)):
        speed = junction_speed_squared(
            direction_cosines,
            junction_deviation=deviation[side],
            acceleration=acceleration[side],
            length=length[side],
        )
        inner = np.minimum(inner, speed)
    caps[1:-1] = inner
    return caps


def look_ahead_squared(caps_squared: Array, *, length: Array, acceleration: Array) -> Array:
    """Squared speeds at the junctions that every move can reach and can stop from.

    Two running minima instead of a loop backward and a loop forward. Exact up to rounding of the
    running sum of 2 a d: plan long prints in windows.

    Parameters
    ----------
    caps_squared : ndarray of shape (n + 1,)
        Largest squared speed at each junction, the ends included, [m2/s2]
    length : ndarray of shape (n,)
        Length of each move, [m]
    acceleration : ndarray of shape (n,)
        Acceleration of each move, [m/s2]

    Returns
    -------
    ndarray of shape (n + 1,)
        Speed squared, never below zero, [m2/s2]
    """
    gain = np.concatenate(([0.0], np.cumsum(2.0 * acceleration * length)))
    backward = np.minimum.accumulate((caps_squared + gain)[::-1])[::-1] - gain
    forward = np.minimum.accumulate(backward - gain) + gain
    speeds: Array = np.maximum(forward, 0.0)
    return speeds


def trapezoid(
    length: Quantity,
    *,
    entry_speed: Quantity,
    cruise_speed: Quantity,
    exit_speed: Quantity,
    acceleration: Quantity,
) -> Trapezoid:
    """Times of a move that speeds up, cruises and slows down at one acceleration.

    Entry and exit speed must be within reach of each other, as `look_ahead_squared` makes them.

    Parameters
    ----------
    length : Quantity
        Length of the move, [m]
    entry_speed, cruise_speed, exit_speed : Quantity
        Speed at the start, wanted speed, speed at the end, [m/s]
    acceleration : Quantity
        Acceleration, [m/s2]

    Returns
    -------
    Trapezoid
        Peak speed and times; no cruise where the peak is below the wanted speed, [m/s, s]
    """
    meet = 0.5 * (entry_speed**2 + exit_speed**2) + acceleration * length
    floor = np.maximum(entry_speed, exit_speed)
    peak = np.maximum(np.minimum(cruise_speed, np.sqrt(meet)), floor)
    rise, fall = peak - entry_speed, peak - exit_speed
    ramps = ratio(peak**2 - 0.5 * (entry_speed**2 + exit_speed**2), acceleration)
    cruise = ratio(np.maximum(length - ramps, 0.0), peak)
    return Trapezoid(peak, ratio(rise, acceleration), cruise, ratio(fall, acceleration))
