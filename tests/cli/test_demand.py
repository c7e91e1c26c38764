"""`feedwright demand` from the command line: streams, exit codes, JSON, CSV, hostile input."""

from __future__ import annotations

import csv
import gzip
import io
import sys
from pathlib import Path

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator
from tiers import spread, wide

from advisor.report.json import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
BOX, MACHINE = "asks-too-much/box.gcode", "asks-too-much/printer.cfg"


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


def test_a_print_that_asks_too_much_is_told_and_fails(run: Runner) -> None:
    """The first line is the answer; the code is 1; no line is wider than 80 columns."""
    ran = run("demand", BOX, "--config", MACHINE)
    assert ran.code == 1
    assert "does not fit" in ran.out.splitlines()[0]
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.err == ""


def test_a_print_that_fits_exits_with_0(run: Runner, tmp_path: Path) -> None:
    """Slow lines."""
    path = tmp_path / "slow.gcode"
    path.write_text("G90\nM83\nG92 X0 Y0 Z0\nG1 X100 E2 F1200\nG1 Y100 E2\n")
    ran = run("demand", str(path), "--config", "healthy/printer.cfg")
    assert ran.code == 0
    assert "it fits" in ran.out.splitlines()[0]


def test_json_keeps_to_the_schema_and_agrees_with_itself(run: Runner) -> None:
    """Shares lie in 0..1, the features' times add up to the print's extruding part."""
    ran = run("demand", BOX, "--config", MACHINE, "--format", "json")
    VALIDATOR.validate(ran.json)
    assert ran.json["exceeds"] is True
    assert ran.json["sustained"] <= ran.json["peak"] * (1 + 1e-9)
    volumes = sum(row["volume"] for row in ran.json["features"])
    assert volumes == pytest.approx(ran.json["volume"], rel=1e-8)
    flows = [place["flow"] for place in ran.json["worst"]]
    assert flows == sorted(flows, reverse=True)
    assert run("demand", BOX, "--config", MACHINE, "--format", "json").out == ran.out


def test_csv_holds_the_flow_over_time(run: Runner, tmp_path: Path) -> None:
    """Mean flow times duration adds up to the volume."""
    path = tmp_path / "flow.csv"
    ran = run("demand", BOX, "--config", MACHINE, "--csv", str(path), "--format", "json")
    rows = list(csv.DictReader(io.StringIO(path.read_text())))
    total = sum(float(r["duration_s"]) * float(r["mean_flow_mm3_s"]) for r in rows)
    assert total == pytest.approx(ran.json["volume"], rel=1e-6)
    assert float(rows[-1]["time_s"]) <= ran.json["time"]


def test_gzip_and_standard_input(
    run: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both give the same numbers as the plain file."""
    plain = run("demand", BOX, "--config", MACHINE, "--format", "json").json
    packed = tmp_path / "box.gcode.gz"
    packed.write_bytes(gzip.compress(Path(BOX).read_bytes()))
    assert run("demand", str(packed), "--config", MACHINE, "--format", "json").json[
        "volume"
    ] == pytest.approx(plain["volume"])

    class Stdin:
        closed = False
        buffer = io.BytesIO(Path(BOX).read_bytes())

    monkeypatch.setattr(sys, "stdin", Stdin)
    assert (
        run("demand", "-", "--config", MACHINE, "--format", "json").json["volume"]
        == plain["volume"]
    )


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("nowhere.gcode", "--config", MACHINE), 3, "nowhere.gcode"),
        ((".", "--config", MACHINE), 3, "folder"),
        ((BOX, "--config", "nowhere.cfg"), 2, "nowhere.cfg"),
        ((BOX, "--config", MACHINE, "--extruder", "extruder7"), 2, "extruder7"),
        ((BOX,), 2, "config"),
        (("-", "--config", "-"), 2, "both"),
        ((MACHINE, "--config", MACHINE), 3, "no G-code"),
        ((BOX, "--config", MACHINE, "--csv", "no/such/folder/x.csv"), 2, "there is no folder"),
    ],
)
def test_what_cannot_be_done_is_a_sentence(
    run: Runner, arguments: tuple[str, ...], code: int, words: str
) -> None:
    """One sentence on stderr, the right code, no report."""
    ran = run("demand", *arguments)
    assert ran.code == code
    assert words in ran.err
    assert "Traceback" not in ran.err
    assert ran.out == ""


def test_json_is_valid_when_the_print_cannot_be_read(run: Runner) -> None:
    """The errors alone."""
    ran = run("demand", "nowhere.gcode", "--config", MACHINE, "--format", "json")
    assert ran.code == 3
    VALIDATOR.validate(ran.json)
    assert ran.json["errors"]


def test_a_config_without_limits_cannot_plan(run: Runner, tmp_path: Path) -> None:
    """Speed and acceleration limit are needed, and named."""
    path = tmp_path / "bare.cfg"
    path.write_text("[extruder]\nrotation_distance: 22.6\nmicrosteps: 16\n")
    ran = run("demand", BOX, "--config", str(path))
    assert ran.code == 2
    assert "max velocity" in ran.err


def test_lint_judges_by_a_print(run: Runner) -> None:
    """What is asked of the melt zone is the sustained flow, of the motor the mean over the lag;
    one finding tells that it does not fit, and none of the single limits repeats it."""
    ran = run("lint", MACHINE, "--print", BOX, "--format", "json")
    VALIDATOR.validate(ran.json)
    facts = ran.json["extruders"][0]["facts"]
    told = run("demand", BOX, "--config", MACHINE, "--format", "json").json
    asked = {row["limit"]: row["asked"] for row in told["windows"]}
    assert facts["demand.asked_flow"]["value"] == told["sustained"] == asked["melt"]
    assert facts["demand.asked_push"]["value"] == asked["torque"]
    assert facts["demand.asked_heat"]["value"] == asked["heater"]
    assert facts["demand.print_peak"]["value"] == told["peak"]
    below = [x for x in ran.json["findings"] if x["rule"] == "flow-asked-above-limits"]
    assert below == []
    found = [x for x in ran.json["findings"] if x["rule"].startswith("print-")]
    assert [(x["rule"], x["level"], x["file"]) for x in found] == [
        ("print-temperature-differs", "note", BOX),
        ("print-does-not-fit", "error", BOX),
    ]
    assert ran.code == 1


@wide
@pytest.mark.parametrize("path", spread(["nowhere.gcode", MACHINE, "."], 1))
def test_lint_tells_of_a_print_it_cannot_read(run: Runner, path: str) -> None:
    """The report stays; the code is 3 and a sentence says why."""
    ran = run("lint", MACHINE, "--print", path, "--format", "json")
    VALIDATOR.validate(ran.json)
    assert ran.code == 3
    assert ran.json["extruders"]
    assert path in ran.err


def test_a_nozzle_that_is_no_number_leaves_the_print_readable(run: Runner, tmp_path: Path) -> None:
    """The capacity is not known and said so; peak and time are still told."""
    path = tmp_path / "printer.cfg"
    path.write_text(Path(MACHINE).read_text().replace("nozzle_diameter: 0.4", "nozzle_diameter: x"))
    ran = run("demand", BOX, "--config", str(path), "--format", "json")
    assert ran.code == 0
    VALIDATOR.validate(ran.json)
    assert ran.json["capacity"] is None
    assert ran.json["exceeds"] is None
    assert ran.json["peak"] > 0
