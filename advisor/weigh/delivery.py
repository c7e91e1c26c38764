"""Plausible ways for delivery to go with the flow: drawn shapes, the same on every machine.

Before the knee slip grows with the feed force (Nienhaus, Spiehl, Doersam, J. Manuf. Mater. Process.
5 (2021) 53), so delivery droops with a power of the flow. Beyond the knee the gears slip until no
more comes out, or the melt zone passes only part of what is added, or all of it fails at once.
The draws stand evenly (an additive sequence), no generator is used.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["FAMILIES", "Shapes", "draw_shapes"]

FAMILIES = ("slip", "melt", "cliff", "beyond")
_DIMENSIONS = 6


@dataclass(frozen=True, slots=True)
class Shapes:
    """Draws of one family of ways to lose delivery.

    Attributes
    ----------
    family : str
        ``slip``, ``melt``, ``cliff`` (all at once, at the knee) or ``beyond`` (the knee lies
        above all flows).
    knee : ndarray, shape (n,)
        Where delivery begins to fall, [unit of the flows].
    droop : ndarray, shape (n,)
        What is missing at the knee, [-].
    ratios : ndarray, shape (n, flows)
        What comes out over what does at no flow, [-].
    loss : ndarray, shape (n, flows)
        The part of it that is lost by the knee, [-].
    """

    family: str
    knee: Array
    droop: Array
    ratios: Array
    loss: Array


def draw_shapes(
    family: str, flows: Array, span: tuple[float, float], count: int, numbers: Mapping[str, float]
) -> Shapes:
    """Return draws of a family at some flows.

    Parameters
    ----------
    family : str
        One of `FAMILIES`.
    flows : ndarray
        Rising flows, [any].
    span : tuple of float
        The knee lies evenly in the logarithm between these, [unit of the flows].
    count : int
        Number of draws, [-].
    numbers : mapping
        The part ``delivery`` of rules/weigh/test.yaml.
    """
    places = _places(count)
    knee = _log_even(places[0], *span)
    droop = numbers["most_droop"] * places[1] ** numbers["droop_lean"]
    power = numbers["least_power"] + (numbers["most_power"] - numbers["least_power"]) * places[2]
    away = np.log(flows)[None] - np.log(knee)[:, None]
    below = 1.0 - droop[:, None] * np.exp(power[:, None] * np.minimum(away, 0.0))
    kept = _kept(family, np.maximum(away, 0.0), places, numbers)
    return Shapes(family, knee, droop, below * kept, 1.0 - kept)


def _kept(family: str, away: Array, places: Array, numbers: Mapping[str, float]) -> Array:
    """Return the part that the knee leaves; `away` is the logarithm of flow over knee, [-]."""
    if family == "slip":
        steep = _log_even(places[3], numbers["least_slip"], numbers["most_slip"])[:, None]
        bend = numbers["least_bend"] + (numbers["most_bend"] - numbers["least_bend"]) * places[4]
        ground = np.log(_log_even(places[5], numbers["least_ground"], numbers["most_ground"]))
        slipping = steep * away ** bend[:, None]
        kept: Array = np.exp(-np.maximum(slipping, away - ground[:, None]))
        return kept
    if family == "melt":
        passed = numbers["most_passed"] * places[3][:, None]
        melted: Array = np.exp(-(1.0 - passed) * away)
        return melted
    return np.ones_like(away)


def _log_even(places: Array, low: float, high: float) -> Array:
    made: Array = low * (high / low) ** places
    return made


@functools.lru_cache(maxsize=8)
def _places(count: int) -> Array:
    """Return evenly spread points of the unit cube, shape (dimensions, count), [-].

    An additive sequence on the generalised golden ratio (Roberts 2018, a rule of thumb from
    memory; any evenly spread set would do).
    """
    ratio = 2.0
    for _ in range(60):
        ratio = (1.0 + ratio) ** (1.0 / (_DIMENSIONS + 1))
    pace = ratio ** -np.arange(1.0, _DIMENSIONS + 1)
    made: Array = np.mod(0.5 + np.arange(1.0, count + 1)[None] * pace[:, None], 1.0)
    return made
