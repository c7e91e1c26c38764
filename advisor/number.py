"""What a fact holds: a number with its unit, a text, a flag.

A number is in SI units: one float, or an array over an ensemble whose sample 0 is that of the
nominal machine. The one place that works out a nominal value and a band.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from advisor.frozen import frozen
from advisor.units import parse_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Band", "Flag", "Number", "Quantity", "Text", "Value", "value_of"]

Quantity: TypeAlias = "float | NDArray[np.float64]"
"""A number in SI units, or many over an ensemble: what formulas take and give."""

SHARE = 0.9  # of the machines that lie in a band: from the 5th to the 95th percentile


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

    @property
    def nominal(self) -> float:
        """That of the nominal machine, [SI]."""
        return float(self.si.flat[0]) if hasattr(self.si, "flat") else float(self.si)

    @property
    def size(self) -> int:
        """How many samples it has; 1 without a spread, [-]."""
        return int(getattr(self.si, "size", 1))

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
        import numpy as np

        values = np.ravel(np.asarray(self.si, dtype=np.float64))
        tail = round(50.0 * (1.0 - share), 9)
        last = values.size - 1
        low, high = (round(last * q / 100.0) for q in (tail, 100.0 - tail))
        ordered = np.partition(values, (low, high)) if last else values
        unit = parse_unit(self.unit)
        parts = (float(values[0]), float(ordered[low]), float(ordered[high]))
        return Band(*(float(unit.from_si(part)) for part in parts))


@frozen
class Text:
    """A word, such as the name of a class."""

    text: str


@frozen
class Flag:
    """Yes or no."""

    on: bool


Value: TypeAlias = Number | Text | Flag


def value_of(samples: Any, unit: str) -> Value | None:
    """Return what samples are: the one place that looks at their type.

    Parameters
    ----------
    samples : float, array, str, bool, tuple or None
        A tuple is a band as it was stated: low, typical, high, [SI].
    unit : str
        The trade unit of a number.
    """
    if samples is None:
        return None
    if isinstance(samples, str):
        return Text(samples)
    if isinstance(samples, bool):
        return Flag(samples)
    if getattr(getattr(samples, "dtype", None), "kind", None) == "b":
        return Flag(bool(samples.flat[0]))
    if isinstance(samples, tuple):
        low, typical, high = samples
        return Number(typical, unit, (low, high))
    return Number(samples, unit)
