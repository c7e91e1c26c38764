"""`feedwright torque` and `feedwright grip` from the command line: text, JSON, exit codes."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from cli_answers import Runner
from every import every
from jsonschema import Draft202012Validator
from tiers import only_wide, spread, wide

from advisor.report.clean import cell_width
from advisor.report.json import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
MACHINE = "healthy/printer.cfg"
COMMANDS = ("torque", "grip")
CONFIGS = sorted(str(path.relative_to(SAMPLES)) for path in SAMPLES.rglob("*.cfg"))


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


@only_wide
@wide
@every("command", COMMANDS)
@every("config", spread(CONFIGS, 0, 7))
def test_every_sample_gets_a_whole_answer(run: Runner, command: str, config: str) -> None:
    """Valid JSON, text within 80 columns, never a fault of ours."""
    ran = run(command, config, "--format", "json")
    VALIDATOR.validate(ran.json)
    assert "INTERNAL" not in ran.err
    text = run(command, config)
    assert text.code == ran.code
    assert all(cell_width(line) <= 80 for line in text.out.splitlines())
    assert text.out.strip()


@wide
@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("columns", spread(["40", "60", "120"], 1))
def test_it_fits_other_widths_and_plain_ascii(
    run: Runner, monkeypatch: pytest.MonkeyPatch, command: str, columns: str
) -> None:
    """No line beyond the terminal, but for a word that is longer; a C locale gets ASCII."""
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("LC_ALL", "C")
    ran = run(command, MACHINE)
    assert ran.out.isascii()
    long = [line for line in ran.out.splitlines() if len(line) > int(columns)]
    assert all(len(line.split()) <= 2 for line in long)


def test_torque_marks_and_lists_the_same_points(run: Runner) -> None:
    """Each letter of the picture stands in the table below it, with its torque in the JSON."""
    ran = run("torque", MACHINE, "--asked", "10mm3/s", "--full")
    points = run("torque", MACHINE, "--asked", "10mm3/s", "--format", "json").json["points"]
    picture, _, table = ran.out.partition("What the motor must do")
    for letter, point in zip("ABCDEFGH", points, strict=False):
        assert f"{letter} {point['title']}" in table
        assert letter in picture.replace("Torque", "")
    assert ran.code == 0


def test_torque_exits_with_1_where_something_asked_is_too_much(run: Runner) -> None:
    """A flow that needs more than the usable torque; a mere limit does not count."""
    ran = run("torque", MACHINE, "--asked", "25mm3/s")
    assert ran.code == 1
    assert ran.out.startswith("answer      the motor skips in the feed at the requested flow")
    assert run("torque", MACHINE).code == 0


def test_torque_takes_the_peak_of_a_print(run: Runner) -> None:
    """As a point of its own that is told, not judged."""
    config = "asks-too-much/printer.cfg"
    ran = run("torque", config, "--print", "asks-too-much/box.gcode", "--format", "json")
    peak = next(point for point in ran.json["points"] if point["name"] == "print-peak")
    assert peak["asked"] is False
    assert peak["filament_speed"]["value"] > 0


def test_grip_says_first_what_becomes_of_the_machines_own_filament(run: Runner) -> None:
    """Then the table, soft filament first."""
    ran = run("grip", "soft-filament/printer.cfg", "--beside", "pla", "--beside", "petg")
    assert ran.out.startswith(
        "answer      the gears grind TPU 95A: 6 mm\u00b3/s takes 100 (29-340) %"
    )
    rows = [line.split()[0] for line in ran.out.splitlines() if line.startswith(("TPU", "P"))]
    assert rows.index("TPU") < rows.index("PETG") < rows.index("PLA")


@wide
@pytest.mark.parametrize("command", spread(list(COMMANDS), 1))
def test_standard_input_and_weighed_tests_are_taken(
    run: Runner, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """The same answer as from the file; a weighed test is named."""
    options = ("--sheet", "healthy/hardware.yaml", "--format", "json")
    plain = run(command, MACHINE, *options).json
    stream = io.TextIOWrapper(io.BytesIO((SAMPLES / MACHINE).read_bytes()))
    monkeypatch.setattr(sys, "stdin", stream)
    piped = run(command, "-", *options).json
    assert {**plain, "files": 0} == {**piped, "files": 0}
    weighed = run(command, MACHINE, "--weighed", "healthy/flow-test.csv")
    assert "first roll: the range is" in " ".join(weighed.out.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_what_cannot_be_is_refused(run: Runner, command: str) -> None:
    """A missing config is exit code 3 with valid JSON; an unknown extruder is wrong usage."""
    ran = run(command, "none.cfg", "--format", "json")
    assert ran.code == 3
    VALIDATOR.validate(ran.json)
    wrong = run(command, MACHINE, "--extruder", "extruder9")
    assert (wrong.code, wrong.out) == (2, "")
