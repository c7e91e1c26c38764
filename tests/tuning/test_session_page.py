"""The page: it keeps the rules of every page, tells what the text tells, and is written safely."""

from __future__ import annotations

import re
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from every import every
from tiers import only_wide, wide
from tuning_answers import NAMES, SAMPLES, page

from advisor.cli import main
from advisor.report import render_session, session_text
from advisor.report.look import Look

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "html"))
from html_reading import Node, read
from html_rules import faults

Run = Callable[..., tuple[int, str, str]]
FEW = ("--draws", "64", "--materials", "pla")


def _shown(name: str) -> str:
    return render_session(page(name), command="feedwright session printer.cfg", version="0")


@wide
@only_wide
@every("name", NAMES)
def test_it_keeps_the_rules_of_every_page(name: str) -> None:
    """The HTML standard, headings in order, nothing that loads; the same bytes each time."""
    assert faults(read(_shown(name))) == []
    assert _shown(name) == _shown(name)


@every("name", NAMES)
def test_it_tells_what_the_text_tells(name: str) -> None:
    """Every number of `--full`, and the steps; the page has a table of its own for the flows."""
    words = " ".join(_pieces(read(_shown(name)).one("body")))
    text = session_text.render(page(name), Look(120), full=True)
    told = set(re.findall(r"[\d.]+", words))
    assert set(re.findall(r"\d[\d.]*\d|\d", text)) - told - {"9", "10"} == set()
    for step in page(name).steps:
        shown = step.do.replace("mm3/s", "mm\u00b3/s").replace("mm/s2", "mm/s\u00b2")
        assert shown.replace("degC", "\u00b0C") in words
    for sentence in page(name).cautions:
        assert sentence in words


def _pieces(node: Node) -> Iterator[str]:
    """Yield the texts of an element, cell by cell."""
    for part in node.content:
        yield from (part.split() if isinstance(part, str) else _pieces(part))


def test_it_is_made_for_a_narrow_screen_and_a5() -> None:
    """Said to the browser; how it shows was looked at."""
    shown = _shown("healthy")
    assert "width=device-width" in shown
    assert "@page { size: A5;" in shown
    assert "<script" not in shown


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the program in this process: exit code, stdout, stderr."""

    def made(*arguments: str) -> tuple[int, str, str]:
        code = int(main(list(arguments)))
        return code, *capsys.readouterr()

    return made


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a config and its sheet, to be run in."""
    shutil.copytree(SAMPLES / "healthy", tmp_path / "healthy")
    monkeypatch.chdir(tmp_path / "healthy")
    return tmp_path / "healthy"


def test_the_page_is_written_and_its_command_makes_it_again(run: Run, machine: Path) -> None:
    """The answer is told all the same; on `-` the page stands alone."""
    code, out, err = run("session", "printer.cfg", *FEW, "--widths", "0.45", "--html", "page.html")
    written = (machine / "page.html").read_text(encoding="utf-8")
    assert (code, err) == (0, "")
    assert out.startswith("answer ")
    assert "page.html" in out
    command = shlex.split(read(written).one("footer").one("code").words)
    assert command[:2] == ["feedwright", "session"]
    assert run("session", *command[2:-1], "-")[1] == written


def test_another_file_is_never_replaced(run: Run, machine: Path) -> None:
    """It is refused before anything is worked out."""
    (machine / "notes.html").write_text("not ours\n")
    assert run("session", "printer.cfg", *FEW, "--html", "notes.html")[0] == 2
    assert (machine / "notes.html").read_text() == "not ours\n"


def test_two_things_on_stdout_are_refused(run: Run, machine: Path) -> None:
    """And no page is written of a config that is not there."""
    code, out, err = run("session", "printer.cfg", "--html", "-", "--format", "json")
    assert (code, out) == (2, "")
    assert "stdout" in err
    code, _, err = run("session", "no.cfg", "--html", "page.html")
    assert code == 3
    assert "no page was written" in err
    assert not (machine / "page.html").exists()


WRONG = [
    (("--widths", "0.4,,0.6"), "--widths"),
    (("--widths", "9"), "0.02 to 5 mm"),
    (("--heights", "0.3..0.1:3"), "low..high:count"),
    (("--heights", "0.1..0.3:99"), "2 to 12"),
    (("--materials", "petgg"), "petg"),
    (("--temperatures", "9000"), "50 to 500 degC"),
    (("--temperatures", "warm"), "--temperatures"),
    (("--extruder", "extruder9"), "extruder"),
]


@every("arguments, hint", WRONG)
def test_a_list_that_cannot_be_is_refused(
    run: Run, machine: Path, arguments: tuple[str, ...], hint: str
) -> None:
    """With what to write instead; nothing stands on stdout."""
    code, out, err = run("session", "printer.cfg", *arguments)
    assert (code, out) == (2, "")
    assert hint in err
    assert "INTERNAL" not in err


def test_lists_are_read_as_people_write_them(run: Run, machine: Path) -> None:
    """A range, values with and without their unit, several names in one."""
    asked = ("--widths", "0.4mm..0.6mm:3", "--heights", "200um, 0.3", "--materials", "PETG,abs",
             "--temperatures", "240C")  # fmt: skip
    _, out, _ = run("session", "printer.cfg", "--draws", "64", *asked, "--format", "json")
    import json

    told = json.loads(out)
    assert sorted({row["width"] for row in told["speed_ceilings"]}) == [0.4, 0.5, 0.6]
    assert sorted({row["height"] for row in told["speed_ceilings"]}) == [0.2, 0.3]
    assert [(row["material"], row["temperature"]) for row in told["caps"]] == [
        ("pla", 240.0), ("petg", 240.0), ("abs", 240.0),
    ]  # fmt: skip
