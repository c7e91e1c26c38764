"""Frozen records behave as the standard library's frozen dataclasses, the outside reference."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from typing import Any

import pytest

from advisor.base.record import frozen


@frozen
class Ours:
    """One required field, defaults of both kinds, one that is not compared or shown."""

    a: int
    b: str = "x"
    c: dict[str, int] = dataclasses.field(default_factory=dict)
    d: int = dataclasses.field(default=0, compare=False, repr=False)


@dataclasses.dataclass(frozen=True, slots=True)
class Theirs:
    """The same, by the standard library."""

    a: int
    b: str = "x"
    c: dict[str, int] = dataclasses.field(default_factory=dict)
    d: int = dataclasses.field(default=0, compare=False, repr=False)


@frozen(kw_only=True, eq=False)
class Named:
    """By name only, compared by identity, checked after it is made."""

    a: int

    def __post_init__(self) -> None:
        if self.a < 0:
            raise ValueError("negative")


@pytest.mark.parametrize("cls", [Ours, Theirs])
def test_fields_defaults_and_copies(cls: Any) -> None:
    """Both kinds give the same answers."""
    one = cls(1, d=7)
    assert (one.a, one.b, one.c, one.d) == (1, "x", {}, 7)
    assert cls(1).c is not cls(1).c
    assert one == cls(1, "x") != cls(2)
    assert one != (1, "x", {}, 7)
    assert repr(one) == f"{cls.__name__}(a=1, b='x', c={{}})"
    assert dataclasses.replace(one, b="y") == cls(1, "y")
    assert dataclasses.asdict(one) == {"a": 1, "b": "x", "c": {}, "d": 7}
    assert pickle.loads(pickle.dumps(one)).d == copy.copy(one).d == 7
    with pytest.raises(TypeError):
        hash(one)  # a dict is in it
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.a = 2
    with pytest.raises(dataclasses.FrozenInstanceError):
        del one.a
    with pytest.raises(TypeError):
        cls()
    with pytest.raises(TypeError):
        cls(1, e=2)
    assert not hasattr(one, "__dict__")


def test_by_name_only_and_by_identity() -> None:
    """The options of the decorator."""
    assert Named(a=1) != Named(a=1)
    assert len({Named(a=1), Named(a=1)}) == 2
    with pytest.raises(TypeError):
        Named(1)  # type: ignore[misc]
    with pytest.raises(ValueError, match="negative"):
        Named(a=-1)


def test_equal_records_hash_alike() -> None:
    """So that they can stand in a set."""
    assert len({Ours(1, c=None), Ours(1, c=None)}) == 1  # type: ignore[arg-type]
