"""Finds at which flow a print was capped when it was sliced: where volume is heaped at the top.

A slicer's cap slows each move to one and the same flow, lines of all sections alike; so a heap of
volume at the largest flow, printed at several speeds, is a cap. A heap printed at one speed may as
well be one section at one set speed, and tells nothing. It keeps sums over flows only.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats

__all__ = ["FlowHeap"]

_LEAST = 1e-13  # m3/s; smaller flows count as this one
_FINE = 1e-3  # logarithmic width of a cell: 0.1 %
_CELLS = 21_000  # up to 1.3e-4 m3/s


class FlowHeap:
    """Volume, speeds and steady time by the flow that moves ask for."""

    def __init__(self) -> None:
        self._volume, self._speed, self._speed2, self._steady = np.zeros((4, _CELLS))

    def add(self, flow: Floats, volume: Floats, speed: Floats, steady: Floats) -> None:
        """Take in moves.

        Parameters
        ----------
        flow, volume, speed, steady : ndarray of shape (n,)
            Asked flow [m3/s], extruded volume [m3], asked speed [m/s], time at that speed [s].
        """
        if not len(flow):
            return
        cell = np.floor(np.log(np.maximum(flow, _LEAST) / _LEAST) / _FINE).astype(np.intp)
        np.minimum(cell, _CELLS - 1, out=cell)
        pace = np.log(speed)
        self._volume += _by(cell, volume)
        self._speed += _by(cell, volume * pace)
        self._speed2 += _by(cell, volume * pace * pace)
        self._steady += _by(cell, steady)

    @property
    def steady_time(self) -> float:
        """Time at the asked speed with flow, [s]."""
        return float(self._steady.sum())

    def steady_above(self, flow: float) -> float:
        """Return the time at the asked speed of moves that ask for `flow` [m3/s] or more, [s]."""
        cell = int(np.log(max(flow, _LEAST) / _LEAST) / _FINE)
        return float(self._steady[cell:].sum())

    def largest(self, bounds: Mapping[str, float]) -> float:
        """Return the flow above which no more than a stray share of the volume lies, [m3/s]."""
        above = np.cumsum(self._volume[::-1])[::-1]
        cells = np.flatnonzero(above > bounds["stray"] * above[0])
        return _flow(float(cells[-1])) if len(cells) else 0.0

    def heaped(self, bounds: Mapping[str, float]) -> float | None:
        """Return the flow at which the volume is heaped, None where there is no heap, [m3/s].

        Parameters
        ----------
        bounds : mapping
            ``within`` which share of the flow a heap lies to both sides; ``heap``: least share of
            the volume in it; ``stray``: largest share above it; ``spread``: least spread of the
            speeds in it.
        """
        total = float(self._volume.sum())
        if not total:
            return None
        wide = max(round(2.0 * bounds["within"] / _FINE), 1)
        whole = np.concatenate(([0.0], np.cumsum(self._volume)))
        inside, above = whole[wide:] - whole[:-wide], total - whole[wide:]
        inside = np.where(above <= bounds["stray"] * total, inside, 0.0)
        first = int(np.argmax(inside))
        if inside[first] < bounds["heap"] * total:
            return None
        part = slice(first, first + wide)
        volume = self._volume[part]
        most = volume.sum()
        mean = self._speed[part].sum() / most
        spread = np.sqrt(max(self._speed2[part].sum() / most - mean * mean, 0.0))
        if spread < bounds["spread"]:
            return None
        return _flow(first + float((volume * np.arange(wide)).sum() / most))


def _by(cell: NDArray[np.intp], weight: Floats) -> Floats:
    return np.asarray(np.bincount(cell, weights=weight, minlength=_CELLS), np.float64)


def _flow(cell: float) -> float:
    """Return the flow in the middle of a cell, [m3/s]."""
    return float(_LEAST * np.exp((cell + 0.5) * _FINE))
