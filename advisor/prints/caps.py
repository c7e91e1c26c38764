"""Caps on a print's flow: the one it was sliced with, and its time under others, planned anew.

A slicer's cap slows each move to one and the same flow, lines of all sections alike; so a heap of
volume at the largest flow, printed at several speeds, is a cap. A heap printed at one speed may as
well be one section at one set speed, and tells nothing. What was slowed stays slow in the file:
nothing is known of it above its own cap.

Under a cap every move along a path that pushes filament and asks for more is slowed until it asks
for the cap; all the rest stays, and each cap has a planner of its own. One pass a cap over the
portions of the print. It judges no machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from advisor.base import InputError
from advisor.prints.dialect import Notes
from advisor.prints.moves import Floats, Moves
from advisor.prints.plan import MotionPlan, Planner, Trapezoids
from advisor.prints.records import CapTime, CapTimes, PrintReport, SlicedCap, Stated

__all__ = ["Capped", "FlowHeap", "cap_times", "stated_cap"]

_LEAST = 1e-13  # m3/s; smaller flows count as this one
_FINE = 1e-3  # logarithmic width of a cell: 0.1 %
_CELLS = 21_000  # up to 1.3e-4 m3/s
_SAME = 1.0 - 1e-9
_SETTING = "demand.profile_flow"
_MM3 = 1e-9
_NUMBER = re.compile(r"\d+\.?\d*|\.\d+")


class FlowHeap:
    """Volume, speeds and steady time by the flow that moves ask for."""

    def __init__(self) -> None:
        self._volume, self._speed, self._speed2, self._steady = np.zeros((4, _CELLS))

    def add(self, flow: Floats, volume: Floats, speed: Floats, steady: Floats) -> None:
        """Take in moves.

        Parameters
        ----------
        flow, volume, speed, steady : ndarray of shape (n,)
            Asked flow [m3/s], extruded volume [m3], asked speed [m/s], time at that speed [s].
        """
        if not len(flow):
            return
        cell = np.floor(np.log(np.maximum(flow, _LEAST) / _LEAST) / _FINE).astype(np.intp)
        np.minimum(cell, _CELLS - 1, out=cell)
        pace = np.log(speed)
        self._volume += _by(cell, volume)
        self._speed += _by(cell, volume * pace)
        self._speed2 += _by(cell, volume * pace * pace)
        self._steady += _by(cell, steady)

    @property
    def steady_time(self) -> float:
        """Time at the asked speed with flow, [s]."""
        return float(self._steady.sum())

    def steady_above(self, flow: float) -> float:
        """Return the time at the asked speed of moves that ask for `flow` [m3/s] or more, [s]."""
        cell = int(np.log(max(flow, _LEAST) / _LEAST) / _FINE)
        return float(self._steady[cell:].sum())

    def largest(self, bounds: Mapping[str, float]) -> float:
        """Return the flow above which no more than a stray share of the volume lies, [m3/s]."""
        above = np.cumsum(self._volume[::-1])[::-1]
        cells = np.flatnonzero(above > bounds["stray"] * above[0])
        return _flow(float(cells[-1])) if len(cells) else 0.0

    def heaped(self, bounds: Mapping[str, float]) -> float | None:
        """Return the flow at which the volume is heaped, None where there is no heap, [m3/s].

        Parameters
        ----------
        bounds : mapping
            ``within`` which share of the flow a heap lies to both sides; ``heap``: least share of
            the volume in it; ``stray``: largest share above it; ``spread``: least spread of the
            speeds in it.
        """
        total = float(self._volume.sum())
        if not total:
            return None
        wide = max(round(2.0 * bounds["within"] / _FINE), 1)
        whole = np.concatenate(([0.0], np.cumsum(self._volume)))
        inside, above = whole[wide:] - whole[:-wide], total - whole[wide:]
        inside = np.where(above <= bounds["stray"] * total, inside, 0.0)
        first = int(np.argmax(inside))
        if inside[first] < bounds["heap"] * total:
            return None
        part = slice(first, first + wide)
        volume = self._volume[part]
        most = volume.sum()
        mean = self._speed[part].sum() / most
        spread = np.sqrt(max(self._speed2[part].sum() / most - mean * mean, 0.0))
        if spread < bounds["spread"]:
            return None
        return _flow(first + float((volume * np.arange(wide)).sum() / most))


def _by(cell: NDArray[np.intp], weight: Floats) -> Floats:
    return np.asarray(np.bincount(cell, weights=weight, minlength=_CELLS), np.float64)


def _flow(cell: float) -> float:
    """Return the flow in the middle of a cell, [m3/s]."""
    return float(_LEAST * np.exp((cell + 0.5) * _FINE))


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


def cap_times(
    capped: Capped, report: PrintReport, pause: float, bounds: Mapping[str, float]
) -> CapTimes:
    """Return the times under each cap and what limits the time without one.

    Parameters
    ----------
    capped : Capped
        The print under its caps, gone through to its end.
    report : PrintReport
        The print as it is.
    pause : float
        Standstill after the last move, [s]
    bounds : mapping
        ``caps`` of the dialect.
    """
    heap, times = capped.heap, capped.times(pause)
    used = [tool.tool for tool in report.tools if tool.volume]
    heaped = heap.heaped(bounds)
    sliced = _sliced(stated_cap(report.stated.get(_SETTING), used), heaped, heap, bounds)
    held, edge = 0.0, 0.0
    if sliced is not None:
        edge = min(sliced.flow, heaped or sliced.flow) * (1.0 - bounds["within"])
        held = heap.steady_above(edge)
    return CapTimes(
        times=times,
        held_time=held,
        accel_time=capped.accel_time,
        speed_time=capped.speed_time + heap.steady_time - held,
        sliced=sliced,
        within=bounds["within"],
        gained=_gained(times, report.time, bounds["gained"], None if sliced is None else edge),
    )


def stated_cap(stated: Stated | None, tools: Iterable[int] = (0,)) -> SlicedCap | None:
    """Return the smallest cap the slicer states of these tools; 0 is none."""
    if stated is None:
        return None
    values = [float(text) for text in _NUMBER.findall(stated.text)]
    mine = [values[tool] if tool < len(values) else values[-1] for tool in tools if values]
    caps = [value for value in mine if value > 0.0]
    return SlicedCap(min(caps) * _MM3, stated.line) if caps else None


def _sliced(
    stated: SlicedCap | None, heaped: float | None, heap: FlowHeap, bounds: Mapping[str, float]
) -> SlicedCap | None:
    """Return the cap that holds the print: the stated one where its flow comes near it."""
    largest, near = heap.largest(bounds), bounds["near"]
    if stated is not None and near * stated.flow <= largest <= stated.flow / near:
        return stated
    return SlicedCap(heaped, 0) if heaped is not None else None


def _gained(
    times: Iterable[CapTime], time: float, share: float, edge: float | None
) -> float | None:
    """Return the flow from which nothing more is gained.

    Where the print was sliced with a cap, at flows from `edge` on, that is known only below it,
    and only where next to no time is held: what is held might run faster without that cap.
    """
    for one in sorted(times, key=lambda one: one.flow):
        if one.time <= time * (1.0 + share):
            if edge is not None and (one.flow >= edge or one.held_time > share * time):
                return None
            return one.flow
    return None
