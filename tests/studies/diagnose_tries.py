"""Tests that are proposed, done on a drawn machine: what its owner then reports.

The minutes are the bench's own, for both orders that are set against each other.
"""

from __future__ import annotations

import numpy as np

from tests.studies.diagnose_machine import Machine
from tests.studies.diagnose_people import Fact, Told, answer, fed, strength
from tests.studies.diagnose_physics import case_temperature, gear_grip, motor_push

MINUTES = {
    "feed-free": 5, "feed-nozzle": 6, "case": 35, "half-speed": 10, "hotter": 10, "loose-spool": 3, "nozzle-up": 6, "slower-retract": 8,
    "lower-accel": 8, "silent-off": 8, "another-roll": 15, "fan-off": 8, "cool-motor": 20, "cool-board": 20, "cool-hotend": 25,
    "idler-firmer": 6, "idler-looser": 6, "pull": 12, "sensor-seated": 15, "read-message": 2, "look-gears": 6, "caliper": 4, "mark-shaft": 5,
    "pull-cold": 20, "read-nozzle": 5, "read-resistor": 20, "read-phases": 12, "measure-supply": 10, "second-thermometer": 20,
    "read-macros": 8, "driver-message": 2, "hotend-fan": 3,
}  # fmt: skip
# what many would go through, from easy to laborious; common practice, no source
FIXED = (
    "read-message", "loose-spool", "look-gears", "half-speed", "hotter", "nozzle-up", "idler-firmer", "slower-retract", "feed-free",
    "another-roll", "fan-off", "mark-shaft", "feed-nozzle", "silent-off", "pull-cold", "pull", "cool-hotend", "read-phases", "case", "read-resistor",
)  # fmt: skip
# a try that undoes the cause for as long as it lasts
CURES = {
    "loose-spool": ("spool-drag",), "another-roll": ("filament-wet", "filament-thick"), "silent-off": ("silent-floor", "silent-weak"),
    "nozzle-up": ("nozzle-near", "warped-bed"), "fan-off": ("fan-on-block",), "cool-board": ("driver-hot",), "cool-hotend": ("heat-creep",),
    "idler-firmer": ("idler-loose",), "idler-looser": ("idler-tight",), "pull-cold": ("nozzle-clogged",),
}  # fmt: skip
# what is found by looking, reading or an instrument
FINDS = {
    "look-gears": ("gears-dirty",), "caliper": ("filament-thick",), "mark-shaft": ("set-screw",), "read-nozzle": ("nozzle-stated-wrong",),
    "read-resistor": ("sense-resistor",), "read-phases": ("open-phase",), "measure-supply": ("supply-low",),
    "second-thermometer": ("thermistor-kind", "thermistor-loose"), "sensor-seated": ("thermistor-loose",), "read-message": ("limit-refuses",),
    "read-macros": ("macro-values",), "driver-message": ("driver-hot", "supply-low"), "hotend-fan": ("heat-creep",),
}  # fmt: skip
NOT_SIMULATED = ("unknown", "case")  # no test of this bench; too hot for the probe
OVERLOOKED = 0.12
UNSEEN = {"hotend-fan": 0.5}  # heat creeps up with a sound fan as well: a warm room, a worn throat
FALSE_FIND = 0.05


def tried(machine: Machine, sound: Machine, planted: str, kind: str) -> Machine:
    """Return the machine while the test is done; `sound` is what it was before the cause was planted."""
    if planted in CURES.get(kind, ()):
        return sound.copy()
    other = machine.copy()
    built = other.built
    length, speed, accel = other.retract
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
        other.retract = (length, 0.5 * speed, 0.5 * accel)
    elif kind == "lower-accel":
        other.accel *= 0.5
        other.retract = (length, speed, 0.5 * accel)
    elif kind == "fan-off":
        built.fan_loss = 0.0
    elif kind == "cool-motor":
        built.to_air *= 0.5
    elif kind == "cool-hotend":
        built.creep *= 0.3
    elif kind in ("idler-firmer", "idler-looser"):
        built.grip *= 1.25 if kind == "idler-firmer" else 0.8
        built.inside += 2.0 if kind == "idler-firmer" else 0.0
    return other


def report(
    machine: Machine, sound: Machine, planted: str, kind: str, told: Told, rng: np.random.Generator
) -> tuple[str, dict[str, Fact]]:
    """Return what is reported: a word of a try, `found` or `sound` of a look, or the facts that were measured."""
    measured = _measured(machine, kind, rng)
    if measured:
        return "", measured
    if kind in NOT_SIMULATED:
        return "unsure", {}
    if kind in FINDS:
        if rng.random() < 0.1:
            return "unsure", {}
        there = planted in FINDS[kind]
        return (
            "found"
            if rng.random() < (1.0 - UNSEEN.get(kind, OVERLOOKED) if there else FALSE_FIND)
            else "sound"
        ), {}
    after = tried(machine, sound, planted, kind)
    return answer(strength(machine, told.main), strength(after, told.main), rng), {}


def _measured(machine: Machine, kind: str, rng: np.random.Generator) -> dict[str, Fact]:
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
