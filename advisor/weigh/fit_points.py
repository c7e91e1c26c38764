"""How well a machine explains what a weighed test showed: a log-likelihood, 0 for a perfect fit.

Delivery begins to fall at the lowest of grip, gap, melt zone and skipping. What came out without
a skip was below the flow at which steps or filament are lost; where the motor skipped, the flow
commanded was above it. What the model may be off is part of every comparison.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band, Fact, Quantity, Span

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.machine import FactBook

    Array = NDArray[np.float64]

__all__ = ["FLOWS", "LOSSES", "WeighedResult", "first_loss", "log_likelihood"]

LOSSES = ("grip", "buckling", "melt", "skip")  # delivery begins to fall at the lowest of these
FLOWS = (*(f"flow.{name}" for name in LOSSES), "flow.slip")  # what the likelihood is made of
_LEAST = 1e-13  # m3/s; stands for no flow
_WORST = -30.0
_GRID, _REACH = 400, 6.0  # of the density of the knee: points, and bandwidths beyond the draws
_SLOPE = 1.702  # a logistic curve this steep is within 0.01 of the normal one


@dataclass(frozen=True, slots=True)
class WeighedResult:
    """What one weighed test showed, and under which conditions.

    Attributes
    ----------
    at : Span
        The test's table.
    conditions : mapping of str to Fact
        What it was done with, where it says so: material, temperature, nozzle, density.
    knee : Band or None
        Where delivery began to fall, [m3/s]
    draws : ndarray or None
        Draws of that flow; None where delivery did not fall, [m3/s]
    fastest : float
        The largest flow commanded that counts, [m3/s]
    delivered, carried : float or None
        The largest flow that came out where the motor was not seen to skip; where it surely
        did not, [m3/s]
    last_without_skips, first_skip : float or None
        The last flow below the first that skipped; that one, [m3/s]
    reference_ratio : Band or None
        What the slow run delivered of what was commanded, [-]
    apart : float
        Standard deviation by which the flows asked about may be apart from those of the test, as
        they are of another roll of filament, [-]
    """

    at: Span
    conditions: Mapping[str, Fact] = field(default_factory=dict)
    knee: Band | None = None
    draws: Array | None = field(default=None, repr=False, compare=False)
    fastest: float = 0.0
    delivered: float | None = None
    carried: float | None = None
    last_without_skips: float | None = None
    first_skip: float | None = None
    reference_ratio: Band | None = None
    apart: float = 0.0


def first_loss(book: FactBook) -> Array | None:
    """Return the flow at which each machine begins to lose delivery; None where unknown."""
    flows = [_logs(book, name) for name in LOSSES]
    known = [flow for flow in flows if flow is not None]
    return np.exp(np.min(known, axis=0)) if known else None


def log_likelihood(
    book: FactBook, seen: WeighedResult, numbers: Mapping[str, float]
) -> Array | None:
    """Return the log-likelihood of every machine of a book; None where its limits are unknown.

    Parameters
    ----------
    book : FactBook
        The machines, under the conditions of the test.
    seen : WeighedResult
        The test.
    numbers : mapping
        The part ``narrowing`` of rules/weigh/test.yaml.

    Returns
    -------
    ndarray, shape (size,), or None
        At most about 0, [-].
    """
    loss, skip, slip = first_loss(book), _logs(book, "skip"), _logs(book, "slip")
    if loss is None:
        return None
    total = _of_knee(np.log(loss), seen, float(np.hypot(numbers["knee_scatter"], seen.apart)))
    rule = _Rule(float(np.hypot(numbers["skip_scatter"], seen.apart)), numbers["mistake"])
    if skip is not None and seen.carried:
        total += rule.above(skip, np.log(seen.carried))
    if slip is not None and seen.delivered:
        total += rule.above(slip, np.log(seen.delivered))
    if skip is not None and seen.first_skip:
        total += rule.above(np.log(seen.first_skip), skip)
        if slip is not None:
            total += rule.above(slip, skip)
    made: Array = np.maximum(total, _WORST)
    return made


@dataclass(frozen=True, slots=True)
class _Rule:
    """That one flow is above another, with scatter in both and now and then a wrong entry."""

    scatter: float
    mistake: float

    def above(self, flow: Array, least: Quantity) -> Array:
        """Return the log-probability that `flow` is above `least`; both are logarithms."""
        share = _smooth_step((flow - least) / self.scatter)
        made: Array = np.log(self.mistake + (1.0 - 2.0 * self.mistake) * share)
        return made


def _smooth_step(x: Array) -> Array:
    made: Array = 1.0 / (1.0 + np.exp(np.clip(-_SLOPE * x, -60.0, 60.0)))
    return made


def _of_knee(loss: Array, seen: WeighedResult, scatter: float) -> Array:
    if seen.draws is None:
        share = _smooth_step((loss - np.log(seen.fastest)) / (2.0 * scatter))
        bound: Array = np.log(np.maximum(share, np.exp(_WORST)))
        return bound
    grid, logs = _knee_curve(seen.draws.tobytes(), scatter)
    found: Array = np.interp(loss, grid, logs, left=_WORST, right=_WORST)
    return found


@functools.lru_cache(maxsize=16)  # the same for each batch of machines
def _knee_curve(drawn: bytes, scatter: float) -> tuple[Array, Array]:
    """Return logarithms of flows and of the density there, at most 0, of the draws of a knee."""
    draws = np.log(np.frombuffer(drawn))
    silverman = 1.06 * float(draws.std()) * draws.size**-0.2
    width = float(np.hypot(scatter, silverman))
    grid = np.linspace(draws.min() - _REACH * width, draws.max() + _REACH * width, _GRID)
    away = (grid[:, None] - draws[None]) / width
    density = np.exp(-0.5 * away**2).mean(axis=1)
    return grid, np.log(np.maximum(density / density.max(), np.exp(_WORST)))


def _logs(book: FactBook, limit: str) -> Array | None:
    number = book.number(f"flow.{limit}")
    if number is None:
        return None
    logs: Array = np.log(np.clip(number.over(book.ensemble.size), _LEAST, 1.0))
    return logs
