"""Facts made of plain Python, and what they hold as plain Python."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.base import Fact, Trace
from advisor.base.number import value_of
from advisor.inputs.sheet_reader import Measurement


def held(fact: Fact) -> Any:
    """Return a text, a flag, a float or array in SI units, (low, typical, high), or None."""
    number = fact.number
    if number is None:
        return fact.word
    return number.si if number.ends is None else number.stated


def made(name: str, unit: str, raw: Any = None, **more: Any) -> Fact:
    """Return a fact; of `more` the fields of a trace make its trace."""
    trace = Trace(**{key: more.pop(key) for key in Trace._fields if key in more})
    return Fact(name, value_of(raw, unit), **{"trace": trace, **more})


def measurement(**values: Any) -> Measurement:
    """Return a measurement of numbers in SI units, (low, typical, high) and texts."""
    read: Mapping[str, Any] = {name: value_of(raw, "-") for name, raw in values.items()}
    return Measurement(read)
