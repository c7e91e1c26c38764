"""Positions of one axis along a print, from words that are absolute, relative or missing.

It works on one axis at a time and knows neither letters nor units.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats

__all__ = ["carried", "follow"]

Flags = NDArray[np.bool_]


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
