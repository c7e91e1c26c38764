"""The nearest of many values that is enough in a share of likely machines, and the surest one.

A value takes the whole ensemble to work out, so not all of them are: 16 at a time are spread over
those that may do, and then over the gap before the first that is enough, down to single steps.
What is found is enough and the value before it is not, and a higher share never gives a nearer one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["sought"]

_PARTS = 16
_LEVEL = 5e-3  # shares so close are told as the same


def sought(
    values: Sequence[float],
    shares: Callable[[Sequence[float]], NDArray[np.float64]],
    least: float,
) -> tuple[float | None, float | None, float]:
    """Return the nearest value that is enough in a share of machines, and the surest one seen.

    Parameters
    ----------
    values : sequence of float
        The nearest first.
    shares : callable
        The share of machines in which each of some values is enough, [-]; below 0 where the
        value is out of the question.
    least : float
        The share wanted, [-]

    Returns
    -------
    tuple of float or None, float or None, float
        The nearest that is enough; the nearest that is about the surest, and its share.
    """
    seen: dict[int, float] = {}

    def first(low: int, high: int) -> tuple[int, int] | None:
        """Return the gap before the first place after `low` that is enough, among some of them."""
        places = _spread(low, high)
        fresh = [place for place in places if place not in seen]
        made = shares([values[place] for place in fresh]) if fresh else ()
        seen.update(zip(fresh, map(float, made), strict=True))
        for before, place in zip((low, *places), places, strict=False):
            if seen[place] >= least:
                return before, place
        return None

    gap = first(-1, len(values) - 1) if values else None
    if values and gap is None:
        gap = next((found for ends in _beside(seen) if (found := first(*ends))), None)
    while gap is not None and gap[1] - gap[0] > 1:
        gap = first(*gap)
    most = max(seen.values(), default=-1.0)
    if most < 0.0:
        return None, None, 0.0
    best = min(place for place, share in seen.items() if share >= most - _LEVEL)
    return None if gap is None else values[gap[1]], values[best], seen[best]


def _spread(low: int, high: int) -> list[int]:
    """Return some places after `low`, up to `high` and with it."""
    return sorted({round(float(at)) for at in np.linspace(low, high, _PARTS + 1)[1:]} - {low})


def _beside(seen: Mapping[int, float]) -> list[tuple[int, int]]:
    """Return the gaps before and after the surest place."""
    places = sorted(seen)
    at = max(range(len(places)), key=lambda i: seen[places[i]])
    before = places[at - 1] if at else -1
    gaps = [(before, places[at])]
    return [*gaps, (places[at], places[at + 1])] if at + 1 < len(places) else gaps
