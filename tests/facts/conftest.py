"""A machine to vary: motor A of the check table with two driven gears on a 12.5 mm melt zone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from advisor.base import Fact, Origin, OriginKind
from advisor.base.units import parse_unit
from advisor.catalog import Catalog, load_catalog
from advisor.machine.assemble import ExtruderInputs, build_facts
from advisor.machine.graph import FactBook

MACHINE: Mapping[str, Any] = {
    "filament.diameter": 1.75,
    "filament.material": "pla",
    "ambient.motor": 25.0,
    "nozzle.diameter": 0.4,
    "hotend.temperature": 220.0,
    "hotend.melt_length": 12.5,
    "hotend.heater_power": 50.0,
    "hotend.heat_loss": 15.0,
    "hotend.max_power": 1.0,
    "drive.driven_gears": 2.0,
    "drive.free_gap": 4.0,
    "drive.gear_ratio": 9.5,
    "drive.stages": 2.0,
    "drive.rotation_distance": 47.1,
    "motor.rated_current": 1.0,
    "motor.holding_torque": 0.1,
    "motor.phases_on": 2.0,
    "motor.resistance": 2.4,
    "motor.inductance": 1.8,
    "motor.detent_torque": 5.0,
    "motor.run_current": 0.566,
    "motor.full_steps": 200.0,
    "motor.microsteps": 16.0,
    "supply.voltage": 24.0,
}


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    """The shipped catalogue."""
    return load_catalog()


@pytest.fixture
def state(catalog: Catalog) -> Callable[..., Fact]:
    """Make a stated fact from a trade-unit value."""

    def make(name: str, value: Any, kind: OriginKind = OriginKind.SHEET) -> Fact:
        unit = catalog.facts[name].unit
        samples = value if isinstance(value, str) else parse_unit(unit).to_si(value)
        return Fact.of(name, unit, samples, origin=Origin(kind))

    return make


@pytest.fixture
def machine(catalog: Catalog, state: Callable[..., Fact]) -> Callable[..., FactBook]:
    """Build the facts of the machine with some facts changed, or left out where None."""

    def make(changes: Mapping[str, Any] | None = None, **extra: Any) -> FactBook:
        values = {**MACHINE, **(changes or {})}
        stated = {name: state(name, value) for name, value in values.items() if value is not None}
        return build_facts(ExtruderInputs("extruder", stated, **extra), catalog)

    return make


@pytest.fixture
def nominal() -> Callable[[FactBook, str], float]:
    """Read sample 0 of a fact in its trade unit."""

    def read(book: FactBook, name: str) -> float:
        fact = book.facts[name]
        assert fact.known, f"{name} is {fact.state}, it needs {fact.trace.inputs}"
        return float(parse_unit(fact.number.unit).from_si(np.ravel(fact.number.si)[0]))

    return read
