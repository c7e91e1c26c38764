"""One extruder with what weighed tests had to do with it, as a frozen record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base import Event, LeverGain, Weighed, frozen
from advisor.machine import Machine

if TYPE_CHECKING:
    from advisor.weigh import Evaluation

__all__ = ["CheckedExtruder"]


@frozen
class CheckedExtruder:
    """One extruder worked out, and what weighed tests had to do with it."""

    machine: Machine
    note: Weighed | None = None
    events: tuple[Event, ...] = ()
    tests: tuple[Evaluation, ...] = ()
    gains: tuple[LeverGain, ...] = ()
