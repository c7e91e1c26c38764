"""What a hardware sheet says, as frozen records, and the error that holds all its mistakes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from advisor.base import Fact, Mistakes, Number, SheetError, Span, Value, frozen

__all__ = ["Allowance", "Measurement", "Sheet", "SheetMistakes", "SheetPart"]


class SheetMistakes(Mistakes, SheetError):
    """Several mistakes of one sheet."""


@frozen
class Allowance:
    """A rule the owner allows to fire in silence, where the sheet says so, and why."""

    rule: str
    at: Span
    reason: str = ""


@frozen
class Measurement:
    """A measurement as a whole: its values by the last word of their fields, and its place."""

    values: Mapping[str, Value]
    at: Span | None = None

    def number(self, name: str) -> Number | None:
        """Return a number; None where it is not stated."""
        value = self.values.get(name)
        return None if value is None else value.number

    def nominal(self, name: str) -> float | None:
        """Return a number, of a band the typical one, in SI units; None where it is not stated."""
        number = self.number(name)
        return None if number is None else number.nominal

    def text(self, name: str) -> str | None:
        """Return a text; None where it is not stated."""
        value = self.values.get(name)
        return None if value is None else value.text


@frozen
class SheetPart:
    """What a sheet states for all extruders, or for one.

    ``facts`` by name: a number, perhaps a band, or a text. ``measured`` holds the measurements by
    the last word of their block: ``measured_flow`` (flow, material, temperature, nozzle),
    ``measured_force`` (force, outcome), ``measured_case`` (temperature, current, ambient),
    ``measured_skip`` (current, flow, material, temperature, nozzle); of several the later ones
    have their number behind, ``measured_skip 2``.
    """

    facts: Mapping[str, Fact] = field(default_factory=dict)
    measured: Mapping[str, Measurement] = field(default_factory=dict)


@frozen
class Sheet:
    """A hardware sheet with its bases joined in.

    ``file`` is None where the command line alone states something; ``files`` are the paths
    read, the sheet itself first. ``name`` is what the owner calls what it describes.
    """

    file: str | None
    shared: SheetPart
    extruders: Mapping[str, SheetPart] = field(default_factory=dict)
    allow: tuple[Allowance, ...] = ()
    files: tuple[str, ...] = ()
    name: str | None = None

    def part(self, extruder: str) -> SheetPart:
        """Return what is stated for an extruder: its own over the shared."""
        return self.extruders.get(extruder, self.shared)
