"""lint and explain over every config of samples/: valid output and tidy streams, whatever it is."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest
from cli_answers import Runner
from every import every
from jsonschema import Draft202012Validator
from tiers import only_wide, spread, wide

from advisor.report.json import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIGS = sorted(path.relative_to(SAMPLES).as_posix() for path in SAMPLES.rglob("*.cfg"))
VALIDATOR = Draft202012Validator(json_schema())
HEALTHY = "healthy/printer.cfg"


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


def test_there_are_samples() -> None:
    """An empty folder would make the other tests hold by themselves."""
    assert len(CONFIGS) >= 10


@pytest.fixture(scope="module")
def stored() -> dict[str, Any]:
    """What lint says of each sample as JSON, once."""
    return {}


@wide
@every("config", spread(CONFIGS, 5))
def test_json_keeps_to_the_schema_on_every_sample(
    config: str, run: Runner, stored: dict[str, Any]
) -> None:
    """Healthy, over-driven or ugly: the schema holds, and the code agrees with the summary."""
    ran = run("lint", config, "--format", "json")
    stored[config] = ran.json["findings"]
    VALIDATOR.validate(ran.json)

    expected = 3 if ran.json["errors"] else int(ran.json["summary"]["error"] > 0)
    assert ran.code == expected
    assert ran.err.count("\n") == len(ran.json["errors"])
    assert "INTERNAL" not in ran.err


@wide
@only_wide
@every("config", CONFIGS)
def test_text_tells_every_finding_of_the_json(
    config: str, run: Runner, stored: dict[str, Any]
) -> None:
    """Each rule that fired is named, each line fits, nothing but the report is on stdout."""
    shown = run("lint", config, "--full").out
    findings = stored.get(config) or run("lint", config, "--format", "json").json["findings"]

    for finding in findings:
        assert f"feedwright explain {finding['rule']}" in " ".join(shown.split())
    for line in shown.splitlines():
        assert len(line) <= 80 or max(map(len, line.split())) > 60, line
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", shown)


@wide
@every("config", spread(CONFIGS, 4))
def test_sarif_is_written_for_every_sample(
    config: str, run: Runner, stored: dict[str, Any]
) -> None:
    """As many results as findings, each region at a line that exists."""
    run_tree = run("lint", config, "--format", "sarif").json["runs"][0]
    findings = stored.get(config) or run("lint", config, "--format", "json").json["findings"]

    assert len(run_tree["results"]) == len(findings)
    for result in run_tree["results"]:
        for place in result["locations"]:
            assert place["physicalLocation"]["region"]["startLine"] >= 1


def test_the_same_input_gives_the_same_bytes(run: Runner) -> None:
    """Twice the same run, twice the same output."""
    first, second = (run("lint", HEALTHY, "--format", "json").out for _ in range(2))
    assert first == second


def test_several_configs_and_a_missing_one(run: Runner) -> None:
    """What can be read is reported, what cannot is told, and the code is 3."""
    ran = run("lint", HEALTHY, "gone.cfg", "--format", "json")
    VALIDATOR.validate(ran.json)

    assert ran.code == 3
    assert {"path": "gone.cfg", "status": "missing", "role": "config"} in ran.json["files"]
    assert [extruder["config"] for extruder in ran.json["extruders"]] == [HEALTHY]
    assert "'gone.cfg'" in ran.err


def test_a_missing_config_alone(run: Runner) -> None:
    """Text: stdout empty; one sentence that names the path."""
    ran = run("lint", "gone.cfg")
    assert (ran.code, ran.out) == (3, "")
    assert "gone.cfg" in ran.err


def test_a_sheet_with_a_mistake(run: Runner, tmp_path: Path) -> None:
    """The sentence names file, line and remedy; the JSON is valid; the code is 3."""
    sheet = tmp_path / "hardware.yaml"
    sheet.write_text("motor:\n  rated_curent: 1.0 A\n")
    ran = run("lint", HEALTHY, "--sheet", str(sheet), "--format", "json")
    VALIDATOR.validate(ran.json)

    assert ran.code == 3
    assert "hardware.yaml:2" in ran.err
    assert "did you mean 'rated_current'" in ran.err


def test_a_flow_without_a_number_is_wrong_usage(run: Runner) -> None:
    """--asked quotes what it got; stdout stays empty."""
    ran = run("lint", HEALTHY, "--asked", "fast", "--format", "json")
    assert (ran.code, ran.out) == (2, "")
    assert "fast" in ran.err


def test_the_answer_comes_first(run: Runner) -> None:
    """Whether the requested flow fits, capacity with range, bottleneck: the first three lines."""
    lines = run("lint", HEALTHY, "--asked", "35mm3/s").out.splitlines()

    unit = "mm\u00b3/s"
    requested = f"{unit} requested on the command line, "
    assert re.match(rf"answer +too much: 35 {requested}[\d.]+ times", lines[0])
    lines = lines if lines[1].startswith("capacity") else lines[1:]
    conditions = "; PLA at 215 \u00b0C, 0.4 mm"
    assert re.match(rf"capacity +[\d.]+ \([\d.]+-[\d.]+\) {unit}{conditions}$", lines[1])
    assert re.match(r"bottleneck +(motor|grip|unsupported gap|melt zone|heater)\b", lines[2])
    far = run("lint", HEALTHY, "--asked", "60mm3/s").out.splitlines()
    assert re.match(rf"answer +too much: 60 {requested}far beyond", far[0])


def test_explain_names_a_near_miss(run: Runner) -> None:
    """An unknown name is wrong usage, with the closest one."""
    ran = run("explain", "flow.torqe")
    assert (ran.code, ran.out) == (2, "")
    assert "did you mean 'flow.torque'?" in ran.err


@every(
    "name", ["flow.torque", "torque", "motor.derated_current", "pla", "run-current-above-derated"]
)
@every("config", [(), (HEALTHY,)])
def test_explain_json_keeps_to_the_schema(name: str, config: tuple[str, ...], run: Runner) -> None:
    """A fact, a limit, a material and a rule, with and without a config."""
    ran = run("explain", name, *config, "--format", "json")
    VALIDATOR.validate(ran.json)
    assert (ran.code, ran.err) == (0, "")


def test_a_derivation_ends_at_what_is_stated(run: Runner) -> None:
    """The chain of the derated current reaches the sheet's line of the rating."""
    shown = " ".join(run("explain", "motor.derated_current", HEALTHY, "--full").out.split())
    assert "0.566 A RMS" in shown
    assert re.search(
        r"rated current per phase: 1 A, from the sheet .* healthy/hardware.yaml:\d", shown
    )


def test_a_binary_file_is_told_as_one(run: Runner, tmp_path: Path) -> None:
    """Noise with the name of a config: one finding, code 3, text and JSON alike."""
    path = tmp_path / "printer.cfg"
    path.write_bytes(random.Random(3).randbytes(50_000))
    ran = run("lint", str(path))
    assert ran.code == 3
    assert "not text" in ran.out
    told = run("lint", str(path), "--format", "json").json
    assert [x["rule"] for x in told["findings"]] == ["binary-file"]
    assert told["files"][0]["status"] == "unreadable"
