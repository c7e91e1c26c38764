"""A sliced print planned under the limits of one extruder: facts in, what it asks out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import BinaryIO

from advisor.answers.windows import windows_of
from advisor.base import UsageError
from advisor.machine import FactBook
from advisor.prints import MachineLimits, PrintReport, analyse

__all__ = ["analyse_print", "finite_nominal", "machine_limits"]

_NEEDED = {"max_velocity": "motion.max_velocity", "max_accel": "motion.max_accel"}
_LIMITS = {
    **_NEEDED,
    "square_corner_velocity": "motion.square_corner_velocity",
    "min_cruise_ratio": "motion.min_cruise_ratio",
    "max_extrude_only_velocity": "motion.max_extrude_only_velocity",
    "max_extrude_only_accel": "motion.max_extrude_only_accel",
    "corner_velocity": "motion.corner_velocity",
    "pressure_advance": "motion.pressure_advance",
    "smooth_time": "motion.smooth_time",
    "retract_length": "motion.retract_length",
    "retract_speed": "motion.retract_speed",
    "unretract_speed": "motion.unretract_speed",
    "max_extrude_only_distance": "motion.max_extrude_only_distance",
    "max_cross_section": "motion.max_cross_section",
    "nozzle_diameter": "nozzle.diameter",
    "max_temperature": "hotend.max_temperature",
    "min_extrude_temperature": "hotend.min_extrude_temperature",
}
_LEAST_MELT = 1e-9  # m3; taken where the melt length is not known
_USUAL_AREA = math.pi / 4.0 * 1.75e-3**2  # m2


def analyse_print(
    stream: BinaryIO,
    path: str,
    book: FactBook,
    *,
    caps: Sequence[float] = (),
    progress: Callable[[int], None] | None = None,
) -> PrintReport:
    """Return what a print asks, planned under the limits of an extruder, in SI.

    `caps` are flows its time is told for, [m3/s].

    Raises
    ------
    UsageError
        If speed or acceleration limit are not known.
    PrintError
        If the print cannot be read.
    """
    return analyse(
        stream,
        limits=machine_limits(book),
        filament_area=finite_nominal(book, "filament.area") or _USUAL_AREA,
        capacity=finite_nominal(book, "flow.capacity"),
        skip=finite_nominal(book, "flow.skip"),
        melt_volume=_melt_volume(book),
        windows=windows_of(book),
        caps=caps,
        progress=progress,
        name=path,
    )


def machine_limits(book: FactBook) -> MachineLimits:
    """Return the limits a print runs under, from the facts of an extruder.

    Raises
    ------
    UsageError
        If speed or acceleration limit are not known.
    """
    values = {field: finite_nominal(book, fact) for field, fact in _LIMITS.items()}
    absent = [fact for field, fact in _NEEDED.items() if values[field] is None]
    if absent:
        words = " and ".join(fact.partition(".")[2].replace("_", " ") for fact in absent)
        raise UsageError(f"the config states no {words}", "a print is planned with these limits")
    return MachineLimits(**{field: v for field, v in values.items() if v is not None})


def finite_nominal(book: FactBook, name: str) -> float | None:
    """Return the typical value of a fact in SI; None where it is not known or not finite."""
    value = book.nominal(name)
    if value is None:
        return None
    return value if math.isfinite(value) else None


def _melt_volume(book: FactBook) -> float:
    length, area = finite_nominal(book, "hotend.melt_length"), finite_nominal(book, "filament.area")
    return max((length or 0.0) * (area or _USUAL_AREA), _LEAST_MELT)
