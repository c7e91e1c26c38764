"""Bessel functions J0 and J1 and the zeros of J0, as far as the cylinder series needs them.

Bessel's integral by the trapezoid rule, which for a periodic integrand is exact to rounding as
soon as there are more points than the argument; zeros by McMahon's expansion and Newton's method.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from advisor.physics._arrays import Quantity

__all__ = ["TERMS", "j0", "j0_zeros", "j1"]

TERMS = 40  # zeros kept
POINTS = 128  # per half turn: exact for arguments up to about 200
NEWTON_STEPS = 5

_SINES = np.sin((np.arange(POINTS) + 0.5) * math.pi / POINTS)


def j0(x: Quantity) -> Quantity:
    """Bessel function of the first kind, order 0.

    Parameters
    ----------
    x : Quantity
        Argument up to about 200; 0 to 200, [-]

    Returns
    -------
    Quantity
        J0(x), [-]

    References
    ----------
    F. W. Bessel's integral (any handbook of functions), from memory.

    Examples
    --------
    >>> f"{j0(1.0):.4f}"
    '0.7652'
    """
    value: Quantity = np.cos(np.multiply.outer(x, _SINES)).mean(axis=-1)
    return value


def j1(x: Quantity) -> Quantity:
    """Bessel function of the first kind, order 1.

    Parameters
    ----------
    x : Quantity
        Argument up to about 200; 0 to 200, [-]

    Returns
    -------
    Quantity
        J1(x), [-]

    References
    ----------
    F. W. Bessel's integral (any handbook of functions), from memory.

    Examples
    --------
    >>> f"{j1(1.0):.4f}"
    '0.4401'
    """
    value: Quantity = (np.sin(np.multiply.outer(x, _SINES)) * _SINES).mean(axis=-1)
    return value


@cache
def j0_zeros() -> NDArray[np.float64]:
    """First zeros of J0, in rising order.

    Returns
    -------
    ndarray
        The first `TERMS` zeros, [-]
    """
    beta = (np.arange(1, TERMS + 1) - 0.25) * math.pi
    zeros: NDArray[np.float64] = beta + 1.0 / (8.0 * beta) - 124.0 / (3.0 * (8.0 * beta) ** 3)
    for _ in range(NEWTON_STEPS):
        zeros = zeros + np.asarray(j0(zeros)) / np.asarray(j1(zeros))
    zeros.setflags(write=False)
    return zeros
