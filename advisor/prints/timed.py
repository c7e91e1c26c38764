"""Mean flow over a fixed time, as the print goes by: its largest value, and the time above flows.

With V(t) the volume extruded so far, the mean over a time w that ends at t is (V(t) - V(t-w)) / w;
standing still and travel count as no flow. V is quadratic in pieces, and so is the difference
between neighbouring knots of V(t) and V(t-w): its largest value there, and the time it spends
above a figure, follow in closed form. Windows that cannot matter are told apart beforehand by
bounds: none can hold more than was extruded from the first move it touches to its last, and none
has a mean above every flow in it. Nothing is sampled.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.plan import Trapezoids

__all__ = ["Stretch", "TimedMean"]

_FIRST_LOOK = 32  # moves with the most promising windows, looked at before the others
_MOST_PAST = 1 << 15  # moves that are remembered as they are
_CELLS = 1 << 14  # beyond that, moves within such a part of the window are taken as one
_ROUNDING = 1e-9
_LONG = 0.5  # moves longer than this share of the window are bounded by the flows in it too
_AS_GOOD = 1e-6  # a mean so little above the largest before is not looked for

Ints = NDArray[np.intp]


@dataclass(slots=True)
class Stretch:
    """Moves with flow, by columns in the order of time.

    ``begin`` and ``time`` [s]; ``done`` volume before the move [m3]; ``section`` volume per path
    [m2]; ``start`` and ``cruise`` speed [m/s], ``accel`` [m/s2]; ``rise`` and ``fall_at``: the
    time after which it cruises, and after which it slows down [s]; ``top`` its peak flow [m3/s].
    """

    begin: Floats
    time: Floats
    done: Floats
    section: Floats
    start: Floats
    cruise: Floats
    accel: Floats
    rise: Floats
    fall_at: Floats
    top: Floats

    @staticmethod
    def of(shape: Trapezoids, row: Ints, begin: Floats, section: Floats) -> Stretch:
        """Return the moves `row` of a plan; `begin` and `section` are theirs alone."""
        volume, rise = section * shape.length[row], shape.rise_time[row]
        cruise = shape.cruise[row]
        return Stretch(
            begin, shape.time[row], np.cumsum(volume) - volume, section, shape.start[row], cruise,
            shape.accel[row], rise, rise + shape.cruise_time[row], section * cruise,
        )  # fmt: skip

    def __len__(self) -> int:
        return len(self.begin)

    @property
    def end(self) -> Floats:
        """When each move ends, [s]."""
        return self.begin + self.time

    def part(self, at: Ints | slice) -> Stretch:
        """Return some of the moves."""
        return Stretch(*(getattr(self, f.name)[at] for f in fields(self)))

    def after(self, past: Stretch | None) -> Stretch:
        """Return these moves behind `past`, whose volume counts from its own first move."""
        if past is None or not len(past):
            return self
        last = past.part(slice(len(past) - 1, None))
        before = float(last.volume_at(last.end)[0]) - self.done[:1]
        parts = [(getattr(past, f.name), getattr(self, f.name)) for f in fields(self)]
        columns = [np.concatenate(pair) for pair in parts]
        columns[2][len(past) :] += before
        return Stretch(*columns)

    def volume_at(self, when: Floats) -> Floats:
        """Return the volume extruded up to moments in time, [m3]."""
        at = np.maximum(np.searchsorted(self.begin, when, side="right") - 1, 0)
        gone = np.minimum(np.maximum(when - self.begin[at], 0.0), self.time[at])
        rising = np.minimum(gone, self.rise[at])
        falling = np.maximum(gone - self.fall_at[at], 0.0)
        way = self.cruise[at] * (gone - rising) + self.start[at] * rising
        way += 0.5 * self.accel[at] * (rising * rising - falling * falling)
        volume: Floats = self.done[at] + self.section[at] * way
        return volume

    def knots(self, at: Ints) -> Floats:
        """Return when the flow of moves changes its slope, shape (len(at), 4), [s]."""
        begin = self.begin[at]
        gone = (np.zeros(len(at)), self.rise[at], self.fall_at[at], self.time[at])
        knots: Floats = begin[:, None] + np.column_stack(gone)
        return knots

    def joined_within(self, cell: float) -> Stretch:
        """Return the moves, neighbours within one cell of time taken as one of even flow."""
        first, last = np.floor(self.begin / cell), np.floor(self.end / cell)
        alone = first != last
        fresh = np.ones(len(self), bool)
        fresh[1:] = alone[1:] | alone[:-1] | (first[1:] != first[:-1])
        head = np.flatnonzero(fresh)
        tail = np.append(head[1:], len(self)) - 1
        made = self.part(head)
        many = np.flatnonzero(tail > head)
        end, done = self.end[tail[many]], self.done[np.minimum(tail[many] + 1, len(self) - 1)]
        made.top = np.maximum.reduceat(self.top, head)
        made.time[many] = end - made.begin[many]
        made.section[many], made.accel[many], made.rise[many] = 1.0, 0.0, 0.0
        made.fall_at[many] = made.time[many]
        even = (done - made.done[many]) / np.maximum(made.time[many], 1e-300)
        made.start[many] = made.cruise[many] = even
        return made


class TimedMean:
    """Follows the moves of one tool.

    Parameters
    ----------
    limits : tuple of float
        Flows above which time is counted, [m3/s]
    seek_peak : bool
        Whether the largest mean is wanted too.
    """

    def __init__(self, limits: tuple[float, ...], *, seek_peak: bool = True) -> None:
        self._limits, self._seek_peak = limits, seek_peak
        self._past: Stretch | None = None
        self._longest = 0.0
        self.best = 0.0

    def follow(self, moves: Stretch, lasts: float) -> tuple[Floats, Floats]:
        """Take in moves and return what the windows that end in them ask.

        Parameters
        ----------
        moves : Stretch
            Moves that follow those taken in before.
        lasts : float
            Time of a window, [s]

        Returns
        -------
        tuple of ndarray
            The largest mean of the windows that end in each move, [m3/s], 0 where it is neither
            above the largest before nor above a limit; and the time during which windows that
            end in it have a mean above each limit, shape (limits, moves), [s].
        """
        peak, over = np.zeros(len(moves)), np.zeros((len(self._limits), len(moves)))
        self._longest = max(self._longest, lasts)
        fastest = float(moves.top.max())
        if self._past is not None:
            fastest = max(fastest, float(self._past.top.max()))
        if fastest > self._least():
            whole = moves.after(self._past)
            own = np.arange(len(whole) - len(moves), len(whole))
            self._look(whole, own, lasts, peak, over)
        self._remember(moves)
        return peak, over

    def _least(self) -> float:
        """Return the mean up to which windows say nothing new."""
        best = self.best * (1.0 + _AS_GOOD) if self._seek_peak else np.inf
        return min((*self._limits, best))

    def _look(self, whole: Stretch, own: Ints, lasts: float, peak: Floats, over: Floats) -> None:
        """Work out the windows that end in the moves `own` and may matter."""
        low = np.searchsorted(whole.end, whole.begin[own] - lasts, side="right")
        held = np.append(whole.done[own[1:]], whole.volume_at(whole.end[-1:])) - whole.done[low]
        some = np.flatnonzero(held > self._least() * lasts)
        if not len(some):
            return
        least, most = _bounds(whole, own[some], low[some], lasts)
        peak[some] = np.where(least > min(self._limits, default=np.inf), least, 0.0)
        if self._seek_peak and len(some) > _FIRST_LOOK:
            first = np.sort(np.argpartition(most, -_FIRST_LOOK)[-_FIRST_LOOK:])
            self._take(whole, own, some[first], lasts, peak, over)
        best = self.best * (1.0 + _AS_GOOD) if self._seek_peak else np.inf
        open_ = most > best
        for k, limit in enumerate(self._limits):
            sure = least > limit
            over[k, some[sure]] = whole.time[own[some[sure]]]
            open_ |= (most > limit) & ~sure
        if open_.any():
            self._take(whole, own, some[open_], lasts, peak, over)

    def _take(
        self, whole: Stretch, own: Ints, at: Ints, lasts: float, peak: Floats, over: Floats
    ) -> None:
        peak[at], over[:, at] = _windows(whole, own[at], lasts, self._limits)
        self.best = max(self.best, float(peak[at].max()))

    def _remember(self, moves: Stretch) -> None:
        """Keep what later windows may reach back to."""
        since = float(moves.end[-1]) - self._longest
        whole = moves if moves.begin[0] <= since else moves.after(self._past)
        first = min(int(np.searchsorted(whole.end, since, side="right")), len(whole) - 1)
        past = whole.part(slice(first, None))
        past.done = past.done - past.done[0]
        if len(past) > _MOST_PAST:
            past = past.joined_within(self._longest / _CELLS)
        self._past = past


def _bounds(whole: Stretch, at: Ints, low: Ints, lasts: float) -> tuple[Floats, Floats]:
    """Return means that no window that ends in each move is below, or above, [m3/s].

    `low` is the first move that the windows of each reach back to.
    """
    begin, end = whole.begin[at], whole.end[at]
    done = whole.done[at]
    after = np.append(whole.done[1:], whole.volume_at(whole.end[-1:]))[at]
    most = (after - whole.volume_at(begin - lasts)) / lasts * (1.0 + _ROUNDING)
    least = (done - whole.volume_at(end - lasts)) / lasts * (1.0 - _ROUNDING)
    long = np.flatnonzero(whole.time[at] > _LONG * lasts)
    if len(long):
        span = np.column_stack((low[long], at[long])).reshape(-1)
        top = np.maximum(np.maximum.reduceat(whole.top, span)[::2], whole.top[at[long]])
        most[long] = np.minimum(most[long], top)
    return least, most


def _windows(
    whole: Stretch, at: Ints, lasts: float, limits: tuple[float, ...]
) -> tuple[Floats, Floats]:
    """Return the largest mean, and the time above each limit, of windows that end in moves."""
    when = _breaks(whole, at, lasts)
    middle = 0.5 * (when[1:] + when[:-1])
    mine = np.searchsorted(whole.begin[at], middle, side="right") - 1
    inside = np.flatnonzero((mine >= 0) & (middle < whole.end[at][np.maximum(mine, 0)]))
    mine, middle = mine[inside], middle[inside]
    now, then = whole.volume_at(when), whole.volume_at(when - lasts)
    first, last = (now - then)[inside], (now - then)[inside + 1]
    half = 0.5 * (first + last)
    most, least = (now[1:] - then[:-1])[inside], (now[:-1] - then[1:])[inside]
    levels = (*(limit * lasts for limit in limits), float(max(first.max(), last.max())))
    open_ = np.zeros(len(inside), bool)
    for level in levels:
        open_ |= (least <= level * (1.0 + _ROUNDING)) & (most > level)
    middle = middle[open_]
    half[open_] = whole.volume_at(middle) - whole.volume_at(middle - lasts)
    bow = _Bow.through(first, half, last)
    head = np.flatnonzero(np.diff(mine, prepend=-1))
    peak, over = np.zeros(len(at)), np.zeros((len(limits), len(at)))
    peak[mine[head]] = np.maximum.reduceat(bow.top, head) / lasts
    length = np.diff(when)[inside]
    for k, limit in enumerate(limits):
        time = bow.share_above(limit * lasts * (1.0 + _ROUNDING)) * length
        over[k, mine[head]] = np.add.reduceat(time, head)
    return peak, over


def _breaks(whole: Stretch, at: Ints, lasts: float) -> Floats:
    """Return the moments within moves between which the volume in a window is quadratic."""
    begin, end = whole.begin[at], whole.end[at]
    low = np.searchsorted(whole.end, begin - lasts, side="right")
    high = np.searchsorted(whole.begin, end - lasts, side="left")
    count = np.maximum(high - low, 0)
    owner = np.repeat(np.arange(len(at)), count)
    left = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + low[owner]
    leaving = whole.knots(left) + lasts
    within = (leaving > begin[owner, None]) & (leaving < end[owner, None])
    own = whole.knots(at)
    own[:, 3] = end
    fresh = np.diff(own, axis=1, prepend=-1.0) > 0.0
    return np.unique(np.concatenate((own[fresh], leaving[within])))


@dataclass(slots=True)
class _Bow:
    """Quadratics first + steep u + bent u^2 over u from 0 to 1: their highest and lowest values."""

    first: Floats
    steep: Floats
    bent: Floats
    top: Floats
    bottom: Floats

    @staticmethod
    def through(first: Floats, half: Floats, last: Floats) -> _Bow:
        """Return the quadratics through values at 0, 1/2 and 1."""
        bent, steep = 2.0 * (first + last - 2.0 * half), 4.0 * half - 3.0 * first - last
        top, bottom = np.maximum(first, last), np.minimum(first, last)
        at = np.flatnonzero(np.abs(steep) < 2.0 * np.abs(bent))
        turn = np.divide(-0.5 * steep[at], bent[at], out=np.zeros(len(at)), where=bent[at] != 0.0)
        turn[(turn < 0.0) | (turn > 1.0)] = 0.0
        value = first[at] + turn * (steep[at] + bent[at] * turn)
        top[at], bottom[at] = np.maximum(top[at], value), np.minimum(bottom[at], value)
        return _Bow(first, steep, bent, top, bottom)

    def share_above(self, level: float) -> Floats:
        """Return the share of 0..1 in which each is above a level."""
        share = (self.bottom > level).astype(float)
        at = np.flatnonzero((self.top > level) & (self.bottom <= level))
        if not len(at):
            return share
        a, b, c = self.bent[at], self.steep[at], self.first[at] - level
        root = np.sqrt(np.maximum(b * b - 4.0 * a * c, 0.0))
        q = -0.5 * (b + np.copysign(root, b))
        one = np.divide(q, a, out=np.zeros(len(at)), where=np.abs(a) > np.abs(q) * 1e-9)
        two = np.divide(c, q, out=np.zeros(len(at)), where=np.abs(q) > np.abs(c) * 1e-9)
        one, two = np.clip(one, 0.0, 1.0), np.clip(two, 0.0, 1.0)
        edge = np.stack((np.zeros(len(at)), np.minimum(one, two), np.maximum(one, two),
                         np.ones(len(at))))  # fmt: skip
        middle = 0.5 * (edge[1:] + edge[:-1])
        above = c + middle * (b + middle * a) > 0.0
        share[at] = (np.diff(edge, axis=0) * above).sum(axis=0)
        return share
