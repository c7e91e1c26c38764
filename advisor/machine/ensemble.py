"""The ensemble of plausible machines: a Latin hypercube keyed by the inputs' own names.

Sample 0 is the nominal machine; the others stand in the middle of equal strata of each
input's band, in an order that depends on the input's name alone. Stating one input therefore
never reshuffles another: comparisons are paired and output is byte-identical, whatever the
version of numpy. It deliberately uses no random generator. An ensemble is a value that is handed
on: a weighed test gives another one, of the machines that fit it.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.base import Quantity

    Array = NDArray[np.float64]

__all__ = [
    "FEWEST",
    "MOST",
    "SIZE",
    "Ensemble",
    "nominal_of",
    "order",
    "plausible",
    "quantile_of",
    "quantiles",
    "spread",
]

SIZE = 2048  # what is drawn where nobody asks for more or fewer: sample 0 and 2047 strata
FEWEST, MOST = 64, 65536  # how many may be asked for
TYPICAL = 0.5  # quantile of the nominal machine


@dataclass(frozen=True, eq=False, slots=True)
class Ensemble:
    """Machines to work out together; compared by identity.

    Attributes
    ----------
    size : int
        How many there are, the nominal one first, [-].
    draw : callable
        Gives the quantile of each machine for the name of an input, shape (size,), [-].
    """

    size: int
    draw: Callable[[str], Array] = field(repr=False)

    def quantiles(self, name: str) -> Array:
        """Return the quantile of each machine of an input, shape (size,); 0.5 is typical, [-]."""
        return self.draw(name)

    def spread(self, name: str, *, low: float, typical: float, high: float) -> Array:
        """Return the samples of an input known as low, typical, high.

        Half of the samples lie evenly between low and typical, half between typical and high:
        the median is the typical value and nothing lies outside the band.

        Parameters
        ----------
        name : str
            The input's name; it keys the order of the strata.
        low, typical, high : float
            The band, in SI units, [any].

        Returns
        -------
        ndarray of float64, shape (size,)
            Sample 0 is that of the nominal machine.
        """
        q = self.draw(name)
        below = low + (typical - low) * 2.0 * q
        above = typical + (high - typical) * (2.0 * q - 1.0)
        return np.where(q < TYPICAL, below, above)


def plausible(size: int = SIZE, number: int = 0) -> Ensemble:
    """Return the ensemble of all plausible machines.

    Parameters
    ----------
    size : int
        How many machines, the nominal one included; sample 0 is the same at every size, [-].
    number : int
        0 for the ensemble itself, else another one of the same kind, independent of it, [-].
    """
    return _plausible(size, number)


@functools.cache
def _plausible(size: int, number: int) -> Ensemble:
    kept = _drawn if size <= _KEPT else _drawn.__wrapped__

    def draw(name: str) -> Array:
        return kept(f"{name} of ensemble {number}" if number else name, size)

    return Ensemble(size, draw)


_KEPT = 8192  # more quantiles of an input are not kept: they would fill a small board's memory


@functools.lru_cache(maxsize=256)
def _drawn(key: str, size: int) -> Array:
    drawn = np.concatenate(([TYPICAL], quantiles(key, size)))
    drawn.setflags(write=False)  # it is handed out again
    return drawn


@functools.lru_cache(maxsize=8)
def nominal_of(ensemble: Ensemble) -> Ensemble:
    """Return the ensemble of the nominal machine alone: the very same for the same one."""
    return Ensemble(1, lambda name: ensemble.quantiles(name)[:1])


def quantile_of(samples: Quantity, share: float, *, lower: bool = False) -> Array:
    """Return the quantile along the last axis, which is kept with one place.

    The very number that ``numpy.quantile`` gives; that one loads numpy's masked arrays, which
    cost a short run as much as all its formulas.

    Parameters
    ----------
    samples : array
        Any numbers, at least one along the last axis.
    share : float
        Share of them below the quantile, 0 to 1.
    lower : bool
        Take the sample below the place, not a value between it and the next.
    """
    values = np.atleast_1d(np.asarray(samples, dtype=np.float64))
    last = values.shape[-1] - 1
    place = last * share
    below = min(int(np.floor(place)), last)
    above = below if lower else min(below + 1, last)
    ordered = np.partition(values, sorted({below, above, last}), axis=-1)
    low, high = ordered[..., below : below + 1], ordered[..., above : above + 1]
    part = place - below
    gap = high - low if above > below else np.zeros_like(low)
    between = high - gap * (1.0 - part) if part >= 0.5 else low + gap * part
    found: Array = np.where(np.isnan(ordered[..., last:]), np.nan, low if lower else between)
    return found


def order(name: str, count: int = SIZE - 1) -> NDArray[np.int64]:
    """Return a permutation of 0..count-1 that depends on `name` alone.

    Parameters
    ----------
    name : str
        The input's name.
    count : int
        Number of strata, [-].

    Returns
    -------
    ndarray of int64, shape (count,)
        The stratum of each sample.

    Notes
    -----
    The ranks of the first `count` values of the splitmix64 sequence (Steele, Lea, Flood,
    "Fast splittable pseudorandom number generators", OOPSLA 2014) seeded by a hash of the
    name: integer arithmetic only.
    """
    seed = int.from_bytes(hashlib.blake2b(name.encode(), digest_size=8).digest(), "little")
    z = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    z += np.uint64(seed)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return np.argsort(z ^ (z >> np.uint64(31)))


def quantiles(name: str, size: int = SIZE) -> NDArray[np.float64]:
    """Return the quantile of each sample but the nominal one, shape (size - 1,), [-]."""
    return (order(name, size - 1) + 0.5) / (size - 1)


def spread(
    name: str, *, low: float, typical: float, high: float, size: int = SIZE
) -> NDArray[np.float64]:
    """Return the samples of an input over the plausible machines: see `Ensemble.spread`."""
    return plausible(size).spread(name, low=low, typical=typical, high=high)
