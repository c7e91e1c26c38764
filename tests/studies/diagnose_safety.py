"""Does `diagnose` ever advise what would do harm on the true machine? Drawn machines with each cause in turn.

    python tests/studies/diagnose_safety.py [--count 200] [--first 0] [--seed 1]

Causes that hide the true current or the true nozzle come in every second machine. Each machine is asked
about, the test that is proposed is done, and asked again; all advice is judged by the truth (see
diagnose_advice). What would do harm is printed; the exit code is then 1.
"""

from __future__ import annotations

import argparse
import itertools
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.studies.diagnose_advice import Reading, harms, truth_of
from tests.studies.diagnose_ask import ask
from tests.studies.diagnose_bench import Asked, Case, complaint, step
from tests.studies.diagnose_names import NAMES
from tests.studies.diagnose_planted import PLANTED

HIDDEN = ("sense-resistor", "no-section", "other-section", "silent-floor", "thermistor-kind", "thermistor-loose", "current-high", "too-cold")  # fmt: skip
UNSURE = ("sense-resistor", "no-section", "other-section", "silent-floor", "silent-weak")
TURNS = 2  # tests that are done


@dataclass(frozen=True)
class Tried:
    """What was advised of a case that would do harm, and how often the planted cause was in play."""

    case: Case
    harmful: tuple[str, ...]
    in_play: bool  # the planted cause stood above 2 in 100 at once


def machines(count: int, seed: int, first: int = 0) -> Iterator[Case]:
    """Draw complaints, every second of a cause that hides the true current or nozzle."""
    names = sorted(PLANTED)
    for number in range(first, first + count):
        rng = np.random.default_rng((seed, number, 7))
        name = (
            HIDDEN[number // 2 % len(HIDDEN)]
            if number % 2 == 0
            else names[number // 2 % len(names)]
        )
        made = next(filter(None, (complaint(name, rng, number) for _ in itertools.count())))
        yield made


def unsure_names() -> tuple[str, ...]:
    """What the command calls the causes in which the current is not known."""
    return tuple(sorted({name for one in UNSURE for name in NAMES[one]}))


def judged(case: Case, reading: Reading) -> list[str]:
    """Return what of the advice would do harm on the true machine."""
    truth = truth_of(case.machine, NAMES[case.planted])
    return harms(reading, case.told.sees, truth, unsure_names())


def tried(case: Case, question: Asked = ask) -> Tried:
    """Ask, do what is proposed, ask again; and judge all that is advised."""
    rng = np.random.default_rng((case.seed, 97))
    names = NAMES[case.planted]
    told, did, found, in_play = case.told, (), [], False
    for turn in range(TURNS + 1):
        reading = question(case, told, did)
        in_play = in_play or (turn == 0 and reading.odds(names) > 0.02)
        found += judged(case, reading)
        if not reading.test or turn == TURNS:
            break
        told, did = step(case, told, did, reading.test, rng)
    return Tried(case, tuple(dict.fromkeys(found)), in_play)


def study() -> int:
    """Print what would do harm."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--count", type=int, default=200)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    made = [tried(case) for case in machines(given.count, given.seed, given.first)]
    for one in made:
        for harm in one.harmful:
            print(
                f"{one.case.seed:>4} {one.case.planted:<18} {', '.join(one.case.told.sees)}: {harm}"
            )
    harmed = sum(bool(one.harmful) for one in made)
    print(
        f"{len(made)} machines; the planted cause above 2 in 100 in {sum(one.in_play for one in made)}; harmful advice in {harmed}"
    )
    return int(harmed > 0)


if __name__ == "__main__":
    sys.exit(study())
