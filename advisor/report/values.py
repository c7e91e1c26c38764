"""Reduces facts over the ensemble to a value with a band, in the fact's trade unit.

All percentiles are taken in one pass over one stacked array: a report has a hundred and
fifty facts of two thousand samples each. It formats nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from advisor.model import Band, Fact
from advisor.units import parse_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["bands", "word_of"]

_LOW, _HIGH = 0.05, 0.95


def word_of(fact: Fact) -> str | bool | None:
    """Return the value of a text or flag fact, None where the fact is a number or not known."""
    samples = fact.samples
    if not fact.known or not (isinstance(samples, str | bool) or _is_flags(samples)):
        return None
    return samples if isinstance(samples, str | bool) else bool(samples.flat[0])


def bands(facts: Mapping[str, Fact] | Iterable[Fact]) -> dict[str, Band]:
    """Return the band of every known number among `facts`, by name.

    Sample 0 is the value; the band runs from the 5th to the 95th percentile. A fact without
    spread has ``low == value == high``. Infinite samples (a limit beyond the solver's
    bracket) sort to the top.
    """
    listed = facts.values() if isinstance(facts, Mapping) else facts
    plain: dict[str, Band] = {}
    spread: dict[int, list[Fact]] = {}
    for fact in listed:
        if not fact.known or word_of(fact) is not None or fact.samples is None:
            continue
        size = getattr(fact.samples, "size", 1)
        if size > 1:
            spread.setdefault(size, []).append(fact)
            continue
        value = parse_unit(fact.unit).from_si(_scalar(fact.samples))
        plain[fact.name] = Band(value, value, value)
    for size, group in spread.items():
        plain.update(_stacked(group, size))
    return plain


def _stacked(group: list[Fact], size: int) -> dict[str, Band]:
    import numpy as np

    table: NDArray[np.float64] = np.empty((len(group), size))
    for row, fact in enumerate(group):
        table[row] = np.asarray(fact.samples, dtype=np.float64).reshape(-1)
    nominal = table[:, 0].copy()
    low, high = round((size - 1) * _LOW), round((size - 1) * _HIGH)
    table.partition((low, high), axis=1)
    return {
        fact.name: Band(*(float(parse_unit(fact.unit).from_si(end)) for end in ends))
        for fact, *ends in zip(group, nominal, table[:, low], table[:, high], strict=True)
    }


def _scalar(samples: Any) -> float:
    return float(samples.flat[0]) if hasattr(samples, "flat") else float(samples)


def _is_flags(samples: Any) -> bool:
    return getattr(getattr(samples, "dtype", None), "kind", None) == "b"
