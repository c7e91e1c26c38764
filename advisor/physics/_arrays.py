"""The types of the physics functions and a division that knows what to say at zero.

It holds no physics.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Flag", "Quantity", "common_shape", "ratio", "select"]

Quantity: TypeAlias = float | NDArray[np.float64]
Flag: TypeAlias = bool | NDArray[np.bool_]


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
    with np.errstate(over="ignore", under="ignore"):
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
