"""What the compiler makes and the evaluator reads: records only."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeAlias

from advisor.base import Fact, Quantity, frozen
from advisor.data import Plain
from advisor.expression.kinds import Kind, Stored

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Code", "Compiled", "ExpressionResult", "Result"]

Code = list[Any]
"""Nested lists of JSON types: ``["<", ["fact", "motor.run_current"], ["number", 0.8]]``."""


Result: TypeAlias = "Quantity | NDArray[np.bool_] | str | None"
"""A number or a flag, one or over the ensemble, a text, or nothing."""


@frozen
class Compiled:
    """An expression whose names and units are checked.

    Attributes
    ----------
    text : str
        As it was written.
    code : list
        What to evaluate.
    kind : Kind
        What it gives: a number with its dimension, a text, or a flag.
    values : tuple of str
        The facts whose value counts.
    states : tuple of str
        The facts of which it only asks whether and how they are known.
    """

    text: str
    code: Code
    kind: Kind
    values: tuple[str, ...] = ()
    states: tuple[str, ...] = ()

    @property
    def facts(self) -> frozenset[str]:
        """All facts it names."""
        return frozenset(self.values) | frozenset(self.states)

    def to_json(self) -> list[Plain]:
        """Return the expression as JSON types."""
        return [self.text, self.code, self.kind.to_json(), list(self.values), list(self.states)]

    @classmethod
    def from_json(cls, data: Stored) -> Compiled:
        """Return the expression of what `to_json` made."""
        text, code, kind, values, states = data
        return cls(text, code, Kind.from_json(kind), tuple(values), tuple(states))


@frozen
class ExpressionResult:
    """What an expression comes to over the ensemble.

    Attributes
    ----------
    value : ndarray, float, str, bool or None
        Numbers in SI units, nan where unknown; a condition is true where it surely holds.
        None where nothing is known of it.
    facts : mapping of str to Fact
        The facts whose value counted and was known.
    """

    value: Any
    facts: Mapping[str, Fact]

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self.value is not None

    @property
    def nominal(self) -> float | str | bool | None:
        """The value of sample 0, the nominal machine; None where unknown."""
        value = self.value[0].item() if getattr(self.value, "ndim", 0) else self.value
        return None if isinstance(value, float) and math.isnan(value) else value

    @property
    def number(self) -> float | None:
        """The number of sample 0; None where unknown, or where it is none."""
        value = self.nominal
        return value if isinstance(value, float) else None

    @property
    def share(self) -> float:
        """Share of the ensemble in which a condition holds, [-]."""
        if getattr(self.value, "ndim", 0):
            return float(self.value.mean())
        return 1.0 if self.value is True else 0.0
