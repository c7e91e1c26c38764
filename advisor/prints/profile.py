"""Planned moves as trapezoids: times, ways, time above a speed, time at a way.

The arithmetic of constant acceleration on columns; no limits, no flow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.plan import MotionPlan

__all__ = ["Trapezoids"]

_TINY = 1e-300


@dataclass(slots=True)
class Trapezoids:
    """Speeds [m/s], acceleration [m/s2], ways [m] and times [s] of moves, by columns."""

    length: Floats
    accel: Floats
    start: Floats
    cruise: Floats
    end: Floats
    rise_way: Floats
    cruise_way: Floats
    rise_time: Floats
    cruise_time: Floats
    fall_time: Floats
    time: Floats

    @staticmethod
    def of(plan: MotionPlan) -> Trapezoids:
        """Return the trapezoids of a plan."""
        length, accel = plan.moves.length, plan.moves.accel
        start, cruise, end = np.sqrt(plan.start2), np.sqrt(plan.cruise2), np.sqrt(plan.end2)
        half = 0.5 / accel
        rise_way = (plan.cruise2 - plan.start2) * half
        fall_way = (plan.cruise2 - plan.end2) * half
        cruise_way = np.maximum(length - rise_way - fall_way, 0.0)
        rise_time, fall_time = (cruise - start) / accel, (cruise - end) / accel
        cruise_time = cruise_way / np.maximum(cruise, _TINY)
        time = rise_time + cruise_time + fall_time
        return Trapezoids(length, accel, start, cruise, end, rise_way, cruise_way,
                          rise_time, cruise_time, fall_time, time)  # fmt: skip

    def rows(self, at: NDArray[np.intp] | slice) -> Trapezoids:
        """Return the trapezoids at these places."""
        return Trapezoids(*(getattr(self, name)[at] for name in self.__slots__))

    def above(self, speed: Floats) -> tuple[Floats, Floats]:
        """Return time and way during which each move is faster than `speed`.

        Parameters
        ----------
        speed : ndarray
            A speed below the cruise speed of each move, [m/s]

        Returns
        -------
        tuple of ndarray
            Time [s] and way [m].
        """
        up, down = np.maximum(self.start, speed), np.maximum(self.end, speed)
        time = self.cruise_time + (2.0 * self.cruise - up - down) / self.accel
        way = self.cruise_way + (self.cruise**2 - 0.5 * (up**2 + down**2)) / self.accel
        return time, way

    def time_at(self, move: NDArray[np.intp], way: Floats) -> Floats:
        """Return the time after which moves have gone some way.

        Parameters
        ----------
        move : ndarray
            Places of the moves; a move may occur often.
        way : ndarray
            Way from the start of each, within its length, [m]

        Returns
        -------
        ndarray
            Time from the start of each, [s].
        """
        beyond = way - self.rise_way[move]
        time = self.rise_time[move] + beyond / np.maximum(self.cruise, _TINY)[move]
        early = np.flatnonzero(beyond < 0.0)
        if len(early):
            at, gone = move[early], way[early]
            start = self.start[at]
            speed = np.sqrt(start**2 + 2.0 * self.accel[at] * gone)
            time[early] = 2.0 * gone / np.maximum(start + speed, _TINY)
        late = np.flatnonzero(beyond > self.cruise_way[move])
        if len(late):
            at = move[late]
            rest, end = np.maximum(self.length[at] - way[late], 0.0), self.end[at]
            speed = np.sqrt(end**2 + 2.0 * self.accel[at] * rest)
            time[late] = self.time[at] - 2.0 * rest / np.maximum(end + speed, _TINY)
        return time
