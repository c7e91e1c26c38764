"""The causes that the bench plants: how each breaks a sound machine, and how often it is met.

Severities and rates are the bench's own (judgement of common practice, no source): the rate is how often
the cause is there, before it is asked whether anybody would complain.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tests.studies.diagnose_machine import PLASTICS, Machine
from tests.studies.diagnose_physics import melts

Plant = Callable[[Machine, np.random.Generator], None]
Rng = np.random.Generator


def _between(rng: Rng, low: float, high: float) -> float:
    """Evenly over the logarithm."""
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))


def _asked_too_much(machine: Machine, rng: Rng) -> None:
    machine.flow = round(
        melts(machine.built, machine.built.temperature) * _between(rng, 1.0, 1.7), 1
    )


def _nozzle_near(machine: Machine, rng: Rng) -> None:
    machine.built.near = _between(rng, 2.5, 12.0)


def _current_low(machine: Machine, rng: Rng) -> None:
    share = _between(rng, 0.2, 0.6)
    machine.stated["current"] = round(machine.stated["current"] * share, 2)
    machine.built.current *= share


def _current_high(machine: Machine, rng: Rng) -> None:
    share = _between(rng, 1.5, 2.6)
    machine.stated["current"] = round(machine.stated["current"] * share, 2)
    machine.built.current *= share


def _resistor(machine: Machine, rng: Rng) -> None:
    machine.built.current *= float(rng.choice((2.0, 1.47, 0.68, 0.5), p=(0.35, 0.15, 0.15, 0.35)))


def _no_section(machine: Machine, rng: Rng) -> None:
    machine.section = ""
    machine.built.current = (
        machine.built.motor.rated
        / math.sqrt(2.0)
        * float(rng.choice((_between(rng, 0.15, 0.5), _between(rng, 1.2, 1.9))))
    )


def _other_section(machine: Machine, rng: Rng) -> None:
    _no_section(machine, rng)
    machine.section = str(rng.choice(("extruder1", "stepper_e", "extruder_1")))


def _open_phase(machine: Machine, rng: Rng) -> None:
    machine.built.motor_factor = _between(rng, 0.03, 0.25)
    machine.built.shows["hums", "always"] = 0.85
    machine.built.shows["uneven", "always"] = 0.4


def _driver_hot(machine: Machine, rng: Rng) -> None:
    machine.built.hot_factor = _between(rng, 0.05, 0.5)


def _silent_floor(machine: Machine, rng: Rng) -> None:
    machine.silent = True
    machine.stated["current"] = round(float(rng.uniform(0.12, 0.25)), 2)
    machine.built.current = machine.built.motor.rated / math.sqrt(2.0) * _between(rng, 0.8, 1.5)


def _silent_weak(machine: Machine, rng: Rng) -> None:
    machine.silent = True
    machine.built.fast_factor = _between(rng, 0.12, 0.5)


def _supply_low(machine: Machine, rng: Rng) -> None:
    machine.built.volts *= _between(rng, 0.2, 0.55)


def _ratio(machine: Machine, rng: Rng) -> None:
    if machine.pairs and rng.random() < 0.4:
        (first, second), *rest = machine.pairs
        other = int(rng.choice([teeth for teeth in (8, 10, 12, 16, 17, 20) if teeth != second]))
        machine.pairs = ((first, other), *rest)
        machine.built.feed = second / other
    else:
        share = float(rng.choice((rng.uniform(0.80, 0.94), rng.uniform(1.06, 1.25))))
        machine.stated["pitch"] = round(machine.stated["pitch"] / share, 3)
        machine.built.feed = share


def _macro(machine: Machine, rng: Rng) -> None:
    kind = str(rng.choice(("pitch", "current-low", "current-high", "advance", "factor")))
    lines: dict[str, str] = {}
    if kind == "pitch":
        machine.built.feed = share = float(
            rng.choice((rng.uniform(0.75, 0.92), rng.uniform(1.08, 1.3)))
        )
        lines[kind] = (
            f"SET_EXTRUDER_ROTATION_DISTANCE EXTRUDER=extruder DISTANCE={machine.stated['pitch'] / share:.3f}"
        )
    elif kind.startswith("current"):
        share = _between(rng, 0.25, 0.5) if kind == "current-low" else _between(rng, 1.7, 2.5)
        machine.built.current *= share
        lines[kind] = (
            f"SET_TMC_CURRENT STEPPER=extruder CURRENT={machine.stated['current'] * share:.2f}"
        )
    elif kind == "advance":
        machine.stated["advance"] = machine.advance
        machine.advance *= _between(rng, 4, 15)
        lines[kind] = f"SET_PRESSURE_ADVANCE ADVANCE={machine.advance:.3f}"
    else:
        machine.built.feed = share = float(rng.choice((0.85, 0.9, 1.1, 1.2)))
        lines[kind] = f"M221 S{100 * share:.0f}"
    if rng.random() < 0.7:
        machine.macro = ("G28", *lines.values())


def _nozzle_stated(machine: Machine, rng: Rng) -> None:
    built = machine.built
    smaller = {0.25: 0.15, 0.4: 0.25, 0.6: 0.4}
    built.nozzle = smaller[built.nozzle]


def _filament_stated(machine: Machine, rng: Rng) -> None:
    other = float(rng.choice((2.85, 3.0, 1.65, 1.85)))
    machine.stated["filament"] = other
    machine.built.amount = (1.75 / other) ** 2


def _gears_dirty(machine: Machine, rng: Rng) -> None:
    machine.built.grip *= _between(rng, 0.12, 0.55)


def _set_screw(machine: Machine, rng: Rng) -> None:
    machine.built.screw = _between(rng, 4.0, 35.0)
    machine.built.shows["uneven", "always"] = 0.45


def _idler_loose(machine: Machine, rng: Rng) -> None:
    machine.built.grip *= _between(rng, 0.12, 0.55)


def _idler_tight(machine: Machine, rng: Rng) -> None:
    machine.built.efficiency *= _between(rng, 0.35, 0.75)
    machine.built.inside += _between(rng, 3, 25)
    machine.built.shows["uneven", "always"] = 0.6


def _one_gear(machine: Machine, rng: Rng) -> None:
    machine.built.grip *= rng.uniform(0.35, 0.6)


def _tube_gap(machine: Machine, rng: Rng) -> None:
    machine.built.plug = _between(rng, 15, 90)
    machine.built.inside += _between(rng, 1, 12)
    machine.built.shows["stuck", "retracts"] = 0.5
    machine.built.shows["thin", "line-starts"] = 0.5


def _clogged(machine: Machine, rng: Rng) -> None:
    machine.built.choke = _between(rng, 1.4, 6.0)


def _creep(machine: Machine, rng: Rng) -> None:
    machine.built.creep = _between(rng, 15, 150)
    machine.built.shows["stuck", "after-a-while"] = 0.55


def _cold(machine: Machine, rng: Rng) -> None:
    low = PLASTICS[machine.built.plastic].low
    drop = machine.stated["temperature"] - (low + rng.uniform(-12, 4))
    machine.stated["temperature"] = round(machine.stated["temperature"] - drop)
    machine.built.temperature -= drop
    machine.flow = round(machine.flow * rng.uniform(1.0, 1.35), 1)


def _short_zone(machine: Machine, rng: Rng) -> None:
    """A shorter zone than the owner believes."""
    machine.built.zone *= _between(rng, 0.4, 0.7)
    machine.flow = round(machine.flow * rng.uniform(1.0, 1.2), 1)


def _heater(machine: Machine, rng: Rng) -> None:
    machine.built.watts = machine.built.loss + rng.uniform(-1.0, 6.0)
    if rng.random() < 0.5:
        machine.stated["watts"] = round(machine.built.watts)


def _fan_on_block(machine: Machine, rng: Rng) -> None:
    machine.built.fan_loss = rng.uniform(25, 70)
    machine.built.shows["stopped", "with-fan"] = 0.35


def _thermistor_loose(machine: Machine, rng: Rng) -> None:
    machine.built.temperature += rng.normal(8, 15)
    machine.built.shows.update(
        {("stopped", "always"): 0.55, ("nozzle-cools", "always"): 0.5, ("uneven", "always"): 0.4}
    )


def _thermistor_kind(machine: Machine, rng: Rng) -> None:
    off = float(rng.choice((-1.0, 1.0), p=(0.65, 0.35))) * rng.uniform(14, 38)
    machine.built.temperature += off
    machine.flow = round(machine.flow * rng.uniform(1.0, 1.3), 1)
    if off > 0:
        machine.built.shows["uneven", "always"] = 0.6


def _spool(machine: Machine, rng: Rng) -> None:
    machine.built.drag += _between(rng, 8, 60)
    machine.built.shows["uneven", "always"] = 0.45


def _thick(machine: Machine, rng: Rng) -> None:
    share = rng.uniform(1.79, 1.92) / 1.75
    machine.built.amount *= share**2
    machine.built.inside += _between(rng, 2, 60)
    machine.built.shows["stuck", "one-roll"] = 0.4
    machine.built.shows["uneven", "one-roll"] = 0.5


def _wet(machine: Machine, rng: Rng) -> None:
    machine.built.shows["uneven", "one-roll"] = rng.uniform(0.6, 0.95)
    machine.built.amount *= rng.uniform(0.9, 1.0)


def _soft(machine: Machine, rng: Rng) -> None:
    matter = PLASTICS["tpu-95a"]
    machine.built.plastic = machine.material = "tpu-95a"
    machine.built.temperature += matter.middle - machine.stated["temperature"]
    machine.stated["temperature"] = round(matter.middle)
    machine.built.grip = matter.grip * machine.built.driven * rng.lognormal(0, 0.13)
    machine.built.gap = rng.uniform(4.5, 9)
    machine.flow = round(min(machine.flow, 0.8 * melts(machine.built, matter.middle)), 1)


def _retract(machine: Machine, rng: Rng) -> None:
    length, _, accel = machine.retract
    machine.retract = (length, round(rng.uniform(80, 160)), accel * float(rng.choice((1, 2, 4))))
    machine.stated["only_speed"] = round(machine.retract[1] * 1.2)
    machine.told |= {"retract"}


def _advance(machine: Machine, rng: Rng) -> None:
    machine.advance = round(machine.advance * _between(rng, 3, 15), 3)


def _accel_high(machine: Machine, rng: Rng) -> None:
    length, speed, accel = machine.retract
    machine.retract = (length, speed, round(accel * _between(rng, 5, 25), -2))
    machine.accel = round(machine.accel * _between(rng, 1.5, 5), -2)


def _accel_low(machine: Machine, rng: Rng) -> None:
    length, speed, _ = machine.retract
    machine.retract = (length, speed, round(_between(rng, 5, 60)))
    machine.built.shows.update({("thin", "line-starts"): 0.7, ("uneven", "always"): 0.4})


def _refuses(machine: Machine, rng: Rng) -> None:
    kind = str(rng.choice(("cross", "distance", "cold")))
    if kind == "cross":
        machine.stated["cross"] = round(rng.uniform(0.3, 0.8), 2)
        machine.built.shows["refused", "purge"] = 0.95
    elif kind == "distance":
        machine.stated["distance"] = round(rng.uniform(20, 60))
        machine.built.shows["refused", str(rng.choice(("always", "purge")))] = 0.95
    else:
        machine.stated["cold"] = machine.stated["temperature"] + round(rng.uniform(3, 25))
        machine.built.shows.update({("refused", "always"): 0.95, ("nothing-comes", "always"): 0.8})


def _slows(machine: Machine, rng: Rng) -> None:
    machine.stated["only_speed"] = round(rng.uniform(1, 8), 1)
    machine.built.shows.update({("thin", "line-starts"): 0.7, ("uneven", "always"): 0.3})


def _bearing(machine: Machine, rng: Rng) -> None:
    machine.built.efficiency *= _between(rng, 0.1, 0.4)


def _wobble(machine: Machine, rng: Rng) -> None:
    machine.built.shows["uneven", "always"] = 0.9


def _slicer_factor(machine: Machine, rng: Rng) -> None:
    machine.built.amount *= float(rng.choice((rng.uniform(0.78, 0.9), rng.uniform(1.1, 1.3))))


def _warped(machine: Machine, rng: Rng) -> None:
    machine.built.shows.update({("uneven", "first-layer"): 0.8, ("thin", "first-layer"): 0.4})


def _cracked(machine: Machine, rng: Rng) -> None:
    """The housing gives way under load: motor and gears move apart."""
    machine.built.grip *= _between(rng, 0.2, 0.6)
    machine.built.shows["clicks", "above-a-flow"] = 0.6


def _starved(machine: Machine, rng: Rng) -> None:
    machine.built.shows.update({("uneven", "long-lines"): 0.6, ("uneven", "always"): 0.5})


PLANTED: dict[str, tuple[float, Plant]] = {
    "asked-too-much": (9, _asked_too_much), "nozzle-near": (6, _nozzle_near), "current-low": (6, _current_low),
    "current-high": (4, _current_high), "sense-resistor": (2, _resistor), "no-section": (2, _no_section),
    "other-section": (1, _other_section), "open-phase": (2, _open_phase), "driver-hot": (2, _driver_hot),
    "silent-floor": (1, _silent_floor), "silent-weak": (2, _silent_weak), "supply-low": (1, _supply_low),
    "ratio-wrong": (5, _ratio), "macro-values": (2, _macro), "nozzle-stated-wrong": (2, _nozzle_stated),
    "filament-stated-wrong": (1, _filament_stated), "gears-dirty": (5, _gears_dirty), "set-screw": (3, _set_screw),
    "idler-loose": (5, _idler_loose), "idler-tight": (2, _idler_tight), "one-gear-idle": (1, _one_gear),
    "tube-gap": (4, _tube_gap), "nozzle-clogged": (9, _clogged), "heat-creep": (7, _creep), "too-cold": (4, _cold),
    "zone-short": (2, _short_zone), "heater-weak": (2, _heater), "fan-on-block": (3, _fan_on_block),
    "thermistor-loose": (2, _thermistor_loose), "thermistor-kind": (2, _thermistor_kind), "spool-drag": (6, _spool),
    "filament-thick": (3, _thick), "filament-wet": (4, _wet), "filament-soft": (4, _soft), "retract-fast": (4, _retract),
    "advance-strong": (2, _advance), "accel-high": (2, _accel_high), "accel-low": (1, _accel_low),
    "limit-refuses": (4, _refuses), "limit-slows": (1, _slows),
}  # fmt: skip
UNLISTED: dict[str, tuple[float, Plant]] = {
    "seized-bearing": (2, _bearing), "lead-screw-wobble": (2, _wobble), "slicer-factor": (2, _slicer_factor),
    "warped-bed": (2, _warped), "cracked-housing": (1, _cracked), "starved-stream": (1, _starved),
}  # fmt: skip


def rates(*, off_by: float, rng: Rng) -> dict[str, float]:
    """Return how often each listed cause is there; each off by up to this factor, either way."""
    drawn = {
        name: rate * _between(rng, 1.0 / off_by, off_by) if off_by > 1 else rate
        for name, (rate, _) in PLANTED.items()
    }
    whole = sum(drawn.values())
    return {name: rate / whole for name, rate in drawn.items()}


def plant(machine: Machine, name: str, rng: Rng) -> Machine:
    """Return the machine with the cause in it; the sound one stays as it is."""
    broken = machine.copy()
    broken.built = replace(broken.built, shows=dict(broken.built.shows))
    (PLANTED | UNLISTED)[name][1](broken, rng)
    return broken
