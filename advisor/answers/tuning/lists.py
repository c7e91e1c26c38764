"""Reads the lists of a command line: ``0.4,0.45,0.6`` or ``0.1..0.3:3``, and names of materials."""

from __future__ import annotations

import re
from collections.abc import Sequence

from advisor.base import InputError, UsageError, near_miss, parse_unit
from advisor.catalog import Catalog
from advisor.data import parse_number, parse_quantity, within

__all__ = ["named_materials", "values_in"]

_RANGE = re.compile(r"(.+?)\.\.(.+?):\s*(\d{1,6})\s*\Z", re.DOTALL)
_MOST = 12


def values_in(option: str, text: str, unit: str, bounds: tuple[float, float]) -> tuple[float, ...]:
    """Return the values that a text lists, rising, in SI units.

    Parameters
    ----------
    option : str
        Its name, for what is said of a mistake.
    text : str
        ``a,b,c`` or ``low..high:count``; a bare number counts in `unit`.
    unit : str
        Of the values.
    bounds : tuple of float
        What they could be, in SI units.

    Raises
    ------
    UsageError
        For a value that cannot be, or too many of them.
    """
    found = _RANGE.match(text)
    if found is not None:
        values = _spaced(option, found, unit)
    else:
        values = [_value(option, part, unit) for part in text.split(",")]
    if len(values) > _MOST:
        raise UsageError(f"{option} has {len(values)} values", f"give {_MOST} at most")
    for value in values:
        if not within(value, *bounds):
            shown, low, high = (f"{parse_unit(unit).from_si(x):g}" for x in (value, *bounds))
            raise UsageError(f"{option}: {shown} {unit} is out of range",
                             f"give {low} to {high} {unit}")  # fmt: skip
    return tuple(sorted(dict.fromkeys(values)))


def _spaced(option: str, found: re.Match[str], unit: str) -> list[float]:
    low, high = (_value(option, found[end], unit) for end in (1, 2))
    count = int(found[3])
    if not 2 <= count <= _MOST or not low < high:
        raise UsageError(f"{option}: '{found[0]}' is no range",
                         f"write low..high:count, with 2 to {_MOST} values")  # fmt: skip
    trade = parse_unit(unit)
    first, last = float(trade.from_si(low)), float(trade.from_si(high))
    rounded = (round(first + (last - first) * i / (count - 1), 6) for i in range(count))
    return [float(trade.to_si(value)) for value in rounded]


def _value(option: str, text: str, unit: str) -> float:
    shown = f"{text} {unit}" if parse_number(text) is not None else text
    try:
        return float(parse_quantity(shown, parse_unit(unit)).typical)
    except InputError as err:
        raise UsageError(f"{option}: {err.problem}", err.remedy) from None


def named_materials(texts: Sequence[str], catalog: Catalog) -> tuple[str, ...]:
    """Return the materials that texts name, several with commas between them.

    Raises
    ------
    UsageError
        For one that the catalogue does not have; names the closest.
    """
    known = catalog.category("materials")
    named = [part.strip().lower() for text in texts for part in text.split(",")]
    for name in named:
        if name not in known:
            hint = near_miss(name, known) or f"known are {', '.join(known)}"
            raise UsageError(f"unknown material '{name}'", hint)
    return tuple(dict.fromkeys(named))
