"""One extruder with what weighed tests had to do with it, as a frozen record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base import BOUNDING, WEIGHED, Event, Weighed, frozen
from advisor.machine import Machine

if TYPE_CHECKING:
    from advisor.weigh import Evaluation, SkipTest

__all__ = ["CheckedExtruder"]


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
