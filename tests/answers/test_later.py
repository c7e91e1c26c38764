"""What macros set later, as it is told; such macros are common practice, no source."""

from __future__ import annotations

from pathlib import Path

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
[tmc2209 extruder]
run_current: 0.5
"""


def _told(tmp_path: Path, *macros: str) -> Report:
    path = tmp_path / "printer.cfg"
    named = "".join(f"[gcode_macro M{n}]\n{body}\n" for n, body in enumerate(macros))
    path.write_text(_CONFIG + named)
    return check(str(path), Asks())


def test_each_setting_is_told_once_with_its_macros(tmp_path: Path) -> None:
    """All values, the first place; what the config has anyway is none."""
    report = _told(
        tmp_path,
        "gcode:\n  SET_VELOCITY_LIMIT ACCEL=2000\n  SET_PRESSURE_ADVANCE ADVANCE=0.04",
        "gcode:\n  SET_VELOCITY_LIMIT ACCEL=9000 VELOCITY=300\n  M221 S100",
        "gcode:\n  SET_PRESSURE_ADVANCE ADVANCE={params.A|default(0.07)}",
    )
    (one,) = report.later
    assert (one.fact, one.values, one.macros) == ("motion.max_accel", (2000, 9000), ("M0", "M1"))
    assert one.at.line == 15
    told = " ".join(text.render(report, full=True).split())
    assert "set to 2000 to 9000 mm/s\u00b2 by macros M0 and M1" in told
    assert "1 value is set later (--full)" in text.render(report)
    assert report.findings == ()


def test_a_largest_flow_that_is_kept_may_be_asked(tmp_path: Path) -> None:
    """It is told with the option that holds the machine to it; nothing is judged by it."""
    report = _told(tmp_path, "variable_max_flow: 24\ngcode:\n  M117 x")
    (one,) = report.later
    assert one.kept
    assert "--asked 24mm3/s" in text.render(report)
    assert report.findings == ()
    assert not report.extruders[0].facts["demand.asked_flow"].known


def test_a_turn_that_a_macro_sets_is_told(tmp_path: Path) -> None:
    """22.6 mm in the config, 21.4 mm in a macro; the very value of the config is none."""
    turn = "gcode:\n  SET_EXTRUDER_ROTATION_DISTANCE EXTRUDER=extruder DISTANCE="
    report = _told(tmp_path, f"{turn}21.4", f"{turn}22.6", "gcode:\n  M221 S88")
    told = {one.fact: (one.values, one.macros) for one in report.later}
    assert told == {
        "drive.rotation_distance": ((21.4,), ("M0",)),
        "macro.flow_factor": ((88,), ("M2",)),
    }
