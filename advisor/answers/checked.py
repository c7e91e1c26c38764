"""A config worked out, and each extruder of it with what weighed tests had to do with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.base import BOUNDING, WEIGHED, Event, Report, Weighed, frozen
from advisor.machine import FactBook, Machine

if TYPE_CHECKING:
    from advisor.config import Tree
    from advisor.inputs import ProfileSet
    from advisor.weigh import Evaluation, SkipTest

__all__ = ["CheckedConfig", "CheckedExtruder"]


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
