"""From ways to moves: arcs cut into pieces, and the limits each move has by itself.

The limits are those of the ini-style firmware: the head's speed and acceleration, the vertical
axis, and the extruder's own limits where filament moves without path, backward or straight up.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypedDict, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from advisor.physics import junction_deviation
from advisor.prints.modal import MoveField, Timeline
from advisor.prints.moves import Floats, Moves, one_for_all
from advisor.prints.path import PLANES, Ways, bend_speed2, cut_arcs
from advisor.prints.records import FREE_ACCEL, MachineLimits

__all__ = ["shape_moves"]

_NOTHING = 1e-12  # m; a shorter path is none
_MOST_AT_ONCE = 1 << 15

Ints = NDArray[np.intp]
N = TypeVar("N", bound=np.generic)
Flags = NDArray[np.bool_]


def shape_moves(ways: Ways, timeline: Timeline, limits: MachineLimits) -> Iterator[Moves]:
    """Yield the moves of a block, a bounded number at once.

    Parameters
    ----------
    ways : Ways
        What the print says.
    timeline : Timeline
        The modal state of the block.
    limits : MachineLimits
        What the print cannot change: the vertical axis and the pieces of arcs.
    """
    timeline.place(ways.place)
    moves = _limited(ways, timeline, limits)
    if ways.arcs is None:
        yield moves
        return
    pieces, bend2 = _bend(moves, ways, limits)
    edges = np.concatenate(([0], np.cumsum(pieces)))
    first = 0
    while first < len(pieces):
        last = int(np.searchsorted(edges, edges[first] + _MOST_AT_ONCE, side="right")) - 1
        last = max(last, first + 1)
        row = np.repeat(np.arange(first, last), pieces[first:last])
        yield _pieces(moves.rows(row), row, pieces, bend2)
        first = last


def _limited(ways: Ways, timeline: Timeline, limits: MachineLimits) -> Moves:
    path = ways.length > _NOTHING
    length = np.where(path, ways.length, np.abs(ways.filament))
    inverse = 1.0 / length
    ratio = ways.filament * inverse
    flat = (ways.step[0] != 0.0) | (ways.step[1] != 0.0)
    flat[ways.bent] = True
    head_accel = timeline.column(MoveField.ACCEL)
    speed, accel = _held(ways, timeline, path, flat, ratio)
    _vertical_limits(speed, accel, ways, limits)
    enter = _directions(ways, inverse)
    soft = np.minimum(head_accel * (1.0 - timeline.column(MoveField.CRUISE_RATIO)), accel)
    return Moves(
        line=ways.line,
        length=length,
        ratio=ratio,
        path=path,
        flat=flat,
        speed2=speed * speed,
        accel=accel,
        soft_accel=soft,
        enter=enter,
        leave=enter,
        pause=ways.pause,
        height=ways.height,
        **_modal(timeline, len(length)),
    )


def _directions(ways: Ways, inverse: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the unit vectors of the ways, by axis."""
    return ways.step[0] * inverse, ways.step[1] * inverse, ways.step[2] * inverse


class _Modal(TypedDict):
    """The columns of `Moves` that are as the print's settings are, one value for many moves."""

    deviation: Floats
    filament_step: Floats
    corner2: Floats
    advance: Floats
    smooth: Floats
    feature: NDArray[np.int16]
    tool: NDArray[np.int16]
    width: NDArray[np.float32]
    layer_height: NDArray[np.float32]


def _modal(timeline: Timeline, count: int) -> _Modal:
    head_accel = timeline.column(MoveField.ACCEL)
    deviation = junction_deviation(timeline.column(MoveField.CORNER), acceleration=head_accel)

    def wide(value: ArrayLike, kind: type[N]) -> NDArray[N]:
        return one_for_all(np.asarray(value, kind), count)

    return {
        "deviation": wide(deviation, np.float64),
        "filament_step": wide(timeline.column(MoveField.E_CORNER), np.float64),
        "corner2": wide(np.inf, np.float64),
        "advance": wide(timeline.column(MoveField.ADVANCE), np.float64),
        "smooth": wide(timeline.column(MoveField.SMOOTH), np.float64),
        "feature": wide(timeline.column(MoveField.FEATURE), np.int16),
        "tool": wide(timeline.column(MoveField.TOOL), np.int16),
        "width": wide(timeline.column(MoveField.WIDTH), np.float32),
        "layer_height": wide(timeline.column(MoveField.LAYER_HEIGHT), np.float32),
    }


def _held(
    ways: Ways, timeline: Timeline, path: Flags, flat: Flags, ratio: Floats
) -> tuple[Floats, Floats]:
    """Return speed and acceleration of each move within what holds for head and extruder."""
    most = timeline.column(MoveField.MAX_VELOCITY)
    speed = np.where(path, np.minimum(ways.feed, most), ways.feed)
    accel = np.where(path, timeline.column(MoveField.ACCEL), FREE_ACCEL)
    _extruder_limits(speed, accel, path, flat, ratio, timeline)
    return speed, accel


def _extruder_limits(
    speed: Floats, accel: Floats, path: Flags, flat: Flags, ratio: Floats, timeline: Timeline
) -> None:
    """Hold filament without path, backward or straight up to the extrude-only limits."""
    own = np.flatnonzero(~path | ((ratio != 0.0) & (~flat | (ratio < 0.0))))
    if not len(own):
        return
    size = np.abs(ratio[own])
    for column, field in ((speed, MoveField.E_VELOCITY), (accel, MoveField.E_ACCEL)):
        limit = timeline.column(field)
        most = limit[own] if isinstance(limit, np.ndarray) else limit
        column[own] = np.minimum(column[own], most / size)


def _vertical_limits(speed: Floats, accel: Floats, ways: Ways, limits: MachineLimits) -> None:
    rise = np.flatnonzero((ways.step[2] != 0.0) & (ways.length > _NOTHING))
    if not len(rise):
        return
    steepness = ways.length[rise] / np.abs(ways.step[2][rise])
    speed[rise] = np.minimum(speed[rise], limits.max_z_velocity * steepness)
    accel[rise] = np.minimum(accel[rise], limits.max_z_accel * steepness)


def _bend(moves: Moves, ways: Ways, limits: MachineLimits) -> tuple[Ints, Floats]:
    """Give the arcs among the moves their directions; return pieces and bend speed of all."""
    arcs, bent = ways.arcs, ways.bent
    assert arcs is not None
    count, turn, piece = cut_arcs(arcs, limits.arc_resolution)
    pieces, bend2 = np.ones(len(moves), np.intp), np.full(len(moves), np.inf)
    pieces[bent] = count
    bend2[bent] = bend_speed2(turn, piece, accel=moves.accel[bent], deviation=moves.deviation[bent])
    half = 0.5 * np.copysign(turn, arcs.angle)
    axes = np.array(PLANES)[ways.plane].T
    moves.leave = tuple(column.copy() for column in moves.enter)  # type: ignore[assignment]
    for target, turned in ((moves.enter, half), (moves.leave, arcs.angle - half)):
        for axis, part in zip(axes, arcs.direction(turned), strict=True):
            for k in range(3):
                mine = axis == k
                target[k][bent[mine]] = part[mine]
    return pieces, bend2


def _pieces(moves: Moves, row: Ints, pieces: Ints, bend2: Floats) -> Moves:
    """Turn the copies of each arc into its pieces; inside an arc only the bend limits speed."""
    head = np.diff(row, prepend=-1) != 0
    moves.length = moves.length / pieces[row]
    moves.enter = tuple(  # type: ignore[assignment]
        np.where(head, enter, leave) for enter, leave in zip(moves.enter, moves.leave, strict=True)
    )
    moves.corner2 = np.where(head, np.inf, bend2[row])
    moves.pause = np.where(head, moves.pause, -1.0)
    return moves
