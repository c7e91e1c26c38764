"""A print's time with every flow held to a cap, as a slicer's cap does it: by speed, planned anew.

Every move along a path that pushes filament and asks for more than the cap is slowed until it asks
for the cap; all the rest stays, and each cap has a planner of its own. One pass a cap over the
portions of the print. It judges no machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from advisor.base import InputError
from advisor.prints.heap import FlowHeap
from advisor.prints.moves import Floats, Moves
from advisor.prints.notes import Notes
from advisor.prints.plan import MotionPlan, Planner
from advisor.prints.profile import Trapezoids
from advisor.prints.records import CapTime

__all__ = ["Capped"]

_SAME = 1.0 - 1e-9


class Capped:
    """Follows a print under several caps at once, and what limits its time without one.

    Parameters
    ----------
    caps : sequence of float
        Flows, [m3/s]
    filament_area : float
        Cross-section of the filament, [m2]
    within : float
        A move whose flow is so little below a cap, as a share of it, is held by it too: prints are
        written with rounded numbers, [-]

    Raises
    ------
    InputError
        If a cap is not above zero.
    """

    def __init__(self, caps: Sequence[float], filament_area: float, within: float) -> None:
        for cap in caps:
            if not 0.0 < cap < np.inf:
                raise InputError(f"a cap of {cap:g} m3/s cannot be", "state a flow above 0")
        self._area = filament_area
        self._runs = tuple(_Run(cap, filament_area, within) for cap in caps)
        self.heap = FlowHeap()
        self.accel_time = self.speed_time = 0.0

    def push(self, moves: Moves) -> None:
        """Take moves that are not planned yet, and hold them to each cap."""
        section = _section(moves, self._area)
        flow2 = section * section * moves.speed2
        for run in self._runs:
            run.push(moves, section, flow2)

    def finish(self) -> None:
        """Take in that the print ends here."""
        for run in self._runs:
            run.finish()

    def without(self, plan: MotionPlan) -> None:
        """Take in moves as they are planned without a cap."""
        moves, shape = plan.moves, Trapezoids.of(plan)
        steady = np.where(plan.cruise2 >= moves.speed2 * _SAME, shape.cruise_time, 0.0)
        steady *= moves.path
        self.accel_time += float(((shape.time - steady) * moves.path).sum())
        section = _section(moves, self._area)
        row = np.flatnonzero(section)
        self.speed_time += float(steady.sum() - steady[row].sum())
        speed = np.sqrt(moves.speed2[row])
        self.heap.add(section[row] * speed, section[row] * moves.length[row], speed, steady[row])

    def times(self, pause: float) -> tuple[CapTime, ...]:
        """Return the time at each cap; `pause` is the standstill after the last move, [s]."""
        return tuple(CapTime(run.cap, run.time + pause, run.held) for run in self._runs)


class _Run:
    """The print under one cap."""

    def __init__(self, cap: float, area: float, within: float) -> None:
        self.cap, self._area = cap, area
        self._near2 = (cap * (1.0 - within)) ** 2
        self.time = self.held = 0.0
        self._planner = Planner(Notes())

    def push(self, moves: Moves, section: Floats, flow2: Floats) -> None:
        over = np.flatnonzero(flow2 > self.cap * self.cap)
        if len(over):
            speed2 = moves.speed2.copy()
            speed2[over] = (self.cap / section[over]) ** 2
            moves = replace(moves, speed2=speed2)
        for plan in self._planner.push(moves):
            self._add(plan)

    def finish(self) -> None:
        for plan in self._planner.finish():
            self._add(plan)

    def _add(self, plan: MotionPlan) -> None:
        """Add up as the tally does, so that a cap nobody meets changes no digit."""
        moves, shape = plan.moves, Trapezoids.of(plan)
        wait = np.maximum(moves.pause, 0.0)
        end = np.cumsum(shape.time + wait if float(wait.sum()) else shape.time)
        end += self.time
        self.time = float(end[-1])
        section = _section(moves, self._area)
        full = section * section * moves.speed2 >= self._near2
        full &= plan.cruise2 >= moves.speed2 * _SAME
        self.held += float(shape.cruise_time[full].sum())


def _section(moves: Moves, area: float) -> Floats:
    """Return the volume per path of moves that a slicer's cap slows, 0 of all others, [m2]."""
    return np.maximum(moves.ratio, 0.0) * area * moves.path
