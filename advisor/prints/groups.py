"""Sums and largest values of a print as it goes by, some by key (feature, height, tool).

Neighbouring moves mostly share their key, so whole runs are added up first. It knows no flow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.records import Peak

__all__ = ["Group", "Groups", "Highest", "Runs"]

Ints = NDArray[np.intp]


@dataclass(slots=True)
class Runs:
    """Runs of moves by columns: first move of each run in order, sums and peaks by name."""

    first: Ints
    line: NDArray[np.int64]
    sums: Mapping[str, Floats]
    peaks: Mapping[str, Floats]

    @staticmethod
    def of(first: Ints, line: NDArray[np.int64], sums: Mapping[str, Floats]) -> Runs:
        """Add up columns of moves over the runs that begin at `first`."""
        added = {name: np.add.reduceat(column, first) for name, column in sums.items()}
        return Runs(first, line[first], added, {})


@dataclass(slots=True)
class Group:
    """What was gathered under one key."""

    line: int
    sums: dict[str, float] = field(default_factory=dict)
    peaks: dict[str, float] = field(default_factory=dict)

    def merge(self, other: Group) -> None:
        """Take in what another group gathered later."""
        for name, value in other.sums.items():
            self.sums[name] = self.sums.get(name, 0.0) + value
        for name, value in other.peaks.items():
            self.peaks[name] = max(self.peaks.get(name, 0.0), value)


class Groups:
    """Groups by an integer key."""

    def __init__(self) -> None:
        self.by_key: dict[int, Group] = {}

    def add(self, key: Ints, runs: Runs) -> None:
        """Take in runs, `key` being that of each run."""
        keys, first, place = np.unique(key, return_index=True, return_inverse=True)
        sums = {name: np.bincount(place, weights=value) for name, value in runs.sums.items()}
        peaks = {name: np.zeros(len(keys)) for name in runs.peaks}
        for name, value in runs.peaks.items():
            np.maximum.at(peaks[name], place, value)
        lines = runs.line[first]
        for i, number in enumerate(keys.tolist()):
            fresh = Group(
                int(lines[i]),
                {name: float(value[i]) for name, value in sums.items()},
                {name: float(value[i]) for name, value in peaks.items()},
            )
            known = self.by_key.setdefault(number, fresh)
            if known is not fresh:
                known.merge(fresh)

    def rekey(self, change: Callable[[int], int]) -> None:
        """Give every group a new key; groups that then share one are merged."""
        old, self.by_key = self.by_key, {}
        for number, group in old.items():
            known = self.by_key.setdefault(change(number), group)
            if known is not group:
                known.merge(group)


class Highest:
    """The largest value so far and its line."""

    def __init__(self) -> None:
        self.peak = Peak(0.0, 0)

    def add(self, value: Floats, line: NDArray[np.int64]) -> None:
        """Take in values; the first of equals counts."""
        if not len(value):
            return
        at = int(np.argmax(value))
        if value[at] > self.peak.value:
            self.peak = Peak(float(value[at]), int(line[at]))
