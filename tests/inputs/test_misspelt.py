"""Settings one slip of the pen off; what the right ones are is common practice of such configs."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from advisor.base import State
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import ConfigFacts

Read = Callable[..., ConfigFacts]

_DRIVER = "[tmc2209 extruder]\nuart_pin: PC1\nrun_current: 0.5\nstealthchop_threshold: 999999\n"


def _told(read: Read, line: str, section: str = "extruder") -> list[tuple[str, str, int]]:
    facts = read(f"[extruder]\nnozzle_diameter: 0.4\n[{section}]\n{line}\n")
    events = [event for event in facts.events if event.kind == "misspelt-setting"]
    return [(event.fields["key"], event.fields["right"], event.at.line) for event in events]


@pytest.mark.parametrize(
    ("section", "wrong", "right"),
    [
        ("extruder", "microstep", "microsteps"),  # a letter missing
        ("extruder", "roation_distance", "rotation_distance"),
        ("extruder", "gear_raito", "gear_ratio"),  # two swapped
        ("extruder", "presure_advence", "pressure_advance"),  # two slips in a long name
        ("extruder", "run-current", None),  # another section's
        ("tmc2209 extruder", "run-current", "run_current"),
        ("tmc2209 extruder", "run_curent", "run_current"),
        ("printer", "max_acel", "max_accel"),
        ("firmware_retraction", "retract_lenght", "retract_length"),
    ],
)
def test_a_slip_of_the_pen_is_told_with_what_is_meant(
    read: Read, section: str, wrong: str, right: str | None
) -> None:
    """At its own line."""
    due = [] if right is None else [(wrong, right, 4)]
    assert _told(read, f"{wrong}: 1", section) == due


@pytest.mark.parametrize(
    ("section", "key"),
    [
        ("extruder", "smooth_time"),  # the sensor's, not the advance's
        ("extruder", "pid_Kp"),
        ("extruder", "max_power"),
        ("extruder", "min_temp"),  # and max_temp
        ("extruder", "per_move_pressure_advance"),  # of another firmware
        ("extruder", "rotation_distance_left"),
        ("extruder", "gear_ratio_2"),
        ("tmc2209 extruder", "driver_IHOLDDELAY"),
        ("tmc2209 extruder", "coolstep_threshold"),
        ("printer", "max_z_accel"),
        ("printer", "max_x_accel"),
        ("printer", "max_z_velocity"),
        ("fan", "microstep"),
    ],
)
def test_what_is_merely_unknown_is_not_told(read: Read, section: str, key: str) -> None:
    """Firmwares and add-ons have settings of their own."""
    assert _told(read, f"{key}: 1", section) == []


def test_no_setting_of_ours_is_a_slip_of_another() -> None:
    """Neither of those that are read nor of those that are not."""
    for role in load_dialect().roles.values():
        assert role.others
        assert not set(role.others) & set(role.keys)


def test_an_add_on_that_names_the_motor_has_the_registers(read: Read) -> None:
    """Silent mode is then its business; the current stays the driver's."""
    plain = read(f"[extruder]\n{_DRIVER}").extruders[0]
    tuned = read(f"[extruder]\n{_DRIVER}[add_on extruder]\nmotor: a-motor\n").extruders[0]
    other = read(f"[extruder]\n{_DRIVER}[add_on stepper_x]\nmotor: a-motor\n").extruders[0]
    for facts, state in ((plain, State.KNOWN), (tuned, State.UNKNOWN), (other, State.KNOWN)):
        assert facts.facts["driver.silent_threshold"].state is state
        assert facts.facts["motor.run_current"].state is State.KNOWN


def test_a_stepper_that_follows_no_extruder_is_none(read: Read) -> None:
    """The feeder of a multi-material unit; the key left empty says so (from memory)."""
    feeder = (
        "[extruder_stepper lane]\nextruder:{}\nmicrosteps: 16\n[tmc2209 extruder_stepper lane]\n"
    )
    for partner, names in (
        ("", ["extruder"]),
        (" extruder", ["extruder", "extruder_stepper lane"]),
    ):
        facts = read(f"[extruder]\nnozzle_diameter: 0.4\n{feeder.format(partner)}")
        assert [one.name for one in facts.extruders] == names
        assert facts.events == ()
