"""Adds up what planned moves ask of the extruder: time, volume, flow, speed of the filament.

It takes plans in the order of the print, in portions, and keeps sums only.

Pushes of filament alone ask for flow where they bring new plastic, and more than primes a melt
zone. What was drawn back and is pushed again is no flow, nor are the first millimetres that fill
the melt zone again, nor what follows a change of tool until a line is laid: the filament is loaded
there.

Sustained flow is the largest mean over a fixed extruded volume, as the print goes by. The time is
noted at equal steps of extruded volume; a window is the difference of two notes. It takes windows
at those steps only: between them the mean differs by less than a step's share.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.gathered import Groups, Highest, Runs, Series, Worst
from advisor.prints.judged import Judged
from advisor.prints.moves import Floats, Moves
from advisor.prints.plan import MotionPlan, Trapezoids

__all__ = ["LEVEL", "STEPS", "Pushes", "Tally", "Window"]

STEPS = 128  # steps of a window
_AT_ONCE = 1 << 17  # notes taken at once
_IN_MOVE = 8  # windows looked at within a move that is longer than two of them
_MOSTLY = 0.5  # share of a push that must be new for it to count, then as a whole
Flags = NDArray[np.bool_]
LEVEL = 1e-5  # m; heights closer than this are one
_MOST_LEVELS = 20_000
_NO_LEVEL = -(2**40)  # number of an unknown height
_OVER = (("over_time", "over_volume"), ("skip_time", "skip_volume"))
Ints = NDArray[np.intp]


class Window:
    """Follows one tool.

    Parameters
    ----------
    volume : float
        Volume of a window, [m3]
    """

    def __init__(self, volume: float) -> None:
        self._volume, self._step = volume, volume / STEPS
        self._filled = 0.0  # volume since the last note
        self._notes: Floats | None = None

    def follow(
        self, shape: Trapezoids, row: NDArray[np.intp], begin: Floats, section: Floats
    ) -> tuple[NDArray[np.intp], Floats]:
        """Take moves and return the windows that end in them.

        Parameters
        ----------
        shape : Trapezoids
            All moves, in order.
        row : ndarray of shape (n,)
            Which of them have path and filament forward.
        begin : ndarray of shape (n,)
            When each of these begins, [s]
        section : ndarray of shape (n,)
            Volume per path, [m2]

        Returns
        -------
        tuple of ndarray
            The place in `row` of the move each window ends in, in order, and the mean flow
            over it, [m3/s].
        """
        if self._notes is None:
            self._notes = begin[:1].copy()
        notes = np.cumsum(np.minimum(section * shape.length[row] / self._step, 2.0 * STEPS))
        cuts = np.searchsorted(notes, np.arange(_AT_ONCE, notes[-1], _AT_ONCE)) + 1
        if not len(cuts):
            return self._follow(shape, row, begin, section)
        edges = [0, *np.unique(cuts).tolist(), len(row)]
        moves, flows = [], []
        for a, b in itertools.pairwise(edges):
            if a < b:
                move, flow = self._follow(shape, row[a:b], begin[a:b], section[a:b])
                moves.append(move + a)
                flows.append(flow)
        return np.concatenate(moves), np.concatenate(flows)

    def _follow(
        self, shape: Trapezoids, row: NDArray[np.intp], begin: Floats, section: Floats
    ) -> tuple[NDArray[np.intp], Floats]:
        """Take moves that are not too many."""
        volume = section * shape.length[row]
        taken = np.minimum(volume, 2.0 * self._volume)  # the middle of a long move is passed over
        done = self._filled + np.cumsum(taken)
        count = np.floor(done / self._step).astype(np.intp)
        fresh = count.copy()
        fresh[1:] -= count[:-1]
        move = np.repeat(np.arange(len(begin)), fresh)
        within = self._step * np.arange(1, len(move) + 1)
        within -= (done - taken)[move]
        np.clip(within, 0.0, taken[move], out=within)
        late = np.flatnonzero(within > self._volume)
        if len(late):
            within[late] += (volume - taken)[move[late]]
        self._filled = float(done[-1] - count[-1] * self._step)
        flow = self._means(begin[move] + shape.time_at(row[move], within / section[move]))
        return self._with_long(shape, row, section, volume, move[len(move) - len(flow) :], flow)

    def _means(self, noted: Floats) -> Floats:
        assert self._notes is not None
        notes = np.concatenate((self._notes, noted))
        self._notes = notes[-STEPS:]
        if len(notes) <= STEPS:
            return np.empty(0)
        lasted = notes[STEPS:] - notes[:-STEPS]
        return self._volume / np.maximum(lasted, 1e-12)

    def _with_long(
        self, shape: Trapezoids, row: NDArray[np.intp], section: Floats, volume: Floats,
        move: NDArray[np.intp], flow: Floats,
    ) -> tuple[NDArray[np.intp], Floats]:  # fmt: skip
        """Add the windows in the middle of moves longer than two windows."""
        long = np.flatnonzero(volume > 2.0 * self._volume)
        if not len(long):
            return move, flow
        window, at = self._volume / section[long], row[long]
        best = np.zeros(len(long))
        for k in range(_IN_MOVE + 1):
            first = shape.rise_way[at] - window * k / _IN_MOVE
            first = np.clip(first, 0.0, shape.length[at] - window)
            lasted = shape.time_at(at, first + window) - shape.time_at(at, first)
            np.maximum(best, self._volume / np.maximum(lasted, 1e-12), out=best)
        order = np.argsort(np.concatenate((move, long)), kind="stable")
        return np.concatenate((move, long))[order], np.concatenate((flow, best))[order]


@dataclass(slots=True)
class _Tool:
    """Of one tool: how far its filament is drawn back, and what was pushed since a line [m]."""

    drawn: float = 0.0
    pushed: float = 0.0


class Pushes:
    """Follows a print in portions.

    Parameters
    ----------
    prime : float
        Length of filament that fills the melt zone, [m]
    """

    def __init__(self, prime: float) -> None:
        self._prime = prime
        self._tools: dict[int, _Tool] = {}
        self._tool = 0
        self._loading = False

    def counted(self, moves: Moves) -> Flags:
        """Return which moves are pushes of filament alone that ask for flow, shape (n,)."""
        way = moves.ratio * moves.length
        push = ~moves.path & (way > 0.0)
        tool = moves.tool
        loading = self._loads(moves, way)
        counted = np.zeros(len(way), bool)
        for number in np.unique(tool).tolist() if tool.any() else [0]:
            at = np.flatnonzero(tool == number)
            state = self._tools.setdefault(int(number), _Tool())
            counted[at] = _new(state, way[at], push[at], self._prime)
        return counted & ~loading

    def _loads(self, moves: Moves, way: NDArray[np.float64]) -> Flags:
        """Whether a move stands between a change of tool and the first line after it."""
        tool = moves.tool
        before = np.empty_like(tool)
        before[0] = self._tool
        before[1:] = tool[:-1]
        place = np.arange(1, len(tool) + 1)
        change = np.maximum.accumulate(np.where(tool != before, place, int(self._loading)))
        line = np.maximum.accumulate(np.where(moves.path & (way > 0.0), place, 0))
        loading: Flags = change > line
        self._tool, self._loading = int(tool[-1]), bool(loading[-1])
        return loading


def _new(state: _Tool, way: NDArray[np.float64], push: Flags, prime: float) -> Flags:
    """Return the pushes of one tool that are mostly new plastic, beyond a prime; keep the state."""
    at = np.concatenate(([0.0], np.cumsum(way)))
    farthest = np.maximum.accumulate(np.maximum(at, state.drawn))
    new = np.diff(farthest)
    pushed = state.pushed + np.cumsum(np.where(push, new, 0.0))
    ends = (way < 0.0) | ((way > 0.0) & ~push)  # a retract or a line ends a run of pushes
    since = np.maximum.accumulate(np.where(ends, pushed, 0.0))
    run = pushed - since
    state.drawn, state.pushed = float(farthest[-1] - at[-1]), float(run[-1])
    counted: Flags = push & (run > prime) & (new >= _MOSTLY * way)
    return counted


class Tally:
    """Sums over a print.

    Parameters
    ----------
    filament_area : float
        Cross-section of the filament, [m2]
    capacity, skip : float or None
        Flows whose excess is measured, [m3/s]
    melt_volume : float
        Volume over which sustained flow is a mean, [m3]
    worst, series : object
        Where places and the time series are gathered.
    judged : Judged, optional
        What holds the print to its limits.
    """

    def __init__(
        self, *, filament_area: float, capacity: float | None, skip: float | None,
        melt_volume: float, worst: Worst, series: Series, judged: Judged | None = None,
    ) -> None:  # fmt: skip
        self._area, self._levels = filament_area, (capacity, skip)
        self._melt_volume = melt_volume
        self._worst, self._series, self._judged = worst, series, judged
        self._windows: dict[int, Window] = {}
        self._pushes = Pushes(melt_volume / filament_area)
        self._grid = LEVEL
        self.time = self.pause_time = self.extruding_time = self.extrude_only_time = 0.0
        self.plain_time = 0.0
        self.path_length = self.max_accel = 0.0
        self.features, self.heights, self.tools = Groups(), Groups(), Groups()
        self.filament: dict[int, float] = {}
        self.peak, self.sustained = Highest(), Highest()
        self.speed, self.accel, self.retract = Highest(), Highest(), Highest()

    @property
    def grid(self) -> float:
        """Heights are told apart to this much, [m]."""
        return self._grid

    def add(self, plan: MotionPlan) -> None:
        """Take in planned moves."""
        moves, shape = plan.moves, Trapezoids.of(plan)
        wait = np.maximum(moves.pause, 0.0)
        waited = float(wait.sum())
        end = np.cumsum(shape.time + wait if waited else shape.time)
        end += self.time
        begin = end - shape.time
        self.time = float(end[-1])
        self.pause_time += waited
        self.plain_time += float((moves.length / np.sqrt(moves.speed2)).sum()) + waited
        pushed = self._pushes.counted(moves)
        self._heads(moves, shape, pushed)
        self._filament(moves)
        self._extruder(moves, shape)
        section = np.maximum(moves.ratio, 0.0) * self._area
        section *= moves.path | pushed
        volume, flow = section * shape.length, section * shape.cruise
        self._series.add(begin=begin, end=end, volume=volume, flow=flow, height=moves.height,
                         line=moves.line, gapless=not waited)  # fmt: skip
        row = np.flatnonzero(section)
        if len(row):
            over = [
                _above(shape, section, flow, limit) for limit in self._levels if limit is not None
            ]
            self._flowing(moves, shape, row, begin, section[row], volume[row], flow[row], over)

    def _heads(self, moves: Moves, shape: Trapezoids, pushed: NDArray[np.bool_]) -> None:
        """Add up what concerns the head; pushes that ask for flow are extruding time."""
        alone = np.flatnonzero(~moves.path)
        self.extrude_only_time += float(shape.time[~moves.path & ~pushed].sum())
        self.path_length += float(shape.length.sum() - shape.length[alone].sum())
        self.max_accel = max(self.max_accel, float((moves.accel * moves.path).max()))

    def _flowing(
        self, moves: Moves, shape: Trapezoids, row: Ints, begin: Floats, section: Floats,
        volume: Floats, flow: Floats, over: list[tuple[Floats, Floats]],
    ) -> None:  # fmt: skip
        line, time = moves.line[row], shape.time[row]
        self.extruding_time += float(time.sum())
        self.peak.add(flow, line)
        level, feature, tool = self._keys(moves, row)
        first = _first_of_runs(level, feature, tool)
        sums = {"moves": np.ones(len(row)), "time": time, "volume": volume}
        names = [names for names, limit in zip(_OVER, self._levels, strict=True) if limit]
        for (first_name, second_name), (over_time, over_volume) in zip(names, over, strict=True):
            sums[first_name], sums[second_name] = over_time[row], over_volume[row]
        runs = Runs.of(first, line, sums)
        begin = begin[row]
        if self._judged is not None:
            self._judged.add(moves, shape, row, begin, section, tool)
        runs.peaks = {
            "peak": np.maximum.reduceat(flow, first),
            "sustained": self._sustained(shape, row, begin, section, first, tool[first], line),
        }
        self._worst.add(moves, row, flow, first=first, level=level[first])
        self.features.add(feature[first], runs)
        self.tools.add(tool[first], runs)
        self.heights.add(level[first], runs)
        while len(self.heights.by_key) > _MOST_LEVELS:
            self._grid *= 2.0
            self.heights.rekey(lambda key: key if key == _NO_LEVEL else round(key / 2))

    def _keys(self, moves: Moves, row: Ints) -> tuple[NDArray[np.int64], Ints, Ints]:
        height = moves.height[row]
        known = np.isfinite(height)
        level = np.rint(np.where(known, height, 0.0) / self._grid).astype(np.int64)
        level[~known] = _NO_LEVEL
        return level, moves.feature[row].astype(np.intp), moves.tool[row].astype(np.intp)

    def _sustained(
        self, shape: Trapezoids, row: Ints, begin: Floats, section: Floats, first: Ints,
        tool: Ints, line: NDArray[np.int64],
    ) -> Floats:  # fmt: skip
        """Return the largest mean over the melt volume that ends in each run."""
        best = np.zeros(len(first))
        edges = np.append(first, len(begin))
        turn = np.concatenate(([0], np.flatnonzero(np.diff(tool)) + 1, [len(first)]))
        for a, b in zip(turn[:-1].tolist(), turn[1:].tolist(), strict=True):
            part = slice(int(edges[a]), int(edges[b]))
            window = self._windows.setdefault(int(tool[a]), Window(self._melt_volume))
            move, flow = window.follow(shape, row[part], begin[part], section[part])
            self.sustained.add(flow, line[part][move])
            run = np.searchsorted(edges[a + 1 : b + 1] - edges[a], move, side="right") + a
            np.maximum.at(best, run, flow)
        return best

    def _filament(self, moves: Moves) -> None:
        pushed = moves.ratio * moves.length
        total = np.bincount(moves.tool, weights=pushed) if moves.tool.any() else [pushed.sum()]
        for tool, length in enumerate(total):
            if length or tool == 0:
                self.filament[tool] = self.filament.get(tool, 0.0) + float(length)

    def _extruder(self, moves: Moves, shape: Trapezoids) -> None:
        """Follow the largest speed and acceleration of the filament, pressure advance included.

        An upper estimate: the advance of a speed-up is taken as smoothed about its middle, the
        step it makes in speed as smoothed over half the smoothing time.
        """
        ratio = np.abs(moves.ratio)
        speed, accel = ratio * shape.cruise, ratio * moves.accel
        back = np.flatnonzero((moves.ratio < 0.0) | ~moves.path)
        self.retract.add(speed[back], moves.line[back])
        steep = 1.0 + 4.0 * moves.advance / np.where(moves.smooth > 0.0, moves.smooth, np.inf)
        fast = speed + moves.advance * accel > self.speed.peak.value
        close = np.flatnonzero(fast | (accel * steep > self.accel.peak.value))
        if len(close):
            self._led(moves, shape, close, speed[close], accel[close])

    def _led(self, moves: Moves, shape: Trapezoids, at: Ints, speed: Floats, accel: Floats) -> None:
        rise, fall, smooth = shape.rise_time[at], shape.fall_time[at], moves.smooth[at]
        accel = np.where((rise > 0.0) | (fall > 0.0), accel, 0.0)
        led = moves.flat[at] & moves.path[at] & (moves.ratio[at] > 0.0)
        push = np.where(led, moves.advance[at] * accel, 0.0)
        back = push * _kept(fall, smooth) - np.abs(moves.ratio[at]) * shape.end[at]
        self.speed.add(np.maximum(speed + push * _kept(rise, smooth), back), moves.line[at])
        both = (rise > 0.0) & (fall > 0.0) & (shape.cruise_way[at] <= 0.0)
        step = 2.0 * push * np.where(both, 2.0, 1.0) / np.where(smooth > 0.0, smooth, np.inf)
        self.accel.add(accel + step, moves.line[at])


def _above(shape: Trapezoids, section: Floats, flow: Floats, limit: float) -> tuple[Floats, Floats]:
    """Return time and volume of each move while its flow is above `limit`."""
    time, volume = np.zeros(len(flow)), np.zeros(len(flow))
    at = np.flatnonzero(flow > limit)
    if len(at):
        time[at], way = shape.rows(at).above(limit / section[at])
        volume[at] = way * section[at]
    return time, volume


def _kept(lasts: Floats, smooth: Floats) -> Floats:
    """Return the share of a pulse of this length that smoothing with a triangle lets through."""
    share = np.minimum(lasts, smooth) / np.where(smooth > 0.0, smooth, 1.0)
    kept = np.where(smooth > 0.0, 1.0 - (1.0 - share) ** 2, 1.0)
    return np.where(lasts > 0.0, kept, 0.0)


def _first_of_runs(level: Ints, feature: Ints, tool: Ints) -> Ints:
    """Return where runs of moves of one level, feature and tool begin."""
    change = level[1:] != level[:-1]
    for key in (feature, tool):
        if key.any():
            change |= key[1:] != key[:-1]
    return np.concatenate(([0], np.flatnonzero(change) + 1))
