"""What a family of machines has in common: facts remembered by what they were made of.

A fact depends on nothing but its formula and the facts that go in. So a machine that differs in
one value is worked out by the same steps as a fresh one, and each step whose inputs are the very
same facts hands out the fact it gave before: only what lies downstream of the change is new, to
the last byte. What was not asked for the longest is forgotten first.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field

import numpy as np

from advisor.model import Band, Fact

__all__ = ["Memory"]

_MOST = 32 * 2**20  # bytes of samples that are remembered
_ENTRIES = 16384  # facts that are remembered, if they weigh little
_BANDS = 256  # bands that are remembered with their facts
_FEWEST = 320  # but of a whole machine, however many samples it has


@dataclass(slots=True)
class Memory:
    """Facts by the key of their making; those they were made of are kept with them.

    Attributes
    ----------
    most : int
        Bytes of samples to remember at most, unless that is less than a machine, [-].
    """

    most: int = _MOST
    held: OrderedDict[Hashable, tuple[Fact, object]] = field(default_factory=OrderedDict)
    weight: int = 0
    bands: OrderedDict[int, tuple[Fact, Band | None]] = field(default_factory=OrderedDict)

    def once(self, key: Hashable, uses: object, make: Callable[[], Fact]) -> Fact:
        """Return what `make` gives, or what it gave before under this key.

        Parameters
        ----------
        key : hashable
            All that the fact depends on; of an object its `id`.
        uses : object
            The objects whose `id` stands in the key: they live as long as the entry.
        make : callable
            Gives the fact.
        """
        found = self.held.get(key)
        if found is not None:
            self.held.move_to_end(key)
            return found[0]
        fact = make()
        self._hold(key, fact, uses)
        return fact

    def same(self, fact: Fact) -> Fact:
        """Return the remembered fact that is equal to this one, else this one."""
        hangs = (fact.assumed, fact.modelled, fact.state)
        key = ("put", fact.name, fact.formula, fact.inputs, hangs, _mark(fact.samples))
        found = self.held.get(key)
        if found is not None:
            self.held.move_to_end(key)
            if found[0] is fact or _equal(found[0], fact):
                return found[0]
            self._drop(key)
        self._hold(key, fact, None)
        return fact

    def banded(self, fact: Fact, band_of: Callable[[Fact], Band | None]) -> Band | None:
        """Return the band of a fact; of one of the last few, what `band_of` gave before."""
        found = self.bands.get(id(fact))
        if found is not None:
            self.bands.move_to_end(id(fact))
            return found[1]
        band = band_of(fact)
        self.bands[id(fact)] = (fact, band)
        if len(self.bands) > _BANDS:
            self.bands.popitem(last=False)
        return band

    def _hold(self, key: Hashable, fact: Fact, uses: object) -> None:
        self.held[key] = (fact, uses)
        self.weight += _bytes(fact)
        while len(self.held) > (_FEWEST if self.weight > self.most else _ENTRIES):
            self._drop(next(iter(self.held)))

    def _drop(self, key: Hashable) -> None:
        self.weight -= _bytes(self.held.pop(key)[0])


def _mark(samples: object) -> object:
    """Return what tells most samples apart at a glance."""
    if isinstance(samples, np.ndarray):
        return (samples.shape, *(samples.item(place) for place in (0, -1) if samples.size))
    return samples


def _bytes(fact: Fact) -> int:
    return int(getattr(fact.samples, "nbytes", 0))


def _equal(one: Fact, other: Fact) -> bool:
    plain = (
        one.unit == other.unit
        and one.state is other.state
        and one.origin == other.origin
        and one.assumed == other.assumed
        and one.modelled == other.modelled
        and one.defaulted == other.defaulted
        and one.home == other.home
    )
    if not plain or type(one.samples) is not type(other.samples):
        return False
    if isinstance(one.samples, np.ndarray):
        return one.samples.shape == other.samples.shape and bool(
            np.array_equal(one.samples, other.samples, equal_nan=one.samples.dtype.kind == "f")
        )
    return bool(one.samples == other.samples)
