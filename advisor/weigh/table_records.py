"""What the table of a weighed test says, as frozen records in SI units, its mistakes, and its day.

A day is taken as people write it: 2026-05-12, 12.5.2026, 12 May 2026. With slashes day and month
cannot be told apart. It knows no clock.
"""

from __future__ import annotations

import datetime as dt
import enum
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from advisor.base import InputError, Mistakes, Span, WeighError

__all__ = ["Conditions", "Run", "Skipped", "WeighMistakes", "WeighedTable", "day_of", "day_words"]

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_ISO = re.compile(r"(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})$")
_DOTS = re.compile(r"(?P<day>\d{1,2})\.\s*(?P<month>\d{1,2})\.\s*(?P<year>\d{4})$")
_WORDS = re.compile(r"(?P<day>\d{1,2})\.?\s+(?P<month>[A-Za-z]{3,9})\.?,?\s+(?P<year>\d{4})$")
_LETTERS = 3  # of a month that tell it from the others


def day_of(text: str) -> str:
    """Return a day as ISO 8601 writes it.

    Raises
    ------
    InputError
        If it is no day.

    Examples
    --------
    >>> day_of("12 May 2026"), day_of("3.6.2026")
    ('2026-05-12', '2026-06-03')
    """
    found = next((m for p in (_ISO, _DOTS, _WORDS) if (m := p.match(text.strip()))), None)
    month = _month(found["month"]) if found is not None else None
    if found is not None and month is not None:
        try:
            return dt.date(int(found["year"]), month, int(found["day"])).isoformat()
        except ValueError:
            pass
    raise InputError(f"'{text.strip()[:40]}' is no day", "write it as 2026-05-12")


def _month(text: str) -> int | None:
    if text.isdigit():
        return int(text)
    named = [n for n, word in enumerate(_MONTHS, 1) if word.lower().startswith(text.lower())]
    return named[0] if len(text) >= _LETTERS and len(named) == 1 else None


def day_words(date: str, among: Iterable[str | None] = ()) -> str:
    """Return a day in words, with its year where others are of another year.

    Parameters
    ----------
    date : str
        As `day_of` returns it.
    among : iterable of str or None
        The days it stands beside.

    Examples
    --------
    >>> day_words("2026-05-12"), day_words("2026-05-12", ["2025-06-03"])
    ('12 May', '12 May 2026')
    """
    day = dt.date.fromisoformat(date)
    short = f"{day.day} {_MONTHS[day.month - 1]}"
    years = {other[:4] for other in among if other}
    return short if years <= {date[:4]} else f"{short} {day.year}"


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
