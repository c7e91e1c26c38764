"""Machines drawn for the bench of `diagnose`: what is built in, what the owner wrote down, what is asked.

Nothing here is of the package: figures and spreads are the bench's own, from memory of the trade (common
practice, no source). A machine is drawn sound; `diagnose_planted` then breaks it.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field

import numpy as np

FILAMENT_AREA = 2.405  # mm2, of 1.75 mm


@dataclass(frozen=True)
class Plastic:
    """A filament, by the bench's own figures."""

    low: float  # nozzle, degC
    high: float
    push: float  # N at 5 mm3/s, 0.4 mm, middle of the range
    thinning: float  # exponent of the push over flow
    per_kelvin: float  # fall of the push
    melt: float  # mm3/s a mm of melt zone, middle of the range
    grip: float  # N a driven gear
    soft: float  # degC at the gears
    heat: float  # J/g K
    density: float  # g/cm3
    folds_at: float  # N over a gap of 4 mm

    @property
    def middle(self) -> float:
        """The middle of its range, degC."""
        return (self.low + self.high) / 2.0


PLASTICS = {
    "pla": Plastic(190, 225, 21, 0.42, 0.012, 0.98, 44, 52, 1.9, 1.24, 400),
    "petg": Plastic(225, 252, 24, 0.45, 0.012, 0.80, 40, 69, 1.9, 1.27, 300),
    "abs": Plastic(230, 260, 26, 0.40, 0.011, 0.82, 42, 92, 2.0, 1.05, 300),
    "tpu-95a": Plastic(210, 238, 27, 0.50, 0.013, 0.66, 23, 58, 2.1, 1.21, 42),
}
SOFT_MOUNT = {"metal": 400.0, "pla": 56.0, "petg": 72.0, "abs": 92.0}


@dataclass(frozen=True)
class Motor:
    """A motor class: label current (peak A), torque held at it (N m), winding and inertia."""

    rated: float
    torque: float
    ohm: float
    henry: float
    inertia: float  # kg m2
    to_air: float  # K/W of the case on metal


MOTORS = {
    "round-36": Motor(1.0, 0.105, 2.4, 1.8e-3, 1.0e-6, 13.5),
    "square-42-short": Motor(1.0, 0.16, 3.5, 4.4e-3, 1.7e-6, 8.6),
    "square-42-long": Motor(2.1, 0.41, 1.6, 3.1e-3, 5.6e-6, 5.8),
}
# kind: motor, gear pairs as stated, pitch of the gears (mm), driven gears, usual current (RMS A)
DRIVES = (
    ("square-42-short", ((50, 10),), 22.6, 2, (0.4, 0.6), "twin-small"),
    ("round-36", ((44, 10), (17, 10)), 37.4, 2, (0.4, 0.58), "twin-medium"),
    ("round-36", ((50, 10),), 22.7, 2, (0.4, 0.55), "twin-small"),
    ("square-42-short", ((60, 20), (50, 20)), 34.2, 2, (0.4, 0.6), "twin-medium"),
    ("square-42-long", (), 33.4, 1, (0.9, 1.3), "single"),
    ("square-42-short", ((54, 18),), 24.3, 1, (0.5, 0.65), "single"),
)


@dataclass
class Built:
    """What is true of a machine, in trade units; a planted cause changes it."""

    motor: Motor
    motor_name: str
    turns: float  # motor turns a gear turn
    pitch: float  # filament a gear turn, mm
    driven: int
    current: float  # RMS A that truly flows while it turns
    volts: float
    to_air: float
    efficiency: float
    grip: float
    plastic: str
    temperature: float  # true, degC
    nozzle: float
    zone: float
    watts: float
    loss: float
    ambient: float
    chamber: float
    mount: str
    bowden: bool
    gap: float = 3.0
    drag: float = 2.0  # N before the gears
    inside: float = 0.0  # N between gears and melt
    choke: float = 1.0
    feed: float = 1.0  # fed over asked
    amount: float = 1.0  # plastic through the nozzle over what was meant, beside slip
    motor_factor: float = 1.0
    fast_factor: float = 1.0  # torque above three turns a second
    hot_factor: float = 1.0  # torque once the driver is hot
    screw: float = 1e9  # N at which the gear slips on its shaft
    fan_loss: float = 2.0
    near: float = 1.4  # push at the first layer over that in air
    creep: float = 0.0  # N once it is warm
    plug: float = 0.0  # N after a retract
    shows: dict[tuple[str, str], float] = field(default_factory=dict)  # what is no matter of forces


@dataclass
class Machine:
    """A machine, what its owner wrote down of it, and what is asked of it."""

    built: Built
    pairs: tuple[tuple[int, int], ...]
    stated: dict[str, float]
    chip: str
    drive: str
    silent: bool
    flow: float
    retract: tuple[float, float, float]  # mm, mm/s, mm/s2
    advance: float
    accel: float
    section: str = "extruder"
    macro: tuple[str, ...] = ()
    told: frozenset[str] = frozenset()
    material: str = "pla"

    def copy(self) -> Machine:
        """One of its own, to change."""
        return copy.deepcopy(self)


def draw(rng: np.random.Generator) -> Machine:
    """Draw a sound machine with headroom in everything that is asked."""
    motor_name, pairs, pitch, driven, (low, high), drive = DRIVES[
        rng.choice(len(DRIVES), p=(0.36, 0.18, 0.12, 0.1, 0.14, 0.1))
    ]
    motor = MOTORS[motor_name]
    plastic = str(rng.choice(list(PLASTICS), p=(0.45, 0.27, 0.18, 0.10)))
    matter = PLASTICS[plastic]
    zone = float(rng.choice((12.5, 20.0, 34.0), p=(0.6, 0.28, 0.12)))
    bowden = not pairs and plastic != "tpu-95a" and bool(rng.random() < 0.75)
    nozzle = float(rng.choice((0.4, 0.6, 0.25), p=(0.78, 0.17, 0.05)))
    current = round(float(rng.uniform(low, high)), 2)
    temperature = float(np.round(rng.uniform(matter.middle - 5, matter.high - 5)))
    built = Built(
        motor=motor, motor_name=motor_name, turns=float(np.prod([a / b for a, b in pairs]) if pairs else 1.0),
        pitch=pitch, driven=driven, current=current * rng.normal(1, 0.04), volts=24.0 if rng.random() < 0.85 else 12.0,
        to_air=motor.to_air * rng.lognormal(0, 0.15), efficiency=rng.uniform(0.8, 0.93), grip=matter.grip * driven * rng.lognormal(0, 0.13),
        plastic=plastic, temperature=temperature + rng.normal(0, 3), nozzle=nozzle, zone=zone * rng.lognormal(0, 0.06),
        watts=float(rng.choice((40, 50, 60))), loss=rng.uniform(11, 19), ambient=rng.uniform(18, 27),
        chamber=rng.uniform(38, 52) if plastic == "abs" else rng.uniform(22, 33),
        mount=str(rng.choice(("metal", "pla", "petg", "abs"), p=(0.55, 0.1, 0.15, 0.2))), bowden=bowden,
        gap=rng.uniform(2, 4), drag=rng.lognormal(0.6, 0.4), inside=rng.uniform(3, 8) if bowden else rng.uniform(0.5, 2),
        near=rng.uniform(1.1, 1.7), fan_loss=rng.uniform(1, 4),
    )  # fmt: skip
    if built.mount == "pla" and built.chamber > 40:
        built.mount = "abs"
    speed = float(rng.uniform(25, 45)) if not bowden else float(rng.uniform(30, 50))
    machine = Machine(
        built=built, pairs=pairs, chip=str(rng.choice(("tmc2209", "tmc2208", "tmc2130", "tmc5160"), p=(0.68, 0.14, 0.08, 0.1))),
        drive=drive, silent=bool(rng.random() < 0.25), flow=_sound_flow(built, rng), material=plastic,
        retract=(round(float(rng.uniform(4, 6.5) if bowden else rng.uniform(0.4, 1.2)), 1), round(speed), float(rng.choice((1000, 1500, 2500)))),
        advance=round(float(rng.uniform(0.2, 0.5) if bowden else rng.uniform(0.02, 0.05)), 3),
        accel=float(rng.choice((1500, 3000, 5000, 7000))) if not bowden else float(rng.choice((1000, 1500, 2000))),
        stated={"temperature": temperature, "current": current, "nozzle": nozzle, "filament": 1.75, "pitch": pitch,
                "zone": zone, "volts": built.volts, "watts": built.watts, "cross": 5.0, "distance": 200.0, "cold": 170.0, "only_speed": 0.0},
        told=frozenset(word for word, share in TOLD.items() if rng.random() < share),
    )  # fmt: skip
    machine.stated["only_speed"] = round(machine.retract[1] * 1.5)
    return machine


TOLD = {"motor": 0.75, "rated": 0.6, "drive": 0.7, "hotend": 0.8, "mount": 0.6, "volts": 0.8, "watts": 0.7, "air": 0.5,
        "asked": 0.75, "resistor": 0.7, "retract": 0.75, "gap": 0.3, "limits": 0.5}  # fmt: skip


def _sound_flow(built: Built, rng: np.random.Generator) -> float:
    """A flow that leaves room: a share of what melts, and of what a nozzle of this size is used for."""
    matter = PLASTICS[built.plastic]
    return round(
        min(
            matter.melt * built.zone * rng.uniform(0.45, 0.75),
            70.0 * built.nozzle**2 * rng.uniform(0.6, 1.3),
        ),
        1,
    )


def config_of(machine: Machine) -> str:
    """Write the config as its owner has it."""
    stated, (length, speed, accel) = machine.stated, machine.retract
    lines = ["# Invented: drawn by the bench, no real machine is meant.", "[printer]", "kinematics: corexy", "max_velocity: 300",
             f"max_accel: {machine.accel:g}", "square_corner_velocity: 5.0", "[extruder]", f"rotation_distance: {stated['pitch']:g}"]  # fmt: skip
    if machine.pairs:
        lines.append("gear_ratio: " + ", ".join(f"{a}:{b}" for a, b in machine.pairs))
    lines += ["microsteps: 16", f"nozzle_diameter: {stated['nozzle']:g}", f"filament_diameter: {stated['filament']:g}",
              f"pressure_advance: {stated.get('advance', machine.advance):g}", f"max_extrude_cross_section: {stated['cross']:g}", f"max_extrude_only_distance: {stated['distance']:g}",
              f"max_extrude_only_accel: {accel:g}", f"min_extrude_temp: {stated['cold']:g}", "min_temp: 0", "max_temp: 290"]  # fmt: skip
    if "limits" in machine.told or stated["only_speed"] < speed:
        lines.append(f"max_extrude_only_velocity: {stated['only_speed']:g}")
    if machine.section:
        lines += [
            f"[{machine.chip} {machine.section}]",
            f"run_current: {stated['current']:g}",
            f"stealthchop_threshold: {999999 if machine.silent else 0}",
        ]
        if "resistor" in machine.told:
            lines.append(f"sense_resistor: {0.075 if machine.chip == 'tmc5160' else 0.11}")
    if "retract" in machine.told:
        lines += [
            "[firmware_retraction]",
            f"retract_length: {length:g}",
            f"retract_speed: {speed:g}",
            f"unretract_speed: {speed:g}",
        ]
    if machine.macro:
        lines += ["[gcode_macro BEGIN]", "gcode:", *(f"  {line}" for line in machine.macro)]
    return "\n".join(lines) + "\n"


def sheet_of(machine: Machine) -> str:
    """Write the hardware sheet, as far as the owner knows it."""
    told, built, stated = machine.told, machine.built, machine.stated
    motor = [f"class: {built.motor_name}"] if "motor" in told else []
    if "motor" in told and "rated" in told:
        motor += [f"rated_current: {built.motor.rated:g} A", "rating_basis: peak"]
    drive = [f"class: {machine.drive}"] if "drive" in told else []
    drive += [f"mount: {built.mount}"] if "mount" in told else []
    drive += [f"free_gap: {built.gap:.1f} mm"] if "gap" in told else []
    hotend = [f"class: {_zone_name(stated['zone'])}"] if "hotend" in told else []
    hotend += [f"heater_power: {stated['watts']:g} W"] if "watts" in told else []
    filament = [f"material: {machine.material}", f"temperature: {stated['temperature']:g} degC"]
    lines = ["# Invented."]
    lines += [
        f"{name}: {{{', '.join(parts)}}}"
        for name, parts in (
            ("motor", motor),
            ("drive", drive),
            ("hotend", hotend),
            ("filament", filament),
        )
        if parts
    ]
    if "volts" in told:
        lines.append(f"supply: {{voltage: {stated['volts']:g} V}}")
    if "air" in told:
        lines += [f"ambient: {built.ambient:.0f} degC", f"chamber: {built.chamber:.0f} degC"]
    lines.append(f"path: {'bowden' if built.bowden else 'direct'}")
    if "asked" in told:
        lines.append(f"asked: {machine.flow:g} mm3/s")
    return "\n".join(lines) + "\n"


def _zone_name(zone: float) -> str:
    return "standard" if zone < 16 else "long" if zone < 27 else "extra-long"
