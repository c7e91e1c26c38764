"""Junction speeds and look-ahead in closed form: the reference of `test_plan`, written apart.

The circle that touches both moves within the junction deviation, the centripetal limit of a short
move, and two running minima of v2 in place of the loops back and forth. No minimum cruise ratio.
"""

from __future__ import annotations

import math

import numpy as np


def corner_speed2(
    cosine: np.ndarray, length: np.ndarray, accel: float, corner: float
) -> np.ndarray:
    """Largest squared speed through a corner, by one of its two moves; inf straight on."""
    half_sine, half_cosine = np.sqrt(0.5 * (1.0 + cosine)), np.sqrt(0.5 * (1.0 - cosine))
    with np.errstate(divide="ignore", invalid="ignore"):
        circle = corner**2 * (math.sqrt(2.0) - 1.0) * half_sine / (1.0 - half_sine)
        centripetal = 0.5 * length * accel * half_sine / half_cosine
    return np.where(cosine >= 1.0 - 1e-12, np.inf, np.minimum(circle, centripetal))


def planned_speeds(unit: np.ndarray, length: np.ndarray, cruise: float, accel: float,
                   corner: float) -> np.ndarray:  # fmt: skip
    """Speed at each end of a row of moves of one acceleration, at rest before and after."""
    cosine = (unit[1:] * unit[:-1]).sum(axis=1)
    caps = np.zeros(len(length) + 1)
    caps[1:-1] = np.minimum(
        corner_speed2(cosine, length[:-1], accel, corner),
        corner_speed2(cosine, length[1:], accel, corner),
    )
    gain = np.concatenate(([0.0], np.cumsum(2.0 * accel * length)))
    caps = np.minimum(caps, cruise**2)
    stops = np.minimum.accumulate((caps + gain)[::-1])[::-1] - gain
    return np.sqrt(np.maximum(np.minimum.accumulate(stops - gain) + gain, 0.0))
