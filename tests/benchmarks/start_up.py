"""Prints what one `lint` costs beside `import numpy`. Run by hand from an installed package:

    python tests/benchmarks/start_up.py [ROUNDS]

The two are run in turn, each a whole process of its own, so that a busy machine spoils both
alike; medians of wall time and of CPU time. Nothing is asserted; the target is a ratio of 2.5.
"""

# ruff: noqa: T201 (what it prints is what it is for)

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
BARE = "-c", "import numpy"
LINT = "-m", "advisor", "lint", "--fail-on", "never"
CONFIGS = ("no-sheet", "healthy", "over-driven", "soft-filament")


def cost(*arguments: str) -> tuple[float, float]:
    """Return wall and CPU seconds of one process of this Python, run outside the checkout."""
    before, begin = _children(), time.perf_counter()
    subprocess.run(
        (sys.executable, *arguments), check=True, stdout=subprocess.DEVNULL, cwd=Path(sys.prefix)
    )
    return time.perf_counter() - begin, _children() - before


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def medians(costs: list[tuple[float, float]]) -> tuple[float, float]:
    """Return the medians of wall and CPU."""
    wall, cpu = zip(*costs, strict=True)
    return statistics.median(wall), statistics.median(cpu)


def compare(config: str, rounds: int) -> None:
    """Print one line on a sample."""
    path = str(SAMPLES / config / "printer.cfg")
    cost(*BARE), cost(*LINT, path)  # once each, so that both find their files in memory
    bare, lint = [], []
    for _ in range(rounds):
        bare.append(cost(*BARE))
        lint.append(cost(*LINT, path))
    (bare_wall, bare_cpu), (wall, cpu) = medians(bare), medians(lint)
    print(
        f"{config:14s} wall {wall * 1e3:5.0f} ms / {bare_wall * 1e3:4.0f} ms = "
        f"{wall / bare_wall:4.2f}    CPU {cpu * 1e3:5.0f} ms / {bare_cpu * 1e3:4.0f} ms = "
        f"{cpu / bare_cpu:4.2f}",
        flush=True,
    )


def main() -> None:
    """Compare every sample."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    for config in CONFIGS:
        compare(config, rounds)


if __name__ == "__main__":
    main()
