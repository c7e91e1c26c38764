"""What the table of a weighed test says, as frozen records in SI units, and its mistakes."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.base import Mistakes, Span, WeighError

__all__ = ["Conditions", "Run", "Skipped", "WeighMistakes", "WeighedTable"]


class WeighMistakes(Mistakes, WeighError):
    """Several mistakes of one table."""


class Skipped(enum.StrEnum):
    """Whether the motor was heard or seen to skip in a run."""

    YES = "yes"
    NO = "no"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class Run:
    """One line of the table: what was commanded and what one piece weighed.

    Either `flow` [m3/s] or the filament's `speed` [m/s] is there. `length` [m] is that of one
    piece, `mass` [kg] the mean of one piece without the container, of `pieces` weighed together.
    Optional: `fed` [m], what went in for one piece by ruler; `mark_depth` [m] and `mark_pitch` [m]
    of the tooth marks in the filament.
    """

    at: Span
    flow: float | None
    speed: float | None
    length: float
    pieces: int
    mass: float
    skipped: Skipped
    note: str = ""
    fed: float | None = None
    mark_depth: float | None = None
    mark_pitch: float | None = None


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the table says of the test itself; None where it says nothing. SI units.

    ``diameter`` and ``density`` are low, typical, high; ``date`` is a day, 2026-05-12. ``stated``
    holds what it says of the machine, by fact: numbers in SI units, words as the catalogue has
    them.
    """

    name: str | None = None
    material: str | None = None
    temperature: float | None = None
    nozzle: float | None = None
    diameter: tuple[float, float, float] | None = None
    density: tuple[float, float, float] | None = None
    scale: float | None = None
    hardware: str | None = None
    extruder: str | None = None
    sheet: str | None = None
    date: str | None = None
    roll: str | None = None
    stated: Mapping[str, str | float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WeighedTable:
    """A weighed test as it was written down; `left_out` counts lines without a mass."""

    file: str
    conditions: Conditions
    runs: tuple[Run, ...]
    left_out: int = 0
