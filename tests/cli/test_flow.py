"""`feedwright flow` from the command line, on samples and on profiles with parents."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator

from advisor.report.json import json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
VALIDATOR = Draft202012Validator(json_schema())
MACHINE = str(SAMPLES / "healthy" / "printer.cfg")


def _profile(folder: Path, name: str, **settings: str) -> Path:
    path = folder / f"{name}.json"
    path.write_text(json.dumps({"name": name, "type": "filament", **settings}))
    return path


def test_a_cap_above_the_capacity_is_too_much(run: Runner) -> None:
    """Yes first; the code is 1; JSON agrees with the text."""
    where = SAMPLES / "asks-too-much"
    arguments = ("flow", str(where / "printer.cfg"), "--profile", str(where / "profile.ini"))
    ran, told = run(*arguments), run(*arguments, "--format", "json")
    assert (ran.code, told.code) == (1, 1)
    assert ran.out.splitlines()[0].startswith("answer      yes")
    VALIDATOR.validate(told.json)
    assert told.json["exceeds"] is True
    assert told.json["set_to"] <= told.json["capacity"]["value"]
    speeds = [x["flow"] for x in told.json["features"] if x["flow"] is not None]
    assert speeds == sorted(speeds, reverse=True)


def test_a_cap_inside_the_capacity_fits(run: Runner) -> None:
    """No; the code is 0."""
    ran = run("flow", MACHINE, "--profile", str(SAMPLES / "healthy" / "profile.ini"))
    assert ran.code == 0
    assert "no, it fits" in ran.out.splitlines()[0]


def test_the_speed_that_fits_really_fits(run: Runner) -> None:
    """At the speed told, the feature's flow is at or below the nominal capacity."""
    where = SAMPLES / "asks-too-much"
    told = run("flow", str(where / "printer.cfg"), "--profile", str(where / "profile.ini"),
               "--format", "json").json  # fmt: skip
    capacity = told["capacity"]["value"]
    cut = [x for x in told["features"] if x["speed_that_fits"] is not None]
    assert cut
    for feature in cut:
        assert feature["flow"] > capacity
        assert feature["flow"] * feature["speed_that_fits"] / feature["speed"] <= capacity


def test_a_missing_parent_is_named_and_nothing_is_guessed(run: Runner, tmp_path: Path) -> None:
    """The cap may stand in the parent: not known, with the parent's name; found in --parents."""
    child = _profile(tmp_path, "mine", inherits="base filament")
    told = run("flow", MACHINE, "--profile", str(child), "--format", "json").json
    VALIDATOR.validate(told)
    assert told["exceeds"] is None
    assert "parent" in " ".join(told["lacking"])
    assert any("base filament" in x["message"] for x in told["findings"])

    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    _profile(elsewhere, "base filament", filament_max_volumetric_speed="40")
    found = run("flow", MACHINE, "--profile", str(child), "--parents", str(elsewhere),
                "--format", "json").json  # fmt: skip
    assert found["asked"]["value"] == 40
    assert found["exceeds"] is True


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        ((MACHINE, "--asked", "20 A"), 2, "is no flow"),
        ((MACHINE, "--asked", "20mm3/s", "--extruder", "extruder9"), 2, "extruder9"),
        ((MACHINE, "--profile", "nowhere.ini"), 3, "nowhere.ini"),
        (("nowhere.cfg", "--asked", "20mm3/s"), 3, "nowhere.cfg"),
    ],
)
def test_what_cannot_be_answered_is_a_sentence(
    run: Runner, arguments: tuple[str, ...], code: int, words: str
) -> None:
    """The right code and one sentence on stderr."""
    ran = run("flow", *arguments)
    assert ran.code == code
    assert words in ran.err
    assert "Traceback" not in ran.err
