"""What a profile's start code sets; commands and their words are common practice, no source."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from every import every

from advisor import Asks, Report, check
from advisor.report import text

_CONFIG = """[printer]
max_velocity: 300
max_accel: 4000
[extruder]
microsteps: 16
rotation_distance: 22.6
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 1.75
pressure_advance: 0.04
min_temp: 0
max_temp: 285
[tmc2209 extruder]
run_current: 0.5
"""
_PROFILE = "filament_type = PLA\nlayer_height = 0.2\nnozzle_diameter = 0.4\n"


def _told(tmp_path: Path, code: str, *, key: str = "start_gcode", sheet: str = "") -> Report:
    config, profile = tmp_path / "printer.cfg", tmp_path / "profile.ini"
    config.write_text(_CONFIG)
    profile.write_text(f"{_PROFILE}{key} = {code}\n")
    if sheet:
        (tmp_path / "hardware.yaml").write_text(sheet)
    return check(str(config), Asks(profiles=(str(profile),)))


@every(
    "code, fact, value",
    [
        ("G28\\nSET_VELOCITY_LIMIT ACCEL=9000", "motion.max_accel", 9000),
        ("M109 S[temperature]\\nM221 S95 ; thick", "macro.flow_factor", 95),
        ("SET_TMC_CURRENT STEPPER=extruder CURRENT=0.6", "motor.run_current", 0.6),
        ("SET_GCODE_VARIABLE MACRO=LINE VARIABLE=max_flow VALUE=22", "demand.stated_flow", 22),
        ("{if x}\\nM204 S900\\n{endif}\\nM204 S2000", "motion.max_accel", 2000),
    ],
)
def test_what_stands_there_as_a_number_is_told_with_its_line(
    tmp_path: Path, code: str, fact: str, value: float
) -> None:
    """As of macros, by the same table, at the line of the field."""
    report = _told(tmp_path, code)
    (one,) = report.later
    assert (one.fact, one.values) == (fact, (pytest.approx(value),))
    assert (one.profile, one.macros, one.at.line) == (True, ("start_gcode",), 4)
    assert "by the profile's start_gcode" in " ".join(text.render(report, full=True).split())
    assert report.findings == ()


@every(
    "code",
    [
        "{if layer > 2}M221 S90{endif}",
        "{if x}\\nSET_VELOCITY_LIMIT ACCEL=9000\\n{endif}",
        "{if x}\\nG28\\n{if y}\\nM221 S90\\n{endif}\\nM204 S900\\n{endif}",
        "SET_VELOCITY_LIMIT ACCEL={accel}",
        "SET_VELOCITY_LIMIT ACCEL=[accel]",
        "; M221 S90",
        "SET_VELOCITY_LIMIT ACCEL=4000",  # as in the config
        "SET_TMC_CURRENT STEPPER=stepper_x CURRENT=0.9",
        "SET_PRESSURE_ADVANCE ADVANCE=0.06",  # two places: a finding tells it
        "SET_GCODE_VARIABLE MACRO=LINE VARIABLE=count VALUE=22",
    ],
)
def test_what_only_the_slicer_knows_is_not_told(tmp_path: Path, code: str) -> None:
    """Placeholders, conditions and comments."""
    assert _told(tmp_path, code).later == ()


def test_a_current_and_a_temperature_are_judged_as_those_of_macros(tmp_path: Path) -> None:
    """1.9 A on a motor of 1 A, and 400 degC at a limit of 285; both name the profile."""
    code = "M104 S[temperature]\\nSET_TMC_CURRENT STEPPER=extruder CURRENT=1.9\\nM109 S400"
    report = _told(tmp_path, code, sheet="motor:\n  rated_current: 1.0 A peak\n")
    found = {one.rule: one for one in report.findings}
    assert set(found) == {"macro-current-above-rating", "macro-temperature-above-limit"}
    for one in found.values():
        assert one.message.startswith("The profile's start_gcode sets ")
        assert one.at is not None
        assert (Path(one.at.file).name, one.at.line) == ("profile.ini", 4)


def test_a_json_profile_has_its_start_code_in_a_list(tmp_path: Path) -> None:
    """Of the printer and of the filament."""
    config, profile = tmp_path / "printer.cfg", tmp_path / "profile.json"
    config.write_text(_CONFIG)
    data = {
        "type": "filament",
        "name": "made up",
        "filament_type": ["PLA"],
        "filament_start_gcode": ["; note\nM221 S94\n"],
        "machine_start_gcode": "G28\nSET_VELOCITY_LIMIT ACCEL=9000\n",
    }
    profile.write_text(json.dumps(data, indent=1))
    later = check(str(config), Asks(profiles=(str(profile),))).later
    assert {(one.fact, one.macros) for one in later} == {
        ("motion.max_accel", ("machine_start_gcode",)),
        ("macro.flow_factor", ("filament_start_gcode",)),
    }
