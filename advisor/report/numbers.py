"""Writes numbers for people: two or three significant digits, the unit always, bands in words.

It rounds for show only; machine formats keep the digits.

`bands` hands out the bands of figures in the shape that pages work with.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

from advisor.base import Band, Figure

__all__ = [
    "RANGE",
    "band",
    "bands",
    "case_degrees",
    "figure",
    "flow",
    "quantity",
    "ranged",
    "share",
    "times",
    "unit_words",
    "wide",
]

RANGE = "In brackets: the range for 9 in 10 machines like this one."

_FLOW = "mm3/s"
_FAR = 3.0  # a ratio beyond this is no figure anybody could use
_WIDE = 0.1  # relative width of a band from which a third digit would pretend
_SPOKEN = {"A rms": "A RMS", "A peak": "A peak", "-": "", "%": "%"}
_HOTTEST_CASE = 150.0  # degC; a winding would have failed long before its case is this hot


def figure(value: float, digits: int = 3) -> str:
    """Return `value` rounded to `digits` significant digits, without an exponent.

    >>> figure(9.681), figure(22.771), figure(24.0), figure(1234.5), figure(0.5657)
    ('9.68', '22.8', '24', '1230', '0.566')
    """
    if not math.isfinite(value):
        return "beyond all bounds" if value > 0 else "unknown"
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    text = f"{rounded:.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def times(ratio: float, of: str) -> str:
    """Return how many times `of` something is; beyond three times only that it is far beyond.

    >>> times(1.34, "the capacity"), times(12.0, "the capacity")
    ('1.3 times the capacity', 'far beyond the capacity')
    """
    return f"{figure(ratio, 2)} times {of}" if ratio <= _FAR else f"far beyond {of}"


def flow(value: float) -> str:
    """Return a flow in mm3/s as people set it: one decimal from 1 to 100.

    >>> flow(9.681), flow(24.0), flow(141.32), flow(0.356), flow(math.inf)
    ('9.7', '24.0', '141', '0.36', 'very high')
    """
    if not math.isfinite(value):
        return "very high"
    if 1.0 <= value < 99.95:
        return f"{value:.1f}"
    return figure(value, 3 if value >= 1.0 else 2)


def case_degrees(estimate: Band | None) -> str:
    """Return a motor's case temperature in degC; above what any motor survives, that alone."""
    if estimate is None:
        return "-"
    return "over 150" if estimate.value > _HOTTEST_CASE else figure(estimate.value, 2)


def wide(estimate: Band) -> bool:
    """Whether the band is so wide that a third digit of the value would pretend."""
    return estimate.high - estimate.low > _WIDE * abs(estimate.value)


def unit_words(unit: str) -> str:
    """Return the unit as a person reads it, with a leading blank; '' for a plain number."""
    words = _SPOKEN.get(unit, unit)
    return f" {words}" if words else ""


def quantity(value: float, unit: str, digits: int = 3) -> str:
    """Return ``0.566 A RMS`` for 0.5657 and ``A rms``."""
    return figure(value, digits) + unit_words(unit)


def band(estimate: Band, unit: str) -> str:
    """Return ``9.7 mm3/s (6.1 to 14)``, or the value alone where there is no spread."""
    if not wide(estimate):
        value = quantity(estimate.value, unit)
        ends = (figure(estimate.low), figure(estimate.high))
        return value if ends[0] == ends[1] else f"{value} ({ends[0]} to {ends[1]})"
    ends = (figure(estimate.low, 2), figure(estimate.high, 2))
    return f"{_typical(estimate.value, unit, 2)}{unit_words(unit)} ({ends[0]} to {ends[1]})"


def ranged(estimate: Band, unit: str, digits: int = 3) -> str:
    """Return ``9.7 (6.1-14) mm3/s``, or the value alone where there is no spread.

    >>> ranged(Band(9.681, 6.1, 14.02), "mm3/s"), ranged(Band(0.4, 0.4, 0.4), "A rms")
    ('9.7 (6.1-14) mm3/s', '0.4 A RMS')
    """
    digits = min(digits, 2) if wide(estimate) else digits
    low, high = figure(estimate.low, digits), figure(estimate.high, digits)
    if low == high:
        return quantity(estimate.value, unit, digits)
    value = _typical(estimate.value, unit, digits)
    to = " to " if estimate.low < 0.0 else "-"
    ends = f"{low}{to}{high}" if math.isfinite(estimate.high) else f"{low} and up"
    return f"{value} ({ends}){unit_words(unit)}"


def _typical(value: float, unit: str, digits: int) -> str:
    """Return the typical value of a band; a flow as everywhere, with one decimal."""
    return flow(value) if unit == _FLOW else figure(value, digits)


def share(part: float) -> str:
    """Return a share as a whole percentage, never rounded to all or nothing: ``93 %``."""
    percent = round(100.0 * part)
    if 0.0 < part < 1.0:
        percent = min(99, max(1, percent))
    return f"{percent} %"


def bands(figures: Mapping[str, Figure] | Iterable[Figure]) -> Mapping[str, Band]:
    """Return the band of every known number among `figures`, by name."""
    if isinstance(figures, Mapping):
        return _Bands(figures)
    return _Bands({figure.name: figure for figure in figures})


class _Bands(Mapping[str, Band]):
    """The bands of figures, each worked out when it is asked for: a page shows a part of them."""

    __slots__ = ("_figures",)

    def __init__(self, figures: Mapping[str, Figure]) -> None:
        self._figures = figures

    def __getitem__(self, name: str) -> Band:
        band = self._figures[name].band
        if band is None:
            raise KeyError(name)
        return band

    def __iter__(self) -> Iterator[str]:
        return (name for name, figure in self._figures.items() if figure.band is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)
