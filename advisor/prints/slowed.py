"""Moves of filament alone that the firmware slows: below their speed, or by a low acceleration.

The firmware moves no head meanwhile: such a move begins and ends at a standstill. Nothing stops
the print; the nozzle stands still for longer than the print says, and oozes.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from advisor.prints.modal import MoveField, Timeline
from advisor.prints.moves import Floats
from advisor.prints.path import Ways
from advisor.prints.records import Slowed

__all__ = ["Slowing"]

_NOTHING = 1e-12  # m


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
