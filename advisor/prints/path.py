"""From rows of words to ways: positions, arcs, filament, feed and standstill.

It carries the state of the axes from block to block. Limits and look-ahead come later.

Positions are followed one axis at a time, from words that are absolute, relative or missing.

Of arcs and helices it tells the exact length, the directions at both ends, and the speed the bend
allows. Geometry after ISO 6983-1 (circular interpolation). An arc is described in its plane by two
coordinates and a third along its normal. It plans no speeds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from advisor.prints.dialect import AXES, Notes, PrintDialect
from advisor.prints.interpret import FILAMENT, MARK
from advisor.prints.modal import MoveField, Timeline
from advisor.prints.moves import Floats
from advisor.prints.scan import LINE, PrintLines

__all__ = [
    "PLANES",
    "Arcs",
    "Path",
    "Ways",
    "bend_speed2",
    "carried",
    "cut_arcs",
    "follow",
    "measure_arcs",
]

_TURN = 2.0 * math.pi
_MOST_TURNS = 100.0
_SAME = 1e-9  # m; end on start: a full circle
_MISS = 5e-4  # m; how far the end may lie off the circle about the centre
_MISS_SHARE = 0.02
_MOST_PIECES = 64
Flags = NDArray[np.bool_]
PLANES = ((0, 1, 2), (2, 0, 1), (1, 2, 0))  # first axis, second axis, normal: xy, zx, yz
_E, _FEED = AXES.index("e"), AXES.index("feed")
_ARC = AXES.index("arc_x")
_RADIUS, _TURNS = AXES.index("radius") - _ARC, AXES.index("turns") - _ARC
_NOTHING = 1e-12  # m; what is shorter is no move
_MINUTE = 60.0
Ints = NDArray[np.intp]


@dataclass(slots=True)
class Arcs:
    """Arcs by columns, SI; ``good`` is false where no circle fits.

    ``begin`` is the polar angle of the start about the centre, ``angle`` the angle swept,
    positive counterclockwise, ``rise`` the way along the normal.
    """

    begin: Floats
    angle: Floats
    radius: Floats
    rise: Floats
    length: Floats
    good: NDArray[np.bool_]

    def part(self, at: NDArray[np.bool_]) -> Arcs:
        """Return the arcs where `at` holds."""
        return Arcs(*(getattr(self, f.name)[at] for f in fields(self)))

    def direction(self, turned: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the unit tangent where the angle `turned` was swept."""
        at = self.begin + turned
        flat = _ratio(self.radius * self.angle, self.length)
        return -np.sin(at) * flat, np.cos(at) * flat, _ratio(self.rise, self.length)


def measure_arcs(
    *,
    step: tuple[Floats, Floats, Floats],
    centre: tuple[Floats, Floats],
    radius: Floats,
    turns: Floats,
    clockwise: NDArray[np.bool_],
) -> Arcs:
    """Return the arcs that go from the origin by `step`.

    Parameters
    ----------
    step : three ndarray
        End less start, in the plane and along its normal, [m]
    centre : two ndarray
        Centre less start; NaN where not stated, [m]
    radius : ndarray
        Radius, negative for the longer way round; NaN where not stated, [m]
    turns : ndarray
        Number of turns, a begun one counted whole; NaN where not stated, [-]
    clockwise : ndarray of bool
        The sense of turning, seen against the normal.

    Returns
    -------
    Arcs
        ``good`` is false where no circle fits: such an arc is to be taken as its chord.
    """
    first, second, rise = step
    sense = np.where(clockwise, -1.0, 1.0)
    by_radius = np.isnan(centre[0]) & np.isnan(centre[1]) & ~np.isnan(radius)
    a, b = (np.where(np.isnan(c), 0.0, c) for c in centre)
    if by_radius.any():
        ra, rb = _centre_of(first, second, radius, sense)
        a, b = np.where(by_radius, ra, a), np.where(by_radius, rb, b)
    r = np.hypot(a, b)
    miss = np.abs(np.hypot(first - a, second - b) - r)
    good = (r > _SAME) & (miss <= np.maximum(_MISS, _MISS_SHARE * r))
    begin, end = np.arctan2(-b, -a), np.arctan2(second - b, first - a)
    swept = (sense * (end - begin)) % _TURN
    closed = np.hypot(first, second) <= _SAME
    swept = np.where(closed | (swept <= 0.0), _TURN, swept)
    good &= ~(closed & by_radius)
    more = np.clip(np.where(np.isnan(turns), 1.0, np.floor(turns)) - 1.0, 0.0, _MOST_TURNS)
    swept += more * _TURN
    return Arcs(begin, sense * swept, r, rise, np.hypot(r * swept, rise), good)


def _centre_of(
    first: Floats, second: Floats, radius: Floats, sense: Floats
) -> tuple[Floats, Floats]:
    """Return the centre of the circle of a given radius through both ends.

    The shorter way round for a positive radius. A chord a little longer than the diameter (a
    rounded number) is taken as the diameter.
    """
    chord = np.hypot(first, second)
    half = 0.5 * chord
    size = np.abs(np.where(np.isnan(radius), 0.0, radius))
    fits = half <= size + np.maximum(_MISS, _MISS_SHARE * size)
    aside = np.sqrt(np.maximum(size**2 - half**2, 0.0)) * np.where(radius < 0.0, -1.0, 1.0)
    scale = np.where(fits, _ratio(aside * sense, chord), math.nan)
    a, b = 0.5 * first - second * scale, 0.5 * second + first * scale
    return np.where(fits, a, 0.0), np.where(fits, b, 0.0)


def cut_arcs(arcs: Arcs, resolution: float) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Return into how many pieces arcs are cut, the angle and length of the firmware's pieces.

    The firmware goes along straight pieces of about `resolution`. We cut into as many, up to 64.
    """
    count = np.maximum(np.floor(arcs.length / resolution), 1.0)
    pieces = np.minimum(count, _MOST_PIECES).astype(np.intp)
    return pieces, np.abs(arcs.angle) / count, arcs.length / count


def bend_speed2(turn: Floats, length: Floats, *, accel: Floats, deviation: Floats) -> Floats:
    """Return the squared speed through the corner between two equal pieces of an arc.

    Parameters
    ----------
    turn, length : ndarray
        Angle between the pieces [rad] and their length [m]
    accel, deviation : ndarray
        Acceleration [m/s2] and junction deviation [m]

    Returns
    -------
    ndarray
        Speed squared, [m2/s2]
    """
    sine, cosine = np.abs(np.cos(0.5 * turn)), np.abs(np.sin(0.5 * turn))
    by_deviation = deviation * accel * sine * (1.0 + sine) / np.maximum(cosine**2, 1e-30)
    by_centre = 0.5 * length * accel * sine / np.maximum(cosine, 1e-30)
    least: Floats = np.minimum(by_deviation, by_centre)
    return least


def _ratio(numerator: Floats, denominator: Floats) -> Floats:
    quotient: Floats = numerator / np.where(denominator == 0.0, 1.0, denominator)
    return quotient


def carried(value: Floats, known: Flags, start: float) -> Floats:
    """Return `value` where known, else the last known one before, else `start`."""
    at = np.flatnonzero(known)
    if len(at) == len(value):
        return value
    if not len(at):
        return np.full(len(value), start)
    counts = np.empty(len(at) + 1, np.intp)
    counts[0], counts[-1] = at[0], len(value) - at[-1]
    np.subtract(at[1:], at[:-1], out=counts[1:-1])
    return np.repeat(np.concatenate(([start], value[at])), counts)


def follow(
    value: Floats, *, absolute: Flags | np.bool_, marks: NDArray[np.intp], start: float
) -> tuple[Floats, Floats]:
    """Return the position after each row, and the way to it.

    The sum of relative steps is formed one after the other, so that it does not depend on where
    a block of rows ends.

    Parameters
    ----------
    value : ndarray of shape (n,)
        The word of each row, NaN where there is none; inf states that nobody knows, [m]
    absolute : ndarray of bool or bool
        Whether the word is a position (else a step).
    marks : ndarray of int
        Rows that state a position and do not move.
    start : float
        Position before the first row, [m]

    Returns
    -------
    tuple of ndarray
        Position and way, arrays of shape (n,), [m]. The way is not finite where the position
        before is not known and the word is absolute.
    """
    known = ~np.isnan(value)
    if np.all(absolute):
        after = carried(value, known, start)
        step = None
    else:
        fixed = np.broadcast_to(absolute, value.shape).copy()
        fixed[marks] = True
        step = np.where(known & ~fixed, value, 0.0)
        after = _mixed(value, known & fixed, step, start)
    way = np.empty(len(after))
    with np.errstate(invalid="ignore"):  # inf - inf: from unknown to unknown
        way[0] = after[0] - start
        np.subtract(after[1:], after[:-1], out=way[1:])
    if step is not None:
        way = np.where(known & fixed, way, step)
    else:
        way[~known] = 0.0
    way[marks] = 0.0
    return after, way


def _mixed(value: Floats, anchor: Flags, step: Floats, start: float) -> Floats:
    """Return positions where steps follow on stated positions."""
    after = carried(value, anchor, start)
    moved = np.flatnonzero(step)
    if not len(moved):
        return after
    edges = np.concatenate(([0], np.flatnonzero(anchor), [len(value)]))
    groups = np.unique(np.searchsorted(edges, moved, side="right"))
    for first, last in zip(edges[groups - 1].tolist(), edges[groups].tolist(), strict=True):
        head = start if not anchor[first] else value[first]
        run = np.cumsum(np.concatenate(([head], step[first:last])))
        after[first:last] = run[1:]
    return after


@dataclass(slots=True)
class Ways:
    """Moves by columns, SI: what the print says, before any limit.

    ``place`` is the line in its block, ``step`` the way of the three axes, ``length`` that of
    the path (along the arc), ``filament`` its own way, ``pause`` seconds of standstill before
    (-1: none). ``bent`` are the rows of `arcs`, ``plane`` theirs.
    """

    place: Ints
    line: Ints
    step: tuple[Floats, Floats, Floats]
    length: Floats
    filament: Floats
    feed: Floats
    height: Floats
    pause: Floats
    bent: Ints
    plane: Ints
    arcs: Arcs | None

    def of_moves(self, kept: Ints) -> Ways:
        """Return the rows that are moves; every arc is one, and the pauses are theirs already."""
        x, y, z = self.step
        return replace(
            self,
            place=self.place[kept],
            line=self.line[kept],
            step=(x[kept], y[kept], z[kept]),
            length=self.length[kept],
            filament=self.filament[kept],
            feed=self.feed[kept],
            height=self.height[kept],
            bent=np.searchsorted(kept, self.bent),
        )


class Path:
    """Follows the head and the filament."""

    def __init__(self, dialect: PrintDialect, notes: Notes) -> None:
        self._notes = notes
        self._first_feed = dialect.first_feed
        self._most_filament = dialect.limits["filament_per_move"]
        self._at = [math.inf, math.inf, math.inf, 0.0]
        self._feed = math.nan
        self._pause = -1.0

    @property
    def pause(self) -> float:
        """Seconds of standstill after the last move so far."""
        return max(self._pause, 0.0)

    def ways(self, lines: PrintLines, timeline: Timeline, before: int) -> Ways | None:
        """Return the moves of a block of lines that `before` lines stand before."""
        place = np.flatnonzero(lines.code)
        if not len(place):
            return None
        code, words = lines.code[place], lines.words[:_ARC, place]
        timeline.place(place)
        special, aside = _set_apart(code, words)
        words *= timeline.column(MoveField.UNIT)
        marks = special[code[special] == MARK]
        step, height = self._head(words, marks, timeline)
        filament = self._filament(words, marks, timeline)
        feed = self._speed(words[_FEED], place + before + 1)
        self._aside(code[special], special, aside, filament, feed)
        filament *= timeline.column(MoveField.FLOW_FACTOR)
        self._blind(step, filament, place + before + 1)
        length = np.sqrt(step[0] ** 2 + step[1] ** 2 + step[2] ** 2)
        bent, plane, arcs = self._arcs(code, lines, place, step, timeline, before)
        if arcs is not None:
            length[bent] = arcs.length
        self._unfed(feed, place + before + 1, length)
        feed *= timeline.column(MoveField.SPEED_FACTOR)
        kept = np.flatnonzero((length > _NOTHING) | (np.abs(filament) > _NOTHING))
        pause = self._pauses(kept, marks, aside[_FEED, code[special] == MARK])
        ways = Ways(place, place + before + 1, step, length, filament, feed, height, pause,
                    bent, plane, arcs)  # fmt: skip
        return ways if len(kept) == len(place) else ways.of_moves(kept)

    def _head(
        self, words: Floats, marks: Ints, timeline: Timeline
    ) -> tuple[tuple[Floats, Floats, Floats], Floats]:
        absolute = timeline.column(MoveField.ABSOLUTE) > 0.0
        steps = []
        for axis in range(_E):
            after, way = follow(words[axis], absolute=absolute, marks=marks, start=self._at[axis])
            self._at[axis] = float(after[-1])
            steps.append(way)
        return (steps[0], steps[1], steps[2]), after

    def _filament(self, words: Floats, marks: Ints, timeline: Timeline) -> Floats:
        absolute = (timeline.column(MoveField.ABSOLUTE) > 0.0) & (
            timeline.column(MoveField.ABSOLUTE_E) > 0.0
        )
        after, way = follow(words[_E], absolute=absolute, marks=marks, start=self._at[_E])
        self._at[_E] = float(after[-1])
        return way

    def _speed(self, word: Floats, line: Ints) -> Floats:
        """Return the feed of every row; words of zero or less do not count."""
        speed = word / _MINUTE
        bad = np.flatnonzero(speed <= 0.0)
        if len(bad):
            self._notes.add("bad-feed", int(line[bad[0]]), count=len(bad))
            speed[bad] = math.nan
        speed = carried(speed, ~np.isnan(speed), self._feed)
        self._feed = float(speed[-1])
        return speed

    def _unfed(self, feed: Floats, line: Ints, length: Floats) -> None:
        """Give moves before the first feed word the firmware's own speed."""
        none = np.flatnonzero(np.isnan(feed))
        if not len(none):
            return
        moving = none[length[none] > _NOTHING]
        if len(moving):
            self._notes.add("no-feed", int(line[moving[0]]), count=len(moving))
        feed[none] = self._first_feed

    def _aside(
        self, code: NDArray[np.uint8], special: Ints, aside: Floats, filament: Floats, feed: Floats
    ) -> None:
        """Put in the filament moves of the firmware's own retraction."""
        own = code == FILAMENT
        filament[special[own]] = aside[_E, own]
        feed[special[own]] = aside[_FEED, own]

    def _blind(self, step: tuple[Floats, Floats, Floats], filament: Floats, line: Ints) -> None:
        """Take out moves from unknown positions and filament nobody can know."""
        total = step[0] + step[1] + step[2]
        if np.isfinite(total.sum()) and np.abs(filament).max() <= self._most_filament:
            return
        unknown = ~np.isfinite(total)
        without = ~np.isfinite(filament)
        absurd = ~without & (np.abs(filament) > self._most_filament)
        for kind, rows in (
            ("unknown-start", unknown & (np.abs(filament) > _NOTHING)),
            ("unknown-filament", without & ~unknown),
            ("lost-filament", absurd & ~unknown),
        ):
            if rows.any():
                at = np.flatnonzero(rows)
                self._notes.add(kind, int(line[at[0]]), count=len(at))
        filament[unknown | without | absurd] = 0.0
        for axis in step:
            axis[unknown] = 0.0

    def _arcs(
        self,
        code: NDArray[np.uint8],
        lines: PrintLines,
        place: Ints,
        step: tuple[Floats, Floats, Floats],
        timeline: Timeline,
        before: int,
    ) -> tuple[Ints, Ints, Arcs | None]:
        bent = np.flatnonzero((code > LINE) & (code < MARK))
        if not len(bent):
            return bent, bent, None
        plane = np.broadcast_to(timeline.column(MoveField.PLANE), code.shape)[bent].astype(np.intp)
        unit = np.broadcast_to(timeline.column(MoveField.UNIT), code.shape)[bent]
        axes = np.array(PLANES)[plane].T
        words = lines.words[_ARC:, place[bent]]
        ways, offsets = np.array(step)[:, bent], words[:3] * unit
        every = np.arange(len(bent))
        arcs = measure_arcs(
            step=(ways[axes[0], every], ways[axes[1], every], ways[axes[2], every]),
            centre=(offsets[axes[0], every], offsets[axes[1], every]),
            radius=words[_RADIUS] * unit,
            turns=words[_TURNS],
            clockwise=code[bent] == 2,
        )
        if not arcs.good.all():
            wrong = place[bent[~arcs.good]]
            self._notes.add("arc-not-closed", int(wrong[0]) + before + 1, count=len(wrong))
        return bent[arcs.good], plane[arcs.good], arcs.part(arcs.good)

    def _pauses(self, kept: Ints, marks: Ints, seconds: Floats) -> Floats:
        """Return the standstill before every kept row; what is left waits for the next block."""
        pause = np.full(len(kept) + 1, -1.0)
        pause[0] = self._pause
        timed = ~np.isnan(seconds)
        for at, wait in zip(np.searchsorted(kept, marks[timed]), seconds[timed], strict=True):
            pause[at] = max(pause[at], 0.0) + wait
        if len(kept):
            self._pause = float(pause[-1])
            return pause[:-1]
        self._pause = float(pause[0])
        return pause[:0]


def _set_apart(code: NDArray[np.uint8], words: Floats) -> tuple[Ints, Floats]:
    """Return the places of what is no move with its words, which are taken out of the others'."""
    special = np.flatnonzero(code > 3)
    aside = words[:, special]
    words[_FEED, special] = math.nan
    words[_E, special[code[special] == FILAMENT]] = math.nan
    return special, aside
