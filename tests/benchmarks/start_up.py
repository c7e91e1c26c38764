"""How long a whole `lint` takes, as a ratio to ``python -c "import numpy"``.

``python start_up.py [--rounds 21]``, run by the Python of an environment in which the wheel is
installed, from any folder. The commands take turns, so that a busy machine slows all alike;
medians and their ratios are printed, and the ratio of the fastest runs.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from pathlib import Path

_SAMPLES = Path(__file__).resolve().parents[2] / "samples"
_PROGRAM = str(Path(sys.executable).with_name("feedwright"))


def commands() -> dict[str, list[str]]:
    """Return what is measured, the yardstick first."""
    bare, sheet = (str(_SAMPLES / name / "printer.cfg") for name in ("no-sheet", "healthy"))
    return {
        "import numpy": [sys.executable, "-c", "import numpy"],
        "lint, no sheet": [_PROGRAM, "lint", bare],
        "lint, with sheet": [_PROGRAM, "lint", sheet],
        "lint, JSON": [_PROGRAM, "lint", sheet, "--format", "json"],
        "derate": [_PROGRAM, "derate", "1.0A"],
    }


def main() -> None:
    """Measure in turn."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=21)
    options = parser.parse_args()
    spent: dict[str, list[float]] = {name: [] for name in commands()}
    for _ in range(options.rounds):
        for name, command in commands().items():
            begin = time.perf_counter()
            subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
            spent[name].append(time.perf_counter() - begin)
    yard = spent["import numpy"]
    for name, took in spent.items():
        median = statistics.median(took)
        print(  # noqa: T201
            f"{name:18s} {median * 1e3:5.0f} ms, ratio {median / statistics.median(yard):.2f}, "
            f"of the fastest {min(took) / min(yard):.2f}"
        )


if __name__ == "__main__":
    main()
