"""The edits that DEVELOPERS.md tells are made in a copy of the project, and they work."""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from fresh import imported_anew
from tiers import LONG, only_wide, wide

ROOT = Path(__file__).resolve().parents[2]
_BLOCK = re.compile(
    r"^### (?P<title>.+)\n(?P<words>(?:(?!^###)(?!^```).*\n)*)^```(?P<kind>yaml|python)\n"
    r"(?P<text>(?:(?!^```).*\n)+)^```$",
    re.MULTILINE,
)
_EDIT = re.compile(
    r"^# (?:at the end of|in) (?P<file>\S+?)"
    r'(?:, (?P<where>below|in place of) the line "(?P<line>.*)")?\n'
    r"(?P<text>(?:(?!^# (?:at the end of|in) ).*\n)+)",
    re.MULTILINE,
)
DOCUMENT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = {found["title"]: found["text"] for found in _BLOCK.finditer(DOCUMENT)}
LIBRARY = "A use as a library"
EDITS = {
    title: list(_EDIT.finditer(text.rstrip("\n") + "\n"))
    for title, text in BLOCKS.items()
    if title != LIBRARY
}
WORDS = "tests/answers/test_explain_words.py"
DATA_TESTS = (
    "tests/catalog", "tests/judge/test_rulebook_examples.py",
    "tests/inputs/test_config_defaults.py", "tests/inputs/test_dialect_loader.py",
    "tests/inputs_profile/test_profile_dialects.py",
    f"{WORDS}::test_every_key_that_states_a_fact_says_what_it_governs_and_what_not",
    "tests/cli/test_options.py", "tests/diagnosis/test_causes_read.py",
)  # fmt: skip
MORE_DATA_TESTS = (
    WORDS, "tests/compare/test_levers.py",
    "tests/compare/test_trade_facts.py", "tests/curves", "tests/facts/test_names.py",
    "tests/inputs", "tests/judge", "tests/machine", "tests/values",
)  # fmt: skip
CONFIG = (ROOT / "samples/healthy/printer.cfg").read_text(encoding="utf-8")
SHEET = (ROOT / "samples/healthy/hardware.yaml").read_text(encoding="utf-8")


def copied(folder: Path) -> Path:
    """Copy what the program and its tests are made of, without its compiled data."""
    ignored = shutil.ignore_patterns("_data", "__pycache__")
    for part in ("advisor", "grammars", "rules", "samples", "tests"):
        shutil.copytree(ROOT / part, folder / part, ignore=ignored)
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def _edit(project: Path, title: str) -> None:
    for found in EDITS[title]:
        path, new = project / found["file"], found["text"].rstrip("\n") + "\n"
        text = path.read_text(encoding="utf-8")
        if found["line"] is None:
            path.write_text(text + "\n" + new, encoding="utf-8")
            continue
        assert text.count(f"\n{found['line']}\n") == 1, found["line"]
        before, line, after = text.partition(f"\n{found['line']}\n")
        kept = line if found["where"] == "below" else "\n"
        path.write_text(before + kept + new + after, encoding="utf-8")


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

    def shown(self, *arguments: str) -> str:
        """Return what a command shows."""
        from advisor.cli import main

        main(arguments)
        return self.capsys.readouterr().out


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


def _cause(bench: Bench) -> None:
    """It is among the causes of what it shows."""
    told = bench.told("diagnose", "printer.cfg", "--sees", "clicks@always", "--draws", "64")

    assert "gear-cracked" in [cause["name"] for cause in told["causes"]]


def _rule(bench: Bench) -> None:
    """It finds what it describes, and says what to set."""
    bench.change("printer.cfg", "retract_length: 0.6", "retract_length: 30")
    told = bench.told("lint", "printer.cfg")["findings"]
    found = {finding["rule"]: finding for finding in told}

    assert found[RULE]["fix"]["from"] == "30"
    assert float(found[RULE]["fix"]["to"]) < 30


def _slicer_key(bench: Bench) -> None:
    """It is read as the density."""
    lines = ("flow_max_mm3_per_s = 11.5", "temperature_C = 240", "hi_speed_perim_mm_per_s = 60",
             "fiber_density_g_per_cm3 = 1.31")  # fmt: skip
    (bench.folder / "new.ini").write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = bench.told("lint", "printer.cfg", "--profile", "new.ini")
    density = told["extruders"][0]["facts"]["material.density"]

    assert (density["value"], density["origin"]) == (1.31, "profile")


def _sentence(bench: Bench) -> None:
    """It is said."""
    assert "with the door open" in bench.shown("explain", "chamber-softens-filament")


def _option(bench: Bench) -> None:
    """It stands in the help."""
    assert "--preset NAME" in bench.shown("explain", "--help")


def _command(bench: Bench) -> None:
    """It is told as a later setting."""
    macro = "[gcode_macro FAST]\ngcode:\n  SET_SLICER_ACCEL A=9000\n\n[printer]"
    bench.change("printer.cfg", "[printer]", macro)
    (later,) = bench.told("lint", "printer.cfg")["later_settings"]

    assert (later["fact"], later["values"]) == ("motion.max_accel", [9000])


def _step(bench: Bench) -> None:
    """The page of a session says it."""
    told = bench.told("session", "printer.cfg", "--draws", "64", "--materials", "pla")

    assert told["steps"][0]["expect"].endswith("as thick as the bore or a little more")


CHECKS = {title: _entry(title) for title in CASES} | {
    "A command of macros": _command, "A cause": _cause, "A lever": _lever, "A rule": _rule,
    "A key of the slicer profile": _slicer_key, "A sentence of a rule": _sentence,
    "A step of the session": _step,
    "An option of a command": _option,
}  # fmt: skip
TOGETHER = [tuple(EDITS)]
ALONE = [(title,) for title in EDITS] if LONG else []


@wide
@only_wide
@pytest.mark.parametrize("titles", [*TOGETHER, *ALONE], ids=" + ".join)
def test_the_edits_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], titles: Sequence[str]
) -> None:
    """Each edit, and the program knows the new thing; no test of the data minds it.

    All in one copy of the project, as that has to be read anew; in a long run each alone as well.
    What is compiled of it serves the checks and the tests.
    """
    project = copied(tmp_path / "project")
    for title in titles:
        _edit(project, title)
    wrong = []
    with imported_anew(project):
        importlib.import_module("advisor.compile_data").write(project / "advisor/_data/compiled")
        for number, title in enumerate(titles):
            try:
                CHECKS[title](Bench(tmp_path / str(number), capsys))
            except Exception as failed:  # noqa: BLE001 - each is told
                wrong.append(f"{title}: {failed!r}")
    assert not wrong, "\n".join(wrong)
    tested = (*DATA_TESTS, *MORE_DATA_TESTS) if LONG else DATA_TESTS
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tested],
        cwd=project, env=os.environ | {"PYTHONPATH": str(project)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout[-3000:]


def test_the_library_is_used_as_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The lines run beside a config as they stand."""
    bench = Bench(tmp_path / "bench", capsys)
    with contextlib.chdir(bench.folder):
        exec(BLOCKS[LIBRARY], {})
    assert capsys.readouterr().out == "False 12\n"


def test_the_table_of_files_is_what_is_edited() -> None:
    """A task, the files that its chapter edits, in the chapters' order."""
    rows = re.findall(r"^\| (A.*?) \| (`.*`|none) \|$", DOCUMENT, re.MULTILINE)
    told = [
        (task, [] if files == "none" else files.strip("`").split("`, `")) for task, files in rows
    ]
    edited = [
        (title, list(dict.fromkeys(found["file"] for found in EDITS.get(title, ()))))
        for title in BLOCKS
    ]
    assert told == edited


@wide
@only_wide
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
    assert all(EDITS.values())
