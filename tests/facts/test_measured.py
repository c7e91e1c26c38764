"""What the user measured beats what the model reckons."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from held import measurement

from advisor.machine.graph import FactBook
from advisor.machine.summary import limit_bands

Nominal = Callable[[FactBook, str], float]
Machine = Callable[..., FactBook]


def test_a_measured_flow_at_the_same_conditions_is_the_melt_limit(
    machine: Machine, nominal: Nominal
) -> None:
    """The model's ratio is 1 there, whatever the melt length: no spread is left."""
    record = measurement(flow=15e-9, material="pla", temperature=493.15, nozzle=0.4e-3)
    book = machine(
        {"hotend.measured_flow": 15.0, "hotend.melt_length": None},
        measured={"measured_flow": record},
    )
    assert nominal(book, "flow.melt") == pytest.approx(15.0)
    assert np.ptp(np.atleast_1d(book.facts["flow.melt"].number.si)) == pytest.approx(0.0, abs=1e-15)
    assert "hotend.melt_length" not in book.facts["flow.capacity"].trace.assumed


def test_a_measured_flow_is_scaled_to_other_conditions(machine: Machine, nominal: Nominal) -> None:
    """The scale is the model's own ratio: 0.6 mm over 0.4 mm is 1.5^0.65 (the nozzle exponent)."""
    record = measurement(flow=15e-9, material="pla", temperature=493.15, nozzle=0.4e-3)
    book = machine(
        {"hotend.measured_flow": 15.0, "nozzle.diameter": 0.6}, measured={"measured_flow": record}
    )
    assert nominal(book, "flow.melt") == pytest.approx(15.0 * 1.5**0.65, rel=1e-6)


def test_a_force_at_which_the_filament_slipped_is_the_grip(
    machine: Machine, nominal: Nominal
) -> None:
    """A spring scale settles the grip."""
    record = measurement(force=(60.0, 60.0, 60.0), outcome="slipped")
    assert nominal(machine(measured={"measured_force": record}), "force.grip") == 60.0


def test_a_force_at_which_the_motor_skipped_is_its_stall_force(
    machine: Machine, nominal: Nominal
) -> None:
    """Whatever the holding torque, the measured force comes back as the stall force."""
    record = measurement(force=(70.0, 70.0, 70.0), outcome="skipped")
    book = machine({"motor.holding_torque": None}, measured={"measured_force": record})
    assert nominal(book, "force.stall") == pytest.approx(70.0)
    assert "motor.holding_torque" not in book.facts["flow.torque"].trace.assumed


def test_a_measured_case_sets_the_mount(machine: Machine, nominal: Nominal) -> None:
    """Running at the measured current gives back the measured case temperature."""
    record = measurement(temperature=333.15, current=0.566, ambient=298.15)
    book = machine(measured={"measured_case": record})
    assert nominal(book, "motor.case_temperature") == pytest.approx(60.0, abs=1e-6)


@pytest.mark.parametrize("temperature", [293.15, 298.15])
def test_a_case_no_warmer_than_the_air_says_nothing(
    machine: Machine, nominal: Nominal, temperature: float
) -> None:
    """No rise, no thermal resistance: the mount is as if nothing had been measured."""
    record = measurement(temperature=temperature, current=0.566, ambient=298.15)
    book = machine(measured={"measured_case": record})
    assert nominal(book, "motor.mount_factor") == nominal(machine(), "motor.mount_factor")


def test_limits_are_bands_in_order(machine: Machine) -> None:
    """Low, nominal and high rise, and the shares of the bottleneck sum to one."""
    bands = limit_bands(machine().facts)
    for band in bands:
        assert band.flow is not None
        assert band.low is not None
        assert band.low <= band.flow
        assert band.high is None or band.flow <= band.high
    assert sum(band.bottleneck_share for band in bands) == pytest.approx(1.0)
