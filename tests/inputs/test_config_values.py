"""Values of a config as facts: every form met in a survey of publicly shared configs.

The forms and the real outliers are carried over from that survey (status found); what the
firmware does with them is Python's own float() and int(), which decide here as well.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from every import every
from held import held

from advisor.base import Event, OriginKind, State
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import ConfigFacts, ExtruderFacts

Read = Callable[..., ConfigFacts]
HEAD = "[extruder]\n"


def one(
    read: Read, line: str, section: str = "extruder"
) -> tuple[ExtruderFacts, tuple[Event, ...]]:
    """Return the extruder and the events of a config with this one setting."""
    config = read(f"[extruder]\n[{section}]\n{line}\n" if section != "extruder" else HEAD + line)
    return config.extruders[0], config.events


@every(
    ("text", "millimetres"),
    [
        ("9", 9.0),
        ("9.9", 9.9),
        (".53033", 0.53033),
        ("22.", 22.0),
        ("0.110", 0.110),
        ("22.6789511234567", 22.6789511234567),
        ("2.2e1", 22.0),
        ("+22", 22.0),
        ("22 # 23.1 for the other one", 22.0),
        ("22#0.5", 22.0),
        ("22 ; or 23", 22.0),
        ("\u00a022", 22.0),
    ],
)
def test_number_forms(read: Read, text: str, millimetres: float) -> None:
    """Each form the firmware accepts gives the same number, in SI."""
    extruder, events = one(read, f"rotation_distance: {text}")
    fact = extruder.facts["drive.rotation_distance"]

    assert fact.state is State.KNOWN
    assert held(fact) == pytest.approx(millimetres * 1e-3, rel=1e-12)
    assert (fact.number.unit, fact.origin.kind) == ("mm", OriginKind.CONFIG)
    assert (fact.origin.at.line, fact.origin.setting) == (2, "rotation_distance")
    assert not events


@pytest.mark.parametrize("delimiter", [":", " : ", "=", " = ", " =", ":\t", "\t:"])
def test_delimiters_and_capitals(read: Read, delimiter: str) -> None:
    """Keys are compared in small letters; the delimiter does not matter."""
    extruder, _ = one(read, f"Gear_Ratio{delimiter}50:10")

    assert held(extruder.facts["drive.gear_ratio"]) == 5.0
    assert extruder.facts["drive.gear_ratio"].origin.setting == "Gear_Ratio"


@every(
    ("text", "why"),
    [
        ("", "empty"),
        ("0,4", "decimal-comma"),
        ("0.4mm", "unit"),
        ("0.4 mm", "unit"),
        ("'0.4'", "quoted"),
        ("????", "placeholder"),
        ("{{ common.nozzle }}", "template"),
        ("0.4;x", "glued-comment"),
        ("0x10", "other"),
        ("nan", "other"),
        ("1_0", "other"),
    ],
)
def test_what_is_no_number_is_never_zero(read: Read, text: str, why: str) -> None:
    """The fact is unreadable and the event says what stands there, with its place."""
    extruder, events = one(read, f"nozzle_diameter: {text}")
    fact = extruder.facts["nozzle.diameter"]

    assert fact.state is State.UNREADABLE
    assert fact.value is None
    assert [(e.kind, e.fact, e.extruder) for e in events] == [
        ("value-no-number", "nozzle.diameter", "extruder")
    ]
    assert events[0].fields["why"] == why
    assert events[0].fields["key"] == "nozzle_diameter"
    assert events[0].at.line == 2


@pytest.mark.parametrize("text", ["16", " 16 ", "+16"])
def test_whole_numbers(read: Read, text: str) -> None:
    """int() decides."""
    extruder, events = one(read, f"microsteps: {text}")

    assert held(extruder.facts["motor.microsteps"]) == int(text)
    assert not events


@pytest.mark.parametrize(
    ("text", "kind"),
    [("16.0", "value-not-whole"), ("1e1", "value-not-whole"), ("x", "value-no-number"),
     ("0", "value-out-of-range"), ("-16", "value-out-of-range")],
)  # fmt: skip
def test_whole_numbers_that_are_none(read: Read, text: str, kind: str) -> None:
    """int() refuses 16.0, so do we; below 1 it cannot be."""
    with pytest.raises(ValueError, match="invalid literal"):
        int("16.0")
    extruder, events = one(read, f"microsteps: {text}")

    assert extruder.facts["motor.microsteps"].state is State.UNREADABLE
    assert [event.kind for event in events] == [kind]


@pytest.mark.parametrize(
    ("key", "text", "limit"),
    [
        ("rotation_distance", "0", "above 0 mm"),
        ("rotation_distance", "-22", "above 0 mm"),
        ("filament_diameter", "0", "above 0 mm"),
        ("max_power", "1.5", "at most 1"),
        ("pressure_advance", "-0.1", "at least 0 s"),
        ("pressure_advance_smooth_time", "0.5", "at most 0.2 s"),
        ("min_temp", "-300", "at least -273.15 degC"),
    ],
)
def test_values_that_cannot_be(read: Read, key: str, text: str, limit: str) -> None:
    """Zero and negative values where they cannot be are no inputs; the event has the limit."""
    extruder, events = one(read, f"{key}: {text}")

    assert [(e.kind, e.fields["limit"]) for e in events] == [("value-out-of-range", limit)]
    assert extruder.facts[events[0].fact].state is State.UNREADABLE


@every(
    ("key", "text"),
    [
        ("nozzle_diameter", "1e155"),
        ("nozzle_diameter", "5e-324"),
        ("filament_diameter", "1e100"),
        ("rotation_distance", "5e-324"),
        ("full_steps_per_rotation", "9" * 400),
        ("gear_ratio", "1e300:1"),
        ("gear_ratio", "1:1e300"),
        ("pressure_advance", "5e-324"),
    ],
)
def test_what_no_machine_has_is_told_and_not_used(read: Read, key: str, text: str) -> None:
    """Finite for Python and of no size a part can have: the fact is unreadable."""
    extruder, (event,) = one(read, f"{key}: {text}")

    assert (event.kind, event.at.line) == ("value-beyond-any-machine", 2)
    assert extruder.facts[event.fact].state is State.UNREADABLE
    assert " to " in event.fields["limit"]


def test_every_number_has_a_range_wide_enough_for_real_machines() -> None:
    """The ends met in shared configs (a survey of 2,856 files) lie well within."""
    met = {
        "rotation_distance": (4.3, 55), "step_distance": (0.0005, 0.0105), "gear_ratio": (1, 14),
        "full_steps_per_rotation": (200, 400), "microsteps": (4, 128),
        "nozzle_diameter": (0.35, 1.75), "filament_diameter": (1.75, 3),
        "max_extrude_only_velocity": (30, 5000), "max_extrude_only_accel": (800, 15000),
        "max_extrude_only_distance": (75, 5000), "max_extrude_cross_section": (0.64, 20000),
        "instantaneous_corner_velocity": (1, 20), "pressure_advance": (0.001, 1.1),
        "min_extrude_temp": (-20, 210), "min_temp": (-250, 10), "max_temp": (238, 1000),
        "run_current": (0.2, 1.2), "hold_current": (0.1, 0.8), "sense_resistor": (0.051, 0.22),
        "stealthchop_threshold": (1, 1e7), "retract_length": (0.27, 6.5),
        "retract_speed": (20, 120),
        "max_velocity": (120, 7000), "max_accel": (250, 50000), "square_corner_velocity": (1, 31),
        "max_accel_to_decel": (500, 1e8),
    }  # fmt: skip
    keys = {key.name: key for role in load_dialect().roles.values() for key in role.keys.values()}

    assert not [name for name, key in keys.items() if (key.range is None) != (key.type == "flag")]
    for name, ends in met.items():
        assert all(end in keys[name].range for end in ends), name


# Real outliers of the survey: judged by rules, never refused by the reader.
@every(
    ("key", "text", "fact", "value"),
    [
        ("min_extrude_temp", "-20", "hotend.min_extrude_temperature", 253.15),
        ("min_temp", "-250", "hotend.min_temperature", 23.15),
        ("max_temp", "1000", "hotend.max_temperature", 1273.15),
        ("max_extrude_cross_section", "20000", "motion.max_cross_section", 0.02),
        ("nozzle_diameter", "1.75", "nozzle.diameter", 1.75e-3),
        ("max_extrude_only_velocity", "5000", "motion.max_extrude_only_velocity", 5.0),
        ("pressure_advance", "1.1", "motion.pressure_advance", 1.1),
        ("heater_power", "50", "hotend.heater_power", 50.0),
    ],
)
def test_real_outliers_are_read(read: Read, key: str, text: str, fact: str, value: float) -> None:
    """An odd value that the firmware takes is a known fact."""
    extruder, events = one(read, f"{key}: {text}")

    assert held(extruder.facts[fact]) == pytest.approx(value)
    assert not events


# gear_ratio as met, and the stages we count: pairs, a lone pair above 6:1 for two, 1:1 none.
@every(
    ("text", "ratio", "stages"),
    [
        ("50:10", 5.0, 1),
        ("9:1", 9.0, 2),
        ("50:17", 50 / 17, 1),
        ("50:8", 6.25, 2),
        ("6:1", 6.0, 1),
        ("7.5:1", 7.5, 2),
        ("1517:170", 1517 / 170, 2),
        ("1:1", 1.0, 0),
        ("90:10", 9.0, 2),
        ("44:7, 37:17", 44 / 7 * 37 / 17, 2),
        ("45:14, 37:17", 45 / 14 * 37 / 17, 2),
        ("107.000:16, 60:16", 107 / 16 * 60 / 16, 2),
        ("44:10,37:17", 4.4 * 37 / 17, 2),
        ("50 : 10", 5.0, 1),
        ("50:10 # 50:17 for the other one", 5.0, 1),
        ("1:1, 50:10", 5.0, 1),
    ],
)
def test_gear_ratios(read: Read, text: str, ratio: float, stages: int) -> None:
    """The product of the pairs, and the number of stages, both from the config."""
    extruder, events = one(read, f"gear_ratio: {text}")

    assert held(extruder.facts["drive.gear_ratio"]) == pytest.approx(ratio, rel=1e-12)
    assert held(extruder.facts["drive.stages"]) == stages
    assert extruder.facts["drive.stages"].origin.at.line == 2
    assert not events
    assert "drive.gear_ratio" not in extruder.defaults
    assert "drive.stages" not in extruder.defaults


@every(
    ("text", "kind", "why"),
    [
        ("50/10", "malformed-ratio", "malformed"),
        ("5", "malformed-ratio", "malformed"),
        ("3.0", "malformed-ratio", "malformed"),
        ("50:", "malformed-ratio", "missing-part"),
        ("50:0", "malformed-ratio", "zero"),
        ("-50:10", "malformed-ratio", "malformed"),
        ("", "value-no-number", "empty"),
        ("????", "value-no-number", "placeholder"),
        ('"50:10"', "value-no-number", "quoted"),
        ("{{ g }}", "value-no-number", "template"),
    ],
)
def test_ratios_that_are_none(read: Read, text: str, kind: str, why: str) -> None:
    """Ratio and stages are unreadable, one event says why."""
    extruder, events = one(read, f"gear_ratio: {text}")

    assert [(e.kind, e.fields["why"], e.fact) for e in events] == [(kind, why, "drive.gear_ratio")]
    assert extruder.facts["drive.gear_ratio"].state is State.UNREADABLE
    assert extruder.facts["drive.stages"].state is State.UNREADABLE
    assert "drive.stages" not in extruder.defaults


@pytest.mark.parametrize(
    ("text", "flag"),
    [
        ("True", True),
        ("False", False),
        ("true", True),
        ("false", False),
        ("TRUE", True),
        ("1", True),
    ],
)
def test_flags(read: Read, text: str, flag: bool) -> None:
    """All spellings met, as the standard library's configparser takes them."""
    import configparser

    assert configparser.ConfigParser.BOOLEAN_STATES[text.lower()] is flag
    extruder, events = one(read, f"interpolate: {text}", "tmc2209 extruder")

    assert held(extruder.facts["driver.interpolate"]) is flag
    assert not events


def test_a_flag_that_is_none(read: Read) -> None:
    """Any other word is an event."""
    extruder, events = one(read, "interpolate: maybe", "tmc2209 extruder")

    assert [event.kind for event in events] == ["value-no-flag"]
    assert extruder.facts["driver.interpolate"].state is State.UNREADABLE


def test_run_current_is_rms_amperes(read: Read) -> None:
    """run_current keeps its kind: A rms."""
    extruder, _ = one(read, "run_current: 0.85#0.5", "tmc2209 extruder")
    fact = extruder.facts["motor.run_current"]

    assert (held(fact), fact.number.unit, fact.origin.text) == (0.85, "A rms", "0.85")


def test_a_swallowed_line_is_one_event(read: Read) -> None:
    """The value above is unreadable; the event stands on the swallowed line, no second one."""
    config = read("[extruder]\nnozzle_diameter: 0.4\n  filament_diameter: 1.75\n")

    assert config.extruders[0].facts["nozzle.diameter"].state is State.UNREADABLE
    assert config.extruders[0].facts["filament.diameter"].state is State.MISSING
    assert [(e.kind, e.at.line, e.fact) for e in config.events] == [
        ("swallowed-line", 3, "filament.diameter")
    ]


def test_a_swallowed_key_of_ours_counts_wherever_it_is(read: Read) -> None:
    """Swallowed by a pin, run_current is still missed; a swallowed pin is not our business."""
    config = read(
        "[extruder]\n[tmc2209 extruder]\nuart_pin: PA1\n  run_current: 0.6\n"
        "tx_pin: PA2\n  diag_pin: PA3\n"
    )

    assert [(e.kind, e.fact, e.at.line) for e in config.events] == [
        ("swallowed-line", "motor.run_current", 4)
    ]


def test_a_swallowed_header_of_ours_counts(read: Read) -> None:
    """A driver section swallowed by any value is missed; a fan's is not our business."""
    config = read("[extruder]\nsensor_pin: PA1\n  [tmc2209 extruder]\nheater_pin: PA2\n  [fan]\n")

    assert [(e.kind, e.at.line, e.extruder) for e in config.events] == [
        ("swallowed-header", 3, "extruder")
    ]


def test_text_below_a_value_that_looks_like_no_setting(read: Read) -> None:
    """A second line of a scalar makes it no number, as for the firmware."""
    config = read("[extruder]\nnozzle_diameter: 0.4\n  0.6\n")

    assert [event.kind for event in config.events] == ["value-no-number"]


def test_duplicates_are_kept_where_they_matter(read: Read) -> None:
    """Of two values the last is the fact; the event names the extruder. Others are dropped."""
    config = read(
        "[extruder]\npressure_advance: 0.0\nsensor_type: a\n[extruder]\npressure_advance: 0.44\n"
        "sensor_type: b\n[fan]\nmax_power: 0.5\nmax_power: 0.6\n[printer]\nmax_velocity: 1\n"
        "max_velocity: 2\n"
    )

    assert held(config.extruders[0].facts["motion.pressure_advance"]) == 0.44
    assert [(e.kind, e.fact, e.extruder) for e in config.events] == [
        ("duplicate-setting", "motion.pressure_advance", "extruder"),
        ("duplicate-setting", "motion.max_velocity", None),
    ]


def test_other_events_of_the_reader_are_handed_on(read: Read) -> None:
    """A missing include is for the rulebook to judge."""
    config = read("[include other.cfg]\n[extruder]\n")

    assert [event.kind for event in config.events] == ["include-missing"]
    assert config.incomplete
