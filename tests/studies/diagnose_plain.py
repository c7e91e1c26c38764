"""A plain list per symptom, to beat: what is usually said first, second, third to somebody with this word.

By judgement of common practice (no source); it looks at the words alone, not at the machine.
"""

from __future__ import annotations

LISTS: dict[str, tuple[str, ...]] = {
    "clicks@first-layer": ("nozzle-near", "nozzle-clogged", "too-cold"),
    "clicks@retracts": ("retract-fast", "current-low", "accel-high"),
    "clicks@line-starts": ("advance-strong", "accel-high", "tube-gap"),
    "clicks@after-a-while": ("heat-creep", "driver-hot", "nozzle-clogged"),
    "clicks@with-fan": ("fan-on-block", "heater-weak", "too-cold"),
    "clicks@one-roll": ("filament-thick", "spool-drag", "nozzle-clogged"),
    "clicks@long-lines": ("asked-too-much", "too-cold", "nozzle-clogged"),
    "clicks@above-a-flow": ("asked-too-much", "too-cold", "nozzle-clogged"),
    "clicks@purge": ("nozzle-clogged", "too-cold", "asked-too-much"),
    "clicks": ("nozzle-clogged", "current-low", "asked-too-much"),
    "slips@after-a-while": ("heat-creep", "current-high", "gears-dirty"),
    "slips@above-a-flow": ("asked-too-much", "idler-loose", "gears-dirty"),
    "slips@long-lines": ("asked-too-much", "idler-loose", "gears-dirty"),
    "slips@one-roll": ("filament-thick", "spool-drag", "gears-dirty"),
    "slips": ("idler-loose", "gears-dirty", "nozzle-clogged"),
    "thin@first-layer": ("nozzle-near", "nozzle-clogged", "ratio-wrong"),
    "thin@after-a-while": ("heat-creep", "nozzle-clogged", "spool-drag"),
    "thin@line-starts": ("tube-gap", "advance-strong", "nozzle-clogged"),
    "thin@above-a-flow": ("asked-too-much", "too-cold", "nozzle-clogged"),
    "thin@long-lines": ("asked-too-much", "too-cold", "nozzle-clogged"),
    "thin@with-fan": ("fan-on-block", "heater-weak", "too-cold"),
    "thin@one-roll": ("filament-thick", "filament-wet", "spool-drag"),
    "thin": ("nozzle-clogged", "idler-loose", "ratio-wrong"),
    "too-much": ("ratio-wrong", "filament-thick", "filament-stated-wrong"),
    "nothing-comes@first-layer": ("nozzle-near", "nozzle-clogged", "heat-creep"),
    "nothing-comes@after-a-while": ("heat-creep", "nozzle-clogged", "driver-hot"),
    "nothing-comes@with-fan": ("fan-on-block", "heater-weak", "nozzle-clogged"),
    "nothing-comes": ("nozzle-clogged", "heat-creep", "gears-dirty"),
    "uneven@one-roll": ("filament-wet", "filament-thick", "spool-drag"),
    "uneven": ("filament-wet", "spool-drag", "set-screw"),
    "folds": ("filament-soft", "tube-gap", "idler-tight"),
    "stuck@one-roll": ("filament-thick", "filament-wet", "nozzle-clogged"),
    "stuck@retracts": ("tube-gap", "heat-creep", "nozzle-clogged"),
    "stuck": ("heat-creep", "nozzle-clogged", "tube-gap"),
    "hums": ("open-phase", "current-low", "nozzle-clogged"),
    "motor-hot": ("current-high", "sense-resistor", "no-section"),
    "mount-soft": ("current-high", "sense-resistor", "no-section"),
    "nozzle-cools@with-fan": ("fan-on-block", "heater-weak", "thermistor-loose"),
    "nozzle-cools": ("heater-weak", "fan-on-block", "thermistor-loose"),
    "refused": ("limit-refuses", "too-cold", "limit-slows"),
    "stopped": ("thermistor-loose", "fan-on-block", "heater-weak"),
}


def plain(sees: tuple[str, ...]) -> tuple[str, ...]:
    """Return the list of the first word, at its time where it has one of its own; then those of the others."""
    found: list[str] = []
    for one in sees:
        found += LISTS.get(one) or LISTS[one.partition("@")[0]]
    return tuple(dict.fromkeys(found))
