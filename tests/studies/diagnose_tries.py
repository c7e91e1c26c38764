"""Tests that are proposed, done on a drawn machine: what its owner then reports.

The minutes are the bench's own, for both orders that are set against each other.
"""

from __future__ import annotations

import numpy as np

from tests.studies.diagnose_machine import Machine
from tests.studies.diagnose_people import Told, answer, fed, strength
from tests.studies.diagnose_physics import case_temperature, gear_grip, motor_push

MINUTES = {"feed-free": 5, "feed-nozzle": 6, "case": 35, "half-speed": 10, "hotter": 10, "loose-spool": 3, "nozzle-up": 6, "slower-retract": 8,
           "silent-off": 8, "pull": 12, "weigh": 45, "skip-test": 20, "resistor": 20, "another-roll": 15}  # fmt: skip
NOT_SIMULATED = ("weigh", "skip-test", "case")  # a table of its own; too hot for the probe
FIXED = (
    "loose-spool",
    "half-speed",
    "hotter",
    "nozzle-up",
    "feed-free",
    "feed-nozzle",
    "another-roll",
    "slower-retract",
    "silent-off",
    "pull",
    "case",
    "resistor",
)
CURES = {"loose-spool": ("spool-drag",), "another-roll": ("filament-wet", "filament-thick"), "slower-retract": (), "silent-off": ("silent-floor", "silent-weak"),
         "nozzle-up": ("nozzle-near", "warped-bed")}  # fmt: skip


def tried(machine: Machine, sound: Machine, planted: str, kind: str) -> Machine:
    """Return the machine while the test is done; `sound` is what it was before the cause was planted."""
    other = machine.copy()
    built = other.built
    if planted in CURES.get(kind, ()):
        return sound.copy()
    if kind == "half-speed":
        other.flow *= 0.5
        other.accel *= 0.7
    elif kind == "hotter":
        built.temperature += 10.0
    elif kind == "loose-spool":
        built.drag = min(built.drag, 1.0)
    elif kind == "nozzle-up":
        built.near = max(1.0, 0.85 * built.near)
    elif kind == "slower-retract":
        length, speed, accel = other.retract
        other.retract = (length, 0.5 * speed, 0.5 * accel)
    return other


def report(
    machine: Machine, sound: Machine, planted: str, kind: str, told: Told, rng: np.random.Generator
) -> tuple[str, dict[str, str | float]]:
    """Return an outcome word, or the facts that were measured (then the word is '')."""
    measured = _measured(machine, kind, rng)
    if measured:
        return "", measured
    if kind in NOT_SIMULATED or (kind == "resistor" and rng.random() < 0.2):
        return "unsure", {}
    if kind == "resistor":
        return ("other" if planted == "sense-resistor" else "as-stated"), {}
    after = tried(machine, sound, planted, kind)
    return answer(strength(machine, told.main), strength(after, told.main), rng), {}


def _measured(machine: Machine, kind: str, rng: np.random.Generator) -> dict[str, str | float]:
    """What is measured, with its error; nothing where the kind measures nothing."""
    if kind in ("feed-free", "feed-nozzle"):
        return {"fed": fed(machine, rng, nozzle=kind == "feed-nozzle")}
    case = case_temperature(machine.built) + rng.normal(-2, 3) if kind == "case" else np.inf
    if case < 150:
        return {"case": float(round(case)), "after": 45.0}
    if kind == "pull":
        force = min(gear_grip(machine.built, hot=False), motor_push(machine.built, 2.0))
        return {"pull": float(max(1.0, round(force * rng.normal(1, 0.1))))}
    return {}
