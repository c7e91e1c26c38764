"""The look-ahead's recurrences on whole arrays: running minima instead of a loop over moves.

With y[k] = min(cap[k], y[k-1] + gain[k]) and G the running sum of the gains,
y[k] = min over j <= k of (cap[j] - G[j]) + G[k]: a running minimum. The sums are kept short (a
chunk at a time) so that little is lost to rounding beside a small speed. It knows no machine.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats

__all__ = ["bounded_run", "falling_in_runs", "last_settled"]

_CHUNK = 64
_LOOSE = 1e-7  # y below this share of a chunk's sum of gains is worked out one by one
_TAIL = 512  # moves from the end that are looked at first
_ROUNDING = 4.0 * np.finfo(float).eps


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
