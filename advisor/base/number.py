"""What a fact holds: a number with its unit, a text, a flag.

A number is in SI units: one float, or an array over an ensemble whose sample 0 is that of the
nominal machine. The one place that works out a nominal value and a band.
"""

from __future__ import annotations

import functools
from collections.abc import Hashable
from typing import TYPE_CHECKING, TypeAlias

from advisor.base.record import frozen
from advisor.base.units import parse_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Band", "Flag", "Number", "Quantity", "Raw", "Text", "Value", "known_ends", "value_of"]

Quantity: TypeAlias = "float | NDArray[np.float64]"
"""A number in SI units, or many over an ensemble: what formulas take and give."""

Raw: TypeAlias = "Quantity | str | bool | tuple[float, float, float] | None"
"""What a reader hands in at the door: a tuple is a band as it was stated: low, typical, high."""

SHARE = 0.9  # of the machines that lie in a band: from the 5th to the 95th percentile


def known_ends(samples: Quantity) -> tuple[float, float]:
    """Return the ends of the band of the samples that are known, [SI]; nan where none is."""
    import numpy as np

    values = np.ravel(np.asarray(samples, dtype=np.float64))
    known = np.sort(values[~np.isnan(values)])
    if not known.size:
        return np.nan, np.nan
    tail = round((1.0 - SHARE) / 2.0, 9)
    low, high = (round(share * (known.size - 1)) for share in (tail, 1.0 - tail))
    return float(known[low]), float(known[high])


@frozen
class Band:
    """An estimate in the fact's trade unit: nominal value, 5th and 95th percentile."""

    value: float
    low: float
    high: float

    def __str__(self) -> str:
        ends = f" ({self.low:.3g}-{self.high:.3g})" if self.low < self.high else ""
        return f"{self.value:.3g}{ends}"


@frozen(eq=False)
class Number:
    """A number in SI units, and the trade unit it is shown in.

    Attributes
    ----------
    si : Quantity
        One float, or the samples over an ensemble, [SI].
    unit : str
        The trade unit.
    ends : tuple of float, optional
        Low and high end of a band as it was stated, before it is spread over an ensemble, [SI].
    """

    si: Quantity
    unit: str = ""
    ends: tuple[float, float] | None = None

    def __eq__(self, other: object) -> bool:
        """Whether it is the same to the last bit, sample by sample; nan is nan."""
        if other.__class__ is not Number:
            return NotImplemented
        assert isinstance(other, Number)
        if (self.unit, self.ends) != (other.unit, other.ends):
            return False
        shape, there = (getattr(one.si, "shape", None) for one in (self, other))
        if shape is None or there is None:
            return shape is there and bool(self.si == other.si)
        import numpy as np

        return shape == there and np.array_equal(self.si, other.si, equal_nan=True)

    def __hash__(self) -> int:
        return hash(self.mark)

    @property
    def number(self) -> Number:
        """Itself: what asks a value for its number needs not ask what it is."""
        return self

    @property
    def text(self) -> None:
        """None: it is no text."""

    @property
    def word(self) -> None:
        """None: it is no word."""

    @property
    def nominal(self) -> float:
        """That of the nominal machine, [SI]."""
        return float(self.si.flat[0]) if hasattr(self.si, "flat") else float(self.si)

    @property
    def size(self) -> int:
        """How many samples it has; 1 without a spread, [-]."""
        return int(getattr(self.si, "size", 1))

    @property
    def plain(self) -> Quantity:
        """Its samples: what formulas take."""
        return self.si

    @property
    def weight(self) -> int:
        """Bytes that its samples take."""
        return int(getattr(self.si, "nbytes", 0))

    @property
    def mark(self) -> Hashable:
        """What tells it from most others at a glance."""
        shape: tuple[int, ...] | None = getattr(self.si, "shape", None)
        if shape is None:
            return self.si, self.ends
        import numpy as np

        samples = np.asarray(self.si)
        return shape, *(samples.item(place) for place in (0, -1) if samples.size)

    @property
    def stated(self) -> tuple[float, float, float]:
        """Low, typical and high as it was stated; all equal where that is no band, [SI]."""
        low, high = self.ends or (self.nominal, self.nominal)
        return low, self.nominal, high

    def in_trade(self) -> float:
        """Return the nominal value in the trade unit."""
        return float(parse_unit(self.unit).from_si(self.nominal))

    def over(self, size: int) -> Array:
        """Return the samples over an ensemble of this size, shape (size,), [SI]."""
        import numpy as np

        return np.broadcast_to(np.asarray(self.si, dtype=np.float64), (size,))

    def band(self, share: float = SHARE) -> Band:
        """Return the nominal value and the band that holds this share of machines, in trade units.

        Infinite samples sort to the top.
        """
        return _kept_band(self, share) if self.weight <= _LIGHT else _band(self, share)


def _band(number: Number, share: float) -> Band:
    import numpy as np

    values = np.ravel(np.asarray(number.si, dtype=np.float64))
    tail = round(50.0 * (1.0 - share), 9)
    last = values.size - 1
    low, high = (round(last * q / 100.0) for q in (tail, 100.0 - tail))
    ordered = np.partition(values, (low, high)) if last else values
    unit = parse_unit(number.unit)
    parts = (float(values[0]), float(ordered[low]), float(ordered[high]))
    return Band(*(float(unit.from_si(part)) for part in parts))


_kept_band = functools.lru_cache(maxsize=256)(_band)  # what machines share is asked again and again
_LIGHT = 2**15  # bytes of samples of a number whose band is kept


@frozen
class Text:
    """A word, such as the name of a class."""

    text: str

    @property
    def number(self) -> None:
        """None: it is no number."""

    @property
    def word(self) -> str:
        """The word."""
        return self.text

    @property
    def plain(self) -> str:
        """Its text: what formulas take."""
        return self.text

    @property
    def weight(self) -> int:
        """0: it has no samples."""
        return 0

    @property
    def mark(self) -> Hashable:
        """The word."""
        return self.text


@frozen
class Flag:
    """Yes or no."""

    on: bool

    @property
    def number(self) -> None:
        """None: it is no number."""

    @property
    def text(self) -> None:
        """None: it is no text."""

    @property
    def word(self) -> bool:
        """Whether it is yes."""
        return self.on

    @property
    def plain(self) -> bool:
        """Whether it is yes: what formulas take."""
        return self.on

    @property
    def weight(self) -> int:
        """0: it has no samples."""
        return 0

    @property
    def mark(self) -> Hashable:
        """Whether it is yes."""
        return self.on


Value: TypeAlias = Number | Text | Flag
"""Each answers ``number``, ``text``, ``word`` and ``plain``: nobody asks which of them it is."""


def value_of(raw: Raw, unit: str) -> Value | None:
    """Return the value of what a reader hands in: the one place that looks at its type.

    Parameters
    ----------
    raw : float, array, str, bool, tuple or None
        A tuple is low, typical, high; a band where they differ, [SI].
    unit : str
        The trade unit of a number.
    """
    if raw is None:
        return None
    if isinstance(raw, str):
        return Text(raw)
    if isinstance(raw, bool):
        return Flag(raw)
    if isinstance(raw, tuple):
        low, typical, high = raw
        return Number(typical, unit, None if low == high else (low, high))
    return Number(raw, unit)
