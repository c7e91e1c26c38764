"""The odds of each cause: Bayes over machines, causes and pairs of causes.

A cause counts by how well the machines with it show what was seen, given that somebody complains.
Nothing is drawn at random: the sets of weights are a fixed sequence keyed by the causes' names.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import Cause, CauseBook
from advisor.answers.diagnosis.evidence import Evidence
from advisor.answers.diagnosis.worlds import World
from advisor.base import frozen
from advisor.machine import Machine, plausible

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["CauseFit", "Odds", "fit_of", "mixed", "odds_of", "weight_sets"]


@dataclass(eq=False)
class CauseFit:
    """How well a cause, or a pair, fits what was seen; `worlds` over one ensemble each.

    Attributes
    ----------
    causes : tuple of Cause
        One, or two that meet.
    worlds : list of World
        The machines with it.
    chosen : list of Array
        The weight of each machine by all that was seen, a row a world.
    complains : list of Array
        The chance of a complaint, a row a world.
    alone : list of float
        The weight of all machines by each thing that was seen alone.
    """

    causes: tuple[Cause, ...]
    worlds: list[World] = field(default_factory=list)
    chosen: list[Array] = field(default_factory=list)
    complains: list[Array] = field(default_factory=list)
    alone: list[float] = field(default_factory=list)

    @property
    def each(self) -> tuple[float, ...]:
        """The likelihood of each thing that was seen alone, given a complaint."""
        told = sum(float(one.sum()) for one in self.complains)
        return tuple(one / max(told, 1e-12) for one in self.alone)

    @property
    def likelihood(self) -> float:
        """The likelihood of all that was seen, given a complaint."""
        told = sum(float(one.sum()) for one in self.complains)
        return sum(float(one.sum()) for one in self.chosen) / max(told, 1e-12)

    @property
    def often(self) -> float:
        """Share of the machines with it of which somebody would complain."""
        return float(np.mean(np.concatenate(self.complains)))

    @property
    def effective(self) -> float:
        """The effective number of machines that show it (Kong, Liu and Wong 1994)."""
        chosen = np.concatenate(self.chosen)
        squares = float(np.sum(chosen**2))
        return float(chosen.sum()) ** 2 / squares if squares > 0 else 0.0

    def mean(self, samples: Callable[[World], Array]) -> float:
        """Return the mean of something over the machines, by how well each fits."""
        total = sum(float(one.sum()) for one in self.chosen)
        pairs = zip(self.worlds, self.chosen, strict=True)
        summed = sum(float(np.sum(samples(world) * one)) for world, one in pairs)
        return summed / max(total, 1e-300)

    def take(self, worlds: Sequence[World], evidence: Sequence[Evidence]) -> None:
        """Add machines over other draws."""
        words = any(one.words for one in evidence)
        for world in worlds:
            told = world.complaint() if words else np.ones(world.size)  # a reading is one itself
            whole = np.ones(world.size)
            for place, one in enumerate(evidence):
                row = one.likelihood(world)
                whole = whole * row
                self.alone[place] += float(np.sum(row if one.words else row * told))
            self.worlds.append(world)
            self.chosen.append(whole)
            self.complains.append(told)


def fit_of(worlds: Sequence[World], evidence: Sequence[Evidence]) -> CauseFit:
    """Return how well worlds, over one ensemble each, fit what was seen."""
    fit = CauseFit(worlds[0].causes, alone=[0.0] * len(evidence))
    fit.take(worlds, evidence)
    return fit


@frozen(eq=False)
class Odds:
    """The odds of all causes, as shares that add up to 1 with `unexplained`.

    ``fits``: each cause alone; ``pair``: two that explain more together than any alone.
    """

    fits: tuple[CauseFit, ...]
    shares: tuple[float, ...]
    unexplained: float
    only_common: bool
    pair: tuple[str, str] | None
    usual: tuple[float, ...]  # likelihood of each thing that was seen, of causes on average

    def of(self, name: str) -> float:
        """Return the odds of a cause."""
        pairs = zip(self.fits, self.shares, strict=True)
        return next((share for fit, share in pairs if fit.causes[0].name == name), 0.0)


def weight_sets(causes: Sequence[Cause], off: float, count: int) -> Array:
    """Return sets of weights, each off by up to a factor, shape (count, causes).

    Log-uniform, evenly stratified for each cause under its own name.
    """
    columns = []
    for cause in causes:
        drawn = plausible(count + 1).quantiles(f"weight of {cause.name}")[1:]
        columns.append(cause.grade * off ** (2.0 * drawn - 1.0))
    return np.stack(columns, axis=1)


def mixed(
    weights: Array,
    likelihoods: Array,
    pairs: Mapping[tuple[int, int], float],
    unknown: tuple[float, float],
    pair_share: float,
) -> tuple[Array, Array, Array]:
    """Return the odds of causes, of pairs, and of nothing that is known, a row a set of weights.

    Parameters
    ----------
    weights : array, shape (sets, causes)
        How common each cause is; only their ratios count.
    likelihoods : array, shape (causes,)
        Of what was seen, under each cause alone.
    pairs : mapping of (int, int) to float
        The likelihood under two causes at once.
    unknown : tuple of float
        The prior chance that nothing in the list explains it, and the likelihood then.
    pair_share : float
        The prior chance that two causes meet.

    Returns
    -------
    tuple of arrays, shape (sets, causes), (sets, pairs), (sets,)
        They add up to 1 in each set.
    """
    share, likely = unknown
    prior = weights / weights.sum(axis=1, keepdims=True)
    both = 1.0 - np.sum(prior**2, axis=1)  # chance that two drawn one after the other differ
    one = (1.0 - share - pair_share) * prior * likelihoods
    two = np.zeros((len(prior), len(pairs)))
    for column, ((a, b), likelihood) in enumerate(pairs.items()):
        meet = 2.0 * prior[:, a] * prior[:, b] / np.maximum(both, 1e-12)
        two[:, column] = pair_share * meet * likelihood
    none = np.full(len(prior), share * likely)
    total = np.maximum(one.sum(axis=1) + two.sum(axis=1) + none, 1e-300)
    return one / total[:, None], two / total[:, None], none / total


def odds_of(
    fits: Sequence[CauseFit], evidence: Sequence[Evidence], book: CauseBook, *, pairs: bool = True
) -> Odds:
    """Return the odds of causes that fit more or less well, with two at once or without."""
    numbers, weights = book.numbers, _weights(fits, book)
    likelihoods = np.array([fit.likelihood for fit in fits])
    usual = _usual(fits, weights, len(evidence))
    unknown = (numbers["unknown"], math.prod(usual))
    ranks = likelihoods * weights.mean(axis=0)
    met = _pairs(fits, ranks, evidence, book) if pairs else {}
    one, two, none = mixed(weights, likelihoods, met, unknown, numbers["pair"])
    whole = one.copy()
    for column, (a, b) in enumerate(met):
        whole[:, a] += 0.5 * two[:, column]
        whole[:, b] += 0.5 * two[:, column]
    mean = whole.mean(axis=0)
    order = np.argsort(-mean, kind="stable")
    return Odds(
        fits=tuple(fits[place] for place in order),
        shares=tuple(float(mean[place]) for place in order),
        unexplained=float(none.mean()),
        only_common=_changes(fits, whole) > numbers["weights_change"],
        pair=_best_pair(fits, one.mean(axis=0), two.mean(axis=0), list(met)),
        usual=usual,
    )


def _weights(fits: Sequence[CauseFit], book: CauseBook) -> Array:
    """Return how common the causes are on this machine, shape (sets, causes)."""
    numbers = book.numbers
    often = np.array([fit.often for fit in fits])
    weights = weight_sets(
        [fit.causes[0] for fit in fits], numbers["weights_off"], int(numbers["weights_drawn"])
    )
    weights = weights * often / (often + numbers["seldom"])
    return np.asarray(weights * np.array([_likelier(fit) for fit in fits]))


def _likelier(fit: CauseFit) -> float:
    """Return how many times commoner a cause is by what config and sheet say."""
    root, times = fit.worlds[0].root or fit.worlds[0], 1.0
    for code, factor in fit.causes[0].likelier:
        times *= 1.0 + (factor - 1.0) * float(np.mean(root.holds(code)))
    return times


def _changes(fits: Sequence[CauseFit], whole: Array) -> float:
    """Return the share of the sets of weights in which another family comes first."""
    names = [fit.causes[0].family for fit in fits]
    families = list(dict.fromkeys(names))
    member = np.array([[name == family for family in families] for name in names], dtype=float)
    summed = whole @ member
    return float(np.mean(np.argmax(summed, axis=1) != np.argmax(summed.mean(axis=0))))


def _usual(fits: Sequence[CauseFit], weights: Array, count: int) -> tuple[float, ...]:
    prior = weights.mean(axis=0) / weights.mean(axis=0).sum()
    each = np.array([fit.each for fit in fits]).reshape(len(fits), count)
    return tuple(float(x) for x in prior @ each)


def _pairs(
    fits: Sequence[CauseFit], ranks: Array, evidence: Sequence[Evidence], book: CauseBook
) -> dict[tuple[int, int], float]:
    """Return the likelihood of what was seen under two causes, of those that fit best.

    One thing alone needs no two causes.
    """
    if len(evidence) < 2:
        return {}
    best = [int(x) for x in np.argsort(-ranks, kind="stable")[: int(book.numbers["pair_causes"])]]
    made: dict[tuple[int, int], float] = {}
    for place, a in enumerate(best):
        for b in best[place + 1 :]:
            other = fits[b].causes[0]
            if fits[a].causes[0].family != other.family:
                world = fits[a].worlds[0].changed(other.name, other.changes, other)
                made[(a, b)] = fit_of([world], evidence).likelihood
    return made


def _best_pair(
    fits: Sequence[CauseFit], one: Array, two: Array, pairs: Sequence[tuple[int, int]]
) -> tuple[str, str] | None:
    if not pairs or float(two.max()) <= float(one.max()):
        return None
    a, b = pairs[int(np.argmax(two))]
    return fits[a].causes[0].name, fits[b].causes[0].name


def redrawn(machine: Machine, number: int, wanted: frozenset[str]) -> Machine | None:
    """Return the machine over other draws; None where weighed tests hold it to its own."""
    if machine.bench is not None:
        return None
    return machine.on(plausible(machine.ensemble.size, number), wanted=wanted)
