"""The program as a process: streams, pipes, encodings, what it imports."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from tiers import spread, wide

ROOT = Path(__file__).resolve().parents[2]
STAND_IN = """
import sys
from advisor.base import FileStatus, Finding, Level, Report, Span

def check(paths, asks):
    at = Span("caf\\udce9.cfg", 7, 3, 8)
    findings = tuple(Finding("some-rule", Level.ERROR, "motor", f"\\u00e9 {i}", at=at)
                     for i in range(%d))
    return Report((FileStatus("printer.cfg", "read"),), (), findings)

from advisor import answers
answers.check = check
from advisor.cli import main
sys.exit(main())
"""


def environment(**more: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    return kept | {"PYTHONPATH": str(ROOT)} | more


def program(*arguments: str, findings: int = 3) -> list[str]:
    return [sys.executable, "-c", STAND_IN % findings, *arguments]


def test_python_m_advisor_is_the_program() -> None:
    """`python -m advisor` works and calls itself feedwright."""
    ran = subprocess.run(
        [sys.executable, "-m", "advisor", "lnt"],
        env=environment(),
        capture_output=True,
        check=False,
    )
    assert ran.returncode == 2
    assert ran.stdout == b""
    assert ran.stderr.startswith(b"feedwright: no such command")


@wide
@pytest.mark.parametrize("form", spread(["text", "json", "sarif"], 1))
def test_a_closed_pipe_is_quiet(form: str) -> None:
    """A reader that stops after one byte: no traceback, no word on stderr, the code stands."""
    process = subprocess.Popen(
        program("lint", "a.cfg", "--format", form, findings=20_000),
        env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(1)
    process.stdout.close()

    assert process.stderr.read() == b""
    assert process.wait(30) == 1
    process.stderr.close()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_a_sentence() -> None:
    """What cannot be written is told, with exit code 3."""
    with Path("/dev/full").open("wb") as full:
        ran = subprocess.run(
            program("lint", "a.cfg", "--format", "json"),
            env=environment(), stdout=full, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert ran.returncode == 3
    assert ran.stderr.startswith(b"feedwright: cannot write the report")
    assert ran.stderr.count(b"\n") == 1


@wide
@pytest.mark.parametrize("encoding", spread(["ascii", "latin-1", "utf-8"], 2))
def test_any_encoding_of_stdout_will_do(encoding: str) -> None:
    """Text that the encoding cannot hold is escaped; a byte that was no text is shown as one."""
    ran = subprocess.run(
        program("lint", "a.cfg"),
        env=environment(PYTHONIOENCODING=encoding), capture_output=True, check=False,
    )  # fmt: skip
    shown = ran.stdout.decode(encoding)

    assert ran.returncode == 1
    assert ran.stderr == b""
    assert "caf\\xe9.cfg:7" in shown
    assert ("\u00e9 0" in shown) is (encoding != "ascii")


@wide
@pytest.mark.parametrize(
    ("form", "streams"),
    spread([(form, streams) for form in ("text", "json", "sarif")
            for streams in (">&-", ">&- 2>&-")], 2),
)  # fmt: skip
def test_a_closed_stdout_is_no_success(form: str, streams: str) -> None:
    """A report that went nowhere is a fault: a sentence on stderr, if that is there, and 3."""
    command = " ".join(f"'{part}'" for part in program("lint", "a.cfg")[:1])
    script = textwrap.dedent(STAND_IN % 1)
    ran = subprocess.run(
        ["/bin/sh", "-c", f'{command} -c "$1" lint a.cfg --format {form} {streams}', "sh", script],
        env=environment(), stderr=subprocess.PIPE, check=False,
    )  # fmt: skip
    assert ran.returncode == 3
    lines = ran.stderr.decode().splitlines()
    assert len(lines) == (1 if streams == ">&-" else 0)
    assert all("stdout is closed" in line for line in lines)


@wide
@pytest.mark.parametrize(
    "arguments",
    spread(["--version", "--help", "lint --help", "derate 1.0A", "sheet CONFIG", "mend CONFIG",
     "sheet CONFIG --interactive < /dev/null"], 3),
)  # fmt: skip
def test_no_command_claims_success_without_stdout(tmp_path: Path, arguments: str) -> None:
    """Whatever the command shows: 3, and no traceback."""
    config = tmp_path / "printer.cfg"
    config.write_text("[extruder]\nrotation_distance: 22\n\n[tmc2209 extruder]\n"
                      "run_current: 0.5\nhold_current: 0.9\n")  # fmt: skip
    words = arguments.replace("CONFIG", str(config))
    ran = subprocess.run(
        ["/bin/sh", "-c", f"'{sys.executable}' -m advisor {words} >&-"],
        env=environment(), stderr=subprocess.PIPE, check=False,
    )  # fmt: skip
    assert ran.returncode == 3
    assert ran.stderr.count(b"stdout is closed") == 1
    assert b"Traceback" not in ran.stderr


def loaded_by(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint(*sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", code], env=environment(), capture_output=True, text=True, check=True
    )
    return {name.partition(".")[0] for name in ran.stdout.split()}


HEAVY = {"numpy", "lark", "rich", "ruamel"}


@wide
@pytest.mark.parametrize(
    "module", spread(["advisor", "advisor.cli", "advisor.cli.app", "advisor.report.text"], 2)
)
def test_importing_the_front_loads_nothing_heavy(module: str) -> None:
    """Start-up is paid for by what a command needs, not by what the program can do."""
    assert not loaded_by(f"import {module}") & HEAVY


def test_the_version_and_help_load_nothing_heavy() -> None:
    """Answers without engineering come at once."""
    quiet = "import io, contextlib\nwith contextlib.redirect_stdout(io.StringIO()):\n"
    for arguments in (["--version"], ["lint", "--help"]):
        statement = f"{quiet}    import advisor.cli; advisor.cli.main({arguments!r})"
        assert not loaded_by(statement) & HEAVY


def test_a_report_without_colour_does_not_load_rich() -> None:
    """rich is for colour alone."""
    look = "from advisor.report.look import Look"
    page = "from advisor.report.page import Page"
    plain = f"{look}\n{page}\np = Page(Look()); p.heading('x'); p.render()"
    coloured = plain.replace("Look()", "Look(colours='256')")

    assert "rich" not in loaded_by(plain)
    assert "rich" in loaded_by(coloured)
