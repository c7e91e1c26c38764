"""Flow over time in at most so many stretches of equal time; volume is kept exactly.

Stretches begin short and are joined two by two whenever there would be too many.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.records import SeriesPoint

__all__ = ["Series"]

_FIRST = 0.05  # s; length of a stretch at the start


class Series:
    """Gathers a time series.

    Parameters
    ----------
    most : int
        Largest number of stretches, at least 2.
    """

    def __init__(self, most: int) -> None:
        self._most = max(most + most % 2, 2)
        self._width = _FIRST
        self._volume = np.zeros(self._most)
        self._peak = np.zeros(self._most)
        self._height = np.full(self._most, math.nan)
        self._line = np.zeros(self._most, np.int64)
        self._end = 0.0

    def add(
        self, *, begin: Floats, end: Floats, volume: Floats, flow: Floats, height: Floats,
        line: NDArray[np.int64], gapless: bool,
    ) -> None:  # fmt: skip
        """Take in moves in order of time; the volume of each is spread evenly over it.

        Parameters
        ----------
        begin, end : ndarray
            When each move begins and ends, [s]
        volume, flow : ndarray
            Its volume [m3] and peak flow [m3/s]; both 0 where there is no flow.
        height : ndarray
            Its height; counts where there is flow, [m]
        line : ndarray
            Its line.
        gapless : bool
            Whether each move begins when the one before ends.
        """
        self._end = float(end[-1])
        while self._end > self._width * self._most:
            self._join()
        low = int(begin[0] / self._width)
        high = max(min(math.ceil(self._end / self._width), self._most), low + 1)
        edge = np.arange(low, high + 1) * self._width
        edge[0], edge[-1] = min(edge[0], begin[0]), max(edge[-1], self._end)
        clock, done = np.append(begin[0], end), np.append(0.0, np.cumsum(volume))
        if not gapless:
            clock = np.column_stack((begin, end)).reshape(-1)
            done = np.repeat(done, 2)[1:-1]
        self._volume[low:high] += np.diff(np.interp(edge, clock, done))
        first = np.searchsorted(end, edge[:-1], side="right")
        last = np.maximum(np.searchsorted(begin, edge[1:], side="left"), first + 1)
        span = np.minimum(np.column_stack((first, last)), len(end) - 1).reshape(-1)
        peak = np.maximum.reduceat(flow, span)[::2]
        peak = np.where(last >= len(end), np.maximum(peak, flow[-1]), peak)
        np.maximum(self._peak[low:high], peak, out=self._peak[low:high])
        first = np.minimum(first, len(end) - 1)
        known = self._line[low:high]
        self._line[low:high] = np.where(known == 0, line[first], known)
        flowing = np.flatnonzero(volume)
        if len(flowing):
            mine, fresh = _last_of_each(begin, end, flowing, edge)
            self._height[low:high][fresh] = height[mine[fresh]]

    def points(self) -> tuple[SeriesPoint, ...]:
        """Return the stretches up to the end of the print."""
        count = min(math.ceil(self._end / self._width), self._most)
        points = []
        height, line = math.nan, 0
        for i in range(count):
            height = float(self._height[i]) if not math.isnan(self._height[i]) else height
            line = int(self._line[i]) or line
            start = i * self._width
            lasts = min(self._width, self._end - start)
            mean = float(self._volume[i]) / max(lasts, 1e-9)
            shown = height if math.isfinite(height) else None
            peak = max(float(self._peak[i]), mean)
            points.append(SeriesPoint(start, lasts, mean, peak, shown, line))
        return tuple(points)

    def _join(self) -> None:
        half = self._most // 2
        self._width *= 2.0
        self._volume = _halved(self._volume.reshape(half, 2).sum(axis=1), 0.0)
        self._peak = _halved(self._peak.reshape(half, 2).max(axis=1), 0.0)
        pair = self._height.reshape(half, 2)
        self._height = _halved(np.where(np.isnan(pair[:, 1]), pair[:, 0], pair[:, 1]), math.nan)
        pair = self._line.reshape(half, 2)
        line = np.zeros(self._most, np.int64)
        line[:half] = np.where(pair[:, 0] == 0, pair[:, 1], pair[:, 0])
        self._line = line


def _halved(values: Floats, filler: float) -> Floats:
    return np.concatenate((values, np.full(len(values), filler)))


def _last_of_each(
    begin: Floats, end: Floats, flowing: NDArray[np.intp], edge: NDArray[np.floating]
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the last flowing move of each span of time, and which spans have one."""
    at = np.searchsorted(begin[flowing], edge[1:], side="left") - 1
    mine = flowing[np.maximum(at, 0)]
    return mine, (at >= 0) & (end[mine] > edge[:-1])
