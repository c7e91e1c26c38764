"""What a drawn machine does: the bench's own plain physics of motor, push, grip and heat.

A stepper whose current the voltage limits at speed (winding impedance and back-EMF); a melt that thins
with flow and is stiff where the zone is too short for it; gears that hold up to a force; a motor and a
nozzle in balance of heat. From memory of the trade; nothing of the package is used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.studies.diagnose_machine import FILAMENT_AREA, PLASTICS, SOFT_MOUNT, Built, Machine

Event = tuple[str, str]  # a word, and when
LINE_AREA = 0.45 * 0.2  # mm2
SLOW = 0.35  # of the flow asked


def motor_push(built: Built, speed: float, accel: float = 0.0, *, hot: bool = False) -> float:
    """Force at the filament before the motor loses a step, N, at a filament speed in mm/s."""
    motor = built.motor
    turn = 2.0 * math.pi * abs(speed) / built.pitch * built.turns  # rad/s
    constant = motor.torque / (motor.rated * math.sqrt(2.0))
    impedance = math.hypot(motor.ohm, 50.0 * turn * motor.henry)
    reach = max(0.0, 0.95 * built.volts - constant * turn) / impedance
    amps = min(built.current * math.sqrt(2.0), reach)
    torque = 0.85 * motor.torque / math.sqrt(2.0) * amps / motor.rated * built.motor_factor
    if turn > 6.0 * math.pi:
        torque *= built.fast_factor
    if hot:
        torque *= built.hot_factor
    torque -= motor.inertia * 1.3 * 2.0 * math.pi * accel / built.pitch * built.turns
    return max(0.05, torque * built.efficiency * built.turns / (built.pitch / 2.0 / math.pi * 1e-3))


def melts(built: Built, temperature: float) -> float:
    """Flow that the zone melts through, mm3/s."""
    matter = PLASTICS[built.plastic]
    return max(0.5, matter.melt * built.zone * (1.0 + 0.011 * (temperature - matter.middle)))


def push_needed(built: Built, flow: float, temperature: float, factor: float = 1.0) -> float:
    """Force at the gears for a flow, N."""
    matter = PLASTICS[built.plastic]
    if flow <= 0.0:
        return built.drag + built.inside
    over = min(flow / melts(built, temperature), 2.0)
    thin = math.exp(-matter.per_kelvin * (temperature - matter.middle))
    nozzle = matter.push * (flow / 5.0) ** matter.thinning * (0.4 / built.nozzle) ** 2.3 * thin
    return nozzle * built.choke * factor * (1.0 + 0.9 * over**6) + built.drag + built.inside


def case_temperature(built: Built, *, standing: float = 1.0) -> float:
    """Motor case once it is warm, degC."""
    watts = 2.0 * (built.current * standing) ** 2 * built.motor.ohm * 1.15
    around = max(built.ambient, built.chamber)
    return around + watts * built.to_air * (1.45 if built.mount != "metal" else 1.0)


def nozzle_under_load(built: Built, flow: float, *, fan: bool) -> float:
    """How far the nozzle sinks, K, where the heater cannot hold it."""
    matter = PLASTICS[built.plastic]
    rise = built.temperature - built.ambient
    needs = (
        built.loss
        + (built.fan_loss if fan else 0.0)
        + flow * 1e-3 * matter.density * matter.heat * rise
    )
    return max(0.0, needs - built.watts) / (built.loss / rise * 1.5)


def gear_grip(built: Built, *, hot: bool) -> float:
    """Force at which the gears slip or the filament gives way, N."""
    grip = min(built.grip, built.screw)
    if hot:
        share = 0.75 if built.turns < 2.0 else 0.45
        warm = built.ambient + share * (case_temperature(built) - built.ambient)
        grip *= (
            1.0
            if warm < PLASTICS[built.plastic].soft
            else max(0.25, 1.0 - 0.07 * (warm - PLASTICS[built.plastic].soft))
        )
    return grip


@dataclass(frozen=True)
class Doing:
    """What is wanted at one time: filament speed and flow, acceleration, what the push is multiplied by."""

    speed: float
    flow: float
    accel: float = 0.0
    factor: float = 1.0
    hot: bool = False
    fan: bool = False
    more: float = 0.0  # N


def doings(machine: Machine) -> dict[str, Doing]:
    """What the machine is asked to do, by when."""
    flow, built = machine.flow, machine.built
    speed = flow / FILAMENT_AREA
    kick = machine.advance * machine.accel * LINE_AREA / FILAMENT_AREA
    _, pull, accel = machine.retract
    pull = min(pull, machine.stated["only_speed"])
    return {
        "slow": Doing(speed * SLOW, flow * SLOW),
        "long-lines": Doing(speed, flow),
        "line-starts": Doing(
            speed * 0.8 + kick, flow * 0.8, kick / 0.03, more=built.plug + 0.25 * min(kick, 60.0)
        ),
        "retracts": Doing(pull, 0.0, accel, more=6.0),
        "first-layer": Doing(speed * 0.35, flow * 0.35, factor=built.near),
        "purge": Doing(12.0 / FILAMENT_AREA, min(12.0, 1.1 * flow)),
        "after-a-while": Doing(speed, flow, hot=True, more=built.creep),
        "with-fan": Doing(speed, flow, fan=True),
    }


def _step(value: float, width: float) -> float:
    return 1.0 / (1.0 + math.exp(-max(-40.0, min(40.0, value / width))))


def at(machine: Machine, doing: Doing) -> dict[str, float]:
    """How strongly each word shows while it does this, 0 to 1."""
    built = machine.built
    sunk = nozzle_under_load(built, doing.flow, fan=doing.fan)
    need = push_needed(built, doing.flow, built.temperature - sunk, doing.factor) + doing.more
    motor = motor_push(built, doing.speed, doing.accel, hot=doing.hot)
    grip = gear_grip(built, hot=doing.hot)
    matter = PLASTICS[built.plastic]
    folds = matter.folds_at * (4.0 / max(built.gap, 0.5)) ** 2
    shown = {"nozzle-cools": _step(sunk - 6.0, 1.5)}
    weakest = min(motor, grip, folds)
    fails = _step(need / weakest - 1.0, 0.06)
    word = "clicks" if weakest == motor else "folds" if weakest == folds else "slips"
    shown[word] = fails
    if doing.flow > 0.0:
        creeps = 1.0 - 0.05 * min(need / grip, 1.2) ** 2
        came = built.feed * built.amount * creeps * (1.0 - 0.35 * fails)
        over = doing.flow / melts(built, built.temperature - sunk)
        came *= 1.0 - 0.25 * max(0.0, over - 1.0)
        shown["thin"] = _step(0.92 - came, 0.02)
        shown["too-much"] = _step(came - 1.055, 0.015)
        shown["nothing-comes"] = _step(need / weakest - 2.6, 0.3)
    return shown


def events(machine: Machine) -> dict[Event, float]:
    """What shows and when: at one time, always, or above a flow."""
    by_time = {when: at(machine, doing) for when, doing in doings(machine).items()}
    found: dict[Event, float] = {}
    slow, fast = by_time.pop("slow"), by_time["long-lines"]
    for word in sorted({word for shown in by_time.values() for word in shown}):
        always = min(slow.get(word, 0.0), fast.get(word, 0.0))
        base = fast.get(word, 0.0)
        found[word, "always"] = always
        found[word, "above-a-flow"] = max(0.0, base - always)
        found[word, "long-lines"] = max(0.0, base - always)
        for when, shown in by_time.items():
            if when != "long-lines":
                rest = always if when in ("first-layer", "purge") else base
                found[word, when] = max(
                    0.0, shown.get(word, 0.0) - (rest if when != "retracts" else 0.0)
                )
    case = case_temperature(machine.built)
    found["motor-hot", "after-a-while"] = _step(case - 66.0, 4.0)
    found["mount-soft", "after-a-while"] = _step(case - SOFT_MOUNT[machine.built.mount] - 2.0, 3.0)
    if machine.built.screw < 1e6:
        for when in ("always", "above-a-flow"):
            found["uneven", when] = max(
                found.get(("uneven", when), 0.0), 0.7 * found.get(("slips", when), 0.0)
            )
    for event, shown in machine.built.shows.items():
        found[event] = max(found.get(event, 0.0), shown)
    return {event: shown for event, shown in found.items() if shown > 0.02}
