"""An answer fits a screen: lines of every command on every sample, at 80 columns.

The numbers of lines are our own choice, with no source outside the project.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from cli_answers import Runner
from snapshot_cases import Sample, samples
from tiers import spread, wide

ROOT = Path(__file__).resolve().parents[2]

WIDTH = 80
FOUND, HEALTHY = 40, 20  # of lint: with findings; with nothing to report
DERATE, FLOW, DEMAND, COMPARE, GRIP, TORQUE = 12, 20, 25, 30, 30, 35
PLAN, READ, SHEET, EXPLAIN, NAMES = 30, 30, 40, 45, 40
FIELD = ("brace", "tamar")  # invented machines without a sheet, of the field set
PRINT = "samples/asks-too-much/box.gcode"
GEARS = "drive.gear_diameter=8mm..16mm:3"
SKETCH = ("--draws", "64")  # the lines are the same with few machines, and sooner there
RATINGS = (
    ("1.0A",), ("1.0A..1.5A",), ("2.8A", "--basis", "rms", "--driver", "tmc2208"),
    ("1A", "--mount", "pla", "--ambient", "60C", "--driver", "tmc2209"),
)  # fmt: skip
EXPLAINED = (
    "run_current", "rotation_distance", "pressure_advance", "clicking", "grip of the gears", "grip",
    "torque", "pla", "tpu-95a", "round-36", "tmc2209", "run-current-above-derated", "standard",
)  # fmt: skip
LADDERS = ("flow.capacity", "flow.torque", "flow.melt", "motor.derated_current")
Case = tuple[tuple[str, ...], int]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the samples and of some machines of the field set: paths are shown as given."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    for name in FIELD:
        place = tmp_path / "field" / name
        place.mkdir(parents=True)
        shutil.copy(ROOT / "tests" / "field" / name / "printer.cfg", place)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", str(WIDTH))
    return tmp_path


@wide
def test_every_answer_fits_its_screen(run: Runner, here: Path) -> None:
    """All that are too long, or too wide, are listed."""
    told, wrong = 0, []
    cases = list(_cases(here))
    first = [case for case in cases if case[0][0] in {"lint", "flow"}]
    some = [*spread(first, 6, 40), *spread([case for case in cases if case not in first], 10, 60)]
    for words, screen in some:
        ran = run(*words)
        lines = ran.out.splitlines()
        fine = words[0] == "lint" and "nothing to report" in ran.out
        most = HEALTHY if fine else screen
        over = [line for line in lines if len(line) > WIDTH and "/" not in line]
        told += len(lines)
        if len(lines) > most or over or ran.code not in {0, 1}:
            wrong.append(f"{' '.join(words)}: {len(lines)} of {most} lines; {over}; {ran.err}")
    assert told > 9 * len(some)
    assert not wrong, "\n".join(wrong)


def _cases(here: Path) -> Iterator[Case]:
    """Yield the words of a command and its most lines."""
    for sample in samples(here):
        yield from _of(sample)
    for name in FIELD:
        config = f"field/{name}/printer.cfg"
        yield from _of_config(config)
        yield from _of_machine(config)
    for config in ("asks-too-much", "healthy", "no-sheet", "soft-filament"):
        yield ("demand", PRINT, "--config", f"samples/{config}/printer.cfg"), DEMAND
    for rating in RATINGS:
        yield ("derate", *rating), DERATE
    yield ("explain",), NAMES
    for name in EXPLAINED:
        yield ("explain", name), EXPLAIN


def _of(sample: Sample) -> Iterator[Case]:
    config = sample.configs[0]
    whole = sample.configs if sample.name != "ugly" else sample.configs[:1]
    for path in whole:
        yield from _of_config(path)
    yield from _of_machine(config)
    for sheet in sample.sheets:
        yield ("lint", config, "--sheet", sheet), FOUND
        yield ("derate", "--sheet", sheet), DERATE
    sheets = [word for sheet in sample.sheets for word in ("--sheet", sheet)]
    if len(sample.sheets) > 1:
        yield ("compare", config, *sheets, *SKETCH), COMPARE
    for profile in sample.profiles:
        yield ("lint", config, "--profile", profile), FOUND
        yield ("flow", config, "--profile", profile), FLOW
    for table in sample.weighed:
        yield ("weigh", "read", table, "--config", config), READ
        yield ("weigh", "next", table, "--config", config), PLAN
        yield ("lint", config, "--weighed", table), FOUND
        yield ("flow", config, "--weighed", table, "--asked", "12mm3/s"), FLOW


def _of_config(config: str) -> Iterator[Case]:
    yield ("lint", config), FOUND
    yield ("lint", config, "--asked", "12mm3/s"), FOUND


def _of_machine(config: str) -> Iterator[Case]:
    yield ("flow", config), FLOW
    yield ("flow", config, "--asked", "12mm3/s"), FLOW
    yield ("torque", config, "--asked", "12mm3/s"), TORQUE
    yield ("grip", config), GRIP
    yield ("compare", config, "--vary", GEARS, *SKETCH), COMPARE
    yield ("compare", config, "--target", "20mm3/s", *SKETCH), COMPARE
    yield ("compare", config, "--target", "15mm3/s", "--sure", "90%", *SKETCH), COMPARE
    yield ("weigh", "plan", config), PLAN
    yield ("sheet", config), SHEET
    for figure in LADDERS:
        yield ("explain", figure, config), EXPLAIN


def test_help_fits_a_terminal(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every line of every command's help has at most 80 columns, its examples too."""
    from advisor.cli.app import COMMANDS

    monkeypatch.setenv("COLUMNS", str(WIDTH))
    weigh = (("weigh", "plan"), ("weigh", "next"), ("weigh", "read"))
    commands = [(), *((name,) for name in COMMANDS), *weigh]
    helped = {words: run(*words, "--help").out.splitlines() for words in commands}
    assert all(len(lines) > 5 for lines in helped.values())
    over = [line for lines in helped.values() for line in lines if len(line) > WIDTH]
    assert over == []
