"""Facts of a book as arguments of physics functions, and arrays as bands in trade units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from advisor.answers.checked import CheckedConfig
from advisor.answers.curve_records import BandLine
from advisor.base import Band, FileStatus, Number, Quantity, Weighed, parse_unit
from advisor.machine import FactBook

__all__ = ["Array", "arguments", "band", "band_line", "column", "nominal", "of_extruder"]

Array = NDArray[np.float64]


class OfExtruder(TypedDict):
    """What every answer on an extruder's curves says of where it comes from."""

    extruder: str
    files: tuple[FileStatus, ...]
    errors: tuple[str, ...]
    weighed: Weighed | None
    cautions: tuple[str, ...]


def of_extruder(checked: CheckedConfig, extruder: str, cautions: tuple[str, ...]) -> OfExtruder:
    """Return what an answer says of a config that was worked out, beside its curves."""
    return {
        "extruder": extruder,
        "files": checked.report.files,
        "errors": checked.report.errors,
        "weighed": checked.weighed(extruder),
        "cautions": cautions,
    }


_LOW, _HIGH = 0.05, 0.95


def column(book: FactBook, samples: Quantity | None) -> Array:
    """Return samples as a column over the ensemble of a book, to be spread along an axis.

    Returns
    -------
    array
        Shape (size, 1).
    """
    values = np.asarray(samples, dtype=np.float64)
    return np.broadcast_to(values, (book.ensemble.size,))[:, None]


def arguments(book: FactBook, inputs: Mapping[str, str]) -> tuple[dict[str, Array], list[str]]:
    """Return the inputs of a formula by argument name, and the facts that are not known.

    A fact name that ends in ``?`` may be unknown; its argument is then left out.
    """
    made: dict[str, Array] = {}
    lacking = []
    for argument, name in inputs.items():
        samples = book.samples(name.removesuffix("?"))
        if samples is not None:
            made[argument] = column(book, samples)
        elif not name.endswith("?"):
            lacking.append(name)
    return made, lacking


def band(samples: Quantity, unit: str) -> Band:
    """Return samples in SI as a band in `unit`: nominal, 5th and 95th percentile."""
    return Number(samples, unit).band()


def band_line(values: Quantity, unit: str) -> BandLine:
    """Return values of shape (size, places) in SI as a line with its band, in `unit`."""
    trade = parse_unit(unit).from_si(np.asarray(values, dtype=np.float64))
    ordered = np.sort(trade, axis=0)
    last = ordered.shape[0] - 1
    rows = (trade[0], ordered[round(last * _LOW)], ordered[round(last * _HIGH)])
    value, low, high = (tuple(map(float, row)) for row in rows)
    return BandLine(value=value, low=low, high=high)


def nominal(book: FactBook, name: str) -> float | None:
    """Return the nominal value of a number in SI units; None where it is not known or infinite."""
    value = book.nominal(name)
    return value if value is not None and np.isfinite(value) else None
