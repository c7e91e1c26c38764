"""Configs whose gear ratio stands in the rotation distance, and motors that run away.

A drive gear thinner than 5 mm does not occur (common practice, no source). Copper melts at
1084.62 degC (CRC Handbook of Chemistry and Physics).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from advisor.base import State
from advisor.machine.graph import FactBook

Machine = Callable[..., FactBook]
Nominal = Callable[[FactBook, str], float]
FOLDED = {"drive.gear_ratio": 1.0, "drive.stages": 0.0, "drive.rotation_distance": 7.71}


def test_a_folded_ratio_tells_nothing_of_the_gears(machine: Machine, nominal: Nominal) -> None:
    """7.71 mm a turn at 1:1 is a geared drive: the gear is not taken for one of 2.5 mm."""
    book = machine(FOLDED)
    assert not book.facts["drive.effective_radius"].known
    assert nominal(book, "drive.gear_radius") >= 3.5
    assert nominal(book, "drive.travel_per_motor_turn") == pytest.approx(7.71)
    assert nominal(book, "flow.grip") > 2 * 3.5  # a 2.5 mm gear held 4 mm3/s


@pytest.mark.parametrize("geared", [33.5, 15.0])
def test_an_ungeared_drive_keeps_the_gear_of_its_distance(
    machine: Machine, nominal: Nominal, geared: float
) -> None:
    """Circumference over two pi (geometry)."""
    book = machine({**FOLDED, "drive.rotation_distance": geared})
    assert nominal(book, "drive.gear_radius") == pytest.approx(geared / (2.0 * np.pi))


def test_a_folded_ratio_suggests_no_ungeared_hardware(machine: Machine) -> None:
    """The long motor and the lone gear belong to drives without gears."""
    bare: dict[str, Any] = {"motor.holding_torque": None, "motor.rated_current": None}
    folded = machine({**FOLDED, **bare}).facts
    ungeared = machine({**FOLDED, **bare, "drive.rotation_distance": 33.5}).facts
    assert ungeared["motor.class"].text == "square-42-long"
    assert ungeared["drive.class"].text == "single"
    assert folded["motor.class"].text != "square-42-long"
    assert folded["drive.class"].text != "single"


@pytest.mark.filterwarnings("error")
def test_a_winding_that_runs_away_keeps_the_figures_finite(machine: Machine) -> None:
    """Twice the rated current: no steady temperature, yet no figure without meaning follows."""
    book = machine({"motor.run_current": 2.0})
    assert np.isinf(book.facts["motor.winding_temperature"].number.si).any()
    for name in ("motor.hot_resistance", "flow.torque", "flow.capacity"):
        assert np.isfinite(book.facts[name].number.si).all(), name


def test_what_is_lacking_is_told_of_the_formula_that_lacks_least(machine: Machine) -> None:
    """An old-style step distance without microsteps lacks the microsteps, not a gear ratio."""
    book = machine(
        {
            "drive.gear_ratio": None,
            "drive.rotation_distance": None,
            "motor.microsteps": None,
            "drive.step_distance": 0.0024,
        }
    )
    travel = book.facts["drive.travel_per_motor_turn"]
    assert (travel.state, travel.trace.inputs) == (State.MISSING, ("motor.microsteps",))
