"""A config worked out, and each extruder of it with what weighed tests had to do with it.

Checks of nearly the same config share facts, and whole extruders left as they were: an edit is
about one extruder of up to thirty. The others are stated as before, to the last byte of text and
place, so they are handed out again as they were worked out. What a weighed test told of is worked
out anew each time: it hangs on more than what is stated.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.base import BOUNDING, WEIGHED, Event, ExtruderReport, Fact, Report, Weighed, frozen
from advisor.catalog import Catalog
from advisor.machine import Ensemble, ExtruderInputs, FactBook, Machine, Memory, machine_of

if TYPE_CHECKING:
    from advisor.config import Tree
    from advisor.inputs import ProfileSet
    from advisor.weigh import Evaluation, SkipTest

__all__ = ["CheckedConfig", "CheckedExtruder", "Family"]

_KEPT = 2  # of each extruder: with an edit and without, as a plan looks at both in turn


@frozen
class CheckedExtruder:
    """One extruder worked out, and what weighed tests had to do with it."""

    machine: Machine
    note: Weighed | None = None
    events: tuple[Event, ...] = ()
    tests: tuple[Evaluation, ...] = ()
    skips: tuple[SkipTest, ...] = ()

    @property
    def bottleneck(self) -> tuple[str | None, tuple[str, ...]]:
        """What limits it, and the limits about level with that."""
        return (WEIGHED, ()) if self._held else self.machine.bottleneck()

    @property
    def contradicted(self) -> bool:
        """Whether a test contradicts what is stated: the machine is another one then."""
        return self.note is not None and self.note.contradiction is not None

    @property
    def _held(self) -> bool:
        """Whether a test that contradicts the machine holds it below every limit of its own."""
        if not self.contradicted:
            return False
        book = self.machine.book
        capacity = book.nominal("flow.capacity")
        flows = [book.nominal(f"flow.{name}") for name in BOUNDING]
        known = [flow for flow in flows if flow is not None]
        return capacity is not None and bool(known) and capacity < min(known) * (1.0 - 1e-9)


@dataclass(slots=True)
class CheckedConfig:
    """One config worked out: its report, and the machines for who wants to know more."""

    report: Report
    tree: Tree | None = None
    profiles: ProfileSet | None = None
    taken: Mapping[str, CheckedExtruder] = field(default_factory=dict)

    @property
    def machines(self) -> Mapping[str, Machine]:
        """The extruders worked out."""
        return {name: one.machine for name, one in self.taken.items()}

    @property
    def tests(self) -> Mapping[str, tuple[Evaluation, ...]]:
        """What the weighed tests of each extruder told."""
        return {name: one.tests for name, one in self.taken.items()}

    @property
    def books(self) -> Mapping[str, FactBook]:
        """The facts of each extruder."""
        return {name: machine.book for name, machine in self.machines.items()}

    def weighed(self, extruder: str) -> Weighed | None:
        """Return what weighed tests made of an extruder's capacity; None without a test."""
        return self.taken[extruder].note if extruder in self.taken else None


@dataclass(slots=True)
class _Held:
    """One extruder as it was worked out, and what is told of it once that was asked for."""

    machine: Machine
    report: ExtruderReport | None = None
    completed: Machine | None = None

    def is_of(self, machine: Machine) -> bool:
        """Whether it holds a machine, as worked out or as completed."""
        return machine is self.machine or machine is self.completed


@dataclass(slots=True)
class Family:
    """Extruders of one config, as it is and with edits made; all over the same machines.

    Attributes
    ----------
    memory : Memory
        The facts that are remembered; other families may share it.
    """

    memory: Memory = field(default_factory=Memory)
    held: dict[str, list[_Held]] = field(default_factory=dict)

    def machine(self, inputs: ExtruderInputs, catalog: Catalog, ensemble: Ensemble) -> Machine:
        """Return one extruder worked out, or the machine it was before if all is stated alike."""
        kept = self.held.setdefault(inputs.name, [])
        for one in kept:
            if one.machine.ensemble is ensemble and _alike(one.machine.inputs, inputs):
                kept.remove(one)
                kept.append(one)
                return one.machine
        made = machine_of(inputs, catalog, ensemble, self.memory)
        kept.append(_Held(made))
        del kept[:-_KEPT]
        return made

    def report(self, machine: Machine, make: Callable[[], ExtruderReport]) -> ExtruderReport:
        """Return what `make` tells of a machine, or what it told before of the very same one."""
        for one in self.held.get(machine.inputs.name, ()):
            if one.is_of(machine):
                one.report = one.report or make()
                return one.report
        return make()

    def completed(self, machine: Machine, make: Callable[[Machine], Machine]) -> Machine:
        """Return what `make` adds to a machine, or what it added before to the very same one."""
        for one in self.held.get(machine.inputs.name, ()):
            if one.machine is machine:
                one.completed = one.completed or make(machine)
                return one.completed
        return make(machine)


def _alike(one: ExtruderInputs, other: ExtruderInputs) -> bool:
    return (
        one.incomplete == other.incomplete
        and one.defaults == other.defaults
        and one.measured == other.measured
        and list(one.stated) == list(other.stated)
        and all(_same(fact, other.stated[name]) for name, fact in one.stated.items())
    )


def _same(fact: Fact, other: Fact) -> bool:
    return fact is other or fact == other
