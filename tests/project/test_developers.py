"""The edits that DEVELOPERS.md tells are made in a copy of the project, and they work."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
_EDIT = re.compile(
    r"^### (?P<title>.+)\n(?:(?!^###)(?!^```).*\n)*^```yaml\n"
    r'# (?:at the end of|in) (?P<file>\S+?)(?:, below the line "(?P<line>.*)")?\n'
    r"(?P<text>(?:(?!^```).*\n)+)^```$",
    re.MULTILINE,
)
EDITS = {
    found["title"]: found
    for found in _EDIT.finditer((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
}
CONFIG = (ROOT / "samples/healthy/printer.cfg").read_text(encoding="utf-8")
SHEET = (ROOT / "samples/healthy/hardware.yaml").read_text(encoding="utf-8")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Return a copy of what the program is made of, with a config and a sheet beside it."""
    for part in ("advisor", "grammars", "rules"):
        ignored = shutil.ignore_patterns("__pycache__", "_data")
        shutil.copytree(ROOT / part, tmp_path / part, ignore=ignored)
    (tmp_path / "printer.cfg").write_text(CONFIG, encoding="utf-8")
    (tmp_path / "hardware.yaml").write_text(SHEET, encoding="utf-8")
    return tmp_path


def _edit(project: Path, title: str) -> None:
    found = EDITS[title]
    path = project / found["file"]
    text = path.read_text(encoding="utf-8")
    if found["line"] is None:
        path.write_text(text + "\n" + found["text"], encoding="utf-8")
        return
    assert text.count(f"\n{found['line']}\n") == 1
    before, line, after = text.partition(f"\n{found['line']}\n")
    path.write_text(before + line + found["text"] + after, encoding="utf-8")


def _change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def _lint(project: Path) -> dict[str, Any]:
    command = [sys.executable, "-m", "advisor", "lint", "printer.cfg", "--format", "json"]
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    report: dict[str, Any] = json.loads(done.stdout)
    return report


CASES = {
    "A material": (
        [("hardware.yaml", "material: pla", "material: pla-chalk")],
        ("filament.material", "pla-chalk"),
    ),
    "A motor class": (
        [("hardware.yaml", "class: round-36", "class: square-42-medium")],
        ("motor.class", "square-42-medium"),
    ),
    "A hotend class": (
        [("hardware.yaml", "class: long", "class: short")],
        ("hotend.class", "short"),
    ),
    "A driver chip": (
        [("printer.cfg", "[tmc2209 extruder]", "[tmc9990 extruder]")],
        ("driver.chip", "tmc9990"),
    ),
    "A key of the config": (
        [
            ("hardware.yaml", "  heater_power: 50 W\n", ""),
            ("printer.cfg", "max_temp: 270", "max_temp: 270\nheater_watts: 44"),
        ],
        ("hotend.heater_power", 44),
    ),
}
RULE = "retract-out-of-the-melt-zone"


@pytest.mark.parametrize("title", CASES)
def test_the_edit_works(project: Path, title: str) -> None:
    """One edit of one YAML file and no Python, and the program knows the new thing."""
    changes, (fact, wanted) = CASES[title]
    for change in changes:
        _change(project / change[0], *change[1:])
    _edit(project, title)

    stated = _lint(project)["extruders"][0]["facts"][fact]

    assert stated["value"] == wanted
    assert stated["origin"] in ("sheet", "config")


def test_the_new_lever_is_tried(project: Path) -> None:
    """A lever of one YAML edit is swept, as far as it says."""
    _edit(project, "A lever")
    command = [sys.executable, "-m", "advisor", "compare", "printer.cfg", "--target", "90mm3/s"]
    done = subprocess.run(
        [*command, "--format", "json"], cwd=project, capture_output=True, text=True, check=False
    )
    changes = json.loads(done.stdout)["target"]["changes"]
    lever = next(change for change in changes if change["fact"] == "hotend.heater_power")

    assert (lever["limit"], lever["limited_by"]) == (70, "a cartridge of usual size")


def test_the_new_rule_speaks(project: Path) -> None:
    """A rule of one YAML edit finds what it describes, and says what to set."""
    _change(project / "printer.cfg", "retract_length: 0.6", "retract_length: 30")
    _edit(project, "A rule")

    found = {finding["rule"]: finding for finding in _lint(project)["findings"]}

    assert found[RULE]["fix"]["from"] == "30"
    assert float(found[RULE]["fix"]["to"]) < 30


def test_every_edit_is_tried() -> None:
    """The tests above know each chapter of the document."""
    assert set(EDITS) == {*CASES, "A rule", "A lever"}
