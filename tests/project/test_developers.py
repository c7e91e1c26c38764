"""The edits that DEVELOPERS.md tells are made in a copy of the project, and they work."""

from __future__ import annotations

import contextlib
import json
import re
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from fresh import imported_anew
from tiers import LONG

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


def copied(folder: Path) -> Path:
    """Copy what the program is made of, without its compiled data."""
    for part in ("advisor", "grammars", "rules"):
        ignored = shutil.ignore_patterns("_data")
        shutil.copytree(ROOT / part, folder / part, ignore=ignored)
    return folder


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


class Bench:
    """A machine in a folder of its own, and the changed program."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        folder.mkdir()
        (folder / "printer.cfg").write_text(CONFIG, encoding="utf-8")
        (folder / "hardware.yaml").write_text(SHEET, encoding="utf-8")

    def change(self, name: str, old: str, new: str) -> None:
        """Replace the one place of a file."""
        path = self.folder / name
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1
        path.write_text(text.replace(old, new), encoding="utf-8")

    def told(self, *arguments: str) -> Any:
        """Return what a command says as JSON."""
        from advisor.cli import main

        with contextlib.chdir(self.folder):
            code = main([*arguments, "--format", "json"])
        out, err = self.capsys.readouterr()
        assert code in (0, 1), err
        return json.loads(out)


CASES = {
    "A material": (
        [("hardware.yaml", "material: pla", "material: pla-chalk")],
        {"filament.material": "pla-chalk", "material.density": 1.40},
    ),
    "A motor class": (
        [("hardware.yaml", "class: round-36", "class: square-42-medium")],
        {"motor.class": "square-42-medium", "motor.rotor_inertia": 34},
    ),
    "A hotend class": (
        [("hardware.yaml", "class: long", "class: short")],
        {"hotend.class": "short", "hotend.melt_length": 8},
    ),
    "A driver chip": (
        [("printer.cfg", "[tmc2209 extruder]", "[tmc9990 extruder]")],
        {"driver.chip": "tmc9990", "driver.usual_resistor": 0.1},
    ),
    "A key of the config": (
        [
            ("hardware.yaml", "  heater_power: 50 W\n", ""),
            ("printer.cfg", "max_temp: 270", "max_temp: 270\nheater_watts: 44"),
        ],
        {"hotend.heater_power": 44},
    ),
}
RULE = "retract-out-of-the-melt-zone"


def _entry(title: str) -> Callable[[Bench], None]:
    def check(bench: Bench) -> None:
        changes, wanted = CASES[title]
        for change in changes:
            bench.change(*change)
        facts = bench.told("lint", "printer.cfg")["extruders"][0]["facts"]

        assert {fact: facts[fact]["value"] for fact in wanted} == wanted
        assert facts[next(iter(wanted))]["origin"] in ("sheet", "config")

    return check


def _lever(bench: Bench) -> None:
    """It is swept, as far as it says."""
    target = bench.told("compare", "printer.cfg", "--target", "90mm3/s")["target"]
    lever = next(it for it in target["changes"] if it["fact"] == "hotend.heater_power")

    assert (lever["limit"], lever["limited_by"]) == (70, "a cartridge of usual size")


def _rule(bench: Bench) -> None:
    """It finds what it describes, and says what to set."""
    bench.change("printer.cfg", "retract_length: 0.6", "retract_length: 30")
    told = bench.told("lint", "printer.cfg")["findings"]
    found = {finding["rule"]: finding for finding in told}

    assert found[RULE]["fix"]["from"] == "30"
    assert float(found[RULE]["fix"]["to"]) < 30


def _command(bench: Bench) -> None:
    """It is told as a later setting."""
    macro = "[gcode_macro FAST]\ngcode:\n  SET_SLICER_ACCEL A=9000\n\n[printer]"
    bench.change("printer.cfg", "[printer]", macro)
    (later,) = bench.told("lint", "printer.cfg")["later_settings"]

    assert (later["fact"], later["values"]) == ("motion.max_accel", [9000])


CHECKS = {title: _entry(title) for title in CASES} | {
    "A command of macros": _command, "A lever": _lever, "A rule": _rule,
}  # fmt: skip
TOGETHER = [tuple(EDITS)]
ALONE = [(title,) for title in EDITS] if LONG else []


@pytest.mark.parametrize("titles", [*TOGETHER, *ALONE], ids=" + ".join)
def test_the_edits_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], titles: Sequence[str]
) -> None:
    """Edits of YAML files and no Python, and the program knows the new things.

    All in one copy of the project, as that has to be read anew; in a long run each alone as well.
    """
    project = copied(tmp_path / "project")
    for title in titles:
        _edit(project, title)
    wrong = []
    with imported_anew(project):
        for number, title in enumerate(titles):
            try:
                CHECKS[title](Bench(tmp_path / str(number), capsys))
            except Exception as failed:  # noqa: BLE001 - each is told
                wrong.append(f"{title}: {failed!r}")
    assert not wrong, "\n".join(wrong)


def test_without_the_edits_nothing_is_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each check of the test above fails on the project as it is."""
    for number, (title, check) in enumerate(CHECKS.items()):
        with pytest.raises((AssertionError, KeyError, StopIteration)):
            check(Bench(tmp_path / str(number), capsys))
        assert title in EDITS


def test_every_edit_is_tried() -> None:
    """The tests above know each chapter of the document."""
    assert set(EDITS) == set(CHECKS)
