"""Plans of weighed tests: flows where they are wanted, and G-code within the config's limits.

The G-code is read back by the project's own reader of prints; each step is also checked on its
own by plain arithmetic over its lines.
"""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from every import every
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.lint import check_config
from advisor.answers.print_run import machine_limits
from advisor.answers.weigh_plan import WishTexts, plan_test
from advisor.base import UsageError
from advisor.machine.graph import FactBook
from advisor.prints import analyse
from advisor.weigh.plan import Bench, Wishes, make_plan, ramp_share
from advisor.weigh.reader import read_weighed
from advisor.weigh.records import PlanReport
from advisor.weigh.weigh_data import weigh_numbers

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIGS = sorted(
    path.relative_to(SAMPLES).as_posix()
    for path in SAMPLES.rglob("*.cfg")
    if path.name == "printer.cfg" or path.parent.name in ("over-driven", "ugly")
)
AREA = math.pi / 4 * 1.75e-3**2
FEED = re.compile(r"G1 E(?P<length>[\d.]+) F(?P<feed>[\d.]+)$")
BENCH = Bench(
    area=AREA, density=1240.0, temperature=488.15,
    loss=np.concatenate(([15e-9], np.random.default_rng(1).normal(15e-9, 3e-9, 2047).clip(4e-9))),
    largest_speed=0.06, largest_accel=1.5, largest_move=0.1,
)  # fmt: skip


def planned(config: str, texts: WishTexts | None = None, **asks: Any) -> PlanReport:
    return plan_test(str(SAMPLES / config), Asks(**asks), texts)


def nominal(book: FactBook, name: str) -> float:
    return float(np.ravel(book.samples(name))[0])


def feeds(gcode: str) -> list[list[tuple[float, float]]]:
    """Return length [mm] and speed [mm/s] of the moves, a list for each step; the primes first."""
    steps: list[list[tuple[float, float]]] = [[]]
    for line in gcode.splitlines():
        if "catch this" in line or "cut away" in line or "cut and bag" in line:
            steps.append([])
        found = FEED.match(line)
        if found:
            steps[-1].append((float(found["length"]), float(found["feed"]) / 60))
    return [step for step in steps if step]


@wide
@only_wide
@every("config", CONFIGS)
def test_every_sample_gets_a_plan_within_its_limits_or_a_reason(config: str) -> None:
    """Read back: the planned flows to 0.1 %, no speed and no length beyond the config's limits."""
    report = planned(config)
    if report.plan is None:
        assert report.refused or report.errors
        assert not report.gcode
        return
    book = check_config(str(SAMPLES / config), Asks()).books[report.extruder or ""]
    plan, area = report.plan, nominal(book, "filament.area")
    read = analyse(
        io.BytesIO(report.gcode.encode()), limits=machine_limits(book), filament_area=area,
        melt_volume=nominal(book, "hotend.melt_length") * area,
    )  # fmt: skip

    assert read.extruder_peak_speed.value * area == pytest.approx(
        max(step.flow for step in plan.steps), rel=1e-3
    )
    assert read.filament_length == pytest.approx(plan.length, rel=1e-4)
    assert read.time == pytest.approx(plan.time, rel=2e-3)
    assert read.path_length == 0.0
    assert 0.0 < read.volume <= read.filament_length * area * (1 + 1e-9)  # pushes are flow
    assert read.peak.value == pytest.approx(max(step.flow for step in plan.steps), rel=1e-3)
    assert read.refused == ()
    assert read.nozzle_temperature == pytest.approx(plan.temperature, abs=0.5)
    assert plan.temperature <= nominal(book, "hotend.max_temperature")
    for step in plan.steps:
        assert step.speed <= nominal(book, "motion.max_extrude_only_velocity")
    longest = nominal(book, "motion.max_extrude_only_distance") * 1e3
    fastest = nominal(book, "motion.max_extrude_only_velocity") * 1e3
    for moves in feeds(report.gcode):
        assert all(length < longest and speed < fastest for length, speed in moves)


@wide
@pytest.mark.parametrize(
    "config", spread([c for c in CONFIGS if c.split("/")[0] in ("healthy", "no-sheet")], 1)
)
def test_each_step_gives_its_flow_when_read_back_alone(config: str) -> None:
    """Every step by itself through the reader of prints: flow to 0.1 %, length to 0.1 %."""
    report = planned(config)
    assert report.plan is not None
    book = check_config(str(SAMPLES / config), Asks()).books[report.extruder or ""]
    parts = re.split(r"^M117 Step \d+/\d+: catch this.*$", report.gcode, flags=re.MULTILINE)[1:]

    assert len(parts) == len(report.plan.steps)
    for step, part in zip(report.plan.steps, parts, strict=True):
        alone = "M83\n" + part.split("M400")[0]
        read = analyse(
            io.BytesIO(alone.encode()), limits=machine_limits(book), filament_area=AREA,
            melt_volume=50e-9,
        )  # fmt: skip
        assert read.extruder_peak_speed.value * AREA == pytest.approx(step.flow, rel=1e-3)
        assert read.filament_length == pytest.approx(step.length, rel=1e-3)


def test_the_samples_show_both_outcomes() -> None:
    """Most samples get a plan, the over-driven one does not."""
    made = {config: planned(config) for config in CONFIGS}

    assert sum(report.plan is not None for report in made.values()) >= 4
    assert "derated limit" in made["over-driven/printer.cfg"].refused[0]


def test_the_gcode_says_what_it_does() -> None:
    """Cautions first, relative filament and full factors stated; heat, wait, cool at the end."""
    report = planned("healthy/printer.cfg")
    lines = report.gcode.splitlines()
    code = [line for line in lines if line and not line.startswith(";")]

    assert lines[3] == "; CAUTION"
    assert any("Stay with the machine" in line for line in lines[:20])
    assert [line.split()[0] for line in code[:6]] == [
        "SAVE_GCODE_STATE", "M220", "M221", "M83", "M104", "M109",
    ]  # fmt: skip
    assert code[4] == "M104 S215"
    assert code[-4:] == ["M104 S0", "M106 S0", "RESTORE_GCODE_STATE NAME=weighed_test", code[-1]]
    assert not [line for line in code if re.search(r"\b[XYZ]-?\d|G0|G28|G92", line)]
    assert "G91" not in code
    assert sum(line.startswith("G4 P") for line in code) == 2 * len(report.plan.steps)  # type: ignore[union-attr]


def test_a_lift_moves_up_alone_and_only_on_demand() -> None:
    """One relative move of Z, upward, then absolute again."""
    report = planned("healthy/printer.cfg", WishTexts(lift="30 mm"))
    code = [line for line in report.gcode.splitlines() if line and not line.startswith(";")]
    moved = [number for number, line in enumerate(code) if "Z" in line and line.startswith("G")]

    assert len(moved) == 1
    assert code[moved[0] - 1 : moved[0] + 2] == ["G91", "G1 Z30 F300", "G90"]
    assert "home the machine first" in report.gcode


def test_the_table_of_a_plan_is_read_back() -> None:
    """Filled in, it gives the planned flows and lengths, material, temperature and scale."""
    report = planned("healthy/printer.cfg", WishTexts(scale="0.001 g"))
    assert report.plan is not None
    filled = re.sub(r"; 1; ; ; ; ;", "; 1; 0.083; ; ; no;", report.table)
    table = read_weighed(filled.encode(), "t.csv")

    assert [run.flow for run in table.runs] == pytest.approx([s.flow for s in report.plan.steps])
    assert [run.length for run in table.runs] == pytest.approx(
        [s.length for s in report.plan.steps]
    )
    assert table.conditions.material == "pla"
    assert table.conditions.temperature == pytest.approx(488.15)
    assert table.conditions.scale == pytest.approx(1e-6)
    with pytest.raises(Exception, match="no mass is filled in"):
        read_weighed(report.table.encode(), "t.csv")


def test_flows_stand_close_where_the_limit_is_likely() -> None:
    """Rising, the slow reference first and last, the closest near the likely limit."""
    plan = make_plan(BENCH, Wishes())
    flows = np.array([step.flow for step in plan.steps[1:-1]]) * 1e9
    gaps = np.diff(flows)

    assert plan.steps[0].reference
    assert plan.steps[-1].reference
    assert plan.steps[0].flow == plan.steps[-1].flow <= 0.6 * flows[0] * 1e-9
    assert (gaps > 0).all()
    assert 13.0 < flows[int(np.argmin(gaps))] < 17.0
    assert gaps.min() < 0.6 * gaps.max()
    assert flows[0] < np.quantile(BENCH.loss, 0.05) * 1e9
    assert flows[-1] > np.quantile(BENCH.loss, 0.95) * 1e9
    assert flows * 10 == pytest.approx(np.round(flows * 10))


@pytest.mark.parametrize(
    ("scale", "uncertainty", "millimetres"),
    [(0.001, 0.005, 100), (0.01, 0.005, 280), (0.1, 0.02, 690), (0.01, 0.02, 100)],
)
def test_the_length_follows_from_the_scale(
    scale: float, uncertainty: float, millimetres: int
) -> None:
    """273.8 mm of PLA for 0.5 % on a 0.01 g scale (independent computation), rounded up."""
    plan = make_plan(BENCH, Wishes(scale=scale * 1e-3, uncertainty=uncertainty))

    assert plan.steps[0].length == pytest.approx(millimetres * 1e-3)
    assert plan.mass_uncertainty <= uncertainty * 1.0001


def test_the_users_range_and_number_are_kept() -> None:
    """From, to and the number of steps."""
    plan = make_plan(BENCH, Wishes(lowest=12e-9, highest=24e-9, steps=7))
    flows = [step.flow * 1e9 for step in plan.steps[1:-1]]

    assert len(flows) == 7
    assert flows[0] == pytest.approx(12.0)
    assert flows[-1] == pytest.approx(24.0)


def test_ramps_are_told_where_they_take_time() -> None:
    """Share of a step that speeding up and slowing down takes: v^2 n / (a L)."""
    plan = make_plan(replace(BENCH, largest_accel=0.05), Wishes())
    last = plan.steps[-2]

    assert ramp_share(plan, 0.05) == pytest.approx(last.speed**2 * last.moves / 0.05 / last.length)


@every(
    ("texts", "words"),
    [
        (WishTexts(highest="200 mm3/s"), "its extrude-only speed allows 144.2"),
        (WishTexts(lowest="20 mm3/s", highest="10 mm3/s"), "--from 20 mm3/s is not below --to"),
        (WishTexts(lowest="20"), "--from: "),
        (WishTexts(highest="10 mm"), "--to: "),
        (WishTexts(steps=1), "1 steps make no test"),
        (WishTexts(steps=500), "500 steps make no test"),
        (WishTexts(scale="0.1 g"), "needs 2.7 m of filament a step"),
        (WishTexts(scale="1 kg"), "--scale 1 kg is out of range"),
        (WishTexts(lift="900 mm"), "--lift 900 mm is out of range"),
        (WishTexts(uncertainty="50 %"), "--uncertainty 50 % is out of range"),
    ],
)
def test_wishes_that_cannot_be(texts: WishTexts, words: str) -> None:
    """Refused in one sentence with a remedy."""
    if texts.scale == "0.1 g":
        texts = replace(texts, uncertainty="0.4 %")
        words = "needs 3.4 m of filament a step"
    with pytest.raises(UsageError) as caught:
        planned("healthy/printer.cfg", texts)
    assert words in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("temperature", "words"),
    [("300 degC", ("above the highest temperature the config allows, 270", "decomposes")),
     ("245 degC", ("far above the usual range of pla (up to 230 degC)",)),
     ("150 degC", ("below the usual range of pla (from 190", "below the 170 degC from which"))],
)  # fmt: skip
def test_temperatures_above_the_limits_are_refused(
    temperature: str, words: tuple[str, ...]
) -> None:
    """The config's highest and lowest, and the material's range."""
    report = planned("healthy/printer.cfg", temperature=temperature)

    assert report.plan is None
    assert not report.gcode
    assert len(report.refused) == len(words)
    for word, sentence in zip(words, report.refused, strict=True):
        assert word in sentence


def test_a_current_above_its_limit_is_refused_and_a_guess_refuses_nothing(tmp_path: Path) -> None:
    """Refused with the sheet's rating; without a sheet the rating is a guess."""
    text = (SAMPLES / "healthy/printer.cfg").read_text(encoding="utf-8")
    (tmp_path / "printer.cfg").write_text(
        text.replace("run_current: 0.56", "run_current: 0.90"), encoding="utf-8"
    )
    guessed = plan_test(str(tmp_path / "printer.cfg"), Asks())
    stated = plan_test(
        str(tmp_path / "printer.cfg"), Asks(sheet=str(SAMPLES / "healthy/hardware.yaml"))
    )

    assert guessed.plan is not None
    assert stated.plan is None
    assert "above its derated limit of 0.57 A RMS" in stated.refused[0]


def test_short_moves_split_a_step(tmp_path: Path) -> None:
    """At most 50 mm a move: a step of 280 mm is six moves; at most 5 mm: no test."""
    text = (SAMPLES / "healthy/printer.cfg").read_text(encoding="utf-8")
    for limit, moves in (("50", 6), ("5", 0)):
        (tmp_path / "printer.cfg").write_text(
            text.replace("max_extrude_only_distance: 100", f"max_extrude_only_distance: {limit}"),
            encoding="utf-8",
        )
        report = plan_test(str(tmp_path / "printer.cfg"), Asks())
        if not moves:
            assert "no moves of filament alone" in report.refused[0]
            continue
        assert report.plan is not None
        steps = [step for step in feeds(report.gcode) if len(step) > 2]
        assert {len(step) for step in steps} == {moves}
        for step in steps:
            assert sum(length for length, _ in step) == pytest.approx(280.0, abs=1e-3)


def test_a_slow_firmware_limit_is_kept_and_told(tmp_path: Path) -> None:
    """At most 6 mm/s of filament: no flow above 14.4 mm3/s, and that is said."""
    text = (SAMPLES / "healthy/printer.cfg").read_text(encoding="utf-8")
    (tmp_path / "printer.cfg").write_text(
        text.replace("max_extrude_only_velocity: 60", "max_extrude_only_velocity: 6"),
        encoding="utf-8",
    )
    report = plan_test(str(tmp_path / "printer.cfg"), Asks())
    assert report.plan is not None

    assert max(step.speed for step in report.plan.steps) <= 6e-3
    assert any("14.4 mm3/s is the most the firmware feeds" in remark for remark in report.remarks)


def test_a_second_extruder_is_selected() -> None:
    """The G-code selects the extruder where there are several, the first too."""
    config = str(SAMPLES / "include-tree/sorghum/printer.cfg")
    names = list(check_config(config, Asks()).books)
    report = plan_test(config, Asks(), extruder=names[1])
    first = plan_test(config, Asks(), extruder=names[0])

    assert len(names) == 2
    if report.plan is not None:
        assert f"ACTIVATE_EXTRUDER EXTRUDER={names[1]}" in report.gcode
    assert f"ACTIVATE_EXTRUDER EXTRUDER={names[0]}" in first.gcode


def test_a_first_test_sharpens_the_second() -> None:
    """Planned with a weighed table, the flows stand closer around what was found."""
    plain = planned("healthy/printer.cfg")
    again = planned("healthy/printer.cfg", weighed=(str(SAMPLES / "healthy/flow-test.csv"),))
    assert plain.plan is not None
    assert again.plan is not None

    width = again.plan.knee.high - again.plan.knee.low
    assert width < 0.5 * (plain.plan.knee.high - plain.plan.knee.low)
    assert "planned around what was weighed before" in again.remarks


def test_numbers_of_the_plan_are_read_in_si() -> None:
    """The data file states trade units."""
    numbers = weigh_numbers("plan")

    assert numbers["scale"] == pytest.approx(1e-5)
    assert numbers["most_length"] == pytest.approx(3.0)
    assert numbers["mass_uncertainty"] == pytest.approx(0.005)
