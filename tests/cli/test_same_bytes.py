"""The same files give the same page, byte for byte, in processes that differ in all but that."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from pathlib import Path

from tiers import only_wide, wide

from advisor.cli import main

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
MACHINES = {
    "print": ["asks-too-much/printer.cfg", "--profile", "asks-too-much/profile.ini",
              "--print", "asks-too-much/box.gcode"],
    "weighed": ["healthy/printer.cfg", "--weighed", "healthy/flow-test.csv"],
}  # fmt: skip
BOTH = """
import sys
from advisor.cli import main
for words in {machines!r}:
    code = main(["report", *words, "--html", "-"])
    assert code == 0, code
assert "matplotlib.pyplot" not in sys.modules
"""
SETTINGS = """
font.size: 30
font.family: serif
lines.linewidth: 9
svg.fonttype: path
axes.grid: False
axes.facecolor: red
text.color: blue
no.such.setting: 3
"""
NOWHERE = "/proc/nowhere" if Path("/proc").exists() else "/dev/null/nowhere"


def pages_elsewhere(**environment: str) -> tuple[bytes, bytes]:
    """Both pages, one after the other, made in a process of its own; and what it said."""
    kept = {key: os.environ[key] for key in ("PATH", "SYSTEMROOT") if key in os.environ}
    done = subprocess.run(
        [sys.executable, "-c", BOTH.format(machines=list(MACHINES.values()))],
        cwd=SAMPLES, env=kept | {"PYTHONPATH": str(SAMPLES.parent)} | environment,
        capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout, done.stderr


def pages_here() -> bytes:
    """The same in this process, which has a seed of its own and what other tests left."""
    out = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.chdir(SAMPLES), contextlib.redirect_stdout(out):
        for words in MACHINES.values():
            assert main(["report", *words, "--html", "-"]) == 0
    out.flush()
    return out.buffer.getvalue()  # type: ignore[attr-defined, no-any-return]


@wide
@only_wide
def test_other_seeds_clocks_locales_and_settings_give_the_same_bytes(tmp_path: Path) -> None:
    """With a print, and with a weighed test: all kinds of pictures are among them.

    Sets, the time of day, the width of the terminal, the user's settings of the plotting library
    (a wrong one among them), a home that is not there and a cache folder that cannot be made leave
    no trace, and draw no word.
    """
    (tmp_path / "matplotlibrc").write_text(SETTINGS, encoding="utf-8")
    other = pages_elsewhere(
        PYTHONHASHSEED="4242", SOURCE_DATE_EPOCH="1", LC_ALL="C", TZ="Asia/Tokyo", COLUMNS="200",
        MATPLOTLIBRC=str(tmp_path), MPLBACKEND="svg", MPLCONFIGDIR=NOWHERE, HOME="/nonexistent",
    )  # fmt: skip
    here = pages_here()

    assert here.startswith(b"<!DOCTYPE html>")
    assert here.count(b"<!DOCTYPE html>") == len(MACHINES)
    assert here.count(b'class="picture"') >= 4
    assert other == (here, b"")
