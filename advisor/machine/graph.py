"""A book of facts and the rule by which one formula adds a fact to it.

A formula is a pure function with the names of its inputs and of its output. It is evaluated
once, in the order of the table; what it was made of is remembered, so that every figure can
be asked "why?". Books of one family of machines share what they have in common: a formula whose
inputs are the very same facts gives the very same fact. The book deliberately
knows no formula: see `chain`.

Facts are remembered by what they were made of: a fact depends on nothing but its formula and the
facts that go in. A machine that differs in one value is worked out by the same steps as a fresh
one, and each step whose inputs are the very same facts hands out the fact it gave before: only what
lies downstream of the change is new, to the last byte. What was not asked for the longest is
forgotten first.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar, cast

from advisor.base import Fact, Number, Origin, OriginKind, Quantity, State, Text, Trace, frozen
from advisor.machine.ensemble import Ensemble, nominal_of, plausible

__all__ = ["FactBook", "Formula", "Memory", "first_of"]

_MOST = 32 * 2**20  # bytes of samples that are remembered
_ENTRIES = 16384  # facts that are remembered, if they weigh little
_ANSWERS = 1024  # of machines that are alike
_FEWEST = 320  # but of a whole machine, however many samples it has

_T = TypeVar("_T")
Maker = Callable[[], Fact]
_WORST = (State.UNREADABLE, State.UNKNOWN, State.MISSING)


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


@frozen(eq=False)
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
    function: Callable[..., Quantity | None]
    inputs: Mapping[str, str]
    words: str
    source: str | None = None


@dataclass(slots=True)
class FactBook:
    """Facts by name, each put once or derived; later formulas see earlier facts.

    ``ensemble`` is what its numbers are drawn over, ``memory`` what it shares with other books,
    ``wanted`` the outputs it is asked for: other formulas are left out; None for all.
    """

    units: Mapping[str, str]
    facts: dict[str, Fact] = field(default_factory=dict)
    ensemble: Ensemble = field(default_factory=plausible)
    memory: Memory = field(default_factory=Memory)
    wanted: frozenset[str] | None = None

    def put(self, fact: Fact) -> None:
        """Add or replace a fact; one that is as a remembered one takes its place."""
        self.facts[fact.name] = self.memory.same(fact)

    def take(self, key: tuple[object, ...], uses: tuple[object, ...], make: Maker) -> None:
        """Add the fact that `make` gives, or the one it gave before for the same key.

        `key` holds all that it depends on; of `uses` the identity counts.
        """
        fact = self.memory.once(key, uses, make)
        self.facts[fact.name] = fact

    def aside(self) -> FactBook:
        """Return a book with the same facts, to be changed without changing this one."""
        return FactBook(self.units, dict(self.facts), self.ensemble, self.memory)

    def typical(self, names: Iterable[str]) -> FactBook:
        """Return a book of the nominal machine alone, with those of the named facts it has."""
        found = {name: self.facts[name] for name in names if name in self.facts}
        facts = {name: first_of(fact) for name, fact in found.items()}
        return FactBook(self.units, facts, nominal_of(self.ensemble), self.memory)

    def known(self, name: str) -> bool:
        """Whether there is a value for `name`."""
        fact = self.facts.get(name)
        return fact is not None and fact.state is State.KNOWN

    def number(self, name: str) -> Number | None:
        """Return the number of `name`; None where it is not known, or is a word."""
        fact = self.facts.get(name)
        return None if fact is None else fact.number

    def samples(self, name: str) -> Quantity | None:
        """Return the samples of the number of `name`, in SI units; None where it has none."""
        number = self.number(name)
        return None if number is None else number.si

    def each(self, names: Sequence[str]) -> list[Quantity] | None:
        """Return the samples of several numbers; None where one of them is not known."""
        found = [samples for name in names if (samples := self.samples(name)) is not None]
        return found if len(found) == len(names) else None

    def nominal(self, name: str) -> float | None:
        """Return the number of `name` of the nominal machine, in SI units; None without one."""
        number = self.number(name)
        return None if number is None else number.nominal

    def text(self, name: str) -> str | None:
        """Return the text of `name`; None where it is not known, or is no text."""
        fact = self.facts.get(name)
        return None if fact is None else fact.text

    def of(self, name: str, si: Quantity) -> Number:
        """Return samples in SI units as a number of a fact of the vocabulary."""
        return Number(si, self.units[name])

    def stated(self, name: str, si: Quantity, origin: Origin) -> Fact:
        """Return a number of the vocabulary that somebody states."""
        return Fact(name, self.of(name, si), origin=origin)

    def trace_of(self, uses: Sequence[str], words: str) -> Trace:
        """Return the trace of what is made of facts of the book, those of them that are there."""
        parts = [self.facts[use] for use in uses if use in self.facts]
        return Trace.joined(parts, words, inputs=uses)

    def put_made(self, name: str, si: Quantity, uses: Sequence[str], words: str) -> None:
        """Put a number in SI units that was worked out from facts of the book."""
        self.put(Fact(name, self.of(name, si), trace=self.trace_of(uses, words)))

    def put_words(self, name: str, text: str, uses: Sequence[str], words: str) -> None:
        """Put a text that was worked out from facts of the book."""
        self.put(Fact(name, Text(text), trace=self.trace_of(uses, words)))

    def derive_all(self, formulas: Iterable[Formula]) -> None:
        """Evaluate the formulas in order; the first that can give a fact gives it."""
        for formula in formulas:
            if self.wanted is not None and formula.output not in self.wanted:
                continue
            if not self.known(formula.output):
                self._derive(formula)

    def renew(self, formulas: Iterable[Formula], changed: Iterable[str]) -> None:
        """Work out anew what the formulas, in their order, made of facts that were replaced."""
        moved = set(changed)
        for formula in formulas:
            fact = self.facts.get(formula.output)
            if (
                fact is None
                or fact.trace.formula != formula.words
                or not moved & set(fact.trace.inputs)
            ):
                continue
            self._derive(formula)
            moved.add(formula.output)

    def _derive(self, formula: Formula) -> None:
        facts = self.facts
        parts = tuple(facts.get(name.removesuffix("?")) for name in formula.inputs.values())
        present = facts.get(formula.output)
        key = ("formula", id(formula), *map(id, parts), id(present))
        uses = (formula, *parts, present)
        self.take(key, uses, lambda: self._made_of(formula, parts, present))

    def _made_of(
        self, formula: Formula, parts: tuple[Fact | None, ...], present: Fact | None
    ) -> Fact:
        arguments: dict[str, Quantity | str | None] = {}
        used: list[Fact] = []
        for (argument, name), part in zip(formula.inputs.items(), parts, strict=True):
            known = part is not None and part.known
            if not known and not name.endswith("?"):
                return self._absent(formula, present)
            arguments[argument] = None
            if part is not None and part.value is not None:
                arguments[argument] = part.value.plain
                used.append(part)
        value = formula.function(**arguments)
        if value is None:
            return self._absent(formula, present)
        trace = Trace.joined(used, formula.words, inputs=[part.name for part in used])
        origin = Origin(OriginKind.DERIVED, source=formula.source)
        home = present.home if present else None
        number = self.of(formula.output, value)
        return Fact(formula.output, number, origin=origin, trace=trace, home=home)

    def _absent(self, formula: Formula, present: Fact | None) -> Fact:
        """Return that `formula.output` cannot be had, with the worst reason for it.

        Of several formulas the one that lacks the fewest inputs tells what is missing.
        """
        needed = [name for name in formula.inputs.values() if not name.endswith("?")]
        lacking = tuple(name for name in needed if not self.known(name))
        if present is not None and not 0 < len(lacking) < len(present.trace.inputs):
            return present
        states = {
            self.facts[name].state if name in self.facts else State.MISSING for name in needed
        }
        state = next((state for state in _WORST if state in states), State.MISSING)
        return Fact(formula.output, state=state, trace=Trace(lacking, formula.words))


def first_of(fact: Fact) -> Fact:
    """Return a fact whose samples, if it has any, are the nominal one alone."""
    number = fact.number
    if number is None or number.size == 1:
        return fact
    return fact.holding(number.nominal)
