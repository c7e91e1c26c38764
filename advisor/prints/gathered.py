"""What is kept of a print while it goes by: sums, largest values, worst places, flow over time.

Sums go by key (feature, height, tool): neighbouring moves mostly share theirs, so whole runs are
added up first. The worst places are one for each height and feature, then single moves: many moves
of one wall share its flow, and listing them all would say one thing ten times. Stretches of time
begin short and are joined two by two whenever there would be too many; volume is kept exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats, Moves
from advisor.prints.records import Peak, PrintPlace, SeriesPoint

__all__ = ["Group", "Groups", "Highest", "Runs", "Series", "Worst"]

Ints = NDArray[np.intp]
_Key = tuple[int, int, int]
_FIRST = 0.05  # s; length of a stretch at the start


@dataclass(slots=True)
class Runs:
    """Runs of moves by columns: first move of each run in order, sums and peaks by name."""

    first: Ints
    line: NDArray[np.int64]
    sums: Mapping[str, Floats]
    peaks: Mapping[str, Floats]

    @staticmethod
    def of(first: Ints, line: NDArray[np.int64], sums: Mapping[str, Floats]) -> Runs:
        """Add up columns of moves over the runs that begin at `first`."""
        added = {name: np.add.reduceat(column, first) for name, column in sums.items()}
        return Runs(first, line[first], added, {})


@dataclass(slots=True)
class Group:
    """What was gathered under one key."""

    line: int
    sums: dict[str, float] = field(default_factory=dict)
    peaks: dict[str, float] = field(default_factory=dict)

    def merge(self, other: Group) -> None:
        """Take in what another group gathered later."""
        for name, value in other.sums.items():
            self.sums[name] = self.sums.get(name, 0.0) + value
        for name, value in other.peaks.items():
            self.peaks[name] = max(self.peaks.get(name, 0.0), value)


class Groups:
    """Groups by an integer key."""

    def __init__(self) -> None:
        self.by_key: dict[int, Group] = {}

    def add(self, key: Ints, runs: Runs) -> None:
        """Take in runs, `key` being that of each run."""
        keys, first, place = np.unique(key, return_index=True, return_inverse=True)
        sums = {name: np.bincount(place, weights=value) for name, value in runs.sums.items()}
        peaks = {name: np.zeros(len(keys)) for name in runs.peaks}
        for name, value in runs.peaks.items():
            np.maximum.at(peaks[name], place, value)
        lines = runs.line[first]
        for i, number in enumerate(keys.tolist()):
            fresh = Group(
                int(lines[i]),
                {name: float(value[i]) for name, value in sums.items()},
                {name: float(value[i]) for name, value in peaks.items()},
            )
            known = self.by_key.setdefault(number, fresh)
            if known is not fresh:
                known.merge(fresh)

    def rekey(self, change: Callable[[int], int]) -> None:
        """Give every group a new key; groups that then share one are merged."""
        old, self.by_key = self.by_key, {}
        for number, group in old.items():
            known = self.by_key.setdefault(change(number), group)
            if known is not group:
                known.merge(group)


class Highest:
    """The largest value so far and its line."""

    def __init__(self) -> None:
        self.peak = Peak(0.0, 0)

    def add(self, value: Floats, line: NDArray[np.int64]) -> None:
        """Take in values; the first of equals counts."""
        if not len(value):
            return
        at = int(np.argmax(value))
        if value[at] > self.peak.value:
            self.peak = Peak(float(value[at]), int(line[at]))


class Worst:
    """Keeps the `count` worst places.

    Parameters
    ----------
    count : int
        How many.
    features : list
        Names by number, filled while the print is read.
    """

    def __init__(self, count: int, features: list[str | None]) -> None:
        self._count, self._features = count, features
        self._spread: dict[_Key, PrintPlace] = {}
        self._single: list[PrintPlace] = []

    def add(
        self, moves: Moves, row: NDArray[np.intp], flow: Floats,
        *, first: NDArray[np.intp], level: NDArray[np.int64],
    ) -> None:  # fmt: skip
        """Take in moves.

        Parameters
        ----------
        moves : Moves
            All moves.
        row : ndarray
            Those with flow.
        flow : ndarray
            Their peak flow, [m3/s]
        first : ndarray
            Where runs of one height, feature and tool begin.
        level : ndarray
            Number of the height of each run.
        """
        if self._count < 1:
            return
        peak = np.maximum.reduceat(flow, first)
        least = self._least(self._spread.values())
        ends = np.append(first[1:], len(flow))
        for run in np.flatnonzero(peak > least).tolist():
            begin, end = int(first[run]), int(ends[run])
            at = begin + int(np.argmax(flow[begin:end]))
            place = self._place(moves, int(row[at]), float(flow[at]))
            key = (int(level[run]), int(moves.feature[row[at]]), place.tool)
            known = self._spread.get(key)
            if known is None or place.flow > known.flow:
                self._spread[key] = place
        if len(self._spread) > 4 * self._count:
            ranked = sorted(self._spread.items(), key=lambda item: _rank(item[1]))
            self._spread = dict(ranked[: self._count])
        self._add_single(moves, row, flow)

    def places(self) -> tuple[PrintPlace, ...]:
        """Return the worst places, the worst first."""
        chosen = sorted(self._spread.values(), key=_rank)[: self._count]
        taken = {place.line for place in chosen}
        more = [place for place in self._single if place.line not in taken]
        chosen += more[: self._count - len(chosen)]
        return tuple(sorted(chosen, key=_rank))

    def _add_single(self, moves: Moves, row: NDArray[np.intp], flow: Floats) -> None:
        at = np.flatnonzero(flow > self._least(self._single))
        if not len(at):
            return
        at = at[np.argsort(-flow[at], kind="stable")][: 2 * self._count]
        fresh = [self._place(moves, int(row[i]), float(flow[i])) for i in at.tolist()]
        best: dict[int, PrintPlace] = {}
        for place in sorted(self._single + fresh, key=_rank):
            best.setdefault(place.line, place)
        self._single = list(best.values())[: 2 * self._count]

    def _least(self, places: object) -> float:
        """Return the flow a place must exceed to count."""
        flows = sorted((p.flow for p in places), reverse=True)  # type: ignore[attr-defined]
        return flows[self._count - 1] if len(flows) >= self._count else 0.0

    def _place(self, moves: Moves, row: int, flow: float) -> PrintPlace:
        height = float(moves.height[row])
        width, thick = float(moves.width[row]), float(moves.layer_height[row])
        return PrintPlace(
            line=int(moves.line[row]),
            height=height if np.isfinite(height) else None,
            flow=flow,
            feature=self._features[int(moves.feature[row])],
            tool=int(moves.tool[row]),
            width=width if width >= 0.0 else None,
            layer_height=thick if thick >= 0.0 else None,
        )


def _rank(place: PrintPlace) -> tuple[float, int]:
    return -place.flow, place.line


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
