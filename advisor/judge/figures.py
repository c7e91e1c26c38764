"""Writes the numbers of a message: value, unit and band, in two or three significant digits."""

from __future__ import annotations

import math

from advisor.base import Number, Quantity, Unit, known_ends

__all__ = ["figure", "quantity"]

_WIDE = 0.1  # relative width of a band from which a third digit would pretend
_SPOKEN = {"A rms": "A RMS", "mA rms": "mA RMS", "-": "", "1": ""}


def figure(value: float, digits: int = 3) -> str:
    """Return `value` rounded to `digits` significant digits, without an exponent.

    >>> figure(0.5657), figure(22.771, 2), figure(200000.0), figure(0.0)
    ('0.566', '23', '200000', '0')
    """
    if not math.isfinite(value):
        return "unknown" if math.isnan(value) else "very high" if value > 0 else "very low"
    if value == 0.0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(
    samples: Quantity, unit: Unit, *, with_band: bool = True, with_unit: bool = True
) -> str:
    """Return e.g. ``23 (17-30) mm3/s`` for the samples of an estimate.

    Parameters
    ----------
    samples : ndarray or float
        Sample 0 is nominal. [SI]
    unit : Unit
        The unit to write it in.
    with_band, with_unit : bool
        Whether to write the 5-95 % band, where there is a spread, and the unit.
    """
    if not getattr(samples, "ndim", 0):
        value = float(unit.from_si(float(samples)))
        return _figure(value, unit, _digits(unit)) + _unit(value, unit, with_unit)
    value, low, high = (float(unit.from_si(end)) for end in _ends(samples))
    digits = _digits(unit) if high - low <= _WIDE * abs(value) else 2
    text = _figure(value, unit, max(digits, _flow_digits(value, unit)))
    band = _band(low, high, unit, digits) if with_band else ""
    return (f"{text} ({band})" if band else text) + _unit(value, unit, with_unit)


def _digits(unit: Unit) -> int:
    return 2 if unit.symbol == "%" else 3


def _flow_digits(value: float, unit: Unit) -> int:
    """Return the digits of a flow with one decimal, as everywhere a capacity is written."""
    return 3 if unit.symbol == "mm3/s" and value >= 10.0 else 2


def _ends(samples: Quantity) -> tuple[float, float, float]:
    """Return sample 0, and the ends of the band of the known samples."""
    low, high = known_ends(samples)
    return (math.nan if math.isnan(low) else Number(samples).nominal), low, high


def _band(low: float, high: float, unit: Unit, digits: int) -> str:
    if math.isnan(low):
        return ""
    ends = _figure(low, unit, digits), _figure(high, unit, digits)
    if ends[0] == ends[1]:
        return ""
    if math.isinf(high):
        return f"{ends[0]} or more"
    return f"{ends[0]} to {ends[1]}" if low < 0 else f"{ends[0]}-{ends[1]}"


def _figure(value: float, unit: Unit, digits: int) -> str:
    """A temperature is written in whole degrees, everything else in significant digits."""
    if unit.kind == "point" and math.isfinite(value):
        return f"{round(value)}"
    return figure(value, digits)


def _unit(value: float, unit: Unit, wanted: bool) -> str:
    words = _SPOKEN.get(unit.symbol, unit.symbol)
    return f" {words}" if wanted and words and math.isfinite(value) else ""
