"""`feedwright compare` from the command line: streams and exit codes."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator
from tiers import only_wide, wide

from advisor.report.json import json_schema

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


@pytest.mark.parametrize(
    "more",
    [
        ("--sheet", "over-driven/hardware.yaml"),
        ("--target", "30mm3/s"),
        ("--vary", "nozzle.diameter=0.4mm,0.6mm"),
    ],
)
@pytest.mark.parametrize("form", ["text", "json", "csv"])
def test_a_sheet_with_a_typo_stops_it(
    run: Runner, tmp_path: Path, form: str, more: tuple[str, ...]
) -> None:
    """One sentence with the place; no table of nothing, and no fault of ours."""
    sheet = tmp_path / "slip.yaml"
    sheet.write_text("motr: {class: round-36}\n", encoding="utf-8")
    ran = run("compare", MACHINE, "--sheet", str(sheet), "--format", form, *more)

    assert ran.code == 3
    assert "slip.yaml:1:1" in ran.err
    assert "INTERNAL" not in ran.err
    if form == "text":
        assert ran.out == ""


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


WEIGHED = ("--weighed", "healthy/flow-test.csv", "--vary", "nozzle.diameter=0.6mm")


@wide
@only_wide
def test_a_weighed_test_narrows_every_variant(run: Runner) -> None:
    """The key that other commands have, and for each variant how much narrower it is."""
    ran = run("compare", MACHINE, *WEIGHED, "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    VALIDATOR.validate(ran.json)
    plain = run("compare", MACHINE, *WEIGHED[2:], "--format", "json").json
    assert plain["weighed"] is None
    assert ran.json["weighed"]["files"] == ["healthy/flow-test.csv"]
    assert run("lint", MACHINE, *WEIGHED[:2], "--format", "json").json["extruders"][0][
        "weighed"] == ran.json["weighed"]  # fmt: skip
    for told, before in zip(ran.json["variants"], plain["variants"], strict=True):
        assert before["narrower"] is None
        assert told["narrower"] == pytest.approx(1 - width(told) / width(before), abs=0.02)
        assert told["narrower"] > 0.3


def width(variant: dict[str, dict[str, float]]) -> float:
    return variant["capacity"]["high"] - variant["capacity"]["low"]


def test_help_says_which_machine_was_weighed(run: Runner) -> None:
    """The config with its first sheet."""
    words = " ".join(run("compare", "--help").out.split())
    assert "the config with the first sheet, is the machine as it is" in words
    assert "weighed tests were done on it" in words


def test_a_profile_asks_of_every_variant(run: Runner) -> None:
    """24 mm3/s by the profile: no nozzle delivers it; the share is told, no lever is sought."""
    ran = run("compare", "asks-too-much/printer.cfg", "--profile", "asks-too-much/profile.ini",
              "--vary", "nozzle.diameter=0.6mm,0.8mm", "--format", "json")  # fmt: skip
    assert ran.code == 0
    VALIDATOR.validate(ran.json)
    assert ran.json["asked"]["value"] == pytest.approx(24.0)
    assert ran.json["target"] is None
    shares = [row["delivers_asked"] for row in ran.json["variants"]]
    assert all(share is not None and share < 0.05 for share in shares)


def test_what_the_first_sheet_asks_is_asked_of_the_others(run: Runner, tmp_path: Path) -> None:
    """A sheet that asks nothing of its own is held to the machine as it is."""
    text = Path("healthy/hardware.yaml").read_text(encoding="utf-8")
    for name, asked in (("now.yaml", "asked: 12 mm3/s\n"), ("other.yaml", "")):
        kept = [line for line in text.splitlines() if not line.startswith("asked:")]
        (tmp_path / name).write_text("\n".join([*kept, asked]), encoding="utf-8")
    ran = run("compare", MACHINE, "--sheet", str(tmp_path / "now.yaml"),
              "--sheet", str(tmp_path / "other.yaml"), "--format", "json")  # fmt: skip
    first, other = ran.json["variants"]
    assert ran.json["asked"]["value"] == pytest.approx(12.0)
    assert other["delivers_asked"] == first["delivers_asked"] is not None


def test_csv_has_the_share_that_was_narrowed(run: Runner) -> None:
    """Beside the other shares; empty without a weighed test."""
    import csv

    rows = list(
        csv.DictReader(run("compare", MACHINE, *WEIGHED, "--format", "csv").out.splitlines())
    )
    assert [float(row["narrower"]) > 0.3 for row in rows] == [True, True]
    plain = run("compare", MACHINE, *WEIGHED[2:], "--format", "csv").out.splitlines()
    assert [row["narrower"] for row in csv.DictReader(plain)] == ["", ""]


def test_names_in_a_table_are_short_and_whole_in_json(run: Runner) -> None:
    """Common folders are left away in the text; sorted and limited rows say so."""
    sheets = [arg for name in ("hardware", "mid-twin", "small-twin")
              for arg in ("--sheet", f"gear-bench/{name}.yaml")]  # fmt: skip
    shown = run("compare", "gear-bench/printer.cfg", *sheets, "--sort", "skip", "--limit", "2").out
    assert "\n3 small-twin.yaml  " in shown
    assert "shown       1 left out by --limit: the answer is of those below" in shown
    assert "gear-bench/" not in shown


@wide
@only_wide
def test_the_largest_target_is_in_however_it_is_written(run: Runner) -> None:
    """400 mm3/s rounds up on its way to SI; a little more is out."""
    for text in ("400mm3/s", "400.0 mm3/s"):
        assert run("compare", MACHINE, "--target", text).code == 1
    assert run("compare", MACHINE, "--target", "400.1mm3/s").code == 2
