"""Values as people write them: a rating with its basis, a number without a unit, a ratio.

How people write them is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor import Asks, check
from advisor.answers.derate_motor import derate
from advisor.answers.starter import starter_sheet
from advisor.base import SheetError, UsageError

_CONFIG = """[printer]
max_velocity: 300
max_accel: 4000
[extruder]
microsteps: 16
rotation_distance: 22.6
gear_ratio: 44:7, 37:17
nozzle_diameter: 0.4
filament_diameter: 1.75
min_temp: 0
max_temp: 285
[tmc2209 extruder]
run_current: 0.5
"""


@pytest.mark.parametrize(
    ("rating", "basis"),
    [("1.0A peak", "peak"), ("1.0 A RMS", "rms"), ("1.0 A peak", "peak"), ("1000mA rms", "rms")],
)
def test_a_rating_may_say_what_it_means(rating: str, basis: str) -> None:
    """The same as the number and the option."""
    said, given = derate(rating), derate("1.0A", basis=basis)
    assert said.basis == basis
    assert said.set_current == given.set_current


def test_a_rating_and_an_option_that_disagree_are_refused() -> None:
    """Neither is taken."""
    with pytest.raises(UsageError, match="disagree"):
        derate("1.0A peak", basis="rms")


def test_a_reference_resistor_has_its_own_option() -> None:
    """12 kohm is the usual one of that chip: stated or not, the same driver."""
    usual = derate("1.0A", driver="tmc2240")
    assert derate("1.0A", driver="tmc2240", reference_resistor="12kohm") == usual
    assert derate("1.0A", driver="tmc2240", reference_resistor="12") == usual
    for more in ({"driver": "tmc2209"}, {}, {"driver": "tmc2240", "sense_resistor": "12kohm"}):
        with pytest.raises(UsageError):
            derate("1.0A", reference_resistor="12kohm", **more)


def _sheet(tmp_path: Path, text: str) -> tuple[list[str], tuple[str, ...]]:
    config, sheet = tmp_path / "printer.cfg", tmp_path / "hardware.yaml"
    config.write_text(_CONFIG)
    sheet.write_text(text)
    report = check(str(config), Asks(sheet=str(sheet)))
    told = [one.message for one in report.findings if one.rule == "sheet-number-without-unit"]
    return told, report.errors


def test_a_number_without_unit_is_taken_where_one_unit_is_possible(tmp_path: Path) -> None:
    """It is said, once; 'degC' may be left away, and so may the blank before it."""
    told, errors = _sheet(tmp_path, "ambient: 45\nfilament: {temperature: 240C, diameter: 1.75}\n")
    assert errors == ()
    (message,) = told
    assert "ambient 45 degC" in message
    assert "filament.diameter 1.75 mm" in message
    assert "240" not in message


@pytest.mark.parametrize("text", ["motor: {holding_torque: 10}\n", "motor: {rated_current: 850}\n"])
def test_a_number_that_may_be_in_two_units_is_refused(tmp_path: Path, text: str) -> None:
    """N m or N cm; amperes beyond any motor are milliamperes."""
    with pytest.raises(SheetError):
        _sheet(tmp_path, text)


def test_a_blank_sheet_shows_the_ratio_of_the_config(tmp_path: Path) -> None:
    """As it stands there, not another one."""
    path = tmp_path / "printer.cfg"
    path.write_text(_CONFIG)
    assert "gear_ratio: 44:7, 37:17" in starter_sheet(str(path), Asks())


@pytest.mark.parametrize(
    ("config", "command", "told"),
    [
        ("", "M900 K0.05", []),  # the profile is the one place
        ("pressure_advance: 0.04\n", "M900 K0.05", ["pressure-advance-in-two-places"]),
        ("pressure_advance: 0.05\n", "M900 K0.05", ["profile-advance-in-text"]),
        ("pressure_advance: 0.04\n", "M900 K{k}", ["profile-advance-in-text"]),
        ("pressure_advance: 0\n", "M900 K{k}", []),
    ],
)
def test_advance_in_start_code_is_told_where_the_config_sets_one_too(
    tmp_path: Path, config: str, command: str, told: list[str]
) -> None:
    """Once: as two values where both are known."""
    path, profile = tmp_path / "printer.cfg", tmp_path / "profile.ini"
    path.write_text(_CONFIG.replace("min_temp", f"{config}min_temp"))
    text = "filament_type = PLA\nlayer_height = 0.2\nnozzle_diameter = 0.4\n"
    profile.write_text(f'{text}start_filament_gcode = "{command}"\n')
    report = check(str(path), Asks(profiles=(str(profile),)))
    assert [one.rule for one in report.findings if "advance-in" in one.rule] == told
