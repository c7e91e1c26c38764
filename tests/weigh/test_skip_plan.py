"""A skip test only ever lowers the current; its G-code is read back by our own reader of prints.

That a lowered run and hold current, set while the machine runs, lasts until a restart, and what
the firmware takes for a command, is from memory of its public documentation. Ranges of filaments
are from memory of their labels.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
import skip_bench
from every import every
from ran import Run
from tiers import only_wide, wide

from advisor import Asks
from advisor.answers.lint import check_config
from advisor.answers.print_run import machine_limits
from advisor.answers.skip_plan import plan_skip_test
from advisor.catalog import load_catalog
from advisor.machine import driver_of
from advisor.prints import analyse
from advisor.weigh import SkipPlanAnswer

ROOT = Path(__file__).resolve().parents[2]
HEALTHY = str(ROOT / "samples/healthy/printer.cfg")
SET = re.compile(r"^SET_TMC_CURRENT STEPPER=(\S+) CURRENT=(\S+) HOLDCURRENT=(\S+)$")
CONFIG = """# Invented: a machine of no one.
[printer]
max_velocity: 300
max_accel: 5000
[extruder]
rotation_distance: {distance}
gear_ratio: {ratio}
microsteps: 16
nozzle_diameter: 0.400
filament_diameter: 1.750
max_extrude_only_distance: {move}
max_extrude_only_velocity: 60
max_extrude_only_accel: 1500
min_extrude_temp: 170
max_temp: 300
[{chip} extruder]
{resistor}
run_current: {run}
{hold}
"""
CHIPS = {
    "tmc2209": "sense_resistor: 0.110",
    "tmc2130": "sense_resistor: 0.110",
    "tmc5160": "sense_resistor: 0.075",
    "tmc2240": "rref: 12000",
}
ALL = {
    "distance": 45.2, "ratio": "9:1", "move": 100, "chip": "tmc2209",
    "resistor": CHIPS["tmc2209"], "run": 0.55, "hold": "hold_current: 0.3",
}  # fmt: skip
RATED = "motor: {class: round-36, rated_current: 1.0 A, rating_basis: peak}\n"
SHEET = (
    "motor: {{class: {motor}, rated_current: 1.4 A, rating_basis: rms}}\ndrive: {{mount: metal}}\n"
    "hotend: {{class: {hotend}}}\nfilament: {{material: {material}}}\n"
)


def machine_in(folder: Path, sheet: str = "", more: str = "", **changes: object) -> str:
    """Write a machine and return its config."""
    config = folder / "printer.cfg"
    config.write_text(CONFIG.format(**{**ALL, **changes}) + more, encoding="utf-8")
    (folder / "hardware.yaml").write_text(sheet or RATED, encoding="utf-8")
    return str(config)


def planned(config: str, **given: str) -> SkipPlanAnswer:
    return plan_skip_test(config, Asks(**given))  # type: ignore[arg-type]


def currents(text: str) -> list[tuple[str, float, float]]:
    """Return stepper, run and hold current of each line of a file that sets them."""
    found = [SET.match(line) for line in text.splitlines()]
    return [(hit[1], float(hit[2]), float(hit[3])) for hit in found if hit]


def check_lowered(config: str, answer: SkipPlanAnswer) -> None:
    """Nothing that is planned or written is above what the config sets, run and hold."""
    plan = answer.plan
    assert plan is not None
    book = check_config(config, Asks()).books["extruder"]
    run, hold = book.nominal("motor.run_current"), book.nominal("motor.hold_current")
    driver = driver_of(book, load_catalog())
    assert run is not None
    assert driver is not None
    most = float(driver.apply(run))
    for level in plan.levels:
        assert 0.0 < level.current < run
        assert level.applied < most
        assert float(driver.apply(level.current)) == pytest.approx(level.applied)
        assert level.hold <= min(level.current, run if hold is None else hold)
        assert level.register >= 6
    for file in answer.gcode:
        for stepper, now, still in currents(file.gcode):
            assert stepper == "extruder"
            assert now <= run
            assert still <= (run if hold is None else min(run, hold))
        assert currents(file.gcode)[-1][1] == run  # whoever runs it to its end has the config's
        assert file.gcode.splitlines()[0].endswith("restart restores the currents of the config")
        assert file.gcode.isascii()


def generated(count: int, seed: int, folder: Path) -> list[tuple[str, SkipPlanAnswer]]:
    """Return plans of machines with drawn motors, gears, drivers and currents."""
    rng, made = np.random.default_rng(seed), []
    for number in range(count):
        here = folder / str(number)
        here.mkdir()
        chip = str(rng.choice(list(CHIPS)))
        small = bool(rng.random() < 0.5)
        run = round(float(rng.uniform(0.25, 1.1)), int(rng.integers(2, 4)))
        hold = f"hold_current: {rng.uniform(0.05, 1.5) * run:.3f}" if rng.random() < 0.6 else ""
        sheet = SHEET.format(
            motor="round-36" if small else rng.choice(["square-42-short", "square-42-long"]),
            hotend=rng.choice(["standard", "long", "extra-long"]),
            material=rng.choice(["pla", "petg", "abs"]),
        )
        config = machine_in(
            here, sheet, chip=chip, resistor=CHIPS[chip], run=run, hold=hold,
            distance=round(float(rng.uniform(40.0, 50.0) if small else rng.uniform(21.0, 36.0)), 2),
            ratio=f"{rng.integers(7, 11)}:1" if small else f"50:{rng.integers(10, 18)}",
            move=int(rng.choice([20, 50, 200])),
        )  # fmt: skip
        made.append((config, planned(config)))
    return made


@wide
@only_wide
def test_no_planned_current_is_above_the_set_one(tmp_path: Path) -> None:
    """Over machines that are drawn: as commanded, as the driver applies it, run and hold."""
    plans = [(config, one) for config, one in generated(6, 3, tmp_path) if one.plan is not None]

    assert len(plans) >= 2
    for config, answer in plans:
        check_lowered(config, answer)


@wide
@only_wide
def test_no_planned_current_is_above_the_set_one_over_many(tmp_path: Path) -> None:
    plans = [(config, one) for config, one in generated(150, 5, tmp_path) if one.plan is not None]

    assert len(plans) >= 50
    for config, answer in plans:
        check_lowered(config, answer)


def test_clicks_are_expected_where_prints_are_and_below_slip() -> None:
    """Between 0.7 and 1.0 of the capacity; no flow of a ramp above 95 % of the expected slip."""
    plan = planned(HEALTHY).plan
    book = check_config(HEALTHY, Asks(use_tests=False)).books["extruder"]
    assert plan is not None
    capacity, slip = (1e9 * (book.nominal(f"flow.{one}") or 0.0) for one in ("capacity", "slip"))
    detent = (book.nominal("motor.detent_torque") or 0.0) / (
        2**0.5 * (book.nominal("motor.torque_constant") or 1.0)
    )
    assert len(plan.levels) == 3
    for level in plan.levels:
        assert 0.7 * capacity <= level.expected.value <= 1.0 * capacity
        assert max(level.flows) <= 0.95 * slip + 0.005
        assert level.applied >= 2.0 * detent
        steps = np.diff(np.log(level.flows))
        assert steps == pytest.approx(np.full(steps.size, np.log(1.03)), abs=2e-3)


@every("config", ["healthy", "gear-bench", "no-sheet"])
def test_each_file_is_read_back_as_planned(config: str) -> None:
    """Through our own reader of prints: no axis moves, no move refused, the fastest as planned."""
    path = str(ROOT / "samples" / config / "printer.cfg")
    answer = planned(path)
    book = check_config(path, Asks()).books["extruder"]
    area, melt = (book.nominal(name) or 0.0 for name in ("filament.area", "hotend.melt_length"))
    assert answer.plan is not None
    assert [file.name for file in answer.gcode] == ["1", "2", "3", "end"]
    for level, file in zip(answer.plan.levels, answer.gcode, strict=False):
        read = analyse(
            io.BytesIO(file.gcode.encode()), limits=machine_limits(book), filament_area=area,
            melt_volume=melt * area,
        )  # fmt: skip
        full = answer.plan.recovery + answer.plan.dwell * len(level.flows)
        assert read.path_length == 0.0
        assert read.refused == ()
        assert read.filament_length * 1e3 == pytest.approx(full, rel=1e-4)
        assert read.extruder_peak_speed.value * area * 1e9 == pytest.approx(
            max(level.flows), rel=1e-3
        )
        assert read.nozzle_temperature - 273.15 == pytest.approx(answer.plan.temperature, abs=0.5)
        code = [line for line in file.gcode.splitlines() if line and not line.startswith(";")]
        assert not [line for line in code if re.search(r"\b[XYZ]-?\d|G0|G28|G92|G91", line)]
        assert [now for _, now, _ in currents(file.gcode)] == [
            answer.plan.set_current, level.current, answer.plan.set_current,
        ]  # fmt: skip


REFUSED = {
    "silent mode": ({"hold": "stealthchop_threshold: 999999"}, "", "Silent mode is on", {}),
    "silent up to the test": ({"hold": "stealthchop_threshold: 5"}, "", "up to 5 mm/s", {}),
    "too much current": ({"run": 1.4}, "", "above its derated limit", {}),
    "too cold": ({}, "", "is below the usual range of pla", {"temperature": "180degC"}),
    "a second stepper": (
        {}, "[extruder_stepper belt]\nextruder: extruder\nrotation_distance: 40\n",
        "[extruder_stepper belt] is synced to [extruder] and pushes too", {},
    ),
    "steps too coarse": ({"run": 0.15, "hold": ""}, "", "too few current steps", {}),
}  # fmt: skip


@every("case", list(REFUSED))
def test_what_cannot_be_tested_is_refused_with_the_reason(case: str, tmp_path: Path) -> None:
    """And the click ramp at the current as it is, or a weighed test, is offered instead."""
    changes, more, words, given = REFUSED[case]
    folder = tmp_path / case.replace(" ", "-")
    folder.mkdir(exist_ok=True)
    answer = planned(machine_in(folder, more=more, **changes), **given)

    assert answer.plan is None
    assert not answer.gcode
    assert not answer.table
    assert any(words in sentence for sentence in answer.refused), answer.refused
    assert "click ramp" in answer.instead[0]
    assert "weigh plan" in answer.instead[-1]


def test_a_driver_without_a_settable_current_is_refused(tmp_path: Path) -> None:
    config = machine_in(tmp_path)
    text = Path(config).read_text(encoding="utf-8")
    Path(config).write_text(text[: text.index("[tmc2209")], encoding="utf-8")

    assert "no driver section for [extruder] whose current can be set" in planned(config).refused[0]


def test_silent_mode_below_the_speeds_of_the_test_is_no_reason(tmp_path: Path) -> None:
    """Nor where what it cannot regulate below is less than the motor bears."""
    sheet = RATED.replace("peak}", "peak, resistance: 4 ohm}")
    config = machine_in(tmp_path, sheet, hold="stealthchop_threshold: 0.5", run=0.49)

    assert planned(config).plan is not None


def test_a_name_that_cannot_stand_in_gcode_is_refused(tmp_path: Path) -> None:
    """The stepper's name goes into a command: what is no plain word never gets there."""
    config = machine_in(tmp_path)
    text = Path(config).read_text(encoding="utf-8").replace("[extruder]", "[extruder1]")
    odd = text.replace("tmc2209 extruder]", "tmc2209 extruder1]")
    Path(config).write_text(odd, encoding="utf-8")
    answer = plan_skip_test(config, Asks())

    assert answer.plan is not None
    assert "STEPPER=extruder1 " in answer.gcode[0].gcode


def test_the_files_are_new_and_named_after_the_option(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """skip.gcode gives skip-1.gcode to skip-end.gcode; nothing that is there is overwritten."""
    config = machine_in(tmp_path)
    monkeypatch.chdir(tmp_path)
    made = run("skip-test", "plan", config, "--gcode", "skip.gcode", "--csv", "skip.csv")
    again = run("skip-test", "plan", config, "--gcode", "skip.gcode")

    assert made.code == 0
    assert sorted(path.name for path in tmp_path.glob("skip*")) == [
        "skip-1.gcode", "skip-2.gcode", "skip-3.gcode", "skip-end.gcode", "skip.csv",
    ]  # fmt: skip
    assert again.code == 2
    assert "is there already" in again.err


def test_the_table_that_is_planned_is_read_when_it_is_filled_in(tmp_path: Path, run: Run) -> None:
    """Two runs of each step, with decimal commas; the third stays empty."""
    config, table = machine_in(tmp_path), tmp_path / "skip.csv"
    plan = planned(config).plan
    assert plan is not None
    assert run("skip-test", "plan", config, "--csv", str(table)).code == 0
    empty = run("skip-test", "read", str(table), "--config", config)
    text = table.read_text(encoding="utf-8")
    for number, level in enumerate(plan.levels, 1):
        flow = level.expected.value
        told = f"{flow:.2f}; {1.03 * flow:.2f}; heard;".replace(".", ",")
        for approach in (1, 2):
            start = f"{number}; {approach}; {level.current:.2f}; ;"
            assert f"{start} ; ; ;" in text
            text = text.replace(f"{start} ; ; ;", f"{start} {told}")
    table.write_text(text, encoding="utf-8")
    made = run("skip-test", "read", str(table), "--config", config, "--format", "json").json

    assert (empty.code, "no run is filled in" in empty.err) == (3, True)
    assert [point["runs"] for point in made["tests"][0]["points"]] == [2, 2, 2]
    assert made["calibration"]["contradiction"] is None


def test_the_plan_as_json_keeps_to_the_schema(tmp_path: Path, run: Run) -> None:
    told = run("skip-test", "plan", HEALTHY, "--format", "json").json
    refused = run("skip-test", "plan", machine_in(tmp_path, run=1.4), "--format", "json").json

    assert [level["register"] >= 6 for level in told["plan"]["levels"]] == [True] * 3
    assert 0.0 < told["plan"]["narrows"]["capacity"] < 0.7
    assert refused["plan"] is None
    assert refused["refused"]


@every("chip", ["tmc2209", "tmc5160"])
def test_the_bench_sets_the_steps_that_the_product_plans(chip: str, tmp_path: Path) -> None:
    """The bench's own reading of the datasheets gives the same steps, to a thousandth."""
    folder = tmp_path / chip
    folder.mkdir(exist_ok=True)
    config = machine_in(folder, chip=chip, resistor=CHIPS[chip])
    driver = driver_of(check_config(config, Asks()).books["extruder"], load_catalog())
    own = skip_bench.two_range if chip == "tmc2209" else skip_bench.scaled
    assert driver is not None
    for asked in np.arange(0.1, 0.9, 0.01):
        found = driver.setting(float(asked))
        assert own(float(asked)) == pytest.approx((float(found.current), float(found.step)), 1e-3)
