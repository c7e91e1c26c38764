"""`feedwright compare` from the command line: streams and exit codes."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator

from advisor.report.schema import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
MACHINE = "healthy/printer.cfg"


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


def test_sheets_are_set_side_by_side(run: Runner) -> None:
    """One row a sheet, named as the sheet; nothing on stderr."""
    ran = run("compare", MACHINE, "--sheet", "healthy/hardware.yaml",
              "--sheet", "over-driven/hardware.yaml", "--format", "json")  # fmt: skip
    assert (ran.code, ran.err) == (0, "")
    VALIDATOR.validate(ran.json)
    names = [row["name"] for row in ran.json["variants"]]
    assert names == ["healthy/hardware.yaml", "over-driven/hardware.yaml"]
    assert ran.json["variants"][0]["better_share"] is None


def test_a_target_that_nothing_reaches_exits_with_1(run: Runner) -> None:
    """And says so; one that is reached exits with 0."""
    ran = run("compare", MACHINE, "--target", "90mm3/s")
    assert ran.code == 1
    assert "no change of one thing" in ran.out
    assert run("compare", MACHINE, "--target", "20mm3/s").code == 0


def test_a_missing_sheet_or_config_exits_with_3_and_valid_json(run: Runner) -> None:
    """What could not be read is named on stderr and in the JSON."""
    for arguments in ((MACHINE, "--sheet", "none.yaml"), ("none.cfg",)):
        ran = run("compare", *arguments, "--vary", "nozzle.diameter=0.4mm,0.6mm",
                  "--format", "json")  # fmt: skip
        assert ran.code == 3
        VALIDATOR.validate(ran.json)
        assert ran.json["errors"]
        assert "none." in ran.err


def test_usage_errors_leave_stdout_empty(run: Runner) -> None:
    """Exit code 2 and one sentence."""
    for arguments in ((), ("--vary", "motor.clas=x"), ("--target", "fast"),
                      ("--target", "9mm3/s", "--sort", "capasity")):  # fmt: skip
        ran = run("compare", MACHINE, *arguments)
        assert (ran.code, ran.out) == (2, "")
        assert len(ran.err.splitlines()) == 1


def test_a_config_may_come_on_standard_input(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same capacities as from the file with its sheet named."""
    options = ("--sheet", "healthy/hardware.yaml", "--vary", "nozzle.diameter=0.6mm",
               "--format", "json")  # fmt: skip
    plain = run("compare", MACHINE, *options).json
    stream = io.TextIOWrapper(io.BytesIO(Path(MACHINE).read_bytes()))
    monkeypatch.setattr(sys, "stdin", stream)
    piped = run("compare", "-", *options).json
    assert [r["capacity"] for r in piped["variants"]] == [r["capacity"] for r in plain["variants"]]
