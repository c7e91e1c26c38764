"""The day a test was done, as people write it and as it is shown; it knows no clock.

2026-05-12, 12.5.2026 and 12 May 2026 are taken. With slashes day and month cannot be told apart.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable

from advisor.base import InputError

__all__ = ["day_of", "day_words"]

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
