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
from typing import TypeVar, cast

from advisor.base import Fact

__all__ = ["Memory"]

_MOST = 32 * 2**20  # bytes of samples that are remembered
_ENTRIES = 16384  # facts that are remembered, if they weigh little
_ANSWERS = 1024  # of machines that are alike
_FEWEST = 320  # but of a whole machine, however many samples it has

_T = TypeVar("_T")


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
    told: OrderedDict[Hashable, tuple[object, object]] = field(default_factory=OrderedDict)

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
        mark = None if fact.value is None else fact.value.mark
        key = ("put", fact.name, fact.state, fact.trace, mark)
        found = self.held.get(key)
        if found is not None:
            self.held.move_to_end(key)
            if found[0] is fact or found[0] == fact:
                return found[0]
            self._drop(key)
        self._hold(key, fact, None)
        return fact

    def answer(self, key: Hashable, uses: object, make: Callable[[], _T]) -> _T:
        """Return what `make` tells of a machine, or told before under this key.

        Parameters
        ----------
        key : hashable
            The question, and all that its answer depends on; of an object its `id`.
        uses : object
            The objects whose `id` stands in the key: they live as long as the entry.
        make : callable
            Gives the answer.
        """
        found = self.told.get(key)
        if found is not None:
            self.told.move_to_end(key)
            return cast("_T", found[0])
        made = make()
        self.told[key] = (made, uses)
        if len(self.told) > _ANSWERS:
            self.told.popitem(last=False)
        return made

    def _hold(self, key: Hashable, fact: Fact, uses: object) -> None:
        self.held[key] = (fact, uses)
        self.weight += _bytes(fact)
        while len(self.held) > (_FEWEST if self.weight > self.most else _ENTRIES):
            self._drop(next(iter(self.held)))

    def _drop(self, key: Hashable) -> None:
        self.weight -= _bytes(self.held.pop(key)[0])


def _bytes(fact: Fact) -> int:
    return 0 if fact.value is None else fact.value.weight
