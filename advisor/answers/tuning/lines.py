"""Which lines the page is for, and the head speed of each at a flow.

A line has rounded ends, as slicers reckon: its section is that of a rectangle with a half circle
at either side. So the speeds are those that `flow` finds for the features of a profile; a line
that is asked by hand (``120mm/s x 0.45 x 0.2``) counts whole, which is a little more flow.

The lists they are asked by are those of a command line: ``0.4,0.45,0.6`` or ``0.1..0.3:3``.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from advisor.answers.tuning.bench_data import bench_numbers
from advisor.answers.tuning_records import SpeedCeiling
from advisor.base import Case, InputError, UsageError, frozen, near_miss, parse_unit
from advisor.catalog import Catalog
from advisor.data import parse_number, parse_quantity, within
from advisor.machine import FactBook
from advisor.physics import motion

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet

__all__ = ["Lines", "ceilings_of", "in_mm", "lines_of", "named_materials", "values_in"]

_RANGE = re.compile(r"(.+?)\.\.(.+?):\s*(\d{1,6})\s*\Z", re.DOTALL)
_MOST = 12
_MM = 1e3
_MM3 = 1e9
_BOUNDS = (0.02e-3, 5e-3)  # m: what a width or a height could be
_ROUND = 5  # digits of a m, a hundredth of a mm: usual lines are given to it


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


@frozen
class Lines:
    """Widths and heights of lines, rising, [m]; the slicer's factor on the flow, [-]."""

    widths: tuple[float, ...]
    heights: tuple[float, ...]
    flow_ratio: float = 1.0

    def each(self) -> Iterable[tuple[float, float, float]]:
        """Yield width, height and section [m2] of each line."""
        for width in self.widths:
            for height in self.heights:
                yield width, height, float(motion.bead_area(width=width, height=height))


def lines_of(
    book: FactBook, profiles: ProfileSet | None, *, widths: str | None, heights: str | None
) -> Lines:
    """Return the lines of the page: those asked for, else the profile's, else usual ones.

    Parameters
    ----------
    book : FactBook
        The extruder's facts.
    profiles : ProfileSet or None
        What slicer profiles ask for.
    widths, heights : str, optional
        As typed, in mm.

    Raises
    ------
    UsageError
        For a list that cannot be read.
    """
    usual = bench_numbers("line")
    ratio = book.nominal("profile.flow_ratio") or 1.0
    rows = (
        ("--widths", widths, "width", "narrow", "model.line_width_share", "wide"),
        ("--heights", heights, "height", "thin", "model.line_height_share", "thick"),
    )
    found = []
    for option, text, part, least, middle, most in rows:
        if text is not None:
            found.append(values_in(option, text, "mm", _BOUNDS))
            continue
        stated = _of_profile(profiles, part, int(usual["most"]))
        bore = book.nominal("nozzle.diameter") or 0.0
        shares = (usual[least], book.nominal(middle) or 1.0, usual[most])
        found.append(stated or _usual(bore, shares))
    return Lines(widths=found[0], heights=found[1], flow_ratio=ratio)


def _of_profile(profiles: ProfileSet | None, part: str, most: int) -> tuple[float, ...]:
    """Return the widths or heights of a profile's features, at most so many, the commonest."""
    if profiles is None:
        return ()
    sizes = [size for one in profiles.features if not one.round if (size := getattr(one, part))]
    counted = Counter(round(size, _ROUND + 1) for size in sizes).most_common(most)
    return tuple(sorted(size for size, _ in counted))


def _usual(bore: float, shares: Sequence[float]) -> tuple[float, ...]:
    sizes = (round(bore * share, _ROUND) for share in shares)
    return tuple(sorted({size for size in sizes if size > 0.0}))


def ceilings_of(lines: Lines, cases: Sequence[Case]) -> tuple[SpeedCeiling, ...]:
    """Return the largest speed of each line at the cap and the typical capacity of each case."""
    return tuple(
        SpeedCeiling(
            case=case.name or None,
            width=in_mm(width),
            height=in_mm(height),
            cap=None if case.set_to is None else _whole(_speed(case.set_to, area, lines)),
            typical=_speed(case.capacity.value, area, lines),
        )
        for case in cases
        for width, height, area in lines.each()
    )


def in_mm(size: float) -> float:
    """Return a width or height in mm, without the last bits of the arithmetic."""
    return round(size * _MM, 6)


def _speed(flow: float, area: float, lines: Lines) -> float:
    """Return the speed in mm/s at which a line asks for a flow in mm3/s."""
    return flow / _MM3 / area / lines.flow_ratio * _MM


def _whole(speed: float) -> float:
    return float(math.floor(speed + 1e-9))
