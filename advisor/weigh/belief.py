"""What is believed of where delivery begins to fall, before and after each piece that is weighed.

The reader's own hypotheses (`knee`: drawn shapes of delivery, a level that is fitted to each, any
one mass misread) with two things more: what the model expects of this machine, with tails, and
how a hypothesis that reaches beyond the flows weighed would go on there. It chooses nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from advisor.weigh.knee import Hypotheses, draw_shapes, hypotheses
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Belief", "Expected", "Rows", "believed"]

_REAL = ("slip", "melt", "cliff")
_TAIL, _GRID = 0.02, 400
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True, slots=True)
class Rows:
    """What was weighed so far, by rising flow: flow, ratio, its own uncertainty, skipped or not."""

    flows: Array
    ratios: Array
    own: Array
    skipped: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Expected:
    """Where the model expects this machine to lose delivery, with tails on both sides.

    Attributes
    ----------
    logs, chance : ndarray
        Logarithms of flows [m3/s] and the density of the one at which delivery begins to fall, [-]
    """

    logs: Array
    chance: Array

    @classmethod
    def of(cls, loss: Array, numbers: Mapping[str, float]) -> Expected:
        """Return what a model's machines make expected; those that lose at no flow are left out.

        Parameters
        ----------
        loss : ndarray
            Where each machine begins to lose delivery, [m3/s]
        numbers : mapping
            The part ``next`` of rules/weigh/test.yaml.
        """
        likely = np.log(loss[np.isfinite(loss) & (loss > 0.0)])
        low, high = (float(np.quantile(likely, q)) for q in (_TAIL, 1.0 - _TAIL))
        reach = float(np.log(numbers["reach"]))
        grid = np.linspace(low - reach, high + reach, _GRID)
        silverman = 1.06 * float(likely.std()) * likely.size**-0.2
        width = float(np.hypot(silverman, numbers["model_scatter"]))
        near = np.exp(-0.5 * ((grid[:, None] - likely[None]) / width) ** 2).mean(axis=1)
        near /= near.sum() * (grid[1] - grid[0])
        flat = numbers["tails"] / (grid[-1] - grid[0])
        return cls(grid, (1.0 - numbers["tails"]) * near + flat)

    @property
    def high(self) -> float:
        """The flow beyond which delivery is not believed to begin to fall, [m3/s]."""
        return float(np.exp(self.logs[-1]))

    def density(self, knee: Array) -> Array:
        """Return the density of the logarithm of a flow [m3/s] as the limit, [-]."""
        made: Array = np.interp(np.log(knee), self.logs, self.chance, left=0.0, right=0.0)
        return made


@dataclass(frozen=True, slots=True)
class Belief:
    """Hypotheses of equal weight, sorted by where delivery begins to fall.

    Attributes
    ----------
    knee : ndarray, shape (n,)
        Where delivery begins to fall, [m3/s]
    family : ndarray of int, shape (n,)
        How it falls: slip, melt or all at once, 0 to 2.
    level, level_own, scale : ndarray, shape (n,)
        Ratio at no flow, its standard uncertainty, factor on the stated scatter, [-]
    parts : tuple of Hypotheses
        The reader's hypotheses that they were picked from.
    source, place : ndarray of int, shape (n,)
        Which of `parts`, and the place in it.
    """

    knee: Array
    family: NDArray[np.int64]  # of `_REAL`
    place: NDArray[np.int64]
    level: Array
    scale: Array
    level_own: Array
    parts: tuple[Hypotheses, ...]
    source: NDArray[np.int64]

    def quantiles(self, at: Sequence[float]) -> Array:
        """Return points of what is believed of the flow where delivery begins to fall, [m3/s]."""
        made: Array = np.quantile(self.knee, np.asarray(at))
        return made

    def at(self, flow: float) -> tuple[Array, Array, Array]:
        """Return mean and standard deviation of the ratio at a flow, and how likely a skip is.

        The standard deviation is without that of the piece's own weighing, [-].
        """
        numbers = weigh_numbers("fit")
        ratio, loss = self._shapes(flow)
        away = np.log(flow / self.knee)
        skips = np.clip(away / numbers["skip_spread"], 0.0, 1.0)
        sure = numbers["prior_skip"] / (numbers["prior_skip"] + numbers["prior_fold"])
        skips = np.where(self.family == 2, np.where(away > 0.0, sure, 0.0), skips)
        spread = np.hypot(self.level_own * ratio, numbers["line_scatter"] * loss)
        fallen, wide = (self.family == 2) & (away > 0.0), numbers["collapse"]
        mean = np.where(fallen, 1.0 - numbers["most_loss"] - wide / 2.0, self.level * ratio)
        return mean, np.where(fallen, wide / np.sqrt(12.0), spread), skips

    def _shapes(self, flow: float) -> tuple[Array, Array]:
        """Return what comes out at a flow over what does at none, and what of it is lost, [-]."""
        ratio, loss = np.empty(self.knee.size), np.empty(self.knee.size)
        for number, part in enumerate(self.parts):
            for family, name in enumerate(_REAL):
                own = (self.source == number) & (self.family == family)
                if own.any():
                    made = draw_shapes(
                        name, np.array([flow]), part.span, part.knee.size, weigh_numbers("delivery")
                    )
                    ratio[own] = made.ratios[self.place[own], 0]
                    loss[own] = made.loss[self.place[own], 0]
        return ratio, loss


def believed(rows: Rows, expected: Expected, count: int) -> Belief:
    """Return what is believed after some rows.

    Parameters
    ----------
    rows : Rows
        What was weighed; the slow reference at least.
    expected : Expected
        What the model expects.
    count : int
        Number of hypotheses, [-]
    """
    numbers = weigh_numbers("fit")
    reach = max(numbers["reach"], expected.high / float(rows.flows[-1]))
    parts = hypotheses(
        rows.flows, rows.ratios, rows.own, skipped=rows.skipped,
        numbers={**numbers, "reach": reach}, shapes=weigh_numbers("delivery"),
        density=expected.density,
    )  # fmt: skip
    return _picked(parts, count, numbers)


def _picked(parts: Sequence[Hypotheses], count: int, numbers: Mapping[str, float]) -> Belief:
    """Return hypotheses of equal weight, by systematic resampling."""
    logs, knee = _joined(parts, "logs"), _joined(parts, "knee")
    sizes = [part.knee.size for part in parts]
    source = np.repeat(np.arange(len(parts)), sizes)
    place = np.concatenate([np.arange(size) for size in sizes])
    weight = np.exp(logs - logs.max())
    order = np.argsort(knee, kind="stable")
    gone = np.cumsum(weight[order])
    chosen = order[np.searchsorted(gone, (np.arange(count) + 0.5) / count * gone[-1])]
    return Belief(
        knee=knee[chosen],
        family=_families(parts, source[chosen], numbers),
        place=place[chosen],
        level=_joined(parts, "level")[chosen],
        scale=_joined(parts, "scale")[chosen],
        level_own=_joined(parts, "level_own")[chosen],
        parts=tuple(parts),
        source=source[chosen],
    )


def _joined(parts: Sequence[Hypotheses], name: str) -> Array:
    made: Array = np.concatenate([getattr(part, name) for part in parts])
    return made


def _families(
    parts: Sequence[Hypotheses], source: NDArray[np.int64], numbers: Mapping[str, float]
) -> NDArray[np.int64]:
    """Return how delivery falls; beyond all flows each way is as likely as ever."""
    known = np.array([_REAL.index(p.family) if p.family in _REAL else -1 for p in parts])
    family = known[source]
    beyond = np.flatnonzero(family < 0)
    shares = np.cumsum([numbers["prior_slip"], numbers["prior_melt"],
                        numbers["prior_skip"] + numbers["prior_fold"]])  # fmt: skip
    places = np.mod((np.arange(beyond.size) + 0.5) * _GOLDEN, 1.0) * shares[-1]
    family[beyond] = np.searchsorted(shares, places)
    return family
