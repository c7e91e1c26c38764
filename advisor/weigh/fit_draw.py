"""Ensembles of machines that were picked out of others, or stand on a line from typical to picked.

An input that belongs to another thing than the machine asked about (another filament, another
motor) is drawn under a name of its own: nothing is learnt of it for this one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.machine import Ensemble, plausible

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["FittedLine", "Foreign", "Selection"]

Foreign = Mapping[str, str]  # beginning of a name: what stands behind it


@dataclass(slots=True)
class Selection:
    """Machines out of several ensembles, the nominal one first.

    Attributes
    ----------
    batches, places : ndarray of int, shape (size,)
        The ensemble and the sample in it; what stands first is taken over by `nominal`.
    nominal : mapping of str to float
        Quantile of the nominal machine by input; 0.5 where not named, [-].
    """

    batches: NDArray[np.int_]
    places: NDArray[np.int_]
    nominal: Mapping[str, float] = field(default_factory=dict)

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each sample of an input, shape (size,), [-]."""
        made = np.empty(self.batches.size)
        for number in np.unique(self.batches):
            here = self.batches == number
            batch = plausible(self.batches.size, int(number))
            made[here] = batch.quantiles(name)[self.places[here]]
        made[0] = self.nominal.get(name, 0.5)
        return made

    @property
    def ensemble(self) -> Ensemble:
        """These machines as an ensemble."""
        return Ensemble(self.batches.size, self.quantiles)


@dataclass(frozen=True, slots=True)
class FittedLine:
    """Machines on the line from the typical one (0) through `through` (1) and beyond.

    Attributes
    ----------
    through : mapping of str to float
        Quantiles by input; 0.5 where not named, [-].
    steps : ndarray, shape (size,)
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
        """Return the quantile of each sample of an input, shape (size,), [-]."""
        made: Array = np.clip(0.5 + self.steps * (self.through.get(name, 0.5) - 0.5), 0.0, 1.0)
        return made

    @property
    def ensemble(self) -> Ensemble:
        """These machines as an ensemble."""
        return Ensemble(self.steps.size, self.quantiles)
