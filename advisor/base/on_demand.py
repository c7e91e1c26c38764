"""A sequence whose items are worked out when they are first looked at.

An answer holds all that can be told of each extruder; most commands look at a part of it, or at
one extruder, and should not work for the rest. What makes an item must hang on nothing that
changes: when it is called makes no difference to what it gives.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Generic, TypeVar, overload

__all__ = ["OnDemand"]

_T = TypeVar("_T")


class OnDemand(Sequence[_T], Generic[_T]):
    """Items by what makes them, each made once; equal to any sequence of equal items.

    Parameters
    ----------
    makers : iterable of callable
        What makes each of the items.
    """

    __slots__ = ("_made", "_makers")

    def __init__(self, makers: Iterable[Callable[[], _T]]) -> None:
        self._makers = tuple(makers)
        self._made: dict[int, _T] = {}

    @overload
    def __getitem__(self, at: int) -> _T: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[_T, ...]: ...
    def __getitem__(self, at: int | slice) -> _T | tuple[_T, ...]:
        places = range(len(self._makers))[at]
        if isinstance(places, range):
            return tuple(self._item(place) for place in places)
        return self._item(places)

    def _item(self, place: int) -> _T:
        if place not in self._made:
            self._made[place] = self._makers[place]()
        return self._made[place]

    def __len__(self) -> int:
        return len(self._makers)

    def __eq__(self, other: object) -> bool:
        return tuple(self) == tuple(other) if isinstance(other, Sequence) else NotImplemented

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"<{len(self)} items, {len(self._made)} of them made>"
