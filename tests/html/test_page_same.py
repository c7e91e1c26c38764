"""The same files give the same page, byte for byte; nothing of this machine stands on it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from html_pages import SAMPLES, Made

ROOT = SAMPLES.parent
MACHINES = {
    "print": ["asks-too-much/printer.cfg", "--profile", "asks-too-much/profile.ini",
              "--print", "asks-too-much/box.gcode"],
    "weighed": ["healthy/printer.cfg", "--weighed", "healthy/flow-test.csv"],
}  # fmt: skip


def run(arguments: list[str], seed: str, **more: str) -> bytes:
    """The page, made in a process of its own."""
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), **more}
    done = subprocess.run(
        [sys.executable, "-m", "advisor", "report", *arguments, "--html", "-"],
        cwd=SAMPLES, env=environment, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


@pytest.mark.parametrize("machine", MACHINES)
def test_other_hash_seeds_clocks_and_locales_give_the_same_bytes(machine: str) -> None:
    """Sets and the time of day leave no trace."""
    first = run(MACHINES[machine], "1", LC_ALL="C", TZ="UTC", COLUMNS="40")
    second = run(MACHINES[machine], "4242", LC_ALL="C.UTF-8", TZ="Asia/Tokyo", COLUMNS="200")

    assert first.startswith(b"<!DOCTYPE html>")
    assert first == second


def test_nothing_of_this_machine_stands_on_the_page(page: Made) -> None:
    """No folder but those that were typed."""
    pytest.importorskip("matplotlib")
    text, _ = page("healthy/printer.cfg", drawn=True, weighed=("healthy/flow-test.csv",))
    for own in {str(SAMPLES), str(ROOT), str(Path.home()), str(Path(sys.executable).parent)}:
        assert own == "/" or own not in text
