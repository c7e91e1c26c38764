"""Arcs and helices: exact length, directions at both ends, and the speed the bend allows.

Geometry after ISO 6983-1 (circular interpolation). An arc is described in its plane by two
coordinates and a third along its normal. It plans no speeds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats

__all__ = ["Arcs", "bend_speed2", "cut_arcs", "measure_arcs"]

_TURN = 2.0 * math.pi
_MOST_TURNS = 100.0
_SAME = 1e-9  # m; end on start: a full circle
_MISS = 5e-4  # m; how far the end may lie off the circle about the centre
_MISS_SHARE = 0.02
_MOST_PIECES = 64


@dataclass(slots=True)
class Arcs:
    """Arcs by columns, SI; ``good`` is false where no circle fits.

    ``begin`` is the polar angle of the start about the centre, ``angle`` the angle swept,
    positive counterclockwise, ``rise`` the way along the normal.
    """

    begin: Floats
    angle: Floats
    radius: Floats
    rise: Floats
    length: Floats
    good: NDArray[np.bool_]

    def part(self, at: NDArray[np.bool_]) -> Arcs:
        """Return the arcs where `at` holds."""
        return Arcs(*(getattr(self, f.name)[at] for f in fields(self)))

    def direction(self, turned: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the unit tangent where the angle `turned` was swept."""
        at = self.begin + turned
        flat = _ratio(self.radius * self.angle, self.length)
        return -np.sin(at) * flat, np.cos(at) * flat, _ratio(self.rise, self.length)


def measure_arcs(
    *,
    step: tuple[Floats, Floats, Floats],
    centre: tuple[Floats, Floats],
    radius: Floats,
    turns: Floats,
    clockwise: NDArray[np.bool_],
) -> Arcs:
    """Return the arcs that go from the origin by `step`.

    Parameters
    ----------
    step : three ndarray
        End less start, in the plane and along its normal, [m]
    centre : two ndarray
        Centre less start; NaN where not stated, [m]
    radius : ndarray
        Radius, negative for the longer way round; NaN where not stated, [m]
    turns : ndarray
        Number of turns, a begun one counted whole; NaN where not stated, [-]
    clockwise : ndarray of bool
        The sense of turning, seen against the normal.

    Returns
    -------
    Arcs
        ``good`` is false where no circle fits: such an arc is to be taken as its chord.
    """
    first, second, rise = step
    sense = np.where(clockwise, -1.0, 1.0)
    by_radius = np.isnan(centre[0]) & np.isnan(centre[1]) & ~np.isnan(radius)
    a, b = (np.where(np.isnan(c), 0.0, c) for c in centre)
    if by_radius.any():
        ra, rb = _centre_of(first, second, radius, sense)
        a, b = np.where(by_radius, ra, a), np.where(by_radius, rb, b)
    r = np.hypot(a, b)
    miss = np.abs(np.hypot(first - a, second - b) - r)
    good = (r > _SAME) & (miss <= np.maximum(_MISS, _MISS_SHARE * r))
    begin, end = np.arctan2(-b, -a), np.arctan2(second - b, first - a)
    swept = (sense * (end - begin)) % _TURN
    closed = np.hypot(first, second) <= _SAME
    swept = np.where(closed | (swept <= 0.0), _TURN, swept)
    good &= ~(closed & by_radius)
    more = np.clip(np.where(np.isnan(turns), 1.0, np.floor(turns)) - 1.0, 0.0, _MOST_TURNS)
    swept += more * _TURN
    return Arcs(begin, sense * swept, r, rise, np.hypot(r * swept, rise), good)


def _centre_of(
    first: Floats, second: Floats, radius: Floats, sense: Floats
) -> tuple[Floats, Floats]:
    """Return the centre of the circle of a given radius through both ends.

    The shorter way round for a positive radius. A chord a little longer than the diameter (a
    rounded number) is taken as the diameter.
    """
    chord = np.hypot(first, second)
    half = 0.5 * chord
    size = np.abs(np.where(np.isnan(radius), 0.0, radius))
    fits = half <= size + np.maximum(_MISS, _MISS_SHARE * size)
    aside = np.sqrt(np.maximum(size**2 - half**2, 0.0)) * np.where(radius < 0.0, -1.0, 1.0)
    scale = np.where(fits, _ratio(aside * sense, chord), math.nan)
    a, b = 0.5 * first - second * scale, 0.5 * second + first * scale
    return np.where(fits, a, 0.0), np.where(fits, b, 0.0)


def cut_arcs(arcs: Arcs, resolution: float) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Return into how many pieces arcs are cut, the angle and length of the firmware's pieces.

    The firmware goes along straight pieces of about `resolution`. We cut into as many, up to 64.
    """
    count = np.maximum(np.floor(arcs.length / resolution), 1.0)
    pieces = np.minimum(count, _MOST_PIECES).astype(np.intp)
    return pieces, np.abs(arcs.angle) / count, arcs.length / count


def bend_speed2(turn: Floats, length: Floats, *, accel: Floats, deviation: Floats) -> Floats:
    """Return the squared speed through the corner between two equal pieces of an arc.

    Parameters
    ----------
    turn, length : ndarray
        Angle between the pieces [rad] and their length [m]
    accel, deviation : ndarray
        Acceleration [m/s2] and junction deviation [m]

    Returns
    -------
    ndarray
        Speed squared, [m2/s2]
    """
    sine, cosine = np.abs(np.cos(0.5 * turn)), np.abs(np.sin(0.5 * turn))
    by_deviation = deviation * accel * sine * (1.0 + sine) / np.maximum(cosine**2, 1e-30)
    by_centre = 0.5 * length * accel * sine / np.maximum(cosine, 1e-30)
    least: Floats = np.minimum(by_deviation, by_centre)
    return least


def _ratio(numerator: Floats, denominator: Floats) -> Floats:
    quotient: Floats = numerator / np.where(denominator == 0.0, 1.0, denominator)
    return quotient
