"""The ensemble of plausible machines: a Latin hypercube keyed by the inputs' own names.

Sample 0 is the nominal machine; the others stand in the middle of equal strata of each
input's band, in an order that depends on the input's name alone. Stating one input therefore
never reshuffles another: comparisons are paired and output is byte-identical, whatever the
version of numpy. It deliberately uses no random generator. Another draw can be put in its place
for a while (`drawn`): a weighed test asks for more machines, and for those that fit it.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["SIZE", "drawn", "order", "quantiles", "spread", "weighted_choice"]

SIZE = 2048  # sample 0 and 2047 strata
_draw: ContextVar[Callable[[str], NDArray[np.float64]] | None] = ContextVar("draw", default=None)


@contextmanager
def drawn(draw: Callable[[str], NDArray[np.float64]]) -> Iterator[None]:
    """Draw the samples of every input by `draw` while the context lasts.

    Parameters
    ----------
    draw : callable
        Returns the quantile of each sample, the nominal one included (0.5 is typical), for the
        name of an input: an array of shape (SIZE,), [-].
    """
    token = _draw.set(draw)
    try:
        yield
    finally:
        _draw.reset(token)


@functools.lru_cache(maxsize=256)
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
    """Return the samples of an input known as low, typical, high.

    Half of the samples lie evenly between low and typical, half between typical and high:
    the median is the typical value and nothing lies outside the band.

    Parameters
    ----------
    name : str
        The input's name; it keys the order of the strata.
    low, typical, high : float
        The band, in SI units, [any].
    size : int
        Number of samples, [-].

    Returns
    -------
    ndarray of float64, shape (size,)
        Sample 0 is `typical`.
    """
    draw = _draw.get()
    q = np.concatenate(([0.5], quantiles(name, size))) if draw is None else draw(name)
    below = low + (typical - low) * 2.0 * q
    above = typical + (high - typical) * (2.0 * q - 1.0)
    return np.where(q < 0.5, below, above)


def weighted_choice(
    name: str, *, usual: float, other: float, share: float, size: int = SIZE
) -> NDArray[np.float64]:
    """Return samples that are `other` in a `share` of the ensemble, else `usual`; shape (size,)."""
    chosen = np.where(quantiles(name, size) < share, other, usual)
    return np.concatenate(([usual], chosen))
