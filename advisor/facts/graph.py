"""A book of facts and the rule by which one formula adds a fact to it.

A formula is a pure function with the names of its inputs and of its output. It is evaluated
once, in the order of the table; what it was made of is remembered, so that every figure can
be asked "why?". The book deliberately knows no formula: see `chain`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.frozen import frozen
from advisor.model import Fact, Origin, OriginKind, State

__all__ = ["FactBook", "Formula"]

_WORST = (State.UNREADABLE, State.UNKNOWN, State.MISSING)


@frozen
class Formula:
    """How one fact follows from others.

    Attributes
    ----------
    output : str
        The fact it gives.
    function : callable
        Pure function of keyword arguments in SI units; floats or arrays over the ensemble.
    inputs : mapping of str to str
        Argument name to fact name. A fact name ending in ``?`` is optional: the argument is
        None where the fact is not known.
    words : str
        The formula as a person would write it.
    source : str, optional
        Where it comes from.
    """

    output: str
    function: Callable[..., Any]
    inputs: Mapping[str, str]
    words: str
    source: str | None = None


@dataclass(slots=True)
class FactBook:
    """Facts by name, each put once or derived; later formulas see earlier facts."""

    units: Mapping[str, str]
    facts: dict[str, Fact] = field(default_factory=dict)

    def put(self, fact: Fact) -> None:
        """Add or replace a fact."""
        self.facts[fact.name] = fact

    def known(self, name: str) -> bool:
        """Whether there is a value for `name`."""
        fact = self.facts.get(name)
        return fact is not None and fact.state is State.KNOWN

    def samples(self, name: str) -> Any:
        """Return the samples of `name`, or None where it is not known."""
        fact = self.facts.get(name)
        return fact.samples if fact is not None and fact.state is State.KNOWN else None

    def derive_all(self, formulas: Iterable[Formula]) -> None:
        """Evaluate the formulas in order; the first that can give a fact gives it."""
        for formula in formulas:
            if not self.known(formula.output):
                self._derive(formula)

    def _derive(self, formula: Formula) -> None:
        arguments: dict[str, Any] = {}
        used: list[str] = []
        for argument, name in formula.inputs.items():
            plain = name.removesuffix("?")
            value = self.samples(plain)
            if value is None and plain == name:
                self._mark_absent(formula)
                return
            arguments[argument] = value
            if value is not None:
                used.append(plain)
        value = formula.function(**arguments)
        if value is None:
            self._mark_absent(formula)
            return
        self.put(self._made(formula, value, tuple(used)))

    def _made(self, formula: Formula, value: Any, used: tuple[str, ...]) -> Fact:
        parts = [self.facts[name] for name in used]
        previous = self.facts.get(formula.output)
        return Fact(
            name=formula.output,
            unit=self.units[formula.output],
            samples=value,
            origin=Origin(OriginKind.DERIVED, source=formula.source),
            inputs=used,
            formula=formula.words,
            assumed=frozenset().union(*(part.assumed for part in parts)),
            modelled=frozenset().union(*(part.modelled for part in parts)),
            defaulted=frozenset().union(*(part.defaulted for part in parts)),
            home=previous.home if previous else None,
        )

    def _mark_absent(self, formula: Formula) -> None:
        """Remember that `formula.output` cannot be had, and the worst reason for it.

        Of several formulas the one that lacks the fewest inputs tells what is missing.
        """
        needed = [name for name in formula.inputs.values() if not name.endswith("?")]
        lacking = tuple(name for name in needed if not self.known(name))
        present = self.facts.get(formula.output)
        if present is not None and not 0 < len(lacking) < len(present.inputs):
            return
        states = {
            self.facts[name].state if name in self.facts else State.MISSING for name in needed
        }
        state = next((state for state in _WORST if state in states), State.MISSING)
        self.put(
            Fact(
                name=formula.output,
                unit=self.units[formula.output],
                state=state,
                inputs=lacking,
                formula=formula.words,
            )
        )
