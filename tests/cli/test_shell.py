"""What a shell can do to the program: full devices, closed streams, a Ctrl-C, odd characters."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from tiers import only_wide, spread, wide

from advisor.report.clean import controls

ROOT = Path(__file__).resolve().parents[2]
FULL = Path("/dev/full")
CONFIG = """\
[extruder]
rotation_distance: 22

[tmc2209 extruder]
run_current: 0.5
hold_current: 0.9{odd}
"""


def environment() -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    return kept | {"PYTHONPATH": str(ROOT)}


def shell(words: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[bytes]:
    command = f"'{sys.executable}' -m advisor {words}"
    return subprocess.run(
        ["/bin/sh", "-c", command], env=environment(), cwd=cwd, capture_output=True, check=False
    )


@wide
@pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    "words", spread(["--help", "--version", "lint --help", "weigh plan --help"], 1)
)
def test_help_for_a_full_device_is_a_sentence(words: str) -> None:
    """Exit code 3, one sentence, no traceback and no fault of ours."""
    ran = shell(f"{words} > {FULL}")

    assert ran.returncode == 3
    assert ran.stderr.startswith(b"feedwright: cannot write the report: No space left")
    assert ran.stderr.count(b"\n") == 1


@wide
@pytest.mark.parametrize(
    "words", spread(["lint - <&-", "lint - --format json <&-", "flow - <&-"], 1)
)
def test_a_closed_standard_input_is_a_sentence(words: str) -> None:
    """As nothing came, nothing is judged."""
    ran = shell(f"{words} --asked 9mm3/s" if words.startswith("flow") else words)

    assert ran.returncode == 3
    assert b"nothing came on standard input; pipe a config into it" in ran.stderr
    assert b"INTERNAL" not in ran.stderr


INTERRUPTED = """
import os, signal, sys

class Finder:
    def find_spec(self, name, path=None, target=None):
        if name == {module!r}:
            os.kill(os.getpid(), signal.SIGINT)
        return None

sys.meta_path.insert(0, Finder())
signal.signal(signal.SIGINT, signal.default_int_handler)
from advisor.cli import run
run()
"""


@wide
@pytest.mark.skipif(os.name != "posix", reason="a signal of POSIX")
@pytest.mark.parametrize(
    "module",
    spread(["advisor.cli.outcome", "typer", "advisor.cli.app", "advisor.cli.lint", "numpy"], 2),
)
def test_a_ctrl_c_while_the_program_is_loaded_is_quiet(module: str) -> None:
    """130 (128 and the signal's number, POSIX) and not a word, whatever is being imported."""
    script = textwrap.dedent(INTERRUPTED.format(module=module))
    ran = subprocess.run(
        [sys.executable, "-c", script, "lint", str(ROOT / "samples" / "healthy" / "printer.cfg")],
        env=environment(), capture_output=True, check=False,
    )  # fmt: skip

    assert (ran.returncode, ran.stdout, ran.stderr) == (128 + signal.SIGINT, b"", b"")


@wide
@pytest.mark.parametrize(
    ("odd", "told"), spread([("  # \x1b[31mred\x07", True), ("  # red", False)], 1)
)
def test_a_diff_with_escape_sequences_says_so(tmp_path: Path, odd: str, told: bool) -> None:
    """The diff is exact, so it holds them; standard error says so and holds none."""
    (tmp_path / "printer.cfg").write_text(CONFIG.format(odd=odd), encoding="utf-8")
    ran = shell("mend printer.cfg", tmp_path)

    assert odd.encode() in ran.stdout
    assert (b"control characters" in ran.stderr) is told
    assert controls(ran.stderr) == 0


def test_what_a_terminal_would_obey() -> None:
    """Control characters of ECMA-48 (C0, DEL, C1), not tab and line ends, nor letters."""
    assert controls(b"a\tb\r\nc") == controls("\u00b0 \u00e9 \u4e2d".encode()) == 0
    assert controls(b"\x00\x1b\x7f") == 3
    assert controls("\u009b31m".encode()) == controls(b"\x9b31m") == 1


@wide
@only_wide
def test_a_mend_of_a_file_whose_name_has_a_line_break_is_taken_back(tmp_path: Path) -> None:
    """The backup is found by the whole name."""
    name = "two\nlines.cfg"
    (tmp_path / name).write_text(CONFIG.format(odd=""), encoding="utf-8")
    for words in ("--write", "--undo"):
        ran = subprocess.run(
            [sys.executable, "-m", "advisor", "mend", name, words],
            cwd=tmp_path, env=environment(), capture_output=True, check=False,
        )  # fmt: skip
        assert ran.returncode == 0, ran.stderr
        assert ("0.9" in (tmp_path / name).read_text(encoding="utf-8")) is (words == "--undo")
