"""What a hardware sheet says, as frozen records, and the error that holds all its mistakes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from advisor.errors import Mistakes, SheetError
from advisor.frozen import frozen
from advisor.model import Fact, Span

__all__ = ["Allowed", "Sheet", "SheetMistakes", "SheetPart"]


class SheetMistakes(Mistakes, SheetError):
    """Several mistakes of one sheet."""


@frozen
class Allowed:
    """A rule the owner allows to fire in silence, where the sheet says so, and why."""

    rule: str
    at: Span
    reason: str = ""


@frozen
class SheetPart:
    """What a sheet states for all extruders, or for one.

    ``facts`` by name: samples are a float, a `SheetValue` (a band) or a text. ``measured``
    holds the measurements as a whole, by the last word of their block: ``measured_flow``
    (flow, material, temperature, nozzle), ``measured_force`` (force as a `SheetValue`,
    outcome), ``measured_case`` (temperature, current, ambient), each with ``at``; SI floats,
    a band by its typical value.
    """

    facts: Mapping[str, Fact] = field(default_factory=dict)
    measured: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


@frozen
class Sheet:
    """A hardware sheet with its bases joined in.

    ``file`` is None where the command line alone states something; ``files`` are the paths
    read, the sheet itself first.
    """

    file: str | None
    shared: SheetPart
    extruders: Mapping[str, SheetPart] = field(default_factory=dict)
    allow: tuple[Allowed, ...] = ()
    files: tuple[str, ...] = ()

    def part(self, extruder: str) -> SheetPart:
        """Return what is stated for an extruder: its own over the shared."""
        return self.extruders.get(extruder, self.shared)
