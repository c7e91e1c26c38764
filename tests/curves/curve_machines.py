"""Machines for the curves: three common motors of class values, and the samples."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check_config
from advisor.base import Fact, Origin, OriginKind
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog
from advisor.machine.assemble import ExtruderInputs, build_facts
from advisor.machine.graph import FactBook

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
SHEET = Origin(OriginKind.SHEET)

# Class values of a round 36 mm, a short and a long 42 mm motor: rated current [A], holding torque
# [N m], resistance [ohm], inductance [mH], detent torque [mN m], rotor inertia [g cm2]
MOTORS = {
    "A": (1.0, 0.10, 2.4, 1.8, 5.0, 10.0),
    "B": (1.0, 0.16, 3.6, 4.5, 10.0, 16.0),
    "C": (1.68, 0.40, 1.65, 3.2, 18.0, 54.0),
}
_COLUMNS = (
    "motor.rated_current", "motor.holding_torque", "motor.resistance", "motor.inductance",
    "motor.detent_torque", "motor.rotor_inertia",
)  # fmt: skip
GEARS = {
    "big": {"drive.gear_ratio": 9.5, "drive.rotation_distance": 47.1, "drive.gear_efficiency": 0.9},
    "small": {
        "drive.gear_ratio": 50 / 17,
        "drive.rotation_distance": 22.7,
        "drive.gear_efficiency": 0.95,
    },
}
_REST = {
    "filament.diameter": 1.75,
    "filament.material": "pla",
    "nozzle.diameter": 0.4,
    "hotend.temperature": 220.0,
    "hotend.melt_length": 19.6,
    "hotend.heater_power": 50.0,
    "drive.driven_gears": 2.0,
    "drive.gear_inertia": 2.0,  # g cm2
    "motor.phases_on": 2.0,
    "motor.full_steps": 200.0,
    "motor.microsteps": 16.0,
    "motor.usable_share": 0.7,
}


def stated(facts: Mapping[str, Any]) -> dict[str, Fact]:
    """Facts as a sheet would state them, from values in trade units."""
    infos = load_catalog().facts

    def made(name: str, value: Any) -> Fact:
        unit = infos[name].unit
        samples = value if isinstance(value, str) else parse_unit(unit).to_si(value)
        return Fact.of(name, unit, samples, origin=SHEET)

    return {name: made(name, value) for name, value in facts.items()}


def machine(motor: str, gears: str = "big", **more: Any) -> FactBook:
    """A motor of the table behind gears; `more` names facts with ``_`` for the dot."""
    facts = {**_REST, **dict(zip(_COLUMNS, MOTORS[motor], strict=True)), **GEARS[gears]}
    facts |= {name.replace("__", "."): value for name, value in more.items()}
    return build_facts(ExtruderInputs("extruder", stated(facts)), load_catalog())


def restated(inputs: ExtruderInputs, book: FactBook, **facts: float) -> FactBook:
    """The same machine with facts (in SI) set exactly, its classes kept."""
    kept = {
        name: book.facts[name]
        for name in ("motor.class", "drive.class", "hotend.class", "hotend.insert", "drive.mount")
        if book.known(name)
    }
    changed = {
        name: Fact.of(name, book.units[name], value, origin=SHEET)
        for name, value in ((key.replace("__", "."), value) for key, value in facts.items())
    }
    both = {**inputs.stated, **kept, **changed}
    return build_facts(dataclasses.replace(inputs, stated=both), load_catalog())


@cache
def sample(name: str, profile: bool = False, asked: str | None = None) -> CheckedConfig:
    """A config of samples/ with its own sheet."""
    profiles = (str(SAMPLES / name / "profile.ini"),) if profile else ()
    sheet = SAMPLES / name / "hardware.yaml"
    asks = Asks(sheet=str(sheet) if sheet.exists() else None, profiles=profiles, asked=asked)
    return check_config(str(SAMPLES / name / "printer.cfg"), asks)


def nominal(book: FactBook, name: str) -> float:
    """The nominal value of a number, in SI units."""
    return float(np.ravel(book.samples(name))[0])
