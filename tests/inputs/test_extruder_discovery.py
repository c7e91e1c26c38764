"""Which sections are extruders, whose driver is whose, and what is none of our business."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from every import every
from held import held

from advisor.base import State
from advisor.inputs.dialect import load_dialect
from advisor.inputs.discovery import discover, is_extruder
from advisor.inputs.extruders import ConfigFacts

Read = Callable[..., ConfigFacts]


def names(read: Read, text: str) -> list[str]:
    """Return the extruders of a config."""
    return [extruder.name for extruder in read(text).extruders]


@pytest.mark.parametrize("count", range(5))
def test_none_to_four_extruders_in_order(read: Read, count: int) -> None:
    """`extruder`, `extruder1` ... in the order of their numbers, wherever they stand."""
    expected = ["extruder", "extruder1", "extruder2", "extruder10"][:count]
    text = "[printer]\n" + "".join(f"[{name}]\n" for name in reversed(expected))

    assert names(read, text) == expected


@every(
    "section",
    ["stepper_x", "stepper_addon_gear", "stepper_addon_gear_1", "manual_stepper feed",
     "extruder_stepper", "extruders", "extruder 1", "extruder01", "extruder0", "Variables",
     "gcode_macro extruder", "extruder{{ n }}"],
)  # fmt: skip
def test_feeders_and_others_are_no_extruders(read: Read, section: str) -> None:
    """Add-on feeder steppers have a gear ratio and a run current, yet are no extruders."""
    config = read(f"[{section}]\ngear_ratio: 80:20\n[tmc2209 {section}]\nrun_current: 0.x\n")

    assert config.extruders == ()
    assert not is_extruder(load_dialect(), section)
    assert [e.kind for e in config.events if e.kind.startswith("value")] == []


def test_driver_section_belongs_by_name(read: Read) -> None:
    """Each extruder gets the driver section that carries its name, chip and all."""
    config = read(
        "[tmc5160 extruder1]\nrun_current: 0.9\n[extruder]\n[extruder1]\n[tmc2209 extruder]\n"
        "run_current: 0.5\n[tmc2209 stepper_x]\nrun_current: 1.2\n"
    )
    first, second = config.extruders

    assert (first.driver, first.chip) == ("tmc2209 extruder", "tmc2209")
    assert held(first.facts["motor.run_current"]) == 0.5
    assert (second.driver, second.chip) == ("tmc5160 extruder1", "tmc5160")
    assert held(second.facts["motor.run_current"]) == 0.9
    assert second.facts["driver.chip"].text == "tmc5160"
    assert second.facts["driver.chip"].origin.at.line == 1
    assert not config.events


def test_blanks_in_headers_do_not_matter(read: Read) -> None:
    """Double blanks and tabs between the words are met in real files."""
    config = read("[extruder]\n[tmc2209 \t extruder]\nrun_current: 0.5\n")

    assert held(config.extruders[0].facts["motor.run_current"]) == 0.5


@pytest.mark.parametrize(
    ("section", "right"),
    [("Extruder1", "extruder1"), ("TMC2209 extruder", "tmc2209 extruder"),
     ("tmc2209 Extruder", "tmc2209 extruder"), ("Printer", "printer"),
     ("Extruder_Stepper belt", "extruder_stepper belt")],
)  # fmt: skip
def test_wrong_case(read: Read, section: str, right: str) -> None:
    """Section names are compared exactly, as the firmware does; the event has the right one."""
    config = read(f"[extruder]\n[{section}]\nrun_current: 0.5\n")

    assert [(e.kind, e.fields["right"], e.at.line) for e in config.events] == [
        ("section-wrong-case", right, 2)
    ]
    assert config.extruders[0].facts["motor.run_current"].state is State.MISSING


def test_wrong_case_of_a_stepper_name(read: Read) -> None:
    """A stepper's own name may hold capitals; its driver must repeat them."""
    config = read("[extruder_stepper Belt]\n[tmc2209 extruder_stepper belt]\nrun_current: 1\n")

    assert names(read, "[extruder_stepper Belt]\n") == ["extruder_stepper Belt"]
    assert [(e.kind, e.fields["right"]) for e in config.events] == [
        ("section-wrong-case", "tmc2209 extruder_stepper Belt")
    ]


def test_driver_without_extruder(read: Read) -> None:
    """A driver for an extruder that is nowhere is an event, unless an include is missing."""
    text = "[extruder]\n[tmc2209 extruder1]\nrun_current: 0.5\n"

    events = read(text).events
    assert [(e.kind, e.fields["owner"], e.at.line) for e in events] == [
        ("driver-without-extruder", "extruder1", 2)
    ]
    incomplete = read("[include gone.cfg]\n" + text)
    assert [e.kind for e in incomplete.events] == ["include-missing"]


def test_two_drivers(read: Read) -> None:
    """The first counts, the second is an event."""
    config = read(
        "[extruder]\n[tmc2209 extruder]\nrun_current: 0.5\n[tmc5160 extruder]\nrun_current: 0.9\n"
    )

    assert held(config.extruders[0].facts["motor.run_current"]) == 0.5
    assert [(e.kind, e.extruder, e.fields["other"]) for e in config.events] == [
        ("two-drivers", "extruder", "tmc2209 extruder")
    ]


def test_unknown_chip(read: Read) -> None:
    """A chip we have no data of is said; its settings are read all the same."""
    config = read("[extruder]\n[tmc9999 extruder]\nrun_current: 0.5\n")

    assert [(e.kind, e.fields["chip"]) for e in config.events] == [("driver-unknown", "tmc9999")]
    assert held(config.extruders[0].facts["motor.run_current"]) == 0.5


def test_stepper_takes_its_partner_s_hotend_and_keeps_its_own_gears(read: Read) -> None:
    """Nozzle, filament and limits come from the partner; gears, steps and advance do not."""
    config = read(
        "[extruder]\nnozzle_diameter: 0.6\nrotation_distance: 22\ngear_ratio: 5:1\n"
        "pressure_advance: 0.05\nmax_extrude_only_distance: 100\nmax_temp: 300\n"
        "[extruder_stepper belt]\nextruder: extruder\nrotation_distance: 33\n"
        "[tmc2209 extruder_stepper belt]\nrun_current: 0.4\n"
    )
    stepper = config.extruders[1]

    assert (stepper.name, stepper.partner) == ("extruder_stepper belt", "extruder")
    assert held(stepper.facts["nozzle.diameter"]) == pytest.approx(0.6e-3)
    assert stepper.facts["nozzle.diameter"].origin.at.line == 2
    assert held(stepper.facts["hotend.max_temperature"]) == pytest.approx(573.15)
    assert held(stepper.facts["drive.rotation_distance"]) == pytest.approx(33e-3)
    assert stepper.facts["drive.gear_ratio"].state is State.MISSING
    assert stepper.defaults["drive.gear_ratio"].value == 1.0
    assert stepper.facts["motion.pressure_advance"].state is State.MISSING
    assert stepper.defaults["motion.pressure_advance"].value == 0.0
    assert held(stepper.facts["motor.run_current"]) == 0.4
    assert stepper.facts["drive.rotation_distance"].origin.at.line == 10


def test_a_mistake_of_the_partner_is_told_once(read: Read) -> None:
    """The stepper inherits the unreadable value, not the event."""
    config = read("[extruder]\nnozzle_diameter: x\n[extruder_stepper belt]\nextruder: extruder\n")

    assert config.extruders[1].facts["nozzle.diameter"].state is State.UNREADABLE
    assert [event.kind for event in config.events] == ["value-no-number"]


def test_partner_that_is_not_there(read: Read) -> None:
    """A stepper of no extruder stands alone."""
    config = read("[extruder_stepper belt]\nextruder: extruder\n")

    assert [(e.kind, e.fields["partner"]) for e in config.events] == [
        ("partner-missing", "extruder")
    ]
    assert config.extruders[0].facts["nozzle.diameter"].state is State.MISSING
    assert "hotend.max_power" not in config.extruders[0].defaults


def test_discovery_is_by_name_alone() -> None:
    """Names in, sections out: the order of the file does not change the order of extruders."""
    found = discover(["tmc2209 extruder", "printer", "extruder1", "extruder"], load_dialect())

    assert [(one.name, one.driver) for one in found.extruders] == [
        ("extruder", "tmc2209 extruder"),
        ("extruder1", None),
    ]
    assert found.machine == {"printer": "printer"}


@pytest.mark.parametrize("word", ["tmc_2209", "TMC-2209", "drv8825", "tmc2209x"])
def test_a_driver_whose_word_is_no_chip_s_is_told(read: Read, word: str) -> None:
    """It is not missing: its section stands there, and is not read."""
    config = read(f"[extruder]\n[{word} extruder]\nrun_current: 0.5\n")
    (event,) = config.events
    chip = config.extruders[0].facts["driver.chip"]

    assert (event.kind, event.at.line) == ("driver-word-unknown", 2)
    assert event.fields == {
        "section": f"{word} extruder", "word": word, "extruder": "extruder",
    }  # fmt: skip
    assert chip.state is State.UNREADABLE
    assert config.extruders[0].facts["motor.run_current"].state is State.MISSING


@pytest.mark.parametrize(
    "section", ["verify_heater extruder", "heater_fan extruder", "endstop_phase extruder"]
)
def test_other_sections_of_an_extruder_are_no_drivers(read: Read, section: str) -> None:
    """Microsteps and the like are shared; only a driver's own settings make a driver."""
    config = read(f"[extruder]\n[{section}]\nmicrosteps: 16\nmax_power: 1\n")

    assert not config.events
    assert config.extruders[0].facts["driver.chip"].state is State.MISSING
