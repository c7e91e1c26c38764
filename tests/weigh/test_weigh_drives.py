"""Weighed tests of several drives in one command: each is read on the machine of its own sheet."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from machines import AREA, SAMPLES
from tiers import only_wide, wide

from advisor import Asks
from advisor.answers.lint import check_config
from advisor.answers.weigh_read import read_tests
from advisor.base import UsageError, WeighError
from advisor.report.json import as_json, json_schema
from advisor.report.weigh_text import render_read
from advisor.weigh.answers import read_in_trade
from advisor.weigh.records import WeighReport

NOMINAL = 1240.0 * AREA * 0.28 * 1e3  # g


def table(knee: float, head: str = "") -> str:
    """Return a test that falls at a flow; beyond it a fifth of what is added comes out."""
    flows = [3.0, *(knee * part for part in (0.6, 0.75, 0.85, 0.95, 1.05, 1.15, 1.3, 1.5))]
    outs = [min(q, knee + 0.2 * (q - knee)) for q in flows]
    rows = [f"{q};280;{NOMINAL * out / q:.4f};no" for q, out in zip(flows, outs, strict=True)]
    return f"{head}flow;length;mass;skipped\n" + "\n".join(rows) + "\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with a config, two sheets that say the same, and a test of each."""
    return filled(tmp_path)


def filled(folder: Path) -> Path:
    """Put all of that into a folder."""
    for name in ("printer.cfg", "hardware.yaml"):
        made = (SAMPLES / "healthy" / name).read_text(encoding="utf-8")
        (folder / name).write_text(made, encoding="utf-8")
    for name in ("a", "b"):
        (folder / f"{name}.yaml").write_text(made, encoding="utf-8")
    (folder / "a.csv").write_text(table(15.0), encoding="utf-8")
    (folder / "b.csv").write_text(table(8.0), encoding="utf-8")
    return folder


def read(folder: Path, *sheets: str) -> WeighReport:
    tables = [str(folder / "a.csv"), str(folder / "b.csv")]
    named = [str(folder / name) for name in sheets]
    return read_tests(tables, str(folder / "printer.cfg"), Asks(), sheets=named)


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, WeighReport]:
    """Return such a folder, and what is told of it with a sheet for each test."""
    folder = filled(tmp_path_factory.mktemp("drives"))
    return folder, read(folder, "a.yaml", "b.yaml")


@wide
@only_wide
def test_tests_of_one_drive_contradict_one_another(folder: Path) -> None:
    """15 and 8 mm3/s on one machine."""
    one = read(folder)

    assert [made.contradiction is None for made in one.calibrations] == [False]


def test_tests_of_two_drives_never_contradict_one_another(
    two: tuple[Path, WeighReport],
) -> None:
    """15 and 8 mm3/s on a machine each do not contradict, and are compared."""
    folder, each = two
    told = each.calibrations
    after = [made.after for made in told]

    assert [made.contradiction for made in told] == [None, None]
    assert [made.sheet for made in told] == [str(folder / "a.yaml"), str(folder / "b.yaml")]
    assert [test.file for test in each.tests] == [str(folder / n) for n in ("a.csv", "b.csv")]
    assert after[0] is not None
    assert after[1] is not None
    assert after[1].high < after[0].low
    (contrast,) = each.contrasts
    assert contrast.ratio.value == pytest.approx(8.0 / 15.0, rel=0.1)


def test_both_are_told_in_text_and_json(two: tuple[Path, WeighReport]) -> None:
    """A heading a sheet; the JSON as its schema has it, the first one where it always stood."""
    _, report = two
    shown, tree = " ".join(render_read(report).split()), json.loads(as_json(read_in_trade(report)))

    assert shown.count("The capacity after it: ") == 2
    assert "Side by side" in shown
    Draft202012Validator(json_schema()).validate(tree)
    assert tree["calibration"] == tree["calibrations"][0]
    assert len(tree["calibrations"]) == 2


@wide
@only_wide
def test_a_table_names_its_own_sheet(folder: Path) -> None:
    """In its head, beside it; it goes before a sheet for all."""
    (folder / "b.csv").write_text(table(8.0, "# sheet: b.yaml\n"), encoding="utf-8")
    report = read(folder, "a.yaml")

    assert [made.sheet for made in report.calibrations] == [
        str(folder / "a.yaml"),
        str(folder / "b.yaml"),
    ]
    assert all(made.contradiction is None for made in report.calibrations)


@wide
@only_wide
def test_a_test_of_another_drive_narrows_nothing_elsewhere(folder: Path) -> None:
    """For lint it was done on another machine, unless that sheet is the one used."""
    path = folder / "b.csv"
    path.write_text(table(8.0, "# sheet: b.yaml\n"), encoding="utf-8")
    config, weighed = str(folder / "printer.cfg"), (str(path),)
    other = check_config(config, Asks(weighed=weighed))
    own = check_config(config, Asks(weighed=weighed, sheet=str(folder / "b.yaml")))

    assert other.weighed("extruder") is None
    assert own.weighed("extruder") is not None


@pytest.mark.parametrize("named", ["../b.yaml", "/etc/passwd"])
def test_a_sheet_outside_of_the_tables_folder_is_not_read(folder: Path, named: str) -> None:
    """A table may come from somebody else."""
    (folder / "b.csv").write_text(table(8.0, f"# sheet: {named}\n"), encoding="utf-8")

    with pytest.raises(WeighError, match="lies outside"):
        read(folder)


def test_sheets_are_one_for_all_or_one_a_table(folder: Path) -> None:
    """Three sheets for two tables fit nothing."""
    with pytest.raises(UsageError, match="3 sheets for 2 tables"):
        read(folder, "a.yaml", "b.yaml", "hardware.yaml")
