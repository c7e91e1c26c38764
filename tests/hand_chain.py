"""The whole chain from motor to nozzle, written down once more without this project's code.

`TABLE` holds figures that were computed apart from both: fifteen nominal machines. `hand_chain`
computes the same from the textbooks with scipy: the cylinder series (Carslaw and Jaeger, Conduction
of Heat in Solids, ch. 7) with its inverse by root finding, the motor by a scan of the current plane
(steady two-phase equations), every flow limit as the root of two forces, columns after Johnson and
Euler. It imports nothing from the package.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from scipy.optimize import brentq
from scipy.special import j1, jn_zeros

COLUMNS = ("melt", "heater", "torque", "skip", "F_grip", "grip", "slip", "F_buckle", "buckling")
LIMITS = ("torque", "grip", "buckling", "melt", "heater")

LONG = {"zone": 19.6, "split": 4.9, "channels": 3}
MIDDLE = {"ratio": 7.5, "distance": 37.2}
MOTOR_C = {"rated": 1.68, "holding": 0.40, "ohm": 1.65, "mH": 3.2, "detent": 0.018, "amps": 0.95,
           "ratio": 50 / 17, "stages": 1, "distance": 22.7}  # fmt: skip
SOFT = {"material": "pla-soft"}
TABLE: tuple[tuple[str, Mapping[str, Any], str, str], ...] = (
    ("standard zone", {},
     "11.142 76.369 9.794 11.492 76.468 11.065 12.690 141.322 16.149", "torque"),
    ("split nozzle", LONG,
     "23.052 76.369 20.262 23.775 76.468 22.890 26.254 141.322 33.408", "torque"),
    ("middle gears", {**LONG, **MIDDLE},
     "23.052 76.369 20.259 23.771 67.958 21.856 25.100 141.322 33.408", "torque"),
    ("long motor, small gears", {**LONG, **MOTOR_C},
     "23.052 76.369 29.823 34.649 53.086 19.799 22.817 141.322 33.408", "grip"),
    ("the same, soft PLA", {**LONG, **MOTOR_C, **SOFT},
     "23.348 79.624 30.207 35.095 35.391 16.914 19.659 94.396 29.296", "grip"),
    ("big gears, soft PLA", {**LONG, **SOFT},
     "23.348 79.624 20.523 24.080 50.979 19.725 22.747 94.396 29.296", "grip"),
    ("PETG", {"material": "petg", "wall": 240},
     "11.861 71.212 10.426 12.233 61.175 10.786 12.404 112.579 15.850", "torque"),
    ("TPU 95A", {"material": "tpu-95a", "wall": 230},
     "10.052 76.271 9.058 10.535 19.117 5.925 6.855 17.605 6.924", "grip"),
    ("TPU 95A, long motor", {"material": "tpu-95a", "wall": 230, **MOTOR_C},
     "10.052 76.271 13.118 15.196 13.272 5.054 5.905 17.605 6.924", "grip"),
    ("0.2 mm nozzle", {"bore": 0.2},
     "11.142 76.369 2.624 3.079 76.468 2.965 3.400 141.322 4.327", "torque"),
    ("0.8 mm nozzle", {"bore": 0.8},
     "17.484 76.369 15.369 18.033 76.468 17.362 19.913 141.322 25.340", "torque"),
    ("2.85 mm filament", {"diameter": 2.85},
     "11.142 76.369 6.913 8.112 97.585 8.581 9.819 379.769 16.224", "torque"),
    ("PLA at 190 degC", {"wall": 190},
     "8.979 89.435 5.723 6.715 76.468 6.465 7.415 141.322 9.436", "torque"),
    ("PLA at 235 degC", {"wall": 235},
     "12.057 71.169 12.446 14.603 76.468 14.060 16.126 141.322 20.521", "melt"),
    ("ABS at 255 degC", {"material": "abs", "wall": 255},
     "12.709 74.322 12.435 14.591 53.528 12.192 14.048 98.926 18.051", "grip"),
)  # fmt: skip
BASE: Mapping[str, Any] = {
    "material": "pla", "wall": 220, "zone": 12.5, "split": 0.0, "channels": 1, "bore": 0.4,
    "diameter": 1.75, "rated": 1.0, "holding": 0.10, "ohm": 2.4, "mH": 1.8, "detent": 0.005,
    "amps": 0.566, "ratio": 9.5, "stages": 2, "distance": 47.1, "volts": 24.0,
}  # fmt: skip
# diffusivity mm2/s, kg/m3, J/(kg K), crystals J/kg, yield and modulus MPa, core and reference degC,
# melt factor, bite mm, guide drag N
STUFF = {
    "pla": (0.0700, 1240, 1800, 18.6e3, 60, 3000, 145, 220, 1.0, 0.15, 4.5),
    "pla-soft": (0.0709, 1220, 1800, 9.3e3, 40, 2200, 145, 220, 1.0, 0.15, 4.5),
    "petg": (0.0897, 1270, 1800, 0.0, 48, 2000, 160, 240, 0.85, 0.15, 4.5),
    "abs": (0.0928, 1050, 1950, 0.0, 42, 2100, 165, 245, 0.85, 0.15, 4.5),
    "tpu-95a": (0.0893, 1210, 1850, 0.0, 9, 50, 150, 230, 0.7, 0.25, 2.0),
}
INLET = 25.0


def hand_chain(changes: Mapping[str, Any]) -> dict[str, float]:
    """Return all limits in mm3/s and the two forces in N of one machine."""
    m = {**BASE, **changes}
    alpha, rho, heat, crystals, strength, modulus, core, reference, factor, bite, guide = STUFF[
        m["material"]
    ]
    area = math.pi * m["diameter"] ** 2 / 4  # mm2
    theta = (m["wall"] - core) / (m["wall"] - INLET)
    fourier = _fourier(theta) * (max(m["bore"], 0.4) / 0.4) ** -0.65
    length = m["zone"] + (m["channels"] - 1) * m["split"]
    melts = factor * math.pi * alpha * 12.5 * (length / 12.5) ** 0.85 / fourier
    joules = rho * 1e-9 * (heat * (m["wall"] - INLET) + crystals)  # per mm3
    at_melt = 50.0 * (m["diameter"] / 1.75) ** 2 * math.exp(-0.030 * (m["wall"] - reference))
    full = melts * min(m["bore"] / 0.4, 1.0) ** 1.9

    def asked(flow: float) -> float:
        return guide + at_melt * (flow / full) ** 2.8

    def pushed(flow: float, share: float) -> float:
        turns = flow / area * m["ratio"] / m["distance"]
        left = share * (_pull_out(turns, m) - m["detent"])
        return left * m["ratio"] * 0.95 ** m["stages"] * 2e3 * math.pi / m["distance"]

    def level(force: Callable[[float], float]) -> float:
        return brentq(lambda flow: force(flow) - asked(flow), 0.0, 400.0)

    radius = m["distance"] / (2 * math.pi)
    bitten = 2 * math.pi * bite * math.sqrt(radius * m["diameter"] / 2)
    grips = 0.8 * 2 * 0.5 * 0.66 * strength * bitten
    folds = _column(strength, modulus, m["diameter"])
    return {
        "melt": melts,
        "heater": (50.0 - 15.0) / joules,
        "torque": level(lambda flow: pushed(flow, 2 / 3)),
        "skip": level(lambda flow: pushed(flow, 1.0)),
        "F_grip": grips,
        "grip": level(lambda _: 0.7 * grips),
        "slip": level(lambda _: grips),
        "F_buckle": folds,
        "buckling": level(lambda _: folds + guide),
    }


def _fourier(theta: float) -> float:
    """Fourier number at which this share of the temperature difference is left at the centre."""
    zeros = jn_zeros(0, 60)
    weights = 2.0 / (zeros * j1(zeros))
    return brentq(lambda fo: float(np.sum(weights * np.exp(-(zeros**2) * fo))) - theta, 0.01, 20.0)


def _pull_out(turns: float, m: Mapping[str, Any]) -> float:
    """Largest torque over all current vectors inside the current circle and the supply's circle."""
    constant = m["holding"] / (math.sqrt(2.0) * m["rated"])
    most, resistance, inductance = math.sqrt(2.0) * m["amps"], m["ohm"] + 0.45, m["mH"] * 1e-3
    speed = 2 * math.pi * 50 * turns  # electrical, rad/s
    reactance, emf = speed * inductance, speed * constant / 50
    along = np.linspace(-most, 0.0, 20001)
    squared = resistance**2 + reactance**2
    rest = squared * along**2 + 2 * reactance * along * emf + emf**2 - m["volts"] ** 2
    inside = (resistance * emf) ** 2 - squared * rest
    across = (-resistance * emf + np.sqrt(np.maximum(inside, 0.0))) / squared
    across = np.minimum(across, np.sqrt(np.maximum(most**2 - along**2, 0.0)))
    return constant * float(np.max(np.where(inside >= 0.0, across, 0.0)))


def _column(strength: float, modulus: float, diameter: float) -> float:
    """Johnson's parabola, Euler beyond the slenderness where the two meet; gap 4 mm, K 0.7."""
    slender = 0.7 * 4.0 / (diameter / 4)
    area = math.pi * diameter**2 / 4
    if slender < math.sqrt(2 * math.pi**2 * modulus / strength):
        return area * strength * (1 - strength * slender**2 / (4 * math.pi**2 * modulus))
    return area * math.pi**2 * modulus / slender**2
