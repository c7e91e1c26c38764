"""Does `compare --weighed` keep its word on changed machines? Simulated tests on true machines.

    python tests/studies/weighed_compare.py [--count 400]

Each true machine is weighed on the simulated bench, then changed; what is said of the changed one
is held against its truth. 90 % is claimed. Printed for each change: how many truths lie inside of
their band, and how much narrower the test makes it. Some minutes of one core for 400 machines.
"""

from __future__ import annotations

import argparse
import functools
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
for folder in (ROOT, ROOT / "tests" / "weigh"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from bench import weigh
from machines import SETUP, TRUE_MACHINES, flows, machine, true_machine

from advisor.answers.builds.machine import Build, changed
from advisor.answers.builds.vary import read_variation
from advisor.answers.weighed import seen_of
from advisor.base import Band
from advisor.catalog import load_catalog
from advisor.machine.ensemble import plausible
from advisor.machine.summary import band_of
from advisor.weigh.fit import narrowed
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate

SAMPLE = "healthy"
CHANGES = ("hotend.melt_length=26 mm", "drive.gear_diameter=9 mm", "nozzle.diameter=0.6 mm",
           "motor.class=square-42-long")  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What is said of a changed machine with and without the test, and its truth, in mm3/s."""

    change: str
    before: Band
    after: Band
    truth: float


def _changed(build: Build, text: str) -> Build:
    return changed(build, read_variation(text, load_catalog()))


@functools.cache
def truths(text: str) -> np.ndarray:
    """Return the capacity of every true machine with a change made to it."""
    made = _changed(Build("true", machine(SAMPLE).on(plausible(number=TRUE_MACHINES))), text)
    return np.asarray(made.book.samples("flow.capacity")) * 1e9


def told_of(count: int) -> Iterator[Told]:
    """Try so many machines, each with every change; those that no test reaches are left out."""
    rng = np.random.default_rng(11)
    plain = Build("plain", machine(SAMPLE))
    before = {text: _band(_changed(plain, text)) for text in CHANGES}
    for number in range(1, count + 1):
        place = number * 2047 // count
        true = true_machine(SAMPLE, place)
        if true.knee < min(flows(SAMPLE)):
            continue
        table = read_weighed(weigh(list(flows(SAMPLE)), true.limits, rng).encode(), "t.csv")
        seen = seen_of(evaluate(table, SETUP), table)
        weighed = Build("w", narrowed(machine(SAMPLE).plain(), [seen])[0])
        for text in CHANGES:
            made = _band(_changed(weighed, text))
            yield Told(text, before[text], made, float(truths(text)[place]))


def _band(build: Build) -> Band:
    band = band_of(build.book.facts["flow.capacity"])
    assert band is not None
    return band


def inside(told: tuple[Told, ...]) -> int:
    """Count the truths that lie inside of what is said."""
    return sum(one.after.low <= one.truth <= one.after.high for one in told)


def narrower(told: tuple[Told, ...]) -> np.ndarray:
    """Return by which share the test narrows each band."""
    parts = [1 - (x.after.high - x.after.low) / (x.before.high - x.before.low) for x in told]
    return np.asarray(parts)


def table(told: tuple[Told, ...]) -> list[str]:
    """Return the lines of the study's table."""
    lines = [f"{'change':<32}{'machines':>9}{'inside':>9}{'narrower, median':>18}"]
    for text in CHANGES:
        of_it = tuple(one for one in told if one.change == text)
        share = f"{inside(of_it) / len(of_it):.1%}"
        lines.append(f"{text:<32}{len(of_it):>9}{share:>9}{np.median(narrower(of_it)):>18.0%}")
    return lines


def study() -> int:
    """Print the table; the exit code is 1 where fewer than 85 % of all truths lie inside."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--count", type=int, default=400, help="true machines to try")
    told = tuple(told_of(options.parse_args().count))
    print("\n".join(table(told)))
    return int(inside(told) < 0.85 * len(told))


if __name__ == "__main__":
    sys.exit(study())
