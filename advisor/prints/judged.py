"""Holds a print to its limits, each over its own window, and keeps the places above one.

The pressure's lag and the heater's time are windows of time. The melt zone's window is a volume m;
but the mean over m is above a flow q just where more than m is extruded within m / q, so that the
time above follows from a window of time as well.

Of the places above a limit it keeps how many, how long, and the worst of them.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from advisor.prints.gathered import Highest
from advisor.prints.moves import Floats, Moves
from advisor.prints.plan import Trapezoids
from advisor.prints.records import Allowed, Excess, Peak, WindowDemand, Windows
from advisor.prints.timed import Stretch, TimedMean

__all__ = ["Excesses", "Judged"]

_APART = 1.0  # s; moves above a limit that are closer than this are one place

Ints = NDArray[np.intp]
_LONGEST_MELT = 600.0  # s; in place of m / q where a melt zone melts next to nothing
_LEAST_FLOW = 1e-15  # m3/s
_ABOVE = 1.0 + 1e-8


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


@dataclass(slots=True)
class _Kind:
    """A kind of window: its limits, what was asked over it, the time above each limit."""

    allowed: tuple[Allowed, ...]
    asked: Highest = field(default_factory=Highest)
    shortest: float = np.inf
    longest: float = 0.0
    above: Floats = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        self.above = np.zeros(len(self.allowed))

    @property
    def flows(self) -> tuple[float, ...]:
        return tuple(one.flow for one in self.allowed)


class Judged:
    """Judges the moves of a print.

    Parameters
    ----------
    windows : Windows
        The limits and what is known of their windows.
    melt_volume : float
        Volume of the melt zone, [m3]
    excesses : Excesses
        Where places above a limit are gathered.
    """

    def __init__(self, windows: Windows, melt_volume: float, excesses: Excesses) -> None:
        self._windows, self._melt_volume, self._excesses = windows, melt_volume, excesses
        self._kinds = {
            over: _Kind(tuple(one for one in windows.allowed if one.over == over))
            for over in ("lag", "heat", "melt")
        }
        self._means: dict[tuple[int, str], TimedMean] = {}

    def add(
        self, moves: Moves, shape: Trapezoids, row: Ints, begin: Floats, section: Floats, tool: Ints
    ) -> None:
        """Take in the moves `row` of a plan, which have flow, in order.

        Parameters
        ----------
        moves, shape : Moves, Trapezoids
            All moves.
        row : ndarray of shape (n,)
            Those with flow.
        begin, section, tool : ndarray of shape (n,)
            When each of these begins [s], its volume per path [m2] and its tool.
        """
        found = _Found(np.zeros(len(row)), np.zeros(len(row)), np.full(len(row), -1))
        for number in np.unique(tool).tolist() if tool.any() else [0]:
            at = np.flatnonzero(tool == number)
            stretch = Stretch.of(shape, row[at], begin[at], section[at])
            part = _Part(number, stretch, moves.line[row[at]], at)
            self._add_lagging(part, moves.advance[row[at]], found)
            self._look("heat", part, self._windows.heat, found)
            if self._kinds["melt"].allowed:
                flow = max(min(self._kinds["melt"].flows), _LEAST_FLOW)
                self._look("melt", part, min(self._melt_volume / flow, _LONGEST_MELT), found)
        self._excesses.add(moves, row, begin, shape.time[row], found.time, found.times, found.limit)

    def _add_lagging(self, part: _Part, advance: Floats, found: _Found) -> None:
        """Judge over the pressure's lag, which the print may change."""
        lags = np.where(advance > 0.0, advance, self._windows.lag)
        edge = np.concatenate(([0], np.flatnonzero(np.diff(lags)) + 1, [len(lags)]))
        for first, last in itertools.pairwise(edge.tolist()):
            self._look("lag", part.cut(first, last), float(lags[first]), found)

    def _look(self, over: str, part: _Part, lasts: float, found: _Found) -> None:
        kind = self._kinds[over]
        mean = self._means.get((part.tool, over))
        if mean is None:
            mean = TimedMean(kind.flows, seek_peak=over != "melt")
            self._means[part.tool, over] = mean
        peak, above = mean.follow(part.stretch, lasts)
        kind.asked.add(peak, part.line)
        kind.shortest, kind.longest = min(kind.shortest, lasts), max(kind.longest, lasts)
        kind.above += above.sum(axis=1)
        if not kind.allowed:
            return
        lowest = int(np.argmin(kind.flows))
        number = self._windows.allowed.index(kind.allowed[lowest])
        found.take(part.at, number, peak / max(kind.flows[lowest], _LEAST_FLOW), above[lowest])

    def demands(self, sustained: Peak | None) -> tuple[WindowDemand, ...]:
        """Return what was asked of each limit; `sustained` is the largest mean over the melt zone.

        That one is found at steps of volume, a little low: where time was spent above the limit
        it is just above the limit.
        """
        return tuple(self._demand(one, sustained) for one in self._windows.allowed)

    def _demand(self, one: Allowed, sustained: Peak | None) -> WindowDemand:
        kind = self._kinds[one.over]
        above = float(kind.above[kind.allowed.index(one)])
        if one.over == "melt":
            if sustained is not None and above:
                sustained = Peak(max(sustained.value, one.flow * _ABOVE), sustained.line)
            volume = self._melt_volume
            return WindowDemand(one.limit, "melt", volume, volume, sustained, one.flow, above)
        usual = self._windows.lag if one.over == "lag" else self._windows.heat
        shortest, longest = min(kind.shortest, kind.longest) or usual, kind.longest or usual
        return WindowDemand(
            one.limit, one.over, shortest, longest, kind.asked.peak, one.flow, above
        )

    def places(self) -> tuple[Excess, ...]:
        """Return the worst places above a limit, the worst first."""
        return self._excesses.places(self._windows.allowed)


@dataclass(slots=True)
class _Part:
    """Moves of one tool: their lines, and their places among all that are judged."""

    tool: int
    stretch: Stretch
    line: NDArray[np.int64]
    at: Ints

    def cut(self, first: int, last: int) -> _Part:
        if last - first == len(self.at):
            return self
        part = slice(first, last)
        return _Part(self.tool, self.stretch.part(part), self.line[part], self.at[part])


@dataclass(slots=True)
class _Found:
    """Of each move: time above any limit [s], times the limit at the worst, which limit."""

    time: Floats
    times: Floats
    limit: Ints

    def take(self, at: Ints, limit: int, times: Floats, time: Floats) -> None:
        """Take in what one kind of window found; time that two share counts twice."""
        self.time[at] += time
        worse = (time > 0.0) & (times > self.times[at])
        self.times[at[worse]], self.limit[at[worse]] = times[worse], limit
