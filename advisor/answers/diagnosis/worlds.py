"""One machine with something changed, over the same draws: its facts, and what it would show.

A world is the machine as config and sheet have it, or the same with the changes of a cause, of two,
or of a test on top. Each change draws its severity by a name of its own, so that all worlds of one
root are paired machine by machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import Cause, CauseBook, CauseChange, SeenWhere
from advisor.base import Fact, Number
from advisor.expression import Compiled, evaluate
from advisor.machine import Machine

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["World", "root_world", "wanted_facts"]

_FLOW = "ask.flow"
Side = Mapping[str, tuple[tuple[str, "Array"], ...]]


@dataclass
class World:
    """A machine with something changed.

    Attributes
    ----------
    book : CauseBook
        What quantities, words and circumstances there are.
    machine : Machine
        With the changes of facts.
    causes : tuple of Cause
        What was changed.
    side : mapping
        What was changed of the quantities beside the facts, in order.
    sound : mapping of str to Fact
        Quantities of the machine without any cause.
    wanted : frozenset of str
        The facts that are worked out.
    root : World or None
        The machine without any change, over the same draws; None where this is it.
    """

    book: CauseBook
    machine: Machine
    causes: tuple[Cause, ...] = ()
    side: Side = field(default_factory=dict)
    sound: Mapping[str, Fact] = field(default_factory=dict)
    wanted: frozenset[str] = frozenset()
    root: World | None = None
    _facts: dict[str, Fact] | None = None
    _chances: dict[str, Array] = field(default_factory=dict)
    _seen: dict[str, Array] = field(default_factory=dict)
    _generals: dict[str, Array] = field(default_factory=dict)
    _once: dict[int, Array] = field(default_factory=dict)
    _flow: Fact | None = None
    _told: Array | None = None

    @property
    def size(self) -> int:
        """How many machines it stands for."""
        return self.machine.ensemble.size

    @property
    def facts(self) -> Mapping[str, Fact]:
        """All facts, and the quantities beside them."""
        if self._facts is None:
            self._facts = dict(self.machine.facts)
            self._facts.update(_side_facts(self, self._facts))
        return self._facts

    def samples(self, name: str) -> Array | None:
        """Return a number over the machines in SI units, shape (size,); None where not known."""
        fact = self.facts.get(name)
        number = None if fact is None else fact.number
        return None if number is None else number.over(self.size)

    def holds(self, code: Compiled) -> Array:
        """Return where a condition surely holds, 1 or 0, shape (size,)."""
        return _held(code, self.facts, self.size)

    def changed(
        self, key: str, changes: Sequence[CauseChange], cause: Cause | None = None
    ) -> World:
        """Return the world with changes on top, their severities drawn under `key`."""
        facts: dict[str, Array] = {}
        side = dict(self.side)
        known = self.machine.catalog.facts
        for change in changes:
            ends = self._ends(change)
            if ends is None:
                continue
            low, typical, high = ends
            name = f"{key} {change.fact}"
            drawn = self.machine.ensemble.spread(name, low=low, typical=typical, high=high)
            if change.fact not in known:
                side[change.fact] = (*side.get(change.fact, ()), (change.how, drawn))
                continue
            present = facts.get(change.fact, self.samples(change.fact))
            if present is not None or change.how == "is":
                facts[change.fact] = _applied(present, change.how, drawn)
        machine = self.machine.with_(facts, wanted=self.wanted) if facts else self.machine
        causes = self.causes if cause is None else (*self.causes, cause)
        root = self.root or self
        return World(self.book, machine, causes, side, self.sound, self.wanted, root)

    def _ends(self, change: CauseChange) -> tuple[float, float, float] | None:
        """Return the ends of a change on this machine; None where it has none."""
        if change.of is None:
            return change.ends
        part = evaluate(change.of, (self.root or self).facts).nominal
        if part is None or isinstance(part, bool | str):
            return change.otherwise
        low, typical, high = (float(part) * one for one in change.ends)
        return low, typical, high

    def set_value(self, name: str) -> float | None:
        """Return a fact as config and sheet have it, typical and in SI, whatever was changed."""
        return (self.root or self).machine.fact(name).nominal

    def chances(self, word: str) -> Array:
        """Return the chance of a word in each circumstance, shape (circumstances, size)."""
        found = self._chances.get(word)
        if found is None:
            found = self._chances[word] = self._chances_of(word)
        return found

    def complaint(self) -> Array:
        """Return the chance that somebody complains, machine by machine, shape (size,)."""
        if self._told is None:
            quiet = np.ones(self.size)
            for word in self.book.words:
                quiet = quiet * (1.0 - self.chances(word).max(axis=0))
            self._told = np.maximum(1.0 - quiet, 1e-3)
        return self._told

    def _chances_of(self, word: str) -> Array:
        """Return what is seen of a word, with what follows from other words or is taken for it."""
        made = np.array(self._seen_of(word))
        for other, share in self.book.words[word].follows.items():
            np.maximum(made, share * self._seen_of(other), out=made)
        return made

    def _seen_of(self, word: str) -> Array:
        found = self._seen.get(word)
        if found is None:
            whens = tuple(self.book.whens)
            own = [
                (one, one.at or whens)
                for cause in self.causes
                for one in cause.shows
                if word in one.sees
            ]
            found = self._added(word)
            self._raise(found, own)
            self._seen[word] = found
        return found

    def _added(self, word: str) -> Array:
        """Return what follows from forces, flows and heat, and would not without the causes.

        All of it counts where a cause is the machine as config and sheet have it.
        """
        made = self._general(word)
        if self.root is None:
            return made
        added = np.maximum(made - self.root.general(word), 0.0)
        shown = [one for cause in self.causes for one in cause.itself if word in one.sees]
        itself = {when for one in shown for when in one.at}
        for row, when in enumerate(self.book.whens):
            if when in itself:
                added[row] = made[row]
        return np.asarray(added)

    def general(self, word: str) -> Array:
        """Return the chance of a word by forces, flows and heat, whatever is the cause."""
        found = self._generals.get(word)
        if found is None:
            found = self._generals[word] = self._general(word)
        return found

    def _general(self, word: str) -> Array:
        flowing = tuple(name for name, one in self.book.whens.items() if one.flow is not None)
        made = np.zeros((len(self.book.whens), self.size))
        self._raise(made, [(one, one.at or flowing) for one in self.book.words[word].shows])
        return made

    def _raise(self, made: Array, shown: Sequence[tuple[SeenWhere, Sequence[str]]]) -> None:
        """Raise chances to those of what is shown in some circumstances."""
        for where, at in shown:
            rows = [self._row(when) for when in at]
            made[rows] = np.maximum(made[rows], where.chance * self._where(where, rows))

    def _row(self, when: str) -> int:
        return tuple(self.book.whens).index(when)

    def _where(self, where: SeenWhere, rows: Sequence[int]) -> Array | float:
        """Return where a condition holds in circumstances, of a shape to go with their rows."""
        code = where.condition
        if code is None:
            return 1.0
        if id(code) not in self._once:
            facts = {**self.facts, _FLOW: self._flows()} if _FLOW in code.facts else self.facts
            self._once[id(code)] = _held(code, facts, self.size)
        held = self._once[id(code)]
        return held[list(rows)] if held.ndim > 1 else held

    def _flows(self) -> Fact:
        """Return the flow in each circumstance, nan without one, shape (circumstances, size)."""
        if self._flow is None:
            flows = np.full((len(self.book.whens), self.size), np.nan)
            for row, one in enumerate(self.book.whens.values()):
                value = None if one.flow is None else evaluate(one.flow, self.facts).value
                if value is not None:
                    flows[row] = value
            self._flow = Fact(_FLOW, Number(flows, "mm3/s"))
        return self._flow


def root_world(machine: Machine, book: CauseBook) -> World:
    """Return the world of a machine as config and sheet have it.

    What neither gives and causes hang on is assumed; see rules/causes/quantities.yaml.
    """
    ensemble, wanted = machine.ensemble, wanted_facts(book)
    assumed = {
        name: ensemble.spread(f"assumed {name}", low=low, typical=typical, high=high)
        for name, (low, typical, high) in book.assume.items()
        if not machine.fact(name).known
    }
    made = machine.with_(assumed, wanted=wanted) if assumed else machine
    world = World(book, made, wanted=wanted)
    sound = {
        one.name: fact
        for one in book.quantities
        if one.sound and (fact := _first_known(one.codes, world.machine.facts, one.name, one.unit))
    }
    return World(book, world.machine, sound=sound, wanted=wanted)


def wanted_facts(book: CauseBook) -> frozenset[str]:
    """Return every fact that a condition or quantity names, or that a cause changes."""
    codes = [code for one in book.quantities for code in one.codes]
    rows: list[SeenWhere] = [where for word in book.words.values() for where in word.shows]
    rows += [where for cause in book.causes for where in cause.shows]
    codes += [where.condition for where in rows if where.condition is not None]
    codes += [cause.applies for cause in book.causes if cause.applies is not None]
    codes += [code for cause in book.causes for code, _ in cause.likelier]
    codes += [one.of for cause in book.causes for one in cause.changes if one.of is not None]
    for test in book.tests.values():
        codes += [reading.condition for reading in test.readings]
        codes += [code for code in (test.applies, test.likely and test.likely[0]) if code]
    changed = [change.fact for cause in book.causes for change in cause.changes]
    tried = [change for test in book.tests.values() for change in test.changes]
    changed += [change.fact for change in tried]
    codes += [change.of for change in tried if change.of is not None]
    return frozenset(name for code in codes for name in code.facts) | frozenset(changed) | _USED


_USED = frozenset(
    ("motor.case_temperature", "motor.borne_current", "force.grip", "flow.skip", "flow.slip")
)


def _side_facts(world: World, facts: Mapping[str, Fact]) -> dict[str, Fact]:
    made: dict[str, Fact] = dict(world.sound)
    for one in world.book.quantities:
        present: Array | None = None
        if one.ends is not None:
            low, typical, high = one.ends
            present = world.machine.ensemble.spread(one.name, low=low, typical=typical, high=high)
        elif (fact := _known_of(world, one.name, {**facts, **made})) is not None:
            present = fact
        for how, drawn in world.side.get(one.name, ()):
            if present is not None or how == "is":
                present = _applied(present, how, drawn)
        if present is not None:
            made[one.name] = Fact(one.name, Number(present, one.unit))
    return made


def _known_of(world: World, name: str, facts: Mapping[str, Fact]) -> Array | None:
    if name in world.sound:
        number = world.sound[name].number
        return None if number is None else number.over(world.size)
    one = next(q for q in world.book.quantities if q.name == name)
    fact = _first_known(one.codes, facts, name, one.unit)
    return None if fact is None or fact.number is None else fact.number.over(world.size)


def _first_known(
    codes: Sequence[Compiled], facts: Mapping[str, Fact], name: str, unit: str
) -> Fact | None:
    for code in codes:
        value = evaluate(code, facts).value
        if value is not None:
            return Fact(name, Number(value, unit))
    return None


def _applied(present: Array | None, how: str, drawn: Array) -> Array:
    if how == "is" or present is None:
        return drawn
    return present * drawn if how == "times" else present + drawn


def _held(code: Compiled, facts: Mapping[str, Fact], size: int) -> Array:
    value = evaluate(code, facts).value
    if value is None:
        return np.zeros(size)
    held = np.asarray(value, dtype=np.float64)
    return held if held.ndim > 1 else np.broadcast_to(held, (size,))
