"""Draws of machines: more of them, those that were picked, or a line from typical to picked.

Each gives the quantile of every sample of an input by the input's name, for `ensemble.drawn`.
An input that belongs to another thing than the machine asked about (another filament, another
motor) is drawn under a name of its own: nothing is learnt of it for this one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from advisor.facts.ensemble import SIZE, quantiles

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Batch", "Draw", "Foreign", "Line", "Picked"]

Foreign = Mapping[str, str]  # beginning of a name: what stands behind it
_TYPICAL = np.array([0.5])


class Draw(Protocol):
    """Gives quantiles by the name of an input."""

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (SIZE,), [-]."""


@dataclass(frozen=True, slots=True)
class Batch:
    """The ensemble itself (number 0) or another one of the same kind."""

    number: int

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (SIZE,), [-]."""
        key = f"{name} of ensemble {self.number}" if self.number else name
        return np.concatenate((_TYPICAL, quantiles(key)))


@dataclass(slots=True)
class Picked:
    """Machines out of several ensembles, the nominal one first.

    Attributes
    ----------
    batches, places : ndarray of int, shape (SIZE,)
        The ensemble and the sample in it; what stands first is taken over by `nominal`.
    nominal : mapping of str to float
        Quantile of the nominal machine by input; 0.5 where not named, [-].
    """

    batches: NDArray[np.int_]
    places: NDArray[np.int_]
    nominal: Mapping[str, float] = field(default_factory=dict)

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (SIZE,), [-]."""
        made = np.empty(SIZE)
        for number in np.unique(self.batches):
            here = self.batches == number
            made[here] = Batch(int(number)).quantiles(name)[self.places[here]]
        made[0] = self.nominal.get(name, 0.5)
        return made


@dataclass(frozen=True, slots=True)
class Line:
    """Machines on the line from the typical one (0) through `through` (1) and beyond.

    Attributes
    ----------
    through : mapping of str to float
        Quantiles by input; 0.5 where not named, [-].
    steps : ndarray, shape (SIZE,)
        How far along the line each sample is, [-].
    """

    through: Mapping[str, float]
    steps: Array

    def at(self, step: float) -> dict[str, float]:
        """Return the quantiles of the machine at a place of the line, [-]."""
        return {
            name: min(1.0, max(0.0, 0.5 + step * (quantile - 0.5)))
            for name, quantile in self.through.items()
        }

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (SIZE,), [-]."""
        made: Array = np.clip(0.5 + self.steps * (self.through.get(name, 0.5) - 0.5), 0.0, 1.0)
        return made
