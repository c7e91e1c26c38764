"""What a config does not state: missing, unknown, or left to the firmware's default.

The defaults themselves are from memory (marked so in rules/dialects/ini_firmware.yaml); the
test holds them to the figures the firmware's documentation is remembered to give.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from every import every
from held import held

from advisor.base import Fact, State
from advisor.catalog import load_catalog
from advisor.expression import compile_expression, evaluate
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import ConfigFacts

Read = Callable[..., ConfigFacts]
FULL = "[printer]\n[firmware_retraction]\n[extruder]\n[tmc2209 extruder]\n"


def test_missing_and_unknown(read: Read) -> None:
    """Absent is not the same as unknown because an include is missing."""
    here = read("[extruder]\n").extruders[0].facts["nozzle.diameter"]
    gone = read("[include gone.cfg]\n[extruder]\n").extruders[0].facts["nozzle.diameter"]

    assert (here.state, gone.state) == (State.MISSING, State.UNKNOWN)
    assert here.origin.setting == "nozzle_diameter"
    assert (here.home.line, gone.home.line) == (1, 2)


def test_what_most_configs_do_without_is_not_missed(read: Read) -> None:
    """The old style of a setting is not looked for in an include that is not there."""
    facts = read("[include gone.cfg]\n[extruder]\n").extruders[0].facts
    assert facts["drive.step_distance"].state is State.MISSING
    assert facts["drive.rotation_distance"].state is State.UNKNOWN


def test_stated_values_stay_known_after_a_missing_include(read: Read) -> None:
    """What could be read is known."""
    config = read("[include gone.cfg]\n[extruder]\nnozzle_diameter: 0.4\n")

    assert config.extruders[0].facts["nozzle.diameter"].state is State.KNOWN


def test_an_included_file_counts(read: Read) -> None:
    """A section split over two files is one section; the place names the file."""
    config = read(
        "[include more.cfg]\n[extruder]\nnozzle_diameter: 0.4\n",
        **{"more.cfg": "[extruder]\nfilament_diameter: 1.75\n"},
    )
    fact = config.extruders[0].facts["filament.diameter"]

    assert not config.incomplete
    assert (fact.origin.at.file, fact.origin.at.line) == ("more.cfg", 2)


@every(
    ("fact", "value"),
    [
        ("drive.gear_ratio", 1.0),
        ("drive.stages", 0.0),
        ("motor.full_steps", 200.0),
        ("motion.max_extrude_only_distance", 0.050),
        ("motion.corner_velocity", 0.001),
        ("motion.pressure_advance", 0.0),
        ("motion.smooth_time", 0.040),
        ("hotend.min_extrude_temperature", 170.0 + 273.15),
        ("hotend.max_power", 1.0),
        ("driver.sense_resistor", 0.110),
        ("driver.silent_threshold", 0.0),
        ("driver.interpolate", True),
    ],
)
def test_defaults_of_an_extruder(read: Read, fact: str, value: float) -> None:
    """The firmware's documented defaults, from memory."""
    extruder = read(FULL).extruders[0]
    default = extruder.defaults[fact]

    assert default.value == pytest.approx(value)
    assert (default.source, default.status) == ("firmware-defaults", "memory")
    assert extruder.facts[fact].state is State.MISSING


@pytest.mark.parametrize(
    ("fact", "value"),
    [("motion.square_corner_velocity", 0.005), ("motion.min_cruise_ratio", 0.5),
     ("motion.retract_length", 0.0), ("motion.retract_speed", 0.020),
     ("motion.unretract_speed", 0.010)],
)  # fmt: skip
def test_defaults_of_the_machine(read: Read, fact: str, value: float) -> None:
    """The firmware's documented defaults, from memory."""
    assert read(FULL).machine_defaults[fact].value == pytest.approx(value)


@pytest.mark.parametrize(
    "fact", ["motion.max_velocity", "motion.max_accel"]
)  # fmt: skip
def test_what_the_firmware_insists_on_has_no_default(read: Read, fact: str) -> None:
    """A required key stays missing."""
    config = read(FULL)

    assert fact not in config.machine_defaults
    assert config.machine[fact].state is State.MISSING


def test_a_section_that_is_not_there_has_no_defaults(read: Read) -> None:
    """Without firmware retraction no retract speed is made up; without a driver no resistor."""
    config = read("[extruder]\n")

    assert config.machine_defaults == {}
    assert config.machine["motion.retract_speed"].state is State.MISSING
    assert "driver.sense_resistor" not in config.extruders[0].defaults
    assert config.extruders[0].facts["motor.run_current"].home.line == 1


@pytest.mark.parametrize(
    ("chip", "fact", "value"),
    [("tmc2209", "driver.sense_resistor", 0.110), ("tmc2208", "driver.sense_resistor", 0.110),
     ("tmc5160", "driver.sense_resistor", 0.075),
     ("tmc2240", "driver.reference_resistor", 12e3)],
)  # fmt: skip
def test_the_chip_has_its_own_default_resistor(
    read: Read, chip: str, fact: str, value: float
) -> None:
    """The default comes from the chip's catalogue entry (memory)."""
    extruder = read(f"[extruder]\n[{chip} extruder]\nrun_current: 0.5\n").extruders[0]

    assert extruder.defaults[fact].value == pytest.approx(value)


def test_a_chip_without_a_default_resistor_has_none(read: Read) -> None:
    """The older SPI driver needs the key; the integrated one has no sense resistor."""
    for chip in ("tmc2660", "tmc2240", "tmc9999"):
        extruder = read(f"[extruder]\n[{chip} extruder]\n").extruders[0]
        assert "driver.sense_resistor" not in extruder.defaults
        assert extruder.facts["driver.sense_resistor"].state is State.MISSING


def test_resistors_are_read(read: Read) -> None:
    """0.22 ohm, and 12300 ohm as written for the integrated one."""
    sense = read("[extruder]\n[tmc2130 extruder]\nsense_resistor: 0.220\n").extruders[0]
    reference = read("[extruder]\n[tmc2240 extruder]\nrref: 12300\n").extruders[0]

    assert held(sense.facts["driver.sense_resistor"]) == 0.220
    assert held(reference.facts["driver.reference_resistor"]) == 12300.0
    assert reference.facts["driver.reference_resistor"].number.unit == "kohm"


def evaluated(text: str, **values: float) -> float:
    """Evaluate a default's expression over SI values."""
    catalog = load_catalog()
    facts = {
        (name := key.replace("__", ".")): Fact.of(name, catalog.facts[name].unit, value)
        for key, value in values.items()
    }
    return float(evaluate(compile_expression(text, catalog.facts), facts).value)


def test_extrude_only_defaults_follow_the_documented_rule(read: Read) -> None:
    """A move of 4 d^2 cross-section at the speed limit: 300 mm/s x 4 x 0.16 / 2.4053 mm2.

    The rule is from memory of the documentation: the default cross-section counts, whatever
    cross-section is set.
    """
    extruder = read(FULL + "[extruder]\nmax_extrude_cross_section: 20000\n").extruders[0]
    values = {
        "motion__max_velocity": 0.3,
        "motion__max_accel": 3.0,
        "nozzle__diameter": 0.4e-3,
        "filament__area": 2.4053e-6,
    }
    speed = extruder.defaults["motion.max_extrude_only_velocity"].expression
    accel = extruder.defaults["motion.max_extrude_only_accel"].expression

    assert evaluated(speed, **values) == pytest.approx(0.3 * 4 * 0.16 / 2.4053)
    assert evaluated(accel, **values) == pytest.approx(3.0 * 4 * 0.16 / 2.4053)


def test_cross_section_and_hold_current_defaults(read: Read) -> None:
    """4 d^2, and the run current."""
    defaults = read(FULL).extruders[0].defaults
    section = defaults["motion.max_cross_section"].expression
    hold = defaults["motor.hold_current"].expression

    assert evaluated(section, nozzle__diameter=0.4e-3) == pytest.approx(0.64e-6)
    assert evaluated(hold, motor__run_current=0.6) == 0.6


def test_old_style_braking_limit_gives_the_cruise_ratio(read: Read) -> None:
    """max_accel_to_decel of half the acceleration is a minimum cruise ratio of 0.5."""
    config = read("[printer]\nmax_accel: 5000\nmax_accel_to_decel: 2500\n")
    default = config.machine_defaults["motion.min_cruise_ratio"]

    assert default.setting == "max_accel_to_decel"
    ratio = evaluated(default.expression, motion__accel_to_decel=2.5, motion__max_accel=5.0)
    assert ratio == pytest.approx(0.5)
    huge = evaluated(default.expression, motion__accel_to_decel=1e5, motion__max_accel=5.0)
    assert huge == 0.0


def test_the_new_style_wins_over_the_old(read: Read) -> None:
    """A stated cruise ratio is not overruled."""
    config = read("[printer]\nminimum_cruise_ratio: 0.3\nmax_accel_to_decel: 2500\n")

    assert held(config.machine["motion.min_cruise_ratio"]) == 0.3
    assert "motion.min_cruise_ratio" not in config.machine_defaults


def test_old_style_step_distance_stands_for_distance_and_ratio(read: Read) -> None:
    """Filament per microstep holds the gears already: no default ratio of 1:1 is applied."""
    extruder = read("[extruder]\nstep_distance: 0.0066# .010526\nmicrosteps: 16\n").extruders[0]

    assert held(extruder.facts["drive.step_distance"]) == pytest.approx(6.6e-6)
    assert extruder.facts["drive.gear_ratio"].state is State.MISSING
    assert "drive.gear_ratio" not in extruder.defaults
    assert "drive.stages" not in extruder.defaults
    assert extruder.defaults["motor.full_steps"].value == 200.0


def test_old_and_new_style_together(read: Read) -> None:
    """Both distances stated: an event on the old one."""
    config = read("[extruder]\nstep_distance: 0.0066\nrotation_distance: 22\n")

    assert [(e.kind, e.fields["key"], e.fields["other"]) for e in config.events] == [
        ("replaced-setting", "step_distance", "rotation_distance")
    ]


def test_microsteps_in_the_driver_section(read: Read) -> None:
    """The old place counts where the extruder's section has none."""
    old = read("[extruder]\n[tmc2209 extruder]\nmicrosteps: 32\n").extruders[0]
    both = read("[extruder]\nmicrosteps: 16\n[tmc2209 extruder]\nmicrosteps: 32\n").extruders[0]

    assert held(old.facts["motor.microsteps"]) == 32
    assert held(both.facts["motor.microsteps"]) == 16


def test_unreadable_settings_get_no_default(read: Read) -> None:
    """A value that is no number is not replaced by the default."""
    extruder = read("[extruder]\nmax_power: full\n").extruders[0]

    assert extruder.facts["hotend.max_power"].state is State.UNREADABLE
    assert "hotend.max_power" not in extruder.defaults


def test_every_expression_of_the_dialect_compiles() -> None:
    """Defaults are written in the condition language, their units checked."""
    vocabulary = load_catalog().facts
    texts = set(load_dialect().expressions())

    assert len(texts) == 5
    for text in texts:
        compile_expression(text, vocabulary)


def test_every_key_of_the_survey_is_known() -> None:
    """The keys an extruder check needs, as the survey of public configs names them."""
    roles = load_dialect().roles
    expected = {
        "extruder": "rotation_distance step_distance gear_ratio full_steps_per_rotation microsteps "
        "nozzle_diameter filament_diameter max_extrude_only_velocity max_extrude_only_accel "
        "max_extrude_only_distance max_extrude_cross_section instantaneous_corner_velocity "
        "pressure_advance pressure_advance_smooth_time min_extrude_temp min_temp max_temp "
        "max_power heater_power",
        "retraction": "retract_length retract_speed unretract_speed",
        "printer": "max_velocity max_accel square_corner_velocity max_accel_to_decel "
        "minimum_cruise_ratio",
        "driver": "run_current hold_current sense_resistor rref stealthchop_threshold interpolate "
        "microsteps",
    }

    unknown = {
        role: missing
        for role, words in expected.items()
        if (missing := set(words.split()) - set(roles[role].keys))
    }
    assert unknown == {}
