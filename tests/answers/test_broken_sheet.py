"""A sheet that cannot be used: what sets a current stops, what reports says so first of all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tiers import spread, wide

from advisor.cli import main

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
[tmc2209 extruder]
run_current: 0.9
"""
PROFILE = "filament_type = ABS\nfilament_max_volumetric_speed = 24\n"
PRINT = "M83\nG1 X10 Y10 Z0.2 F6000\nG1 X60 Y10 E5 F3000\nG1 X60 Y60 E5\n"
BROKEN = {
    "typo": "motor: {clas: square-42-long}\n",
    "unit": "motor: {rated_current: 1.0 mm}\n",
    "yaml": "motor: [1, 2\n",
    "base": "base: other.yaml\n",
}
STOPS = (
    ("mend", "printer.cfg"),
    ("mend", "printer.cfg", "--write"),
    ("weigh", "plan", "printer.cfg"),
    ("compare", "printer.cfg", "--vary", "motor.run_current=derated"),
    ("compare", "printer.cfg", "--target", "20mm3/s"),
)
TELLS = (
    ("lint", "printer.cfg"),
    ("flow", "printer.cfg", "--profile", "fast.ini"),
    ("session", "printer.cfg"),
    ("torque", "printer.cfg"),
    ("grip", "printer.cfg"),
    ("demand", "print.gcode", "--config", "printer.cfg"),
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine in the present folder."""
    (tmp_path / "printer.cfg").write_text(CONFIG)
    (tmp_path / "fast.ini").write_text(PROFILE)
    (tmp_path / "print.gcode").write_text(PRINT)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@wide
@pytest.mark.parametrize(
    ("kind", "found"), spread([(kind, found) for kind in BROKEN for found in (True, False)], 1)
)
def test_what_sets_a_current_stops(
    folder: Path, capsys: pytest.CaptureFixture[str], kind: str, found: bool
) -> None:
    """Exit code 3, one sentence, nothing on standard output, no file changed."""
    name = "hardware.yaml" if found else "mine.yaml"
    (folder / name).write_text(BROKEN[kind])
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    wrong = []
    for command in STOPS:
        code = main([*command, *([] if found else ["--sheet", name])])
        out, err = capsys.readouterr()
        if code != 3 or out or "was not used: " not in err or "INTERNAL" in err:
            wrong.append((command, code, out, err))
    assert not wrong
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_the_sentence_is_valid_json_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --format json the object holds the sentence and no figure."""
    (folder / "hardware.yaml").write_text(BROKEN["typo"])
    for command in (one for one in STOPS if "--write" not in one):
        assert main([*command, "--format", "json"]) == 3
        tree = json.loads(capsys.readouterr().out)
        assert "hardware.yaml was not used" in tree["errors"][0]
        assert not {"edits", "steps", "variants"} & set(tree)


@wide
@pytest.mark.parametrize(
    ("command", "kind"),
    spread([(command, kind) for command in TELLS for kind in BROKEN], 3),
    ids=lambda part: part if isinstance(part, str) else part[0],
)
def test_a_report_says_so_in_its_first_line(
    folder: Path, capsys: pytest.CaptureFixture[str], command: tuple[str, ...], kind: str
) -> None:
    """On standard output, before any figure; and the exit code is 3."""
    (folder / "hardware.yaml").write_text(BROKEN[kind])
    code = main(list(command))
    out = capsys.readouterr().out
    file = "other.yaml" if kind == "base" else "hardware.yaml"
    assert out.startswith((f"{file} was not used: ", "hardware.yaml was not used: "))
    assert code == 3


@wide
def test_a_sound_sheet_is_no_first_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nor is one that is not there."""
    for text in (None, "filament: {material: abs}\n"):
        if text is not None:
            (folder / "hardware.yaml").write_text(text)
        for command in spread(TELLS, 1):
            main(list(command))
            assert "was not used" not in capsys.readouterr().out


@pytest.mark.parametrize("command", ["lint", "flow"])
def test_a_profile_that_cannot_be_used_comes_first(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    command: str,
) -> None:
    """Several presets and none named: the figures below are without the profile, and it says so."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "printer.cfg").write_text("[extruder]\nrotation_distance: 22.6\n")
    (tmp_path / "bundle.ini").write_text(
        "[filament:Fast]\nfilament_type = PLA\n[filament:Slow]\nlayer_height = 1\n"
    )

    main([command, "printer.cfg", "--profile", "bundle.ini"])

    out = " ".join(capsys.readouterr().out.split())
    assert out.startswith("bundle.ini was not used: line 1: several presets are in it")
