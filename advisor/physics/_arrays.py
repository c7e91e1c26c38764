"""The mathematics that physics shares: its types, a division that knows zero, Bessel functions.

It holds no physics. J0, J1 and the zeros of J0 are here as far as the cylinder series needs them:
Bessel's integral by the trapezoid rule, which for a periodic integrand is exact to rounding as
soon as there are more points than the argument; zeros by McMahon's expansion and Newton's method.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["TERMS", "Flag", "Quantity", "common_shape", "j0", "j0_zeros", "j1", "ratio", "select"]

Quantity: TypeAlias = float | NDArray[np.float64]
Flag: TypeAlias = bool | NDArray[np.bool_]
TERMS = 40  # zeros kept
POINTS = 128  # per half turn: exact for arguments up to about 200
NEWTON_STEPS = 5
_SINES = np.sin((np.arange(POINTS) + 0.5) * math.pi / POINTS)


def ratio(numerator: Quantity, denominator: Quantity, otherwise: Quantity = 0.0) -> Quantity:
    """Divide; where the denominator is zero give `otherwise` instead.

    Parameters
    ----------
    numerator, denominator : Quantity
        Any two quantities; any, [-]
    otherwise : Quantity
        Result where `denominator` is zero; any, [-]

    Returns
    -------
    Quantity
        The quotient, [-]

    References
    ----------
    Derived here: no formula of physics.

    Examples
    --------
    >>> f"{ratio(1.0, 4.0):.2f} {ratio(1.0, 0.0, otherwise=7.0):.2f}"
    '0.25 7.00'
    """
    zero = np.equal(denominator, 0.0)
    plain = np.ndim(otherwise) == 0 and not np.any(zero)
    with np.errstate(over="ignore", under="ignore"):
        if plain:
            divided: Quantity = np.divide(numerator, denominator)
            return divided
        quotient = numerator / np.where(zero, 1.0, denominator)
    return select(zero, otherwise, quotient)


def select(condition: Flag, chosen: Quantity, other: Quantity) -> Quantity:
    """Choose element by element; a scalar choice stays a scalar.

    Parameters
    ----------
    condition : Flag
        Where to take `chosen`; any, [-]
    chosen, other : Quantity
        The two alternatives; any, [-]

    Returns
    -------
    Quantity
        `chosen` where the condition holds, else `other`, [-]

    References
    ----------
    Derived here: no formula of physics.

    Examples
    --------
    >>> float(select(True, 1.0, 2.0))
    1.0
    """
    result: Quantity = np.where(condition, chosen, other)[()]
    return result


def common_shape(**quantities: Quantity) -> tuple[tuple[int, ...], dict[str, NDArray[np.float64]]]:
    """Broadcast named quantities together and flatten them.

    Parameters
    ----------
    **quantities : Quantity
        Quantities by name; any, [-]

    Returns
    -------
    tuple
        The common shape and the flat arrays by the same names, [-]

    References
    ----------
    Derived here: no formula of physics.

    Examples
    --------
    >>> common_shape(a=1.0, b=np.zeros((2, 3)))[0]
    (2, 3)
    """
    arrays: Any = np.broadcast_arrays(*quantities.values())
    flat = {name: np.ravel(a).astype(float) for name, a in zip(quantities, arrays, strict=True)}
    return arrays[0].shape, flat


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
