"""What to measure next, by kinds of measurement whose shares add up to what is still open.

The kinds, and the inputs each settles, are read from rules/measure/groups.yaml; the syntax of the
file is explained there.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from advisor.base import Fact, MeasureGroup, MeasureInput, frozen, near_miss
from advisor.catalog import load_catalog
from advisor.data import Row, artifact
from advisor.machine.graph import Memory

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.catalog import FactInfo
    from advisor.data import Node

    Array = NDArray[np.float64]
    Bins = NDArray[np.intp]

__all__ = ["ARTIFACTS", "Measure", "build_measures", "group_of", "load_measures", "measure_groups"]

_FILE = "measure/groups.yaml"
_BINS = 16
_ROUNDING = 1e-9  # a relative spread below this is the computer's, not the machine's
_LEAST_SHARE = 0.01


@frozen
class Measure:
    """One kind of measurement; `inputs` are names of facts or beginnings that end in a dot."""

    group: str
    title: str
    how: str
    inputs: tuple[str, ...]
    own: bool = False


class _MeasureRow(TypedDict):
    """A measurement as the file is compiled: the artifact ``measures`` is a list of them."""

    own: bool
    group: str
    title: str
    how: str
    inputs: list[str]


@functools.cache
def load_measures() -> tuple[Measure, ...]:
    """Return the kinds of measurement in the order of the file; they are read once."""
    rows = artifact("measures", build_measures)
    return tuple(
        Measure(row["group"], row["title"], row["how"], tuple(row["inputs"]), row["own"])
        for row in rows
    )


def group_of(fact: str, measures: Sequence[Measure]) -> Measure | None:
    """Return the measurement that settles a fact: the longest name or beginning that fits."""
    found = [(len(name), m) for m in measures for name in m.inputs if _fits(fact, name)]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _fits(fact: str, name: str) -> bool:
    return fact == name or (name.endswith(".") and fact.startswith(name))


def build_measures() -> list[_MeasureRow]:
    """Return the file as JSON types: the artifact ``measures``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import checked, flag, listed, read_data, row, text

    facts = load_catalog().facts
    seen: dict[str, int] = {}  # name: its line

    def settled(node: Node, name: str) -> str:
        if not any(_fits(fact, name) for fact in facts):
            raise node.wrong(
                f"is '{name}', no fact", near_miss(name, facts) or "see rules/facts.yaml"
            )
        if name in seen:
            raise node.wrong(f"is '{name}', as in line {seen[name]}", "keep one")
        seen[name] = node.placed.at(*node.path).line
        return name

    inputs = listed(checked(text, settled), least=1)
    needed = {"group": text, "title": text, "how": text, "inputs": inputs}
    group = checked(row(needed, {"own": flag}), _plain)
    return read_data(_FILE, listed(group, first="group", what="measurements"))


def _plain(_: Node, row: Row) -> _MeasureRow:
    return {
        "own": row.get("own", False),
        "group": row["group"],
        "title": row["title"],
        "how": " ".join(row["how"].split()),
        "inputs": row["inputs"],
    }


ARTIFACTS: Mapping[str, Callable[[], object]] = {"measures": build_measures}


def measure_groups(
    facts: Mapping[str, Fact],
    infos: Mapping[str, FactInfo],
    measures: Sequence[Measure],
    target: str = "flow.capacity",
    memory: Memory | None = None,
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
    memory : Memory, optional
        What machines worked out before have in common: the order of an input's samples too.

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
    whole, kept = _spread_of(facts.get(target)), memory or Memory()
    if whole is None:
        return ()
    settled = {
        name: measure
        for name in sorted(facts[target].trace.assumed | facts[target].trace.modelled)
        if (measure := group_of(name, measures)) is not None
    }
    shares = {
        name: whole.explained(_bins_of(facts[name], whole.size, kept))
        for name in settled
        if _is_spread(facts.get(name))
    }
    total = sum(shares.values())
    if total <= 0.0:
        return ()
    scaled = {name: share / total for name, share in shares.items()}
    groups = (
        _group(measure, [name for name in scaled if settled[name] is measure], scaled, infos)
        for measure in measures
    )
    found = [group for group in groups if group is not None]
    return tuple(sorted(found, key=lambda group: (-round(group.share, 6), group.group)))


@frozen(eq=False)
class _Spread:
    """What is to be explained: the samples of all likely machines but the nominal one."""

    size: int  # the nominal one among them
    samples: Array
    mean: float
    variance: float

    def explained(self, bins: Bins) -> float:
        """Return the share of the variance between bins, less what bins explain by chance."""
        count = self.samples.size
        counts = np.bincount(bins, minlength=_BINS)
        means = np.bincount(bins, weights=self.samples, minlength=_BINS) / np.maximum(counts, 1)
        ratio = float(np.sum(counts * (means - self.mean) ** 2)) / (count * self.variance)
        chance = (_BINS - 1) / max(count - _BINS, 1)
        return max(0.0, ratio - chance * (1.0 - ratio))


def _spread_of(fact: Fact | None) -> _Spread | None:
    """Return what is open of a fact; None where nothing is."""
    if fact is None or fact.number is None:
        return None
    size = fact.number.size
    samples = fact.number.over(size)[1:]
    if not samples.size or not np.isfinite(samples).all():
        return None
    mean, variance = float(np.mean(samples)), float(np.var(samples))
    return None if variance <= (_ROUNDING * mean) ** 2 else _Spread(size, samples, mean, variance)


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


def _is_spread(fact: Fact | None) -> bool:
    """Whether a fact has a number that is not the same for all machines."""
    number = None if fact is None else fact.number
    if number is None or np.ndim(number.si) != 1:
        return False
    return float(np.ptp(np.asarray(number.si))) > 0.0


def _bins_of(fact: Fact, size: int, memory: Memory) -> Bins:
    """Return which of the equal bins of an input's samples each machine lies in.

    What the catalogue says is the same for many extruders: it is put in order once.
    """
    assert fact.number is not None
    samples = fact.number.over(size)[1:]
    return memory.answer(("bins", id(fact), size), fact, lambda: _bins(samples))


def _bins(samples: Array) -> Bins:
    bins = np.empty(samples.size, dtype=np.intp)
    bins[np.argsort(samples, kind="stable")] = _equal_bins(samples.size)
    return bins


@functools.lru_cache(maxsize=4)
def _equal_bins(size: int) -> Bins:
    """Return the bin of each place among so many values in order."""
    return np.arange(size) * _BINS // size
