"""Writes units as people write them, or in plain ASCII where the terminal cannot show them.

The texts hold units in the ASCII of the table of units (``mm3/s``, ``degC``, ``mN m``); this is the
one place that knows how they look. What is to be typed (``--asked 20mm3/s``) has no blank before
its unit and stays as it is. It knows no values and no reports.
"""

from __future__ import annotations

import re

from advisor.report.look import Look

__all__ = ["typeset", "written"]

_WRITTEN = {
    "mm3/s": "mm\u00b3/s",
    "mm/s2": "mm/s\u00b2",
    "mm2/s": "mm\u00b2/s",
    "mm3": "mm\u00b3",
    "mm2": "mm\u00b2",
    "g/cm3": "g/cm\u00b3",
    "degC": "\u00b0C",
    "mN m": "mN\u00b7m",
    "N m": "N\u00b7m",
    "N mm": "N\u00b7mm",
    "g cm2": "g\u00b7cm\u00b2",
    "W/(m K)": "W/(m\u00b7K)",
    "J/(kg K)": "J/(kg\u00b7K)",
    "um": "\u00b5m",
    "A rms": "A RMS",
}
_PLAIN = {"degC": "C", "A rms": "A RMS"}
_FOREIGN = {foreign: ours for ours, foreign in _WRITTEN.items()}
_FOREIGN |= {"\u00b0C": "C", "\u00b1": "+-", "\u00d7": "x"}


def _pattern(units: dict[str, str]) -> re.Pattern[str]:
    longest_first = sorted(units, key=len, reverse=True)
    words = "|".join(re.escape(unit) for unit in longest_first)
    return re.compile(rf"(?<![^\s(])(?:{words})(?![\w/])")


_UNITS = _pattern(_WRITTEN)
_MARKS = re.compile("|".join(sorted(map(re.escape, _FOREIGN), key=len, reverse=True)))


def typeset(text: str, *, drawn: bool = True) -> str:
    """Return `text` with its units as people write them.

    Parameters
    ----------
    text : str
        A text of ours.
    drawn : bool
        Whether the stream can show more than ASCII.

    >>> typeset("9.7 (6.1-14) mm3/s at 220 degC; --asked 20mm3/s") == (
    ...     "9.7 (6.1-14) mm\u00b3/s at 220 \u00b0C; --asked 20mm3/s")
    True
    >>> typeset("9.7 mm\u00b3/s at 220 degC", drawn=False)
    '9.7 mm3/s at 220 C'
    """
    if drawn:
        return _UNITS.sub(lambda unit: _WRITTEN[unit[0]], text)
    plain = _UNITS.sub(lambda unit: _PLAIN.get(unit[0], unit[0]), text)
    return plain if plain.isascii() else _MARKS.sub(lambda mark: _FOREIGN[mark[0]], plain)


def written(text: str, look: Look) -> str:
    """Return a line with its units as people write them, where the stream can show them."""
    return typeset(text, drawn=look.drawn)
