"""The places where a print is above a limit: how many, how long, and the worst of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats, Moves
from advisor.prints.records import Allowed, Excess

__all__ = ["Excesses"]

_APART = 1.0  # s; moves above a limit that are closer than this are one place

Ints = NDArray[np.intp]


@dataclass(slots=True)
class _Place:
    """A place as it grows: when its last move ends, time above, the worst move and its limit."""

    end: float
    time: float
    times: float
    limit: int
    line: int
    height: float
    feature: int
    tool: int


class Excesses:
    """Counts places above a limit and keeps the worst.

    Parameters
    ----------
    count : int
        How many are kept.
    features : list
        Names by number, filled while the print is read.
    """

    def __init__(self, count: int, features: list[str | None]) -> None:
        self._most, self._features = count, features
        self._open: _Place | None = None
        self._kept: list[_Place] = []
        self.count = 0
        self.time = 0.0

    def add(
        self, moves: Moves, row: Ints, begin: Floats, lasts: Floats, above: Floats, times: Floats,
        limit: Ints,
    ) -> None:  # fmt: skip
        """Take in the moves `row`, in order.

        Parameters
        ----------
        moves : Moves
            All moves.
        row : ndarray of shape (n,)
            Those that are judged.
        begin, lasts : ndarray of shape (n,)
            When each begins and how long it lasts, [s]
        above : ndarray of shape (n,)
            Time above any limit, [s]
        times, limit : ndarray of shape (n,)
            How many times its limit it asks at the worst, and the limit's number.
        """
        at = np.flatnonzero(above > 0.0)
        if not len(at):
            return
        time = np.minimum(above[at], lasts[at])
        self.time += float(time.sum())
        end = begin[at] + lasts[at]
        fresh = np.flatnonzero(begin[at][1:] - end[:-1] > _APART) + 1
        edge = np.concatenate(([0], fresh, [len(at)]))
        spent = np.add.reduceat(time, edge[:-1])
        worst = np.maximum.reduceat(times[at], edge[:-1])
        closed = np.arange(len(edge) - 1) < len(edge) - 2
        closed[0] = False
        least = self._least()
        self.count += int((closed & (worst <= least)).sum())
        for k in np.flatnonzero(~closed | (worst > least)).tolist():
            first, last = int(edge[k]), int(edge[k + 1])
            top = at[first + int(np.argmax(times[at[first:last]]))]
            here = int(row[top])
            place = _Place(
                float(end[last - 1]), float(spent[k]), float(times[top]), int(limit[top]),
                int(moves.line[here]), float(moves.height[here]), int(moves.feature[here]),
                int(moves.tool[here]),
            )  # fmt: skip
            self._grow(place, float(begin[at[first]]))

    def places(self, allowed: tuple[Allowed, ...]) -> tuple[Excess, ...]:
        """Return the worst places, the worst first."""
        self._close()
        return tuple(self._excess(place, allowed[place.limit]) for place in self._kept)

    def _least(self) -> float:
        return self._kept[-1].times if len(self._kept) >= self._most else 0.0

    def _grow(self, place: _Place, begin: float) -> None:
        """Go on with the open place, or begin another."""
        known = self._open
        if known is None or begin - known.end > _APART:
            self._close()
            self._open = place
            return
        known.time, known.end = known.time + place.time, place.end
        if place.times > known.times:
            place.time = known.time
            self._open = place

    def _close(self) -> None:
        if self._open is None:
            return
        self.count += 1
        self._kept = sorted((*self._kept, self._open), key=_rank)[: self._most]
        self._open = None

    def _excess(self, place: _Place, allowed: Allowed) -> Excess:
        return Excess(
            line=place.line,
            height=place.height if np.isfinite(place.height) else None,
            feature=self._features[place.feature],
            tool=place.tool,
            limit=allowed.limit,
            asked=place.times * allowed.flow,
            allowed=allowed.flow,
            time=place.time,
        )


def _rank(place: _Place) -> tuple[float, int]:
    return -place.times, place.line
