"""What the owner calls a machine or a test is shown in the place of the name of its file."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.interview import Interview
from advisor.answers.starter import starter_sheet
from advisor.base import SheetError
from advisor.cli import main
from advisor.inputs.sheet import read_sheet
from advisor.report import pictures

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
Say = Callable[..., str]


@pytest.fixture
def say(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Say:
    """Run a command in a copy of two samples, whose sheets have names, and return what it says."""
    for sample in ("gear-bench", "healthy"):
        shutil.copytree(SAMPLES / sample, tmp_path / sample)
    for path, name in (
        ("gear-bench/small-twin.yaml", "Small/old twin"),
        ("gear-bench/mid-twin.yaml", "Mid twin"),
        ("healthy/hardware.yaml", "Barley"),
    ):
        sheet = tmp_path / path
        sheet.write_text(f"# Invented.\nname: {name}\n{sheet.read_text()}")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(pictures, "available", lambda: False)  # names stand in the text

    def said(*words: str) -> str:
        assert main(list(words)) in {0, 1}
        return capsys.readouterr().out

    return said


def test_columns_of_compare_have_the_names_of_the_sheets(say: Say) -> None:
    """A sheet without a name, and two that share one, are called by their files."""
    drives = ("small-twin.yaml", "mid-twin.yaml", "short-zone.yaml")
    sheets = [word for name in drives for word in ("--sheet", f"gear-bench/{name}")]
    text = say("compare", "gear-bench/printer.cfg", *sheets, "--draws", "64")
    assert "\n1 Small/old twin " in text
    assert "\n2 Mid twin " in text
    assert "\n3 short-zone.yaml " in text
    sheet = Path("gear-bench/small-twin.yaml")
    sheet.write_text(sheet.read_text().replace("Small/old twin", "Mid twin"))
    text = say("compare", "gear-bench/printer.cfg", *sheets, "--draws", "64")
    assert "\n1 small-twin.yaml " in text
    assert "\n2 mid-twin.yaml " in text


@wide
@only_wide
def test_a_weighed_test_is_called_by_its_own_name(say: Say) -> None:
    """The table of the sample calls itself 'first roll'."""
    test = ("--weighed", "healthy/flow-test.csv")
    for command in ("lint", "flow"):
        assert "weighed     first roll: the range is " in say(command, "healthy/printer.cfg", *test)


@wide
@only_wide
def test_several_machines_are_called_by_their_names(say: Say) -> None:
    """On the terminal and on the page, with the config beside the name."""
    configs = ("healthy/printer.cfg", "gear-bench/printer.cfg")
    assert "extruder of Barley, healthy/printer.cfg\n" in say("lint", *configs)
    page = say("report", *configs, "--html", "-")
    assert "<span>Barley, <a " in page
    assert "What the extruder of Barley (" in say("report", configs[0], "--html", "-")


@pytest.mark.parametrize("name", ["{a: 1}", "[one]", "''", "x" * 41])
def test_what_is_no_short_name_is_refused(name: str) -> None:
    """It stands in columns and headings."""
    with pytest.raises(SheetError, match="name: this is no short name"):
        read_sheet(f"name: {name}\n", "hardware.yaml")


def test_the_name_is_the_sheets_own_and_is_kept() -> None:
    """A base describes something else; a sheet that is written anew keeps its name."""
    base = {"old.yaml": "name: Old\n"}
    assert read_sheet("base: old.yaml\n", "new.yaml", open_text=base.__getitem__).name is None
    assert read_sheet("name:  Two   words\n", "new.yaml").name == "Two words"


def test_a_sheet_written_anew_keeps_its_name(say: Say) -> None:
    """By filling in, in short and in full, and by questions."""
    config = "healthy/printer.cfg"
    for full in (True, False):
        assert read_sheet(starter_sheet(config, Asks(), full=full), "new.yaml").name == "Barley"
    assert read_sheet(Interview(config, Asks()).text(), "new.yaml").name == "Barley"
