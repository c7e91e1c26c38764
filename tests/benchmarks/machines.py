"""Measures CPU time and memory of the commands that work machines out; run it by hand.

    tests/benchmarks/machines.py [RUNS] [TREE ...]

Each command runs RUNS times (3) in a process of its own, in turn for each TREE of code (this one),
so that a busy machine treats them alike. The yardstick is ``import numpy``. The compiled data and
the byte-code of each tree are made first, as in an installed package.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
CONFIG = str(ROOT / "samples/healthy/printer.cfg")
LENGTHS = ["--vary", "hotend.melt_length=8mm..30mm:20"]
CURRENTS = ["--vary", "motor.run_current=0.3A..0.6A:10"]
COMPILE = "from advisor.compile_data import *; from advisor.data.resources import *"
CASES = {
    "import numpy": [],
    "lint": ["lint", CONFIG],
    "torque": ["torque", CONFIG],
    "grip": ["grip", CONFIG],
    "compare 3": ["compare", CONFIG, "--vary", "nozzle.diameter=0.4 mm,0.6 mm"],
    "compare 20": ["compare", CONFIG, *LENGTHS],
    "compare 200": ["compare", CONFIG, *LENGTHS, *CURRENTS],
    "page": ["report", CONFIG, "--html"],
}


def run(tree: Path, words: list[str]) -> tuple[float, float]:
    """Return CPU seconds and the largest memory in MB of one run."""
    with tempfile.TemporaryDirectory() as folder:
        page = [str(Path(folder) / "page.html")] if words[:1] == ["report"] else []
        command = ["-m", "advisor", *words, *page] if words else ["-c", "import numpy"]
        started = subprocess.Popen(
            [sys.executable, *command],
            env={**os.environ, "PYTHONPATH": str(tree)},
            cwd=tree,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        _, status, used = os.wait4(started.pid, 0)
        started.returncode = os.waitstatus_to_exitcode(status)
        if started.returncode not in (0, 1):
            raise SystemExit(f"{' '.join(words)} failed with {started.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0


def compiled(tree: Path) -> None:
    """Make the compiled data and the byte-code of a tree."""
    code = f"{COMPILE}; write(compiled_folder())"
    env = {**os.environ, "PYTHONPATH": str(tree)}
    subprocess.run([sys.executable, "-c", code], env=env, cwd=tree, check=True)
    subprocess.run([sys.executable, "-m", "compileall", "-q", "advisor"], cwd=tree, check=True)


def main(runs: int, trees: list[Path]) -> None:
    for tree in trees:
        compiled(tree)
    yard = dict.fromkeys(trees, 1.0)
    for name, words in CASES.items():
        found: dict[Path, list[tuple[float, float]]] = {tree: [] for tree in trees}
        for _ in range(runs):
            for tree in trees:
                found[tree].append(run(tree, words))
        for tree, rows in found.items():
            seconds = median(row[0] for row in rows)
            yard[tree] = yard[tree] if words else seconds
            most = max(row[1] for row in rows)
            times = seconds / yard[tree]
            line = f"{name:<13} {seconds:6.2f} s  {times:5.1f} x numpy  {most:5.0f} MB  {tree}"
            sys.stdout.write(f"{line}\n")


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    main(count, [Path(text).resolve() for text in sys.argv[2:]] or [ROOT])
