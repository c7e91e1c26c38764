"""One current to set, whoever asks: limits of chip and firmware count as those of the motor do.

The continuous currents of chips are those of their datasheets (1.4 A RMS for the small UART
driver, 1.2 A for the flat package of the small SPI driver, 2.1 A with integrated sensing); that
the firmware takes at most 2.0 A RMS for the first two is from memory.
"""

from __future__ import annotations

import functools
import itertools
from pathlib import Path

import numpy as np
import pytest
from held import held
from tiers import spread, wide

from advisor import Asks
from advisor.answers.builds.compare import compare
from advisor.answers.curves.torque import torque_report
from advisor.answers.derate_motor import derate
from advisor.answers.lint import check_config
from advisor.answers.mend_rounds import make_plan
from advisor.answers.weigh_plan import plan_test
from advisor.catalog import load_catalog
from advisor.machine.graph import FactBook
from advisor.machine.set_current import CURRENT_LIMITS, exceeded, limit_set_by
from advisor.report import derate_text

BORNE = {"tmc2208": 1.4, "tmc2130": 1.2, "tmc2240": 2.1}
CONFIG = """\
# Invented: a machine of no one.
[printer]
max_velocity: 300
max_accel: 5000
[extruder]
rotation_distance: 7.7
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
max_extrude_only_distance: 200
min_extrude_temp: 170
min_temp: 0
max_temp: 275
[{chip} extruder]
run_current: {run}
"""
SHEET = """\
motor: {{class: square-42-long, {rating}}}
drive: {{mount: metal}}
filament: {{material: abs, temperature: 245 degC}}
chamber: 25 degC
"""


def machine(folder: Path, chip: str, run: float, rating: str) -> str:
    """Write a machine and return its config."""
    folder.mkdir(exist_ok=True)
    (folder / "printer.cfg").write_text(CONFIG.format(chip=chip, run=run))
    sheet = SHEET.format(rating=rating) if rating else SHEET.replace(", {rating}", "").format()
    (folder / "hardware.yaml").write_text(sheet)
    return str(folder / "printer.cfg")


@functools.lru_cache(maxsize=4)
def _worked_out(config: str, *texts: str) -> FactBook:
    """Work a machine out once for as long as its files say the same."""
    return check_config(config, Asks()).books["extruder"]


def nominal(config: str, fact: str) -> float:
    """The value of a fact for the machine as the commands see it."""
    sheet = Path(config).with_name("hardware.yaml").read_text()
    samples = held(_worked_out(config, Path(config).read_text(), sheet).facts[fact])
    return float(samples if not hasattr(samples, "flat") else samples.flat[0])


@pytest.mark.parametrize("chip", BORNE)
def test_derate_stays_within_what_the_chip_bears(chip: str) -> None:
    """A rating of 2.8 A RMS would allow 2.24 A; the chip's datasheet allows less, and is named."""
    report = derate("2.8A", basis="rms", driver=chip, mount="metal", ambient="25degC")
    assert report.derated_current.value == pytest.approx(BORNE[chip])
    assert report.governed_by == "chip"
    assert report.set_current is not None
    assert report.set_current <= BORNE[chip] * 1.02
    assert report.applied_current is not None
    assert report.applied_current.value <= BORNE[chip] * (1 + 1e-9)
    assert "driver chip" in derate_text.render(report)


def test_the_firmware_and_the_range_bind_where_they_are_lower() -> None:
    """2.0 A is the most that is taken, whatever a small resistor allows; a large one allows less.

    Full scale is 0.325 V / (R + 0.020 ohm) / sqrt 2 by the datasheet: 1.0446 A at 0.2 ohm.
    """
    small = derate("4A", basis="rms", driver="tmc2209", sense_resistor="0.05ohm")
    assert small.limits["firmware"].value == pytest.approx(2.0)
    assert small.set_current is not None
    assert small.set_current <= 2.0
    large = derate("2.8A", basis="rms", driver="tmc2209", sense_resistor="0.2ohm")
    assert large.governed_by == "range"
    assert large.derated_current.value == pytest.approx(0.325 / 0.22 / 2**0.5)
    assert large.set_current == 1.04


def test_a_rating_with_room_is_governed_as_before() -> None:
    """0.8 of 1 A peak is 0.566 A RMS, far below any chip's limit."""
    assert derate("1.0A", driver="tmc2208").governed_by == "share"


MACHINES = itertools.product(
    ("tmc2208", "tmc2209", "tmc2130", "tmc5160"),
    ((1.0, "peak"), (1.7, "rms"), (2.5, "rms"), (3.5, "unsure")),
)
GRID = [
    (chip, rated, (0.4, 1.9)[(number + number // 4) % 2])
    for number, (chip, rated) in enumerate(MACHINES)
]


@wide
@pytest.mark.parametrize(("chip", "rated", "run"), spread(GRID, 1))
def test_no_two_commands_give_two_currents(
    tmp_path: Path, chip: str, rated: tuple[float, str], run: float
) -> None:
    """derate, lint, mend, compare and weigh plan agree on one machine; none is above a limit."""
    amperes, basis = rated
    config = machine(tmp_path, chip, run, f"rated_current: {amperes} A, rating_basis: {basis}")
    book = check_config(config, Asks()).books["extruder"]
    setting, derated = (nominal(config, f"motor.{name}_current") for name in ("set", "derated"))
    told = derate(f"{amperes}A", basis=basis, ambient="25degC", mount="metal", driver=chip)
    lowest = limit_set_by(book)
    assert lowest is not None
    assert derated == min(
        nominal(config, one.fact) for one in CURRENT_LIMITS if book.known(one.fact)
    )
    assert book.text("motor.current_limited_by") == lowest.words
    if told.governed_by == lowest.name:
        assert told.derated_current.value == pytest.approx(derated, rel=1e-6)
        assert told.set_current == setting
    (row,) = compare(config, Asks(), vary=("motor.run_current=derated",)).variants[1:]
    assert row.run_current is not None
    rating_text = f"rated_current: {amperes} A, rating_basis: {basis}"
    set_so = machine(tmp_path / "set", chip, setting, rating_text)
    assert row.run_current.value == pytest.approx(nominal(set_so, "motor.working_current"))
    assert row.run_current.value <= derated * (1 + 1e-9)
    refused = [one for one in plan_test(config, Asks()).refused if "current" in one]
    too_much = nominal(config, "motor.working_current") > derated * (1 + 1e-6)
    assert bool(refused) == too_much == (exceeded(book) is not None)
    changes = make_plan(config, Asks()).changes.values()
    written = [float(one.new) for one in changes if one.setting == "run_current"]
    assert all(value == pytest.approx(setting, abs=1e-9) for value in written)
    if chip in BORNE:
        assert derated <= BORNE[chip] * (1 + 1e-9)


KINDS = [
    ("round-36", "1.0 A", "peak", "petg", "25 degC", 0.0),
    ("round-36", "0.85 A", "unsure", "abs", "50 degC", 50.0),
    ("square-42-short", "1.2 A", "rms", "asa", "45 degC", 0.0),
    ("square-42-long", "1.68 A", "peak", "metal", "60 degC", 999999.0),
]


@wide
@pytest.mark.parametrize("kind", spread(list(KINDS), 1))
def test_a_sheet_says_the_same_to_derate_and_to_torque(
    tmp_path: Path, kind: tuple[str, str, str, str, str, float]
) -> None:
    """derate with the sheet, lint's facts, mend's edit and torque's motor: one current."""
    motor, rated, basis, mount, air, silent = kind
    config = machine(tmp_path, "tmc2209", 1.6, f"rated_current: {rated}, rating_basis: {basis}")
    text = CONFIG.format(chip="tmc2209", run=1.6) + f"stealthchop_threshold: {silent}\n"
    Path(config).write_text(text)
    sheet = tmp_path / "hardware.yaml"
    written = sheet.read_text().replace("square-42-long", motor)
    written = written.replace("mount: metal", f"mount: {mount}")
    sheet.write_text(written.replace("chamber: 25 degC", f"chamber: {air}"))
    told = derate(sheet=str(sheet), driver="tmc2209")
    setting = nominal(config, "motor.set_current")
    assert told.set_current == setting
    assert told.derated_current.value == pytest.approx(nominal(config, "motor.derated_current"))
    run = [
        one for one in make_plan(config, Asks()).changes.values() if one.setting == "run_current"
    ]
    assert [float(one.new) for one in run] == [setting]
    rows = torque_report(check_config(config, Asks()), "extruder").motors
    present = next(row for row in rows if row.present)
    assert present.working_current is not None
    set_so = {"motor.run_current": setting}
    (book,) = check_config(config, Asks()).machines.values()
    at_setting = book.with_(set_so).book.samples("motor.working_current")
    assert present.working_current.value == pytest.approx(float(np.ravel(at_setting)[0]))


def test_a_chip_counts_where_no_rating_is_stated(tmp_path: Path) -> None:
    """1.7 A on a chip for 1.4 A: no test is planned, and mend goes to what the chip bears."""
    config = machine(tmp_path, "tmc2208", 1.7, "")
    assert any("driver chip" in sentence for sentence in plan_test(config, Asks()).refused)
    (change,) = make_plan(config, Asks()).changes.values()
    assert float(change.new) == pytest.approx(nominal(config, "motor.set_for_driver"))
    (tmp_path / "printer.cfg").write_text(CONFIG.format(chip="tmc2208", run=change.new))
    assert nominal(config, "motor.working_current") <= 1.4
    assert not make_plan(config, Asks()).changes


def test_chip_limits_are_data_with_source_and_status() -> None:
    """Each limit of a chip names where it was read."""
    for entry in load_catalog().drivers.values():
        for name in ("driver.rms_limit", "driver.firmware_limit"):
            number = entry.numbers.get(name)
            assert number is None or (number.source and number.status)


def test_a_plan_refused_for_the_silent_mode_says_so(tmp_path: Path) -> None:
    """The set current is fine; the remedy is another mode, not a lower current."""
    config = machine(tmp_path, "tmc2209", 0.4, "rated_current: 1.0 A, rating_basis: peak")
    text = CONFIG.format(chip="tmc2209", run=0.4) + "stealthchop_threshold: 50\n"
    Path(config).write_text(text)
    sheet = tmp_path / "hardware.yaml"
    written = sheet.read_text().replace("square-42-long", "round-36")
    sheet.write_text(written.replace("mount: metal", "mount: petg"))
    refused = [one for one in plan_test(config, Asks()).refused if "A RMS" in one]
    assert len(refused) == 1
    assert "silent mode" in refused[0]
    rules = {one.rule for one in check_config(config, Asks()).report.findings}
    assert "silent-mode-heats-beyond-limit" in rules
    assert not rules & {"case-above-mount-limit", "spare-current-while-torque-limits"}
