"""`diagnose` as page and as JSON: the page says what the text says, the JSON keeps its schema."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from every import every
from html_reading import Node, read
from html_rules import faults
from jsonschema import Draft202012Validator
from tiers import only_wide, wide

import advisor
from advisor.answers import DiagnoseReport
from advisor.cli import main
from advisor.report import diagnose_text, render_diagnose
from advisor.report.json import as_json, json_schema
from advisor.report.look import Look

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIG = str(SAMPLES / "healthy" / "printer.cfg")
HOSTILE = "<img src=x onerror=alert(1)>&\x1b[31m"
MADE: dict[str, DiagnoseReport] = {}


def made(name: str) -> DiagnoseReport:
    """Return an answer; each is worked out once."""
    if not MADE:
        MADE["causes"] = advisor.diagnose(CONFIG, sees="motor-hot", case=88, after=30)
        MADE["first"] = advisor.diagnose(CONFIG, sees="stopped")
    return MADE[name]


def shown(report: DiagnoseReport, *, full: bool = False) -> str:
    return render_diagnose(report, command="feedwright diagnose", version="0", full=full)


def _words(node: Node) -> Iterator[str]:
    for part in node.content:
        yield from (part.split() if isinstance(part, str) else _words(part))


@wide
@only_wide
@every("name", ["causes", "first"])
def test_it_keeps_the_rules_of_every_page(name: str) -> None:
    """The HTML standard, headings in order, nothing that loads; the same bytes each time."""
    page = shown(made(name))
    assert faults(read(page)) == []
    assert "<script" not in page
    assert page == shown(made(name))


@every("name", ["causes", "first"])
def test_it_says_what_the_text_says(name: str) -> None:
    """Every word of the text stands on the page in its order, but for the label of the answer."""
    for full in (False, True):
        text = diagnose_text.render(made(name), Look(100), full=full).split()
        page = _words(read(shown(made(name), full=full)).one("body"))
        words = (word for word in text[1:] if word != "\\")  # where a command goes on
        missing = [word for word in words if word not in page]  # goes on from where it was
        assert missing == []


def test_what_is_typed_is_no_markup() -> None:
    """A config may be named like an element; nothing of it comes to life."""
    from dataclasses import replace

    page = shown(replace(made("first"), config=HOSTILE))
    assert "<img" not in page
    assert "\x1b" not in page
    assert faults(read(page)) == []


@every("name", ["causes", "first"])
def test_the_json_keeps_to_its_schema(name: str) -> None:
    """As published with the package; every cause is there, and the odds add up to 1."""
    tree = json.loads(as_json(made(name)))
    Draft202012Validator(json_schema()).validate(tree)
    odds = sum(one["odds"] for one in tree["causes"]) + tree["unexplained"]
    assert odds == pytest.approx(1.0, abs=0.01)


def test_the_page_is_written_and_no_other_file_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Beside the text; what is no page of ours stays, and two answers to stdout are refused."""
    asked = ["diagnose", CONFIG, "--sees", "stopped", "--html"]
    page, notes = tmp_path / "page.html", tmp_path / "notes.html"
    assert main([*asked, str(page)]) == 0
    assert capsys.readouterr().out.startswith("first")
    assert "Heater off" in page.read_text(encoding="utf-8")
    notes.write_text("mine")
    assert main([*asked, str(notes)]) == 2
    assert notes.read_text() == "mine"
    assert main([*asked, "-", "--format", "json"]) == 2
    assert "both go to stdout" in capsys.readouterr().err
