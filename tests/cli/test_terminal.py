"""The program in a real terminal: its width, its colour, and what a dumb one gets."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from tiers import only_wide, wide

pty = pytest.importorskip("pty", reason="needs a terminal of the POSIX kind")
ROOT = Path(__file__).resolve().parents[2]
ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
STRAND = "\u2550"


def in_terminal(columns: int, *arguments: str, **env: str) -> str:
    """Run the program on a terminal of so many columns and return what it shows."""
    import fcntl
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    base = {"PATH": os.environ.get("PATH", ""), "PYTHONPATH": str(ROOT), "LANG": "C.UTF-8"}
    process = subprocess.Popen(
        [sys.executable, "-m", "advisor", *arguments],
        stdout=theirs, stderr=subprocess.PIPE, env=base | env,
    )  # fmt: skip
    os.close(theirs)
    shown = b""
    while chunk := _read(ours):
        shown += chunk
    os.close(ours)
    _, complaint = process.communicate(timeout=60)
    assert complaint == b""
    assert process.returncode in {0, 1}
    return shown.decode("utf-8").replace("\r\n", "\n")


def _read(descriptor: int) -> bytes:
    try:
        return os.read(descriptor, 65536)
    except OSError:  # Linux says EIO where the other side has hung up
        return b""


def config(folder: Path) -> str:
    """An invented machine."""
    path = folder / "printer.cfg"
    path.write_text(
        "[extruder]\nrotation_distance: 22.4\ngear_ratio: 50:10\nnozzle_diameter: 0.4\n"
        "filament_diameter: 1.75\nmax_temp: 260\n\n[tmc2209 extruder]\nrun_current: 0.5\n"
        "sense_resistor: 0.11\n"
    )
    return str(path)


def test_a_terminal_gets_its_width_and_colour(tmp_path: Path) -> None:
    """100 columns are used and not exceeded; the words are the same without colour."""
    arguments = ("lint", config(tmp_path), "--asked", "12mm3/s")
    coloured = in_terminal(100, *arguments, TERM="xterm-256color")
    plain = in_terminal(100, *arguments, TERM="xterm-256color", NO_COLOR="1")
    strands = [line for line in plain.splitlines() if STRAND in line]

    assert ESCAPE.search(coloured)
    assert ESCAPE.sub("", coloured) == plain
    assert len(strands) >= 3
    assert 80 < max(map(len, strands)) <= 100


@wide
@only_wide
def test_a_terminal_without_line_drawing_gets_ascii(tmp_path: Path) -> None:
    """In the C locale the strands are made of = and -."""
    shown = in_terminal(80, "lint", config(tmp_path), TERM="xterm", LC_ALL="C", NO_COLOR="1")
    assert STRAND not in shown
    assert "===" in shown


def test_a_dumb_terminal_gets_words(tmp_path: Path) -> None:
    """One sentence a stage, no drawing, no colour."""
    shown = in_terminal(80, "lint", config(tmp_path), TERM="dumb")

    assert not ESCAPE.search(shown)
    assert STRAND not in shown
    assert "===" not in shown
    assert re.search(r"^motor +[\d.]+ \(.*\) mm\u00b3/s; skips at", shown, re.MULTILINE)


@wide
@only_wide
def test_a_dumb_terminal_gets_torque_in_words(tmp_path: Path) -> None:
    """The points with all their numbers, and no picture of them; a real one gets it on top."""
    arguments = ("torque", config(tmp_path), "--asked", "5mm3/s", "--full")
    dumb = in_terminal(80, *arguments, TERM="dumb")
    drawn = in_terminal(80, *arguments, TERM="xterm", NO_COLOR="1")

    assert not re.search("[\u2550\u2500\u2502|]|==", dumb)
    row = r"^[A-H] feed at the requested flow( +[\d.]+){5} +\d+ % +\d+ %$"
    assert re.search(row, dumb, re.MULTILINE)
    assert [line for line in drawn.splitlines() if "\u2502" in line]
    assert set(dumb.splitlines()) <= set(drawn.splitlines())
