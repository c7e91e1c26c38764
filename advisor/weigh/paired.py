"""Sets one weighed test against another: what the second delivers more, and how sure that is.

Both limits are what came out. The errors that both tests share are common factors and cancel: the
scale's, and those of density and diameter where both are of one spool. Only the ratio of the slow
runs is taken from the masses; half of it goes to either test, so that a factor common to both
changes nothing and changing them over changes the sign alone.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band, frozen
from advisor.weigh.answers import DeliveredMore, FlowRow
from advisor.weigh.records import Evaluation, Step

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Pair", "pair_of"]

_MM3 = 1e9
_LOW = 0.05
_NINETY = 1.6448536269514722
_DRAWS, _SCORES = 200, 9
_ROWS = 8


@frozen
class Pair:
    """Two tests, and the factors by which flows that came out of each are set side by side.

    ``ratio`` is what the second's slow run gave over the first's, by length commanded, and
    ``unsure`` its relative standard uncertainty; ``spools`` is the part of that by density and
    diameter, [-].
    """

    first: Evaluation
    second: Evaluation
    ratio: float
    unsure: float
    spools: float = 0.0

    @property
    def factors(self) -> tuple[float, float]:
        """What to multiply commanded flows of each with, [-]."""
        root = math.sqrt(self.ratio)
        return 1.0 / root, root

    @property
    def slow_ratio(self) -> Band:
        """The ratio of the slow runs with its 90 % interval, [-]."""
        wide = _NINETY * self.unsure * self.ratio
        return Band(self.ratio, self.ratio - wide, self.ratio + wide)

    def more(self) -> DeliveredMore | None:
        """Return by how much more the second delivers before it under-extrudes."""
        one, other = (
            None if test.came_out is None else _thinned(test.came_out) * factor * _MM3
            for test, factor in zip((self.first, self.second), self.factors, strict=True)
        )
        if one is not None and other is not None:
            return _told(self._crossed(one, other))
        whole = tuple(
            test.intact * factor * _MM3
            for test, factor in zip((self.first, self.second), self.factors, strict=True)
        )
        if one is not None:
            told = _told(np.sort(whole[1] - one))
            return DeliveredMore(told.more, told.sure, at_least=True)
        if other is not None:
            told = _told(np.sort(other - whole[0]))
            return DeliveredMore(told.more, told.sure, at_most=True)
        return None

    def _crossed(self, one: Array, other: Array) -> Array:
        """Return every draw of one against every other one, the slow runs' ratio drawn beside."""
        scores = [NormalDist().inv_cdf((n + 0.5) / _SCORES) for n in range(_SCORES)]
        halves = np.exp(0.5 * self.unsure * np.array(scores))
        made = other[None, :, None] * halves - one[:, None, None] / halves
        crossed: Array = np.sort(made.ravel())
        return crossed

    def rows(self) -> tuple[FlowRow, ...]:
        """Return what comes out of both at flows that both were weighed at or between."""
        pairs = (self.first, self.second)
        low = max(_used(test)[0].flow for test in pairs)
        high = min(_used(test)[-1].flow for test in pairs)
        flows = sorted({step.flow for test in pairs for step in _used(test)})
        inside = [flow for flow in flows if low <= flow <= high * (1.0 + 1e-9)]
        places = np.unique(np.linspace(0, len(inside) - 1, _ROWS).round().astype(int))
        return tuple(self._row(inside[place]) for place in places) if inside else ()

    def _row(self, flow: float) -> FlowRow:
        made = [_at(test, flow) for test in (self.first, self.second)]
        one, other = (
            flow * _MM3 * factor * ratio
            for (ratio, _), factor in zip(made, self.factors, strict=True)
        )
        wide = flow * _MM3 * math.hypot(*(own for _, own in made))
        wide = math.hypot(wide, self.spools * (one + other) / 2.0)
        more = other - one
        sure = 0.5 if wide <= 0.0 else NormalDist(0.0, wide).cdf(more)
        band = Band(more, more - _NINETY * wide, more + _NINETY * wide)
        return FlowRow(flow * _MM3, one, other, band, sure)


def pair_of(first: Evaluation, second: Evaluation, *, one_spool: bool) -> Pair:
    """Return two tests as they are set side by side.

    Parameters
    ----------
    first, second : Evaluation
        What the tests show.
    one_spool : bool
        Whether density and diameter are those of one spool.

    Notes
    -----
    By ruler, where both have one, what went in is known of each by itself.
    """
    hands = [test.by_hand.calibration if test.by_hand else None for test in (first, second)]
    ratios = [test.reference_ratio.value for test in (first, second)]
    if hands[0] is not None and hands[1] is not None:
        ratios = [hand.value for hand in hands if hand is not None]
        parts = [_relative(hand) for hand in hands if hand is not None]
    else:
        parts = [test.steps[0].own for test in (first, second)]
    spools = 0.0 if one_spool else _by_spools(first, second)
    by_ruler = None not in hands
    unsure = math.hypot(*parts) if by_ruler else math.hypot(*parts, spools)
    return Pair(first, second, ratios[1] / ratios[0], unsure, spools)


def _by_spools(first: Evaluation, second: Evaluation) -> float:
    """Return what density and diameter of two spools add to the ratio of their runs, [-]."""
    parts = [
        math.sqrt(max(0.0, _relative(test.reference_ratio) ** 2 - test.steps[0].own ** 2))
        for test in (first, second)
    ]
    return math.hypot(*parts)


def _relative(band: Band) -> float:
    return (band.high - band.low) / 2.0 / _NINETY / band.value


def _used(test: Evaluation) -> list[Step]:
    return [step for step in test.steps if step.outlier is None]


def _at(test: Evaluation, flow: float) -> tuple[float, float]:
    """Return the ratio at a flow, between its neighbours, and its standard uncertainty, [-]."""
    steps = _used(test)
    flows = np.array([step.flow for step in steps])
    place = int(np.clip(np.searchsorted(flows, flow) - 1, 0, len(steps) - 2))
    left, right = steps[place], steps[place + 1]
    part = min(1.0, max(0.0, (flow - left.flow) / (right.flow - left.flow)))
    ratio = (1.0 - part) * left.ratio + part * right.ratio
    return ratio, math.hypot((1.0 - part) * left.own, part * right.own)


def _told(ordered: Array) -> DeliveredMore:
    """Return sorted draws of a difference as what is said of it; symmetric about its sign."""
    place = round((ordered.size - 1) * _LOW)
    low, high = float(ordered[place]), float(ordered[-1 - place])
    sure = float(np.mean(ordered > 0.0) + 0.5 * np.mean(ordered == 0.0))
    return DeliveredMore(Band(float(np.median(ordered)), low, high), sure)


def _thinned(draws: Array) -> Array:
    places = np.floor((np.arange(_DRAWS) + 0.5) / _DRAWS * draws.size).astype(int)
    thinned: Array = np.sort(draws)[places]
    return thinned
