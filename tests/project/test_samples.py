"""The samples: invented, and each planted fault is found; a healthy machine has none.

``planted.yaml`` of a sample lists its runs: the config, what is given with it, and the faults that
must be found, each as rule, file and line with the text that stands there.
"""

from __future__ import annotations

import contextlib
import functools
from pathlib import Path
from typing import Any

import pytest
from every import every

from advisor import Asks, Level, Report
from advisor.answers.lint import check
from advisor.data.yamlread import read_yaml

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
_ENCODINGS = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


@functools.cache
def _runs() -> list[Any]:
    runs = []
    for path in sorted(SAMPLES.rglob("planted.yaml")):
        for run in read_yaml(path.read_text(encoding="utf-8"), str(path)).data["runs"]:
            given = (run.get("sheet", ""), *run.get("profiles", ()))
            name = " ".join((run["config"], *filter(None, given)))
            runs.append(pytest.param(path.parent, run, id=f"{path.parent.name}: {name}"))
    return runs


def _texts() -> list[Path]:
    return sorted(path for path in SAMPLES.rglob("*") if path.is_file() and path.name[0] != ".")


def _read(path: Path) -> str:
    data = path.read_bytes()
    return data.decode(_ENCODINGS.get(data[:2], "utf-8-sig"), "surrogateescape")


@functools.cache
def _checked(folder: Path, config: str, sheet: str | None, profiles: tuple[str, ...]) -> Report:
    with contextlib.chdir(folder):
        return check([config], Asks(sheet=sheet, profiles=profiles))


def report_of(folder: Path, run: dict[str, Any]) -> Report:
    """Return what the main job says of a run, started in the sample's folder."""
    return _checked(folder, run["config"], run.get("sheet"), tuple(run.get("profiles", ())))


@every(("folder", "run"), _runs)
def test_every_planted_fault_is_found(folder: Path, run: dict[str, Any]) -> None:
    """Recall is 100 %: rule, file and line."""
    report = report_of(folder, run)
    found = {(f.rule, f.at.file, f.at.line) for f in report.findings if f.at is not None}
    planted = {(fault["rule"], fault["file"], fault["line"]) for fault in run["faults"]}

    assert planted - found == set()


@every(("folder", "run"), _runs)
def test_nothing_else_is_an_error_or_a_warning(folder: Path, run: dict[str, Any]) -> None:
    """No false alarm: whatever is not planted is a note."""
    report = report_of(folder, run)
    planted = {(fault["rule"], fault["file"], fault["line"]) for fault in run["faults"]}
    alarms = {
        (f.rule, f.at.file if f.at else None, f.at.line if f.at else None): f.message
        for f in report.findings
        if f.level is not Level.NOTE
    }

    assert {key: text for key, text in alarms.items() if key not in planted} == {}


@every(("folder", "run"), _runs)
def test_planted_faults_stand_where_the_list_says(folder: Path, run: dict[str, Any]) -> None:
    """The list is true to the files: the text stands in the line."""
    for fault in run["faults"]:
        text = _read(folder / fault["file"]).replace("\r\n", "\n").replace("\r", "\n")

        assert fault["text"] in text.split("\n")[fault["line"] - 1]


def test_every_sample_has_its_list() -> None:
    """Each config that is nobody's include is in a list, and some runs have many faults."""
    listed = {folder / run["config"] for folder, run in (param.values for param in _runs())}
    roots = {path for path in SAMPLES.rglob("*.cfg") if path.parent.name in _ROOT_FOLDERS}

    assert {path for path in roots if path.name != "overrides.cfg"} == listed
    assert max(len(param.values[1]["faults"]) for param in _runs()) > 20


_ROOT_FOLDERS = (
    *(
        "healthy",
        "no-sheet",
        "over-driven",
        "asks-too-much",
        "soft-filament",
        "gear-bench",
        "sorghum",
        "mixed-up",
        "ugly",
    ),
)


def test_the_healthy_machine_has_no_fault_planted() -> None:
    """Its list is empty, so that no false alarm means none at all."""
    faults = [
        run["faults"]
        for folder, run in (param.values for param in _runs())
        if folder.name in ("healthy", "no-sheet")
    ]

    assert faults
    assert not any(faults)


@pytest.mark.parametrize("sample", ["healthy", "no-sheet"])
def test_a_first_run_without_a_sheet_is_calm(sample: str, tmp_path: Path) -> None:
    """No error, no warning, at most five notes; bands are shown, and what to state first."""
    config = tmp_path / "printer.cfg"
    config.write_bytes((SAMPLES / sample / "printer.cfg").read_bytes())

    report = check([str(config)], Asks())
    extruder = report.extruders[0]

    assert not report.errors
    assert {f.level for f in report.findings} <= {Level.NOTE}
    assert len(report.findings) <= 5
    assert extruder.measure_next
    for limit in extruder.limits:
        assert limit.low is not None
        assert limit.high is None or limit.low < limit.high


@every("path", _texts, ids=lambda path: str(path.relative_to(SAMPLES)))
def test_each_file_says_that_it_is_invented(path: Path) -> None:
    """The first line with text says so; an empty file is the exception."""
    lines = [line for line in _read(path).splitlines() if line.strip(" {\t")]

    assert not lines or "nvented" in lines[0]
