"""What to measure next, by kinds of measurement whose shares add up to what is still open."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, MeasureGroup, MeasureInput, Number
from advisor.machine.measures import Measure, group_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.catalog import FactInfo

    Array = NDArray[np.float64]

__all__ = ["measure_groups"]

_BINS = 16
_ROUNDING = 1e-9  # a relative spread below this is the computer's, not the machine's
_LEAST_SHARE = 0.01


def measure_groups(
    facts: Mapping[str, Fact],
    infos: Mapping[str, FactInfo],
    measures: Sequence[Measure],
    target: str = "flow.capacity",
) -> tuple[MeasureGroup, ...]:
    """Rank the kinds of measurement by the share of the target's spread that each would settle.

    Parameters
    ----------
    facts : mapping of str to Fact
        The facts of one extruder.
    infos : mapping of str to FactInfo
        The vocabulary.
    measures : sequence of Measure
        The kinds of measurement.
    target : str
        The fact whose spread is shared out.

    Returns
    -------
    tuple of MeasureGroup
        The largest first; the shares add up to 1. Empty where nothing is open.

    Notes
    -----
    The share of an input is the correlation ratio of the target over 16 equal bins of its samples,
    less what chance alone gives (Kelley's epsilon squared, 1935). What inputs explain together and
    not alone is shared out in proportion, so that the sum is all that is open.
    """
    fact = facts.get(target)
    if fact is None or fact.number is None:
        return ()
    size = fact.number.size
    values = fact.number.over(size)[1:]
    if not values.size:
        return ()
    total = float(np.var(values)) if np.isfinite(values).all() else 0.0
    if total <= (_ROUNDING * float(np.mean(values))) ** 2:
        return ()
    settled = {
        name: group_of(name, measures) for name in sorted(fact.trace.assumed | fact.trace.modelled)
    }
    shares = {
        name: _explained(spread.over(size)[1:], values, total)
        for name, measure in settled.items()
        if measure is not None and (spread := _spread(facts.get(name)))
    }
    whole = sum(shares.values())
    if whole <= 0.0:
        return ()
    scaled = {name: share / whole for name, share in shares.items()}
    groups = (
        _group(measure, [name for name in scaled if settled[name] is measure], scaled, infos)
        for measure in measures
    )
    found = [group for group in groups if group is not None]
    return tuple(sorted(found, key=lambda group: (-round(group.share, 6), group.group)))


def _group(
    measure: Measure,
    names: Sequence[str],
    shares: Mapping[str, float],
    infos: Mapping[str, FactInfo],
) -> MeasureGroup | None:
    mine = sorted(names, key=lambda name: (-round(shares[name], 6), name))
    share = sum(shares[name] for name in mine)
    if share <= 0.0:
        return None
    inputs = tuple(
        MeasureInput(name, shares[name], infos[name].title, infos[name].sheet)
        for name in mine
        if shares[name] >= _LEAST_SHARE or name == mine[0]
    )
    own = infos[mine[0]].measure if measure.own else None
    return MeasureGroup(measure.group, measure.title, share, inputs, own or measure.how)


def _spread(fact: Fact | None) -> Number | None:
    """Return the number of a fact that is not the same for all machines."""
    number = None if fact is None else fact.number
    if number is None or np.ndim(number.si) != 1:
        return None
    return number if float(np.ptp(np.asarray(number.si))) > 0.0 else None


@functools.lru_cache(maxsize=4)
def _equal_bins(size: int) -> NDArray[np.intp]:
    """Return the bin of each place among so many values in order."""
    return np.arange(size) * _BINS // size


def _explained(x: Array, y: Array, total: float) -> float:
    """Share of the variance of `y` between bins of `x`, less what bins explain by chance."""
    bins = np.empty(x.size, dtype=np.intp)
    bins[np.argsort(x, kind="stable")] = _equal_bins(x.size)
    counts = np.bincount(bins, minlength=_BINS)
    means = np.bincount(bins, weights=y, minlength=_BINS) / np.maximum(counts, 1)
    ratio = float(np.sum(counts * (means - y.mean()) ** 2)) / (x.size * total)
    chance = (_BINS - 1) / max(x.size - _BINS, 1)
    return max(0.0, ratio - chance * (1.0 - ratio))
