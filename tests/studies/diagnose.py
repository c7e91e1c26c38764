"""Does `diagnose` find the planted cause? Simulated machines, what their owners say of them, tests done on them.

    python tests/studies/diagnose.py [--count 600] [--first 0] [--seed 1] [--rates-off 1] [--chains 0]

`--rates-off 3`: what is common in the bench is off by up to 3. `--chains N`: for the first N cases the tests
are gone on with until the remedy is clear, as proposed and in a fixed order, and the minutes set side by side.
`--first` and `--count` make a run in pieces: a number has the same machine in each. Printed are shares with
their 95 % intervals (Wilson), what is said against what is right, and each planted cause by itself. About
a second a case. Nothing is asserted; the exit code is 0.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.studies.diagnose_ask import ask
from tests.studies.diagnose_bench import cases, score, table


def study() -> int:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--count", type=int, default=600)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--rates-off", type=float, default=1.0)
    options.add_argument("--chains", type=int, default=0)
    given = options.parse_args()
    drawn = cases(given.count, given.seed, first=given.first, off_by=given.rates_off)
    scores = []
    for number, case in enumerate(drawn):
        scores.append(score(case, ask, chain=number < given.chains))
        if number % 50 == 49:
            print(f"{number + 1} of {given.count}", file=sys.stderr)
    print(
        f"seed {given.seed}, cases {given.first} to {given.first + given.count - 1}, rates off by {given.rates_off:g}"
    )
    print("\n".join(table(scores)))
    return 0


if __name__ == "__main__":
    sys.exit(study())
