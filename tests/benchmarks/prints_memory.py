"""Peak memory of `feedwright demand` on a small and on a large print.

``python prints_memory.py [--megabytes 500]`` makes two prints in a temporary folder, runs the
command on each as a process of its own, and prints the peak resident memory of both.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

from prints_make import write_print

_CONFIG = Path(__file__).parents[2] / "samples" / "healthy" / "printer.cfg"


def peak(path: Path) -> tuple[float, float]:
    """Return the peak resident memory in MB and the time in s of one run."""
    command = [sys.executable, "-m", "advisor", "demand", str(path), "--config", str(_CONFIG)]
    begin = time.perf_counter()
    child = os.fork()
    if child == 0:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.execv(command[0], command)
    _, status, usage = os.wait4(child, 0)
    if os.waitstatus_to_exitcode(status) > 1:
        raise SystemExit("the run failed")
    return usage.ru_maxrss / 1024.0, time.perf_counter() - begin


def main() -> None:
    """Make the prints and measure."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--megabytes", type=float, default=500.0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for megabytes in (5.0, options.megabytes):
            path = Path(folder) / "print.gcode"
            with path.open("wb") as out:
                write_print(out, int(megabytes * 1e6))
            memory, took = peak(path)
            speed = megabytes / took
            print(f"{megabytes:.0f} MB: peak {memory:.0f} MB, {took:.1f} s, {speed:.0f} MB/s")  # noqa: T201


if __name__ == "__main__":
    main()
