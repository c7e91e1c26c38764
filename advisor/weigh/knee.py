"""Where delivery begins to fall: a level line that turns into a falling one.

Weighted least squares over a grid of turning points; its interval comes from a parametric
bootstrap with numbers of our own, the same on every machine. The fall is a straight
line, or begins steeper or softer than one (a power of the distance), or begins with the first
flow at which steps or much filament were lost; how much each of these counts follows from how
well it fits (weights from the information criterion). It knows no mass and no machine.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from advisor.facts.ensemble import order

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["KneeFit", "find_knee"]

_LEAST = 3  # points below which no line is fitted
_PASSES = 3  # weights follow the loss of the fit before
_TIE = 1e-9  # sums of squares this close are the same


@dataclass(frozen=True, slots=True)
class KneeFit:
    """What the ratios say of the turning point.

    Attributes
    ----------
    draws : ndarray or None
        Bootstrap draws of the turning point, sorted, in the unit of the flows; None where
        delivery does not fall.
    level : float
        Ratio of the level line, [-].
    sudden : float
        Weight of the fall beginning with the first flow that skipped or lost much, [-].
    excess : float
        Factor by which the scatter exceeds the stated uncertainty, at least 1, [-].
    """

    draws: Array | None
    level: float
    sudden: float = 0.0
    excess: float = 1.0


def find_knee(
    flows: Array, ratios: Array, uncertainty: Array, *, skipped: Array, numbers: Mapping[str, float]
) -> KneeFit:
    """Return where the ratio begins to fall.

    Parameters
    ----------
    flows : ndarray
        Rising flows, [any].
    ratios, uncertainty : ndarray
        Delivery ratio and its own standard uncertainty, without what all flows share, [-].
    skipped : ndarray of bool
        Where the motor skipped.
    numbers : mapping
        The part ``fit`` of rules/weigh/test.yaml.
    """
    end, cliff = _usable(ratios, skipped, numbers["most_loss"])
    if end < _LEAST:
        return _between(flows, ratios, end) if cliff else KneeFit(None, float(ratios[0]))
    upper = flows[end] if cliff else flows[end - 1]
    grid = np.linspace(flows[0], upper, int(numbers["grid"]))
    lines = _Lines(flows[:end], ratios[:end], uncertainty[:end], grid, numbers)
    if not cliff and lines.gain < numbers["fall"] * lines.excess**2:
        return KneeFit(None, lines.level, 0.0, lines.excess)
    weights = lines.weights(cliff=cliff)
    counts = _shared_out(weights, int(numbers["draws"]))
    draws = [lines.draws(kind, counts[kind]) for kind in range(len(lines.powers))]
    draws.append(flows[end - 1] + (upper - flows[end - 1]) * _uniform("sudden", counts[-1]))
    return KneeFit(np.sort(np.concatenate(draws)), lines.level, float(weights[-1]), lines.excess)


def _usable(ratios: Array, skipped: Array, most_loss: float) -> tuple[int, bool]:
    """Return how many points a line is fitted to, and whether a point beyond them was lost."""
    level = float(np.median(ratios[: max(2, ratios.size // 4)]))
    lost = np.asarray(skipped, bool) | (ratios < level * (1.0 - most_loss))
    lost[0] = False
    return (int(np.argmax(lost)), True) if lost.any() else (ratios.size, False)


def _between(flows: Array, ratios: Array, end: int) -> KneeFit:
    """Too few points for a line: anywhere between the last good flow and the first lost one."""
    draws = flows[end - 1] + (flows[end] - flows[end - 1]) * _uniform("sudden", 200)
    return KneeFit(np.sort(draws), float(ratios[:end].mean()), 1.0)


class _Lines:
    """Level-then-falling lines of several powers, fitted at every turning point of a grid."""

    def __init__(
        self, flows: Array, ratios: Array, uncertainty: Array, grid: Array,
        numbers: Mapping[str, float],
    ) -> None:  # fmt: skip
        self.flows, self.ratios, self.grid = flows, ratios, grid
        self.powers = (1.0, numbers["sharpness"], numbers["softness"])
        self.penalty = numbers["parameters"]
        loss = np.zeros_like(ratios)
        for _ in range(_PASSES):
            self.weight = 1.0 / np.hypot(uncertainty, numbers["line_scatter"] * loss)
            self.bases = [self._basis(power) for power in self.powers]
            scaled = (ratios * self.weight)[None]
            self.sums = np.stack([_sums(scaled, basis)[0] for basis in self.bases])
            best = int(np.argmin(self.sums.min(axis=1)))
            fitted = self._fitted(best)
            loss = np.maximum(fitted.max() - fitted, 0.0)
        self.level = float(fitted.max())
        square = self.weight**2
        mean = float(np.sum(square * ratios) / np.sum(square))
        self.flat = float(np.sum(square * (ratios - mean) ** 2))
        free = max(ratios.size - 3, 1)
        self.excess = max(1.0, float(np.sqrt(self.sums.min() / free)))
        self.gain = self.flat - float(self.sums.min())

    def weights(self, *, cliff: bool) -> Array:
        """Return the weight of each power, and last of a fall that begins beyond the points."""
        scores = [-0.5 * sums.min() / self.excess**2 - self.penalty for sums in self.sums]
        level = -0.5 * self.flat / self.excess**2 + np.log(len(self.powers))
        raw = np.exp(np.array([*scores, level if cliff else -np.inf]) - max(*scores, level))
        weights: Array = raw / raw.sum()
        return weights

    def draws(self, kind: int, count: int) -> Array:
        """Return turning points of ratios made anew around the fit of one power."""
        if count == 0:
            return np.empty(0)
        noise = np.stack(
            [_normal(f"{kind} {point}", count) for point in range(self.ratios.size)], axis=1
        )
        made = self._fitted(kind) * self.weight + noise * self.excess
        fall = made @ self.bases[kind][1].T  # the larger, the smaller the sum of squares
        np.maximum(fall, 0.0, out=fall)
        best = fall >= fall.max(axis=1, keepdims=True) - _TIE
        first = np.argmax(best, axis=1)
        last = best.shape[1] - 1 - np.argmax(best[:, ::-1], axis=1)
        share = _uniform(f"tie {kind}", count)  # where nothing tells them apart
        made_at: Array = self.grid[first + np.floor(share * (last - first + 1)).astype(int)]
        return made_at

    def _basis(self, power: float) -> tuple[Array, Array]:
        """Return the level's and, for each turning point, the fall's orthonormal direction."""
        level = self.weight / np.linalg.norm(self.weight)
        beyond = np.maximum(self.flows[None] - self.grid[:, None], 0.0) ** power
        fall = -beyond * self.weight[None]
        fall -= (fall @ level)[:, None] * level
        length = np.linalg.norm(fall, axis=1, keepdims=True)
        unit = np.divide(fall, length, where=length > 1e-12, out=np.zeros_like(fall))
        return level, unit

    def _fitted(self, kind: int) -> Array:
        level, fall = self.bases[kind]
        direction = fall[int(np.argmin(self.sums[kind]))]
        scaled = self.ratios * self.weight
        fitted = level * (scaled @ level) + direction * max(float(scaled @ direction), 0.0)
        made: Array = fitted / self.weight
        return made


def _sums(scaled: Array, basis: tuple[Array, Array]) -> Array:
    """Weighted sums of squares: one row for each set of ratios, one column a turning point."""
    level, fall = basis
    explained = (scaled @ level)[:, None] ** 2 + np.maximum(scaled @ fall.T, 0.0) ** 2
    left: Array = np.maximum(np.sum(scaled**2, axis=1)[:, None] - explained, 0.0)
    return left


def _shared_out(weights: Array, count: int) -> list[int]:
    """Return whole numbers in the ratio of the weights that add up to `count`."""
    ends = np.floor(np.cumsum(weights) * count + 0.5).astype(int)
    return [int(part) for part in np.diff(ends, prepend=0)]


def _uniform(name: str, count: int) -> Array:
    places: Array = (order(f"weighed test: {name}", count) + 0.5) / max(count, 1)
    return places


def _normal(name: str, count: int) -> Array:
    return _normal_quantiles(count)[order(f"weighed test: noise {name}", count)]


@functools.lru_cache(maxsize=32)
def _normal_quantiles(count: int) -> Array:
    inverse = NormalDist().inv_cdf
    return np.array([inverse((place + 0.5) / count) for place in range(count)])
