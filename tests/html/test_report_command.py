"""`feedwright report`: what it writes and where, exit codes, and what it refuses."""

from __future__ import annotations

import io
import os
import re
import shlex
import shutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from html_pages import SAMPLES
from html_reading import read
from html_rules import faults
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.cli import main, report_parts
from advisor.report import pictures
from advisor.report.html import PageParts

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def without_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """They are no matter of the command, and take their time."""
    monkeypatch.setattr(pictures, "available", lambda: False)


GATHERED: dict[object, PageParts] = {}


@pytest.fixture(autouse=True)
def gathered_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a page shows of the very same files is gathered once: these tests are of its writing."""
    real = report_parts.gathered

    def once(configs: Sequence[str], asks: Asks, caps: str | None = None) -> PageParts:
        if "-" in configs:
            return real(configs, asks, caps)
        files = tuple((str(path), path.read_bytes()) for path in sorted(Path().rglob("*"))
                      if path.is_file() and path.suffix != ".html")  # fmt: skip
        key = (tuple(configs), asks, caps, files)
        if key not in GATHERED:
            GATHERED[key] = real(configs, asks, caps)
        return GATHERED[key]

    monkeypatch.setattr(report_parts, "gathered", once)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the program in this process: exit code, stdout, stderr."""

    def made(*arguments: str) -> tuple[int, str, str]:
        code = int(main(list(arguments)))
        return code, *capsys.readouterr()

    return made


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a config, its sheet and a test, to be run in."""
    shutil.copytree(SAMPLES / "healthy", tmp_path / "healthy")
    monkeypatch.chdir(tmp_path / "healthy")
    return tmp_path / "healthy"


def test_it_tells_in_one_line_where_the_page_is_and_the_answer(run: Run, machine: Path) -> None:
    """The page is whole; nothing else is left in the folder."""
    before = set(os.listdir(machine))
    code, out, err = run("report", "printer.cfg", "--html", "machine.html")

    assert (code, err) == (0, "")
    assert out.count("\n") == 1
    assert re.match(
        r"machine\.html: answer .*; capacity [\d.]+ \([\d.]+-[\d.]+\) mm\u00b3/s; "
        r"PLA at 215 \u00b0C, 0\.4 mm; bottleneck ",
        out,
    )
    assert set(os.listdir(machine)) - before == {"machine.html"}
    assert faults(read((machine / "machine.html").read_text(encoding="utf-8"))) == []


def test_stdout_gets_the_page_alone(run: Run, machine: Path) -> None:
    """The same bytes that a file gets."""
    code, out, err = run("report", "printer.cfg", "--html", "-")
    run("report", "printer.cfg", "--html", "machine.html")

    assert (code, err) == (0, "")
    assert out == (machine / "machine.html").read_text(encoding="utf-8")


@wide
@only_wide
def test_the_command_at_the_foot_makes_the_page_again(run: Run, machine: Path) -> None:
    """Typed as it stands there, with odd names quoted."""
    odd = "my $test & co.csv"
    (machine / "flow-test.csv").rename(machine / odd)
    arguments = ("printer.cfg", "--weighed", odd, "--asked", "9mm3/s", "--no-allow")
    _, first, _ = run("report", *arguments, "--html", "-")
    shown = read(first).one("footer").one("code").words
    words = shlex.split(shown)

    assert words[:2] == ["feedwright", "report"]
    assert words[-2:] == ["--html", "FILE"]
    assert run("report", *words[2:-1], "-")[1] == first


def test_the_command_of_the_edits_writes_them(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Typed as it stands on the page, the config is changed as the diff says."""
    shutil.copytree(SAMPLES / "asks-too-much", tmp_path / "m")
    monkeypatch.chdir(tmp_path / "m")
    _, page, _ = run("report", "printer.cfg", "--profile", "profile.ini", "--html", "-")
    html = read(page)
    (command,) = (x.words for x in html.one(id="edits").all("code") if "--write" in x.words)
    gone, come = ({x.text.rstrip("\n")[1:] for x in html.one("pre").all(kind)}
                  for kind in ("del", "ins"))  # fmt: skip
    files = [Path("printer.cfg"), Path("profile.ini")]
    before = {line for file in files for line in file.read_text(encoding="utf-8").split("\n")}
    code, _, _ = run(*shlex.split(command)[1:])
    after = {line for file in files for line in file.read_text(encoding="utf-8").split("\n")}

    assert code == 0
    assert gone
    assert (before - after, after - before) == (gone, come)


@wide
@only_wide
def test_an_earlier_page_is_replaced(run: Run, machine: Path) -> None:
    """And keeps its permissions."""
    page = machine / "machine.html"
    run("report", "printer.cfg", "--html", "machine.html")
    page.chmod(0o640)
    code, _, _ = run("report", "printer.cfg", "--asked", "3mm3/s", "--html", "machine.html")

    assert code == 0
    assert "--asked 3mm3/s" in page.read_text(encoding="utf-8")
    assert page.stat().st_mode & 0o777 == 0o640


def test_a_page_behind_a_link_is_written_there(run: Run, machine: Path) -> None:
    """The link stays a link."""
    (machine / "shelf").mkdir()
    run("report", "printer.cfg", "--html", "shelf/machine.html")
    (machine / "latest.html").symlink_to("shelf/machine.html")
    code, _, _ = run("report", "printer.cfg", "--asked", "3mm3/s", "--html", "latest.html")

    assert code == 0
    assert (machine / "latest.html").is_symlink()
    assert "3mm3/s" in (machine / "shelf/machine.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "target", ["printer.cfg", "./printer.cfg", "hardware.yaml", "flow-test.csv", "profile.ini",
               "notes.html", "folder", "nowhere/machine.html", ""],
)  # fmt: skip
def test_no_other_file_is_ever_overwritten(run: Run, machine: Path, target: str) -> None:
    """Inputs, strangers, folders: exit code 2, one sentence, everything as it was."""
    (machine / "folder").mkdir()
    (machine / "notes.html").write_text("<p>mine</p>", encoding="utf-8")
    before = {path: path.read_bytes() for path in machine.iterdir() if path.is_file()}
    code, out, err = run(
        "report", "printer.cfg", "--weighed", "flow-test.csv", "--profile", "profile.ini",
        "--html", target,
    )  # fmt: skip

    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert {path: path.read_bytes() for path in machine.iterdir() if path.is_file()} == before


def test_a_page_that_is_an_input_is_refused(run: Run, machine: Path) -> None:
    """A page given as a config would be lost otherwise."""
    run("report", "printer.cfg", "--html", "machine.html")
    before = (machine / "machine.html").read_bytes()
    code, _, _ = run("report", "printer.cfg", "machine.html", "--html", "./machine.html")

    assert code == 2
    assert (machine / "machine.html").read_bytes() == before


def test_a_file_that_cannot_be_written(run: Run, machine: Path) -> None:
    """Exit code 3, one sentence, nothing left: here the disk bears the name, but no longer one."""
    name = f"{'m' * 240}.html"
    code, out, err = run("report", "printer.cfg", "--html", name)

    assert (code, out) == (3, "")
    assert err.startswith(f"feedwright: '{name}' cannot be written: ")
    assert len(err.splitlines()) == 1
    assert not [entry for entry in os.listdir(machine) if entry.startswith((".", "m"))]


@wide
@only_wide
def test_findings_do_not_fail_it_unless_asked_to(run: Run, tmp_path: Path) -> None:
    """0 by default; --fail-on as with lint."""
    page = str(tmp_path / "a.html")
    assert run("report", "over-driven/printer.cfg", "--html", page)[0] == 0
    assert run("report", "over-driven/printer.cfg", "--html", page, "--fail-on", "error")[0] == 0
    assert run("report", "over-driven/printer.cfg", "--html", page, "--fail-on", "warning")[0] == 1


def test_nothing_to_read_writes_no_page(run: Run, machine: Path) -> None:
    """Exit code 3; an earlier page stays."""
    code, out, err = run("report", "absent.cfg", "--html", "machine.html")

    assert (code, out) == (3, "")
    assert "absent.cfg" in err
    assert not (machine / "machine.html").exists()


@wide
@only_wide
def test_one_of_several_that_cannot_be_read(run: Run, machine: Path) -> None:
    """The page is written and says so; exit code 3."""
    code, out, err = run("report", "printer.cfg", "absent.cfg", "--html", "machine.html")
    html = read((machine / "machine.html").read_text(encoding="utf-8"))

    assert code == 3
    assert "absent.cfg" in err
    assert out.startswith("machine.html: ")
    assert "absent.cfg" in html.one(class_="trouble").words
    assert faults(html) == []


def test_a_folder_of_configs_is_one_page_with_a_part_for_each(run: Run, tmp_path: Path) -> None:
    """Each with its own heading and ids of its own."""
    for name in ("one", "two"):
        text = (SAMPLES / "no-sheet/printer.cfg").read_text(encoding="utf-8")
        (tmp_path / f"{name}.cfg").write_text(text, encoding="utf-8")
    code, page, _ = run("report", str(tmp_path), "--html", "-")
    html = read(page)

    assert code == 0
    assert [h.words.rsplit("/", 1)[-1] for h in html.one("main").all("h2")] == [
        "one.cfg", "two.cfg", "Cautions",
    ]  # fmt: skip
    assert len(html.all("ol", class_="way")) == 2
    assert faults(html) == []


@pytest.mark.usefixtures("machine")
def test_a_config_on_standard_input(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page calls it - and says why there are no edits."""
    config = io.BytesIO((SAMPLES / "over-driven/printer.cfg").read_bytes())
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(config))
    code, page, err = run("report", "-", "--html", "-")
    html = read(page)

    assert code == 0, err
    assert faults(html) == []
    assert "standard input" in html.one(id="edits").words


@pytest.mark.parametrize(
    "arguments",
    [
        ("printer.cfg",),
        ("printer.cfg", "--html", "a.html", "--asked", "fast"),
        ("printer.cfg", "--html", "a.html", "--material", "plaa"),
        ("--html", "a.html"),
    ],
)
def test_wrong_usage(run: Run, machine: Path, arguments: tuple[str, ...]) -> None:
    """Exit code 2, nothing on stdout, nothing written."""
    code, out, err = run("report", *arguments)

    assert (code, out) == (2, "")
    assert err
    assert not (machine / "a.html").exists()
