"""The same files give the same page, byte for byte, in processes that differ in all but that."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

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
"""


def pages(seed: str, **more: str) -> bytes:
    """Both pages, one after the other, made in a process of its own."""
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(SAMPLES.parent), **more}
    done = subprocess.run(
        [sys.executable, "-c", BOTH.format(machines=list(MACHINES.values()))],
        cwd=SAMPLES, env=environment, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


def test_other_hash_seeds_clocks_and_locales_give_the_same_bytes() -> None:
    """With a print, and with a weighed test: sets and the time of day leave no trace."""
    first = pages("1", LC_ALL="C", TZ="UTC", COLUMNS="40")
    second = pages("4242", LC_ALL="C.UTF-8", TZ="Asia/Tokyo", COLUMNS="200")

    assert first.startswith(b"<!DOCTYPE html>")
    assert first.count(b"<!DOCTYPE html>") == len(MACHINES)
    assert first == second
