"""What was measured against what the config says: the current that flows, the fed length."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import CauseBook
from advisor.answers.diagnosis.sightings import Complaint, Fed
from advisor.answers.diagnosis.worlds import World
from advisor.answers.diagnosis_records import CurrentDoubt, FedLength
from advisor.base import Band
from advisor.physics import heat

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["current_doubt", "fed_length", "tooth_pairs"]

_TWO_SIDED = 1.645  # standard errors on each side of 9 in 10
_MM = 1e3


def current_doubt(world: World, seen: Complaint, book: CauseBook) -> CurrentDoubt | None:
    """Return the current that the case's temperature speaks for, over the one that is set.

    Mount, motor and air are those of every machine like this one, so that its band holds them too.
    """
    if seen.case is None:
        return None
    names = ("ambient.motor", "motor.case_share", "motor.resistance", "motor.thermal_resistance",
             "model.copper_coefficient", "motor.heating_current")  # fmt: skip
    found = [world.samples(name) for name in names]
    parts = [one for one in found if one is not None]
    if len(parts) < len(names):
        return None
    ambient, share, resistance, thermal, copper, now = parts
    error = book.numbers["case_error"]
    doubt = world.machine.ensemble.spread("case reading", low=-2 * error, typical=0, high=2 * error)
    case = seen.case + book.numbers["case_low"] + doubt
    risen = np.maximum(case - ambient, 0.1) / _warm_share(world, seen.after)
    flows = heat.current_for_rise(
        risen / share, ambient=ambient, resistance_20c=resistance,
        thermal_resistance=thermal, temperature_coefficient=copper,
    )  # fmt: skip
    ratio = np.sort(np.asarray(flows / np.maximum(now, 1e-9)))
    numbers = book.numbers
    high = float(np.mean(ratio > numbers["current_above"])) >= numbers["current_sure"]
    low = float(np.mean(ratio < numbers["current_below"])) >= numbers["current_sure"]
    ends = [float(ratio[round(q * (ratio.size - 1))]) for q in (0.05, 0.95)]
    return CurrentDoubt(low=ends[0], high=ends[1], told=high or low, above=high)


def _warm_share(world: World, after: float | None) -> Array:
    """Return the share of the long run's rise that is there after a time from cold."""
    tau = world.samples("motor.time_constant")
    if after is None or tau is None:
        return np.ones(world.size)
    return np.asarray(1.0 - np.exp(-after / tau))


def fed_length(world: World, fed: Fed, book: CauseBook) -> FedLength:
    """Return the rotation distance that would be right, and tooth pairs that explain it."""
    share = fed.came / fed.asked
    error = book.numbers["ruler_error"] / fed.asked
    distance = world.set_value("drive.rotation_distance")
    ratio = world.set_value("drive.gear_ratio") or 1.0
    right = None
    if distance is not None and share > 0:
        spread = _TWO_SIDED * error
        ends = (share, share - spread, share + spread)
        right = Band(*(round(distance * one * _MM, 6) for one in ends))
    return FedLength(
        asked=fed.asked * _MM,
        came=fed.came * _MM,
        where=fed.where,
        rotation_distance=right,
        pairs=tuple(tooth_pairs(share, error, ratio, book.teeth)),
        slips=fed.where != "free" and share < 1.0 - 2.0 * error,
    )


def tooth_pairs(
    share: float, error: float, ratio: float, teeth: Sequence[tuple[int, int]]
) -> Iterator[str]:
    """Yield the pairs that would explain a fed length, in words.

    Parameters
    ----------
    share : float
        What came over what was commanded.
    error : float
        Its standard error.
    ratio : float
        The gear ratio that is set: motor turns for each turn of the drive gear.
    teeth : sequence of (int, int)
        The pairs that there are, the driven gear first.
    """
    if abs(share - 1.0) <= 2.0 * error or share <= 0:
        return
    is_set = next((pair for pair in teeth if math.isclose(pair[0] / pair[1], ratio, rel_tol=1e-3)),
                  None)  # fmt: skip
    named = f"{ratio:.4g}:1" if is_set is None else f"{is_set[0]}:{is_set[1]}"
    for driven, driving in teeth:
        built = driven / driving
        if not math.isclose(built, ratio, rel_tol=1e-3) and abs(share - ratio / built) <= (
            2.0 * error
        ):
            yield f"{driven}:{driving} for {named}"
