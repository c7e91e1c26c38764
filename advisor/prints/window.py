"""Sustained flow: the largest mean over a fixed extruded volume, as the print goes by.

The time is noted at equal steps of extruded volume; a window is the difference of two notes. It
takes windows at those steps only: between them the mean differs by less than a step's share.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.profile import Trapezoids

__all__ = ["STEPS", "Window"]

STEPS = 128  # steps of a window
_AT_ONCE = 1 << 17  # notes taken at once
_IN_MOVE = 8  # windows looked at within a move that is longer than two of them


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
