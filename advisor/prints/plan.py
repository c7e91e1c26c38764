"""Plans moves as the ini-style firmware does: junction speeds, look-ahead, cruise ratio.

Moves are planned in batches whose size does not depend on how the file was read; the moves that
what comes later could still change stay behind for the next batch. It tells no flow.

The firmware's way, as far as it is known (from memory): junctions after the junction deviation
and the centripetal limit; a second, softer look-ahead with the acceleration times (1 - minimum
cruise ratio) gives the peak that a speed-up followed by a slow-down may reach.

The look-ahead's recurrences are running minima on whole arrays, not a loop over moves. With y[k] =
min(cap[k], y[k-1] + gain[k]) and G the running sum of the gains, y[k] = min over j <= k of (cap[j]
- G[j]) + G[k]: a running minimum. The sums are kept short (a chunk at a time) so that little is
lost to rounding beside a small speed. It knows no machine.

Planned moves are trapezoids: times, ways, time above a speed and time at a way follow by the
arithmetic of constant acceleration, on columns.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.prints.dialect import Notes
from advisor.prints.moves import Floats, Moves

__all__ = [
    "MotionPlan",
    "Planner",
    "Trapezoids",
    "bounded_run",
    "falling_in_runs",
    "junction_caps2",
    "last_settled",
]

_CHUNK = 64
_LOOSE = 1e-7  # y below this share of a chunk's sum of gains is worked out one by one
_TAIL = 512  # moves from the end that are looked at first
_ROUNDING = 4.0 * np.finfo(float).eps
BATCH = 1 << 14
_STRAIGHT = 1e-12  # squared sine of half the turn below which two moves go straight on
_MOST_AHEAD = 1 << 18  # moves that may wait for their end
_TINY = 1e-300


def bounded_run(cap: Floats, gain: Floats, before: float = np.inf) -> Floats:
    """Return y with y[k] = min(cap[k], y[k-1] + gain[k]) and y[-1] = `before`.

    Parameters
    ----------
    cap, gain : ndarray of shape (n,)
        Both not negative; `gain` finite, [m2/s2]
    before : float
        The value before the first, [m2/s2]

    Returns
    -------
    ndarray of shape (n,)
        Exactly `cap` where the cap binds, [m2/s2]
    """
    count = len(cap)
    rows = -(-count // _CHUNK)
    if rows <= 1:
        return _one_by_one(cap, gain, before)
    caps, gains = np.full((2, rows * _CHUNK), np.inf)
    gains[count:] = 0.0
    caps[:count], gains[:count] = cap, gain
    caps, gains = caps.reshape(rows, _CHUNK), gains.reshape(rows, _CHUNK)
    total = np.cumsum(gains, axis=1)
    y = caps - total
    np.minimum.accumulate(y, axis=1, out=y)
    y += total
    enter = np.empty(rows)
    enter[0] = before
    enter[1:] = bounded_run(y[:, -1], total[:, -1], before)[:-1]
    np.minimum(y, enter[:, None] + total, out=y)
    free = y < caps - _ROUNDING * total
    np.copyto(y, caps, where=~free)
    free &= y < total[:, -1:] * _LOOSE
    loose = np.flatnonzero(free.any(axis=1)) if free.any() else np.empty(0, np.intp)
    for row in loose.tolist():
        y[row] = _one_by_one(caps[row], gains[row], float(y[row - 1, -1]) if row else before)
    whole: Floats = y.reshape(-1)[:count]
    return whole


def _one_by_one(cap: Floats, gain: Floats, before: float) -> Floats:
    value, values = before, []
    for most, more in zip(cap.tolist(), gain.tolist(), strict=True):
        value = min(most, value + more)
        values.append(value)
    return np.array(values)


def falling_in_runs(value: Floats, fresh: NDArray[np.bool_]) -> Floats:
    """Return the running minimum of `value`, begun anew where `fresh` holds.

    Complex numbers compare by the real part first: a new run has a smaller one.
    """
    keyed = np.empty(len(value), np.complex128)
    np.cumsum(fresh, out=keyed.real)
    np.negative(keyed.real, out=keyed.real)
    keyed.imag = value
    least: Floats = np.minimum.accumulate(keyed).imag
    return least


def last_settled(bound: Floats, gain: Floats) -> int:
    """Return the last move whose entry speed no later move can lower, or -1.

    Parameters
    ----------
    bound : ndarray of shape (n,)
        Largest squared entry speed of each move, [m2/s2]
    gain : ndarray of shape (n,)
        Change of squared speed each move can make, [m2/s2]
    """
    count = len(bound)
    for tail in (min(_TAIL, count), count):
        to_rest = np.cumsum(gain[count - tail :][::-1])[::-1]
        settled = np.flatnonzero(bound[count - tail :] < to_rest)
        if len(settled):
            return count - tail + int(settled[-1])
    return -1


@dataclass(slots=True)
class MotionPlan:
    """Planned moves: squared speeds at start, cruise and end [m2/s2]."""

    moves: Moves
    start2: Floats
    cruise2: Floats
    end2: Floats


class Planner:
    """Takes moves in any portions, gives plans in the order of the print."""

    def __init__(self, notes: Notes, batch: int = BATCH) -> None:
        self._notes, self._batch = notes, batch
        self._parts: list[Moves] = []
        self._waiting = 0
        self._wanted = batch
        self._start2 = self._soft_start2 = self._cruise2 = 0.0

    def push(self, moves: Moves) -> Iterator[MotionPlan]:
        """Take moves; yield what is settled."""
        while len(moves):
            room = self._wanted - self._waiting
            self._take(moves.part(0, room))
            moves = moves.part(room, len(moves))
            if self._waiting == self._wanted:
                yield from self._settle(at_end=False)

    def finish(self) -> Iterator[MotionPlan]:
        """Yield the rest: after the last move the head stands still."""
        if self._waiting:
            yield from self._settle(at_end=True)

    def _take(self, moves: Moves) -> None:
        if len(moves):
            self._parts.append(moves)
            self._waiting += len(moves)

    def _settle(self, *, at_end: bool) -> Iterator[MotionPlan]:
        moves = Moves.joined(self._parts)
        plan, settled = self._plan(moves, at_end=at_end)
        if not at_end and settled < len(moves) // 2 and len(moves) >= _MOST_AHEAD:
            self._notes.add("look-ahead-cut", int(moves.line[-1]))
            plan, settled = self._plan(moves, at_end=True)
        rest = moves.part(settled, len(moves))
        self._parts, self._waiting = [], 0
        self._take(rest)
        self._wanted = min(max(self._batch, 4 * len(rest)), _MOST_AHEAD)
        if settled:
            yield plan

    def _plan(self, moves: Moves, *, at_end: bool) -> tuple[MotionPlan, int]:
        limits = self._limits(moves)
        bound, soft_bound, entry = limits.bound, limits.soft_bound, limits.entry
        cruise2, resolved = _cruise(limits, self._cruise2)
        count = len(moves)
        if not at_end:
            sure = min(last_settled(bound, limits.gain), last_settled(soft_bound, limits.soft_gain))
            ends = np.flatnonzero(resolved[: max(sure, 0)])
            count = int(ends[-1]) + 1 if len(ends) else 0
        if count:
            self._start2 = 0.0 if count == len(moves) else float(bound[count])
            self._soft_start2 = 0.0 if count == len(moves) else float(soft_bound[count])
            self._cruise2 = float(cruise2[count - 1])
        cruise2 = cruise2[:count]
        start2, end2 = np.minimum(entry[:count], cruise2), np.minimum(entry[1 : count + 1], cruise2)
        return MotionPlan(moves.part(0, count), start2, cruise2, end2), count

    def _limits(self, moves: Moves) -> _Limits:
        """Return what each move may be at its ends, as fast as all and as gently as cruises ask."""
        gain = 2.0 * moves.length * moves.accel
        soft_gain = 2.0 * moves.length * moves.soft_accel
        cap = junction_caps2(moves, gain)
        cap[0] = self._start2
        bound = bounded_run(cap, _before(gain))
        entry = np.append(_backward(bound, gain), 0.0)
        if (soft_gain == gain).all() and self._soft_start2 == self._start2:
            return _Limits(moves.speed2, gain, gain, bound, bound, entry, entry)
        soft_cap = bound.copy()
        soft_cap[0] = self._soft_start2
        soft_bound = bounded_run(soft_cap, _before(soft_gain))
        soft = np.append(_backward(soft_bound, soft_gain), 0.0)
        return _Limits(moves.speed2, gain, soft_gain, bound, soft_bound, entry, soft)


@dataclass(slots=True)
class _Limits:
    """Squared speeds of a batch: `entry` and `soft` have one more, the end of the last move."""

    speed2: Floats
    gain: Floats
    soft_gain: Floats
    bound: Floats
    soft_bound: Floats
    entry: Floats
    soft: Floats


def junction_caps2(moves: Moves, gain: Floats) -> Floats:
    """Return the largest squared speed at the start of each move; the first is 0.

    The head stands still before and after a move without path and where the print waits.

    Parameters
    ----------
    moves : Moves
        The moves.
    gain : ndarray
        2 a d of each move, [m2/s2]

    Returns
    -------
    ndarray
        Squared speeds, [m2/s2]
    """
    dot = sum(leave[:-1] * enter[1:] for leave, enter in zip(moves.leave, moves.enter, strict=True))
    cosine2 = np.maximum(0.5 - 0.5 * dot, 1e-30)
    sine = np.sqrt(np.maximum(0.5 + 0.5 * dot, 0.0))
    bend = moves.deviation * moves.accel
    by_deviation = np.minimum(bend[:-1], bend[1:]) * (sine * (1.0 + sine) / cosine2)
    by_deviation[cosine2 < _STRAIGHT] = np.inf
    by_centre = np.minimum(gain[:-1], gain[1:]) * (0.25 * sine / np.sqrt(cosine2))
    jump = moves.ratio[1:] - moves.ratio[:-1]
    by_filament = moves.filament_step[1:] ** 2 / np.maximum(jump * jump, 1e-300)
    cap = np.zeros(len(moves))
    least = np.minimum(by_deviation, by_centre)
    np.minimum(least, by_filament, out=least)
    np.minimum(least, moves.speed2[1:], out=least)
    np.minimum(least, moves.speed2[:-1], out=least)
    np.minimum(least, moves.corner2[1:], out=least)
    runs = moves.path[1:] & moves.path[:-1] & (moves.pause[1:] < 0.0)
    np.multiply(least, runs, out=cap[1:])
    return cap


def _before(gain: Floats) -> Floats:
    """Return the gain of the move before each move."""
    return np.concatenate(([0.0], gain[:-1]))


def _backward(bound: Floats, gain: Floats) -> Floats:
    """Return entry speeds from which every move can still stop at the end of the last."""
    return bounded_run(bound[::-1], gain[::-1], 0.0)[::-1]


def _cruise(limits: _Limits, before: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Return squared cruise speeds, and the moves whose peak hangs on no later move.

    A move that can speed up in the soft look-ahead may cruise up to the next peak; peaks stand
    where a speed-up meets a slow-down. A move that cannot goes on at the speed it is given.
    """
    soft, soft_gain = limits.soft, limits.soft_gain
    reach = soft[1:] + soft_gain
    rising = limits.soft_bound < reach
    carried = np.zeros(len(rising), bool)  # enters as fast as the soft move before lets it
    carried[1:] = limits.soft_bound[:-1] + soft_gain[:-1] <= limits.bound[1:] * (1.0 + 1e-12)
    on = np.zeros(len(rising), bool)  # the next move rises on from this one
    on[:-1] = rising[1:] & carried[1:]
    peak = rising & ~on
    count = len(rising)
    at = np.where(peak, np.arange(count), count)
    at = np.minimum(np.minimum.accumulate(at[::-1])[::-1], count - 1)
    summit = np.minimum(limits.speed2, 0.5 * (soft[:-1] + reach))[at]
    own = 0.5 * (limits.entry[:-1] + limits.entry[1:] + limits.gain)
    free = np.minimum(np.minimum(own, limits.speed2), summit)
    value = np.concatenate(([before], np.where(rising, free, limits.entry[:-1])))
    fresh = np.concatenate(([True], rising))
    return falling_in_runs(value, fresh)[1:], peak | ~rising


@dataclass(slots=True)
class Trapezoids:
    """Speeds [m/s], acceleration [m/s2], ways [m] and times [s] of moves, by columns."""

    length: Floats
    accel: Floats
    start: Floats
    cruise: Floats
    end: Floats
    rise_way: Floats
    cruise_way: Floats
    rise_time: Floats
    cruise_time: Floats
    fall_time: Floats
    time: Floats

    @staticmethod
    def of(plan: MotionPlan) -> Trapezoids:
        """Return the trapezoids of a plan."""
        length, accel = plan.moves.length, plan.moves.accel
        start, cruise, end = np.sqrt(plan.start2), np.sqrt(plan.cruise2), np.sqrt(plan.end2)
        half = 0.5 / accel
        rise_way = (plan.cruise2 - plan.start2) * half
        fall_way = (plan.cruise2 - plan.end2) * half
        cruise_way = np.maximum(length - rise_way - fall_way, 0.0)
        rise_time, fall_time = (cruise - start) / accel, (cruise - end) / accel
        cruise_time = cruise_way / np.maximum(cruise, _TINY)
        time = rise_time + cruise_time + fall_time
        return Trapezoids(length, accel, start, cruise, end, rise_way, cruise_way,
                          rise_time, cruise_time, fall_time, time)  # fmt: skip

    def rows(self, at: NDArray[np.intp] | slice) -> Trapezoids:
        """Return the trapezoids at these places."""
        return Trapezoids(*(getattr(self, name)[at] for name in self.__slots__))

    def above(self, speed: Floats) -> tuple[Floats, Floats]:
        """Return time and way during which each move is faster than `speed`.

        Parameters
        ----------
        speed : ndarray
            A speed below the cruise speed of each move, [m/s]

        Returns
        -------
        tuple of ndarray
            Time [s] and way [m].
        """
        up, down = np.maximum(self.start, speed), np.maximum(self.end, speed)
        time = self.cruise_time + (2.0 * self.cruise - up - down) / self.accel
        way = self.cruise_way + (self.cruise**2 - 0.5 * (up**2 + down**2)) / self.accel
        return time, way

    def time_at(self, move: NDArray[np.intp], way: Floats) -> Floats:
        """Return the time after which moves have gone some way.

        Parameters
        ----------
        move : ndarray
            Places of the moves; a move may occur often.
        way : ndarray
            Way from the start of each, within its length, [m]

        Returns
        -------
        ndarray
            Time from the start of each, [s].
        """
        beyond = way - self.rise_way[move]
        time = self.rise_time[move] + beyond / np.maximum(self.cruise, _TINY)[move]
        early = np.flatnonzero(beyond < 0.0)
        if len(early):
            at, gone = move[early], way[early]
            start = self.start[at]
            speed = np.sqrt(start**2 + 2.0 * self.accel[at] * gone)
            time[early] = 2.0 * gone / np.maximum(start + speed, _TINY)
        late = np.flatnonzero(beyond > self.cruise_way[move])
        if len(late):
            at = move[late]
            rest, end = np.maximum(self.length[at] - way[late], 0.0), self.end[at]
            speed = np.sqrt(end**2 + 2.0 * self.accel[at] * rest)
            time[late] = self.time[at] - 2.0 * rest / np.maximum(end + speed, _TINY)
        return time
