"""Moves that the firmware refuses, and stops the print, or slows, so that the nozzle oozes.

The rules are those of the ini-style firmware (from memory). Filament without path in x or y, or
backward, is held to a largest distance; a line is held to a largest cross-section, but for one that
moves next to no filament. Filament alone is slowed by a speed below its own or a low acceleration:
the head stands meanwhile, for longer than the print says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from advisor.prints.modal import MoveField, Timeline
from advisor.prints.moves import Floats, Moves
from advisor.prints.path import Ways
from advisor.prints.records import MachineLimits, Refused, Slowed

__all__ = ["Refusals", "Slowing"]

_MORE = 1.0 + 1e-6  # a move at its limit is let through
_NOTHING = 1e-12  # m


class Refusals:
    """Counts the moves beyond each limit, with the first line and the largest ask.

    Parameters
    ----------
    limits : MachineLimits
        What the config allows.
    filament_area : float
        Cross-section of the filament, [m2]
    """

    def __init__(self, limits: MachineLimits, filament_area: float) -> None:
        self._limits, self._area = limits, filament_area
        self._found: dict[str, Refused] = {}

    def add(self, moves: Moves) -> None:
        """Take in moves in the order of the print."""
        way = moves.ratio * moves.length
        alone = ~moves.flat | (moves.ratio < 0.0)
        longest = self._limits.max_extrude_only_distance
        if np.isfinite(longest):
            self._keep("distance", moves, alone & (np.abs(way) > longest * _MORE), np.abs(way),
                       longest)  # fmt: skip
        widest = self._limits.max_cross_section
        if np.isfinite(widest):
            section = moves.ratio * self._area
            little = self._limits.nozzle_diameter * widest / self._area
            thick = ~alone & (section > widest * _MORE) & (way > little)
            self._keep("section", moves, thick, section, widest)

    def _keep(
        self, kind: str, moves: Moves, over: NDArray[np.bool_], asked: NDArray[np.float64],
        allowed: float,
    ) -> None:  # fmt: skip
        at = np.flatnonzero(over)
        if not len(at):
            return
        worst, line = float(asked[at].max()), int(moves.line[at[0]])
        before = self._found.get(kind)
        if before is not None:
            worst, line = max(worst, before.asked), before.line
        count = len(at) + (before.count if before is not None else 0)
        self._found[kind] = Refused(kind, count, line, worst, allowed)

    def records(self, temperature: float | None, line: int, *, extrudes: bool) -> Iterator[Refused]:
        """Yield what is refused; `temperature` [K] is the highest the print sets, in `line`."""
        yield from self._found.values()
        if temperature is None:
            return
        limits = self._limits
        if temperature > limits.max_temperature:
            yield Refused("hot", 1, line, temperature, limits.max_temperature)
        if extrudes and temperature < limits.min_extrude_temperature:
            yield Refused("cold", 1, line, temperature, limits.min_extrude_temperature)


class Slowing:
    """Counts the moves of filament alone that are slowed, and keeps the worst of each kind.

    Parameters
    ----------
    bounds : mapping
        From which excess on it counts: ``beyond`` (times the speed limit), ``times`` (as long as
        at the speed alone) together with ``longer`` [s].
    """

    def __init__(self, bounds: Mapping[str, float]) -> None:
        self._bounds = bounds
        self._found: dict[str, Slowed] = {}

    def add(self, ways: Ways, timeline: Timeline) -> None:
        """Take in the moves of a block, in the order of the print."""
        alone = np.flatnonzero((ways.length <= _NOTHING) & (np.abs(ways.filament) > _NOTHING))
        if not len(alone):
            return
        timeline.place(ways.place)
        limit, accel = (
            np.broadcast_to(timeline.column(field), ways.length.shape)[alone]
            for field in (MoveField.E_VELOCITY, MoveField.E_ACCEL)
        )
        way, feed, line = np.abs(ways.filament[alone]), ways.feed[alone], ways.line[alone]
        self._keep("speed", line, feed > limit * self._bounds["beyond"], feed, limit)
        speed = np.minimum(feed, limit)
        plain, lasts = way / speed, _from_rest(way, speed, accel)
        crawls = (lasts > self._bounds["times"] * plain) & (lasts > self._bounds["longer"] + plain)
        self._keep("time", line, crawls, lasts, plain)

    def _keep(
        self, kind: str, line: NDArray[np.int64], over: NDArray[np.bool_], worse: Floats,
        better: Floats,
    ) -> None:  # fmt: skip
        at = np.flatnonzero(over)
        if not len(at):
            return
        top = at[int(np.argmax(worse[at]))]
        before = self._found.get(kind)
        count = len(at) + (before.count if before is not None else 0)
        here = Slowed(kind, count, int(line[top]), float(worse[top]), float(better[top]))
        if before is not None and before.worse >= here.worse:
            here = Slowed(kind, count, before.line, before.worse, before.better)
        self._found[kind] = here

    @property
    def records(self) -> tuple[Slowed, ...]:
        """What is slowed: by the speed limit first."""
        return tuple(self._found[kind] for kind in ("speed", "time") if kind in self._found)


def _from_rest(way: Floats, speed: Floats, accel: Floats) -> Floats:
    """Return how long moves from standstill to standstill take, [s]."""
    peak = np.minimum(speed, np.sqrt(accel * way))
    with np.errstate(invalid="ignore"):
        lasts = way / peak + peak / accel
    return np.where(np.isfinite(accel), lasts, way / speed)
