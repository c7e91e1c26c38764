"""No largest flow of 0 is proposed: to slicers 0 means no limit (common practice, no source)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from advisor import Asks
from advisor.answers.flow_limit import flow
from advisor.answers.lint import check
from advisor.answers.mend_rounds import make_plan
from advisor.report import flow_text, text as report_text
from advisor.report.json import as_json, json_schema

CONFIG = """\
# Invented: a machine whose motor can push nothing.
[printer]
max_velocity: 300
max_accel: 5000
[extruder]
rotation_distance: 7.7
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
min_temp: 0
max_temp: 275
[tmc2208 extruder]
run_current: 0.02
"""
SHEET = """\
motor: {class: square-42-long, rated_current: 1.7 A, rating_basis: rms, holding_torque: 0.4 N m}
drive: {driven_gears: 2, gear_diameter: 7.7 mm, mount: metal}
filament: {material: abs, temperature: 245 degC}
"""
CAPPED = "filament_type = ABS\nfilament_max_volumetric_speed = 24\n"
OPEN = "filament_type = ABS\nlayer_height = 0.2\nextrusion_width = 0.45\nperimeter_speed = 200\n"


@pytest.fixture
def weak(tmp_path: Path) -> Path:
    """A machine whose capacity is 0."""
    (tmp_path / "printer.cfg").write_text(CONFIG)
    (tmp_path / "hardware.yaml").write_text(SHEET)
    return tmp_path


@pytest.mark.parametrize("profile", [CAPPED, OPEN])
def test_nothing_is_proposed_and_the_reason_is_told(weak: Path, profile: str) -> None:
    """flow, its JSON, lint and mend: no number to set, one finding that says why."""
    (weak / "fast.ini").write_text(profile)
    config, asks = str(weak / "printer.cfg"), Asks(profiles=(str(weak / "fast.ini"),))

    report = flow(config, asks)
    assert report.capacity is not None
    assert report.capacity.value == 0.0
    assert report.set_to is None
    assert "cannot be printed as stated" in (report.no_set_to or "")
    assert "cannot be printed as stated" in " ".join(flow_text.render(report).split())
    tree = json.loads(as_json(report))
    Draft202012Validator(json_schema()).validate(tree)
    assert tree["set_to"] is None
    assert "0 means no limit" in tree["no_set_to"]

    checked = check([config], asks)
    (told,) = [one for one in checked.findings if one.rule == "no-printable-flow"]
    assert told.fix is None
    assert "motor 0 mm3/s" in told.message
    assert not any(one.rule.endswith("-above-capacity") for one in checked.findings)
    text = " ".join(report_text.render(checked, full=True).split())
    assert "cannot be printed as stated" in text
    for words in ("largest volumetric flow to 0", "speed to 0 ", "speed: 0", "to unknown"):
        assert words not in text
    edits = make_plan(config, asks).changes.values()
    assert not any("volumetric" in one.setting for one in edits)


def test_a_machine_that_can_print_has_a_cap(weak: Path) -> None:
    """With current enough and a hotend stated the figure is there, and no reason why not."""
    (weak / "printer.cfg").write_text(CONFIG.replace("0.02", "0.9"))
    (weak / "hardware.yaml").write_text(SHEET + "hotend: {class: standard}\n")
    report = flow(str(weak / "printer.cfg"), Asks(asked="24 mm3/s"))
    assert report.no_set_to is None
    assert report.set_to is not None
    assert report.set_to >= 0.1


def test_the_hotend_is_not_blamed_for_a_motor_that_pushes_nothing(weak: Path) -> None:
    """Nobody states it, but no class of hotend gives such a machine a flow: it is not asked for."""
    report = flow(str(weak / "printer.cfg"), Asks(asked="24 mm3/s"))
    assert report.cases == ()
    (weak / "printer.cfg").write_text(CONFIG.replace("0.02", "0.9"))
    report = flow(str(weak / "printer.cfg"), Asks(asked="24 mm3/s"))
    assert "depends on the hotend" in (report.no_set_to or "")
    assert [case.set_to is not None for case in report.cases] == [True] * 3
