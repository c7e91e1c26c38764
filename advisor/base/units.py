"""The one table of units: symbol to dimension and SI factor, and back.

Amperes RMS and amperes peak are different kinds, a temperature and a temperature
difference are different kinds, and turns per second (``1/s``) are not ``rad/s``.
It deliberately does no arithmetic on values: SI floats go in and come out.
"""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING, TypeAlias, overload

from advisor.base.errors import InputError, near_miss
from advisor.base.record import frozen

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]

__all__ = ["Dimension", "Unit", "parse_unit"]

_BASES = ("m", "kg", "s", "A", "K", "rad")


@frozen
class Dimension:
    """Exponents of m, kg, s, A, K and rad."""

    exponents: tuple[int, ...] = (0,) * len(_BASES)

    def __mul__(self, other: Dimension) -> Dimension:
        pairs = zip(self.exponents, other.exponents, strict=True)
        return Dimension(tuple(a + b for a, b in pairs))

    def __pow__(self, power: int) -> Dimension:
        return Dimension(tuple(a * power for a in self.exponents))

    def __truediv__(self, other: Dimension) -> Dimension:
        return self * other**-1

    @property
    def is_number(self) -> bool:
        """Whether this is the dimension of a plain number."""
        return not any(self.exponents)

    def __str__(self) -> str:
        parts = [
            base if power == 1 else f"{base}{power}"
            for base, power in zip(_BASES, self.exponents, strict=True)
            if power
        ]
        return " ".join(parts) or "a plain number"


def _dim(**powers: int) -> Dimension:
    return Dimension(tuple(powers.get(base, 0) for base in _BASES))


@frozen
class Unit:
    """A unit: SI value = factor * value + offset.

    ``kind`` is ``"rms"``, ``"peak"`` (of a current), ``"point"`` (a temperature, not a
    difference) or None.
    """

    symbol: str
    dimension: Dimension
    factor: float = 1.0
    offset: float = 0.0
    kind: str | None = None

    @overload
    def to_si(self, value: float) -> float: ...
    @overload
    def to_si(self, value: Array) -> Array: ...
    def to_si(self, value: float | Array) -> float | Array:
        """Return the SI value of `value` (a float or an array) stated in this unit."""
        if self.factor == 1.0 and self.offset == 0.0:
            return value
        return value * self.factor + self.offset

    @overload
    def from_si(self, value: float) -> float: ...
    @overload
    def from_si(self, value: Array) -> Array: ...
    def from_si(self, value: float | Array) -> float | Array:
        """Return the value in this unit of an SI `value` (a float or an array)."""
        if self.factor == 1.0 and self.offset == 0.0:
            return value
        return (value - self.offset) / self.factor


def _table() -> dict[str, Unit]:
    """Return every base symbol we read; the single place that knows a factor."""
    length, mass, time, current = _dim(m=1), _dim(kg=1), _dim(s=1), _dim(A=1)
    kelvin, angle, one = _dim(K=1), _dim(rad=1), Dimension()
    force, energy = _dim(m=1, kg=1, s=-2), _dim(m=2, kg=1, s=-2)
    power, pressure = _dim(m=2, kg=1, s=-3), _dim(m=-1, kg=1, s=-2)
    volt, ohm = power / current, power / current**2
    henry, weber = ohm * time, volt * time
    rows: list[tuple[str, Dimension, float]] = [
        ("m", length, 1.0), ("cm", length, 1e-2), ("mm", length, 1e-3), ("um", length, 1e-6),
        ("kg", mass, 1.0), ("g", mass, 1e-3), ("mg", mass, 1e-6),
        ("s", time, 1.0), ("ms", time, 1e-3), ("us", time, 1e-6), ("min", time, 60.0),
        ("h", time, 3600.0), ("Hz", one / time, 1.0), ("kHz", one / time, 1e3),
        ("MHz", one / time, 1e6),
        ("A", current, 1.0), ("mA", current, 1e-3), ("V", volt, 1.0), ("mV", volt, 1e-3),
        ("ohm", ohm, 1.0), ("mohm", ohm, 1e-3), ("kohm", ohm, 1e3),
        ("H", henry, 1.0), ("mH", henry, 1e-3), ("uH", henry, 1e-6), ("Wb", weber, 1.0),
        ("N", force, 1.0), ("mN", force, 1e-3), ("kN", force, 1e3),
        ("J", energy, 1.0), ("kJ", energy, 1e3), ("W", power, 1.0), ("mW", power, 1e-3),
        ("Pa", pressure, 1.0), ("kPa", pressure, 1e3), ("MPa", pressure, 1e6),
        ("GPa", pressure, 1e9), ("K", kelvin, 1.0), ("rad", angle, 1.0),
        ("deg", angle, math.pi / 180.0), ("%", one, 1e-2), ("1", one, 1.0),
    ]  # fmt: skip
    return {symbol: Unit(symbol, dimension, factor) for symbol, dimension, factor in rows}


_TABLE = _table()
_WHOLE = {  # units that stand alone: they cannot be part of a product
    "": Unit("", Dimension()),
    "-": Unit("", Dimension()),
    "degC": Unit("degC", _dim(K=1), 1.0, 273.15, "point"),
    "A rms": Unit("A rms", _dim(A=1), 1.0, 0.0, "rms"),
    "A peak": Unit("A peak", _dim(A=1), 1.0, 0.0, "peak"),
    "mA rms": Unit("mA rms", _dim(A=1), 1e-3, 0.0, "rms"),
    "mA peak": Unit("mA peak", _dim(A=1), 1e-3, 0.0, "peak"),
}
_ALSO = {  # whole units as people write them
    "C": "degC", "deg C": "degC", "degc": "degC", "A RMS": "A rms", "mA RMS": "mA rms",
    "Arms": "A rms", "A Peak": "A peak",
}  # fmt: skip
_SPELLINGS = {"\u00b0C": "degC", "\u00b0": "deg", "\u03a9": "ohm", "\u2126": "ohm", "\u00b5": "u",
              "\u03bc": "u", "Nm": "N m", "Ncm": "N cm", "mNm": "mN m", "\u00b2": "2",
              "\u00b3": "3", "\u00b7": " ", "*": " ", "Ohm": "ohm"}  # fmt: skip
_FACTOR = re.compile(r"(?P<symbol>[A-Za-z%]+|1)(?P<power>-?\d+)?$")


@functools.lru_cache(maxsize=512)
def parse_unit(text: str) -> Unit:
    """Return the unit written as `text`, e.g. ``mm3/s``, ``N cm``, ``J/(kg K)``, ``degC``.

    Raises
    ------
    InputError
        If a symbol is not in the table; names the closest one that is.
    """
    plain = " ".join(text.split())
    plain = _ALSO.get(plain, plain)
    if plain in _WHOLE:
        return _WHOLE[plain]
    for foreign, ours in _SPELLINGS.items():
        plain = plain.replace(foreign, ours)
    if plain in _WHOLE:
        return _WHOLE[plain]
    above, *below = plain.replace("(", " ").replace(")", " ").split("/")
    unit = _product(above, 1, text)
    for part in below:
        lower = _product(part, -1, text)
        unit = Unit(text, unit.dimension * lower.dimension, unit.factor * lower.factor)
    return Unit(plain, unit.dimension, unit.factor)


def _product(text: str, sign: int, whole: str) -> Unit:
    dimension, factor = Dimension(), 1.0
    parts = text.split()
    if not parts:
        raise InputError(f"'{whole}' is no unit", "write a unit such as mm, A, N m or mm3/s")
    for part in parts:
        found = _FACTOR.match(part)
        base = _TABLE.get(found["symbol"]) if found else None
        if found is None or base is None:
            hint = near_miss(part, [*_TABLE, *_WHOLE]) or "write it as mm, A, N m or mm3/s"
            raise InputError(f"'{whole}' is no unit we know", hint)
        power = sign * int(found["power"] or 1)
        dimension, factor = dimension * base.dimension**power, factor * base.factor**power
    return Unit(text, dimension, factor)
