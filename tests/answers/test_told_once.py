"""What two extruders, or two configs, have in common is told once."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.lint import check
from advisor.base import Report

EXTRUDER = """\
[printer]
max_velocity: 300
max_accel: 3000
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 17.5
max_temp: 600
max_extrude_only_velocity: 450
max_extrude_only_accel: 90000
[tmc2209 extruder]
run_current: {own}
sense_resistor: 0.11
"""
STEPPER = """\
[extruder_stepper second]
extruder: extruder
rotation_distance: 22.6
gear_ratio: 50:10
[tmc2209 extruder_stepper second]
run_current: {own}
sense_resistor: 0.11
"""
SHEET = "motor: {class: round-36, rated_current: 1.0 A, rating_basis: rms}\n"


def places(report: Report) -> Counter[tuple[str, int, str]]:
    return Counter((f.rule, f.at.line, f.message) for f in report.findings if f.at is not None)


def test_a_stepper_does_not_repeat_its_partner(tmp_path: Path) -> None:
    """Each finding on a line once; those on the stepper's own lines stay."""
    config = tmp_path / "printer.cfg"
    config.write_text(EXTRUDER.format(own=1.2) + STEPPER.format(own=1.2))
    (tmp_path / "hardware.yaml").write_text(SHEET)
    report = check([str(config)], Asks(asked="30mm3/s"))
    both = Counter(finding.extruder for finding in report.findings)
    rules = {(finding.extruder, finding.rule) for finding in report.findings}

    assert max(places(report).values()) == 1
    assert ("extruder", "filament-diameter-implausible") in rules
    assert ("extruder", "run-current-above-rating") in rules
    assert ("extruder_stepper second", "run-current-above-rating") in rules
    assert 0 < both["extruder_stepper second"] < both["extruder"]


def test_other_numbers_on_the_same_line_are_told(tmp_path: Path) -> None:
    """A weaker stepper fails where its partner's setting stands: that is another finding."""
    config = tmp_path / "printer.cfg"
    config.write_text(EXTRUDER.format(own=0.3) + STEPPER.format(own=0.2))
    (tmp_path / "hardware.yaml").write_text(SHEET)
    report = check([str(config)], Asks())
    told = [f for f in report.findings if f.rule == "extrude-only-speed-beyond-torque"]

    assert {finding.extruder for finding in told} == {"extruder", "extruder_stepper second"}
    assert len({finding.at for finding in told}) == 1
    assert len({finding.message for finding in told}) == 2


def test_nothing_is_lost_beside_the_alone(tmp_path: Path) -> None:
    """What the extruder alone is told, it is told with a stepper too."""
    config = tmp_path / "printer.cfg"
    config.write_text(EXTRUDER.format(own=1.2))
    alone = check([str(config)], Asks(asked="30mm3/s"))
    config.write_text(EXTRUDER.format(own=1.2) + STEPPER.format(own=1.2))
    beside = check([str(config)], Asks(asked="30mm3/s"))

    assert places(alone) <= places(beside)


ALLOWED = SHEET + "allow:\n  - filament-diameter-implausible, it is a rope\n"


def unused(report: Report) -> list[str]:
    return [f.message for f in report.findings if f.rule == "allowance-unused"]


@pytest.mark.parametrize("whole_folder", [True, False])
def test_an_allowance_is_used_if_one_config_uses_it(tmp_path: Path, whole_folder: bool) -> None:
    """The sheet of two machines: what it allows for one need not happen on the other."""
    for name, diameter in (("one.cfg", "17.5"), ("two.cfg", "1.75")):
        (tmp_path / name).write_text(EXTRUDER.format(own=0.5).replace("17.5", diameter))
    sheet = tmp_path / "hardware.yaml"
    sheet.write_text(ALLOWED)
    paths = (
        [str(tmp_path)] if whole_folder else [str(tmp_path / f"{n}.cfg") for n in ("two", "one")]
    )

    assert unused(check(paths, Asks())) == []
    assert len(unused(check([str(tmp_path / "two.cfg")], Asks()))) == 1


def test_an_allowance_that_none_uses_is_told_once(tmp_path: Path) -> None:
    """Neither config needs it: one note, not one for each."""
    for name in ("one.cfg", "two.cfg", "three.cfg"):
        (tmp_path / name).write_text(EXTRUDER.format(own=0.5).replace("17.5", "1.75"))
    (tmp_path / "hardware.yaml").write_text(ALLOWED)
    assert len(unused(check([str(tmp_path)], Asks()))) == 1


def test_an_allowance_in_a_shared_include_counts_alike(tmp_path: Path) -> None:
    """A comment in a file that both include is judged over both; one of a file's own, alone."""
    (tmp_path / "common.inc").write_text("# feedwright: allow no-such-thing\n[printer]\n"
        "max_velocity: 300  # feedwright: allow filament-diameter-implausible, elsewhere\n"
    )  # fmt: skip
    body = EXTRUDER.format(own=0.5).partition("[extruder]")
    comment = "  # feedwright: allow filament-diameter-implausible, a rope"
    for name, diameter in (("one.cfg", "17.5"), ("two.cfg", "1.75")):
        text = f"[include common.inc]\n{body[1]}{body[2]}".replace(
            "filament_diameter: 17.5", f"filament_diameter: {diameter}{comment}"
        )
        (tmp_path / name).write_text(text)
    found = [f for f in check([str(tmp_path)], Asks()).findings
             if f.rule == "allowance-unused"]  # fmt: skip
    where = sorted(Path(f.at.file).name for f in found if f.at is not None)

    assert where == ["common.inc", "two.cfg"]
