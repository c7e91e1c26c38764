"""Outputs: nothing that was read is written over, nothing but files of ours, all of it or none."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import pytest
from file_runs import Runner
from tiers import only_wide, spread, wide

from advisor.files import steps
from advisor.report.clean import cell_text

FIFO = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
HEAD = "time_s,duration_s,mean_flow_mm3_s,peak_flow_mm3_s,height_mm,line\n"
INPUTS = ("printer.cfg", "box.gcode", "profile.ini", "hardware.yaml")


def demand(machine: Path, csv: object) -> list[object]:
    options = ["--config", machine / "printer.cfg", "--profile", machine / "profile.ini"]
    return ["demand", machine / "box.gcode", *options, "--csv", csv]


@pytest.mark.parametrize("name", INPUTS)
@pytest.mark.parametrize("way", ["itself", "symbolic", "hard"])
def test_csv_never_goes_over_an_input(machine: Path, run: Runner, name: str, way: str) -> None:
    """By its own name, through a link, by another name: refused, and the file stays as it is."""
    target = machine / name
    before = target.read_bytes()
    out = target if way == "itself" else machine / "out.csv"
    if way == "symbolic":
        out.symlink_to(target)
    elif way == "hard":
        os.link(target, out)
    ran = run(*demand(machine, out))

    assert ran.code == 2
    assert ran.out == ""
    assert "name another file" in ran.err
    assert target.read_bytes() == before


@pytest.mark.parametrize("option", ["--weighed", "--sheet"])
def test_an_input_that_looks_like_our_output_is_kept(
    machine: Path, run: Runner, option: str
) -> None:
    """A file that begins as ours and is read in the run: the device and number tell."""
    table = machine / "flow.csv"
    table.write_text(HEAD + "0,1,2,3,4,5\n")
    ran = run(*demand(machine, table), option, table)

    assert ran.code in (2, 3)
    assert table.read_text() == HEAD + "0,1,2,3,4,5\n"


def test_csv_keeps_what_is_not_ours(machine: Path, run: Runner) -> None:
    """Somebody's notes are no table of flows."""
    notes = machine / "notes.csv"
    notes.write_text("a,b\n1,2\n")
    ran = run(*demand(machine, notes))

    assert ran.code == 2
    assert "is there, and no table of flows" in ran.err
    assert notes.read_text() == "a,b\n1,2\n"


def test_csv_replaces_an_earlier_one(machine: Path, run: Runner) -> None:
    """Twice the same command; permissions stay."""
    out = machine / "flow.csv"
    assert run(*demand(machine, out)).code in (0, 1)
    first = out.read_text()
    out.chmod(0o640)
    out.write_text(HEAD)
    assert run(*demand(machine, out)).code in (0, 1)
    assert out.read_text() == first
    assert first.startswith(HEAD)
    assert len(first.splitlines()) > 10
    assert out.stat().st_mode & 0o777 == 0o640


def test_a_full_disk_leaves_the_earlier_table(
    machine: Path, run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The write fails half-way: the earlier file is whole, nothing else is left."""
    out = machine / "flow.csv"
    run(*demand(machine, out))
    before, names = out.read_bytes(), sorted(os.listdir(machine))
    write = os.write

    def full(handle: int, data: bytes) -> int:
        if len(data) > 100:
            write(handle, bytes(data[:50]))
            raise OSError(errno.ENOSPC, "no space left on device")
        return write(handle, data)

    monkeypatch.setattr(steps.os, "write", full)
    ran = run(*demand(machine, out))

    assert ran.code == 3
    assert "the disk is full" in ran.err
    assert out.read_bytes() == before
    assert sorted(os.listdir(machine)) == names


@wide
@FIFO
@pytest.mark.parametrize(
    "arguments",
    spread(
        [
            (
                "demand",
                "{machine}/box.gcode",
                "--config",
                "{machine}/printer.cfg",
                "--csv",
                "{pipe}",
            ),
            ("demand", "{pipe}", "--config", "{machine}/printer.cfg"),
            ("demand", "{machine}/box.gcode", "--config", "{pipe}"),
            ("lint", "{pipe}"),
            ("lint", "{machine}/printer.cfg", "--print", "{pipe}"),
            ("lint", "{machine}/printer.cfg", "--sheet", "{pipe}"),
            ("lint", "{machine}/printer.cfg", "--profile", "{pipe}"),
            ("lint", "{machine}/printer.cfg", "--weighed", "{pipe}"),
            ("flow", "{machine}/printer.cfg", "--profile", "{pipe}"),
            ("report", "{machine}/printer.cfg", "--print", "{pipe}", "--html", "{machine}/a.html"),
            ("report", "{machine}/printer.cfg", "--html", "{pipe}"),
            ("mend", "{machine}/printer.cfg", "--profile", "{pipe}"),
            ("weigh", "read", "{pipe}", "--config", "{machine}/printer.cfg"),
            ("weigh", "plan", "{machine}/printer.cfg", "--csv", "{pipe}"),
            ("sheet", "{machine}/printer.cfg", "--out", "{pipe}"),
        ],
        6,
    ),
    ids=" ".join,
)
def test_a_pipe_does_not_hold_us_up(machine: Path, run: Runner, arguments: tuple[str, ...]) -> None:
    """A pipe that nobody is at, in the place of each file, is refused at once with a sentence."""
    os.mkfifo(machine / "pipe")
    names = {"machine": machine, "pipe": machine / "pipe"}
    ran = run(*(argument.format(**names) for argument in arguments))

    assert ran.code in (2, 3)
    assert "pipe" in ran.said
    assert "INTERNAL" not in ran.said


@FIFO
def test_pipes_beside_a_profile_do_not_hold_us_up(machine: Path, run: Runner) -> None:
    """The search for a parent passes over what is no plain file."""
    (machine / "child.ini").write_text("inherits = lost\nmax_volumetric_speed = 8\n")
    for name in ("lost.ini", "other.ini", "lost"):
        os.mkfifo(machine / name)
    ran = run("flow", machine / "printer.cfg", "--profile", machine / "child.ini")

    assert ran.code in (0, 1)
    assert "lost" in ran.said


@wide
@pytest.mark.skipif(not os.path.exists("/proc/self/environ"), reason="no such system")
@pytest.mark.parametrize(
    "path", spread(["/proc/self/environ", "/sys/kernel/uevent_seqnum", "/dev/zero"], 1)
)
def test_what_the_system_shows_of_itself_is_refused(machine: Path, run: Runner, path: str) -> None:
    """As config, sheet, profile, print: refused by its place."""
    for arguments in (
        ("lint", path),
        ("lint", machine / "printer.cfg", "--sheet", path),
        ("flow", machine / "printer.cfg", "--profile", path),
        ("demand", path, "--config", machine / "printer.cfg"),
    ):
        ran = run(*arguments)
        assert ran.code == 3, arguments
        assert "no plain file" in ran.said, arguments


@wide
@only_wide
def test_page_never_goes_over_an_input(machine: Path, run: Runner) -> None:
    """A config that carries the mark of our page is still what is read."""
    config = machine / "printer.cfg"
    text = '# <meta name="generator" content="feedwright\n' + config.read_text()
    config.write_text(text)
    os.link(config, machine / "page.html")
    ran = run("report", config, "--html", machine / "page.html")

    assert ran.code == 2
    assert "is what is to be read" in ran.err
    assert config.read_text() == text


def test_stdin_from_a_file_counts_as_read(
    machine: Path, run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """'demand - < part' with a CSV over the part itself."""
    part = machine / "box.gcode"
    before = part.read_bytes()
    part.write_bytes(HEAD.encode() + before)
    with part.open(encoding="utf-8") as stream:
        monkeypatch.setattr(sys, "stdin", stream)
        ran = run("demand", "-", "--config", machine / "printer.cfg", "--csv", part)
    assert ran.code == 2, ran.err
    assert part.read_bytes() == HEAD.encode() + before


@pytest.mark.parametrize("text", ["=1+1", "+1", "-x", "@a", "\tx", "\rx"])
def test_texts_of_a_table_are_no_formulas(text: str) -> None:
    """OWASP, 'CSV Injection' (from memory): cells that begin with = + - @ TAB CR run."""
    assert cell_text(text) == f"'{text}"
    assert cell_text(f"a{text}") == f"a{text}"


def test_compare_writes_no_formula(
    machine: Path, run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sheet whose name is a formula; numbers stay numbers."""
    sheet = machine / "=cmd.yaml"
    sheet.write_text((machine / "hardware.yaml").read_text())
    monkeypatch.chdir(machine)
    sheets = ("--sheet", "=cmd.yaml", "--sheet", "hardware.yaml")
    ran = run("compare", "printer.cfg", *sheets, "--format", "csv")

    rows = [line.split(",") for line in ran.out.splitlines()[1:]]
    assert rows
    assert all(not row[1].startswith(("=", "+", "-", "@")) for row in rows)
    assert float(rows[0][3]) > 0.0


@pytest.mark.parametrize("option", ["--csv", "--gcode"])
@pytest.mark.parametrize("name", ["a\0b", "x" * 5000, "", "no/such/folder"])
def test_a_name_that_can_be_no_file_is_one_sentence(
    machine: Path, run: Runner, option: str, name: str
) -> None:
    """A NUL, a name that is too long, none at all, a folder that is not there."""
    ran = run("weigh", "plan", machine / "printer.cfg", option, name)

    assert ran.code == 2
    assert ran.err.startswith(f"feedwright: {option}: ")
    assert ran.err.count("\n") == 1


def test_a_print_from_a_closed_standard_input_is_one_sentence(
    machine: Path, run: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The interpreter has no stream where a shell closed it, as in 'demand - <&-'."""
    monkeypatch.setattr(sys, "stdin", None)
    ran = run("demand", "-", "--config", machine / "printer.cfg")

    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("feedwright: standard input is closed; ")


@wide
@pytest.mark.parametrize("text", spread(["- " * 3000, "motor: " + "[" * 3000, "{a: " * 3000], 1))
def test_a_sheet_of_very_deep_nesting_ends_at_once(machine: Path, run: Runner, text: str) -> None:
    """Counted while it is read: what lies deeper than the limit is not looked at."""
    (machine / "deep.yaml").write_text(text)
    ran = run("lint", machine / "printer.cfg", "--sheet", machine / "deep.yaml")

    assert ran.code == 3
    assert "deep.yaml:1:1: this YAML nests deeper than 50 levels" in ran.err


@pytest.mark.skipif(not os.path.exists("/proc"), reason="no such system")
@pytest.mark.parametrize("target", ["/proc/kmsg", "/dev/stdin", "/dev/tty", "/proc/self/fd/0"])
def test_an_include_of_what_would_wait_is_not_opened(
    machine: Path, run: Runner, monkeypatch: pytest.MonkeyPatch, target: str
) -> None:
    """No such file is opened at all, so that nothing can wait; the report comes."""
    config = machine / "printer.cfg"
    config.write_text(f"[include {target}]\n{config.read_text()}")
    opened: list[str] = []
    system = os.open

    def watched(path: str, *arguments: int, **named: int) -> int:
        opened.append(os.fspath(path))
        return system(path, *arguments, **named)

    monkeypatch.setattr(os, "open", watched)
    ran = run("lint", config)

    assert ran.code in (0, 1)
    assert str(config) in opened
    assert target not in opened
