"""Names of the bench's causes: family, kind of remedy, and what the command calls them.

Families and remedies are the bench's own; the command's names are mapped by hand from its lists of names.
"""

from __future__ import annotations

import functools

_FAMILIES = {
    "too-much-asked": "asked-too-much zone-short too-cold",
    "first-layer": "nozzle-near",
    "motor-current": "current-low current-high sense-resistor no-section other-section silent-floor silent-weak",
    "motor-circuit": "open-phase driver-hot supply-low",
    "amounts": "ratio-wrong macro-values filament-stated-wrong nozzle-stated-wrong",
    "grip": "gears-dirty set-screw idler-loose idler-tight one-gear-idle",
    "blocked": "nozzle-clogged tube-gap heat-creep",
    "heat": "heater-weak fan-on-block thermistor-loose thermistor-kind",
    "filament": "spool-drag filament-thick filament-wet filament-soft",
    "moves": "retract-fast advance-strong accel-high accel-low",
    "limits": "limit-refuses limit-slows",
}
FAMILY = {name: family for family, names in _FAMILIES.items() for name in names.split()}
_REMEDIES = {
    "less-flow": "asked-too-much zone-short",
    "hotter-in-range": "too-cold",
    "nozzle-up": "nozzle-near",
    "current-up": "current-low",
    "current-down": "current-high",
    "find-the-current": "sense-resistor no-section other-section",
    "silent-off": "silent-floor silent-weak",
    "wiring": "open-phase",
    "cool-the-driver": "driver-hot",
    "supply": "supply-low",
    "correct-the-value": "ratio-wrong filament-stated-wrong nozzle-stated-wrong",
    "macro": "macro-values",
    "clean-gears": "gears-dirty",
    "set-screw": "set-screw",
    "tension": "idler-loose idler-tight",
    "second-gear": "one-gear-idle",
    "clear-the-nozzle": "nozzle-clogged",
    "seat-the-tube": "tube-gap",
    "cool-the-cold-side": "heat-creep",
    "heater": "heater-weak",
    "shield-the-block": "fan-on-block",
    "sensor": "thermistor-loose thermistor-kind",
    "free-the-spool": "spool-drag",
    "other-roll": "filament-thick filament-wet",
    "guide-it-slowly": "filament-soft",
    "slower-moves": "retract-fast advance-strong accel-high",
    "quicker-moves": "accel-low limit-slows",
    "look-at-the-limit": "limit-refuses",
}
REMEDY = {name: remedy for remedy, names in _REMEDIES.items() for name in names.split()}

# name of the bench: names of the command that are right for it
NAMES: dict[str, tuple[str, ...]] = {
    "asked-too-much": ("asked-too-much",),
    "zone-short": ("zone-too-cold", "asked-too-much"),
    "too-cold": ("zone-too-cold",),
    "nozzle-near": ("nozzle-too-near",),
    "current-low": ("current-too-low",),
    "current-high": ("current-too-high", "current-set-too-high"),
    "sense-resistor": ("resistor-smaller", "resistor-larger"),
    "no-section": ("driver-section",),
    "other-section": ("driver-section",),
    "silent-floor": ("silent-floor",),
    "silent-weak": ("silent-weak",),
    "open-phase": ("open-phase",),
    "driver-hot": ("driver-too-hot",),
    "supply-low": ("supply-low",),
    "ratio-wrong": ("wrong-ratio", "wrong-rotation-distance", "feed-not-measured"),
    "macro-values": ("changed-by-macro",),
    "filament-stated-wrong": ("wrong-filament-diameter",),
    "nozzle-stated-wrong": ("wrong-nozzle",),
    "gears-dirty": ("gears-dirty",),
    "set-screw": ("set-screw",),
    "idler-loose": ("idler-too-loose",),
    "idler-tight": ("idler-too-tight",),
    "one-gear-idle": ("gear-not-driven",),
    "nozzle-clogged": ("bore-clogged",),
    "tube-gap": ("gap-at-tube-seat",),
    "heat-creep": ("heat-creep",),
    "heater-weak": ("heater-weak",),
    "fan-on-block": ("fan-on-block",),
    "thermistor-loose": ("thermistor-loose",),
    "thermistor-kind": ("thermistor-wrong",),
    "spool-drag": ("drag-before-gears",),
    "filament-thick": ("filament-thick",),
    "filament-wet": ("filament-wet",),
    "filament-soft": ("filament-soft",),
    "retract-fast": ("retract-too-hard",),
    "advance-strong": ("advance-too-hard",),
    "accel-high": ("accel-too-high", "retract-too-hard"),
    "accel-low": ("limit-slows",),
    "limit-refuses": ("limit-refuses",),
    "limit-slows": ("limit-slows",),
}
NAMES["idler-tension"] = ("idler-too-loose", "idler-too-tight")

# name of a test as the command has it: what it is on the bench (see diagnose_tries)
TESTS: dict[str, str] = {
    name: name
    for name in [
        "feed-free",
        "feed-nozzle",
        "case",
        "half-speed",
        "hotter",
        "loose-spool",
        "nozzle-up",
        "slower-retract",
        "lower-accel",
        "silent-off",
        "another-roll",
        "fan-off",
        "cool-motor",
        "cool-board",
        "cool-hotend",
        "idler-firmer",
        "idler-looser",
        "pull",
        "sensor-seated",
        "read-message",
        "look-gears",
        "caliper",
        "mark-shaft",
        "pull-cold",
        "read-nozzle",
        "read-resistor",
        "read-phases",
        "measure-supply",
        "second-thermometer",
        "read-macros",
        "driver-message",
        "hotend-fan",
    ]
}


# what a look at it is told by, as the command has it
LOOKS: dict[str, dict[str, str]] = {}


@functools.cache
def mine(name: str) -> tuple[str, ...]:
    """Return the bench's causes that the command's name is right for."""
    return tuple(own for own in FAMILY if name in NAMES[own])


def kind_of_test(name: str) -> str:
    """Return what a test is on the bench; one that is not known to it is answered with `unsure`."""
    return TESTS.get(name, "unknown")


def outcome(test: str, word: str) -> str:
    """Return the command's word for what a look found; the words of a try are the same."""
    return LOOKS.get(test, {}).get(word, {"found": "gone", "sound": "same"}.get(word, word))
