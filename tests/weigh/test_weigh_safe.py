"""A weighed test is planned for a hot machine: not too cold, not left on unsaid, no foreign text.

Nozzle ranges are from memory of filament labels: PLA from 190, PETG from 220, ABS from 230, PC from
260 degC. What a saved G-code state holds, and that the active extruder is not of it, is from memory
of the firmware's public documentation.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from advisor import Asks
from advisor.answers.checked import CheckedConfig, CheckedExtruder
from advisor.answers.weigh_plan import plan_test, selection
from advisor.base import Report
from advisor.catalog import load_catalog
from advisor.machine import Machine
from advisor.machine.assemble import ExtruderInputs
from advisor.machine.graph import FactBook
from advisor.weigh.gcode import harmless, write_gcode
from advisor.weigh.plan import Bench, Wishes, make_plan

CONFIG = """\
# Invented: a machine of no one, whose config allows cold pushing.
[printer]
max_velocity: 300
max_accel: 5000
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
max_extrude_only_distance: 200
max_extrude_only_velocity: 50
max_extrude_only_accel: 1000
min_extrude_temp: 0
min_temp: 0
max_temp: 320
"""
SECOND = CONFIG[CONFIG.index("[extruder]") :].replace("[extruder]", "[extruder1]")
NASTY = (
    "a\nM104 S300",
    "PLA; M104 S300",
    "caf\u00e9 \u4e2d\u6587",
    "x\rG28",
    "50 % {now}",
    "\x1b[31m",
)
BENCH = Bench(
    area=2.405e-6, density=1240.0, temperature=488.15, loss=np.full(2048, 15e-9),
    largest_speed=0.06, largest_accel=1.5, largest_move=0.1,
)  # fmt: skip


def config_in(folder: Path, text: str = CONFIG, sheet: str | None = None) -> str:
    """Write a machine and return its config."""
    (folder / "printer.cfg").write_text(text)
    if sheet is not None:
        (folder / "hardware.yaml").write_text(sheet)
    return str(folder / "printer.cfg")


@pytest.mark.parametrize(
    ("material", "temperature"),
    [("pla", "150degC"), ("pc", "215degC"), ("pa6", "215degC"), ("abs", "215degC")],
)
def test_nothing_is_planned_colder_than_the_material(
    tmp_path: Path, material: str, temperature: str
) -> None:
    """The config allows it (min_extrude_temp: 0); the material does not."""
    config = config_in(tmp_path)
    report = plan_test(config, Asks(material=material, temperature=temperature))
    assert report.plan is None
    assert not report.gcode
    assert any("below the usual range" in sentence for sentence in report.refused)


@pytest.mark.parametrize("material", ["pla", "pc", "pa6", "abs"])
def test_a_material_brings_its_temperature(tmp_path: Path, material: str) -> None:
    """Where nothing states one, the usual one is taken, and said."""
    report = plan_test(config_in(tmp_path), Asks(material=material))
    assert report.plan is not None
    assert any(f"usual temperature of {material}" in one for one in report.remarks)


def test_a_stated_temperature_stays_and_is_said(tmp_path: Path) -> None:
    """The sheet's 245 degC stays with --material petg; with --material pc it is too cold."""
    config = config_in(tmp_path, sheet="filament: {material: abs, temperature: 245 degC}\n")
    report = plan_test(config, Asks(material="petg"))
    assert report.plan is not None
    (said,) = [one for one in report.remarks if "--material brings no temperature" in one]
    assert "245 degC" in said
    assert "--temperature" in said
    assert plan_test(config, Asks(material="pc")).plan is None


def test_the_gcode_says_that_the_heater_stays_on(tmp_path: Path) -> None:
    """Stopped half-way nothing switches the heater off before the idle time-out."""
    report = plan_test(config_in(tmp_path), Asks())
    comments = " ".join(
        line.removeprefix(";").strip() for line in report.gcode.splitlines() if line[:1] == ";"
    )
    assert "Stopped half-way, the heater stays on" in comments
    assert "idle time-out" in comments
    assert "idle_timeout" in comments
    assert any("idle time-out" in caution for caution in report.cautions)


def test_the_first_extruder_is_active_again_at_the_end(tmp_path: Path) -> None:
    """With two extruders the one of the test is selected, and at the end the first one."""
    config = config_in(tmp_path, CONFIG + SECOND)
    for name in ("extruder", "extruder1"):
        lines = plan_test(config, Asks(), extruder=name).gcode.splitlines()
        chosen = [line for line in lines if line.startswith("ACTIVATE_EXTRUDER")]
        assert chosen == [
            f"ACTIVATE_EXTRUDER EXTRUDER={name}", "ACTIVATE_EXTRUDER EXTRUDER=extruder",
        ]  # fmt: skip
        assert lines.index("M104 S0") < len(lines) - 1 - lines[::-1].index(chosen[1])
    alone = plan_test(config_in(tmp_path), Asks()).gcode
    assert "ACTIVATE_EXTRUDER" not in alone


@pytest.mark.parametrize("text", NASTY)
def test_foreign_text_is_letters_digits_and_few_marks(text: str) -> None:
    """Newline, semicolon, braces, escapes, non-ASCII: left out wherever they come from."""
    assert re.fullmatch(r"[A-Za-z0-9 _.\-]*", harmless(text))
    plan = make_plan(BENCH, Wishes())
    conditions = {"material": text, "temperature": f"{text} degC", "nozzle": "0.4 mm"}
    made = write_gcode(plan, conditions, select=text, first=text)
    plain = write_gcode(plan, dict.fromkeys(conditions, "A"), select="A", first="A")
    assert len(made.splitlines()) == len(plain.splitlines())
    for line, usual in zip(made.splitlines(), plain.splitlines(), strict=True):
        assert line == usual or re.fullmatch(
            r"; Weighed flow test: [A-Za-z0-9 _.,\-]*|ACTIVATE_EXTRUDER EXTRUDER=[A-Za-z0-9 _.\-]*",
            line,
        )


@pytest.mark.parametrize("name", ["a;b", "caf\u00e9", "x\ny", "{x}"])
def test_names_of_files_and_presets_never_reach_the_gcode(tmp_path: Path, name: str) -> None:
    """A folder, a sheet and a config of odd names: the G-code is that of plain names."""
    usual = plan_test(config_in(tmp_path), Asks()).gcode
    folder = tmp_path / name
    folder.mkdir()
    odd = config_in(folder)
    sheet = folder / f"{name}.yaml"
    sheet.write_text("{}\n")
    made = plan_test(odd, Asks(sheet=str(sheet))).gcode
    assert made
    assert made == usual


@pytest.mark.parametrize("name", ["two words", "e;M104 S300", "extrud\u00e9r"])
def test_an_extruder_that_cannot_be_named_is_refused(name: str) -> None:
    """What is left of such a name would heat another extruder."""
    taken = {
        each: CheckedExtruder(Machine(ExtruderInputs(each, {}), load_catalog(), FactBook({})))
        for each in ("extruder", name)
    }
    checked = CheckedConfig(Report(), taken=taken)
    (reason,) = selection(checked, name)
    assert "cannot stand in G-code" in reason
    assert not list(selection(checked, "extruder"))
