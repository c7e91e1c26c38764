"""How often the stated bands hold: simulated tests on true machines drawn from the ensemble.

90 % is claimed. Quick: some machines, held to what chance allows them around 85-95 %; with
FEEDWRIGHT_LONG=1: 1,000 machines, held to 85-95 % themselves.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from bench import weigh
from machines import SETUP, TrueMachine, flows, machine, true_machine
from scipy import stats

from advisor.facts import weighed as narrowing
from advisor.facts.weighed import Narrowing
from advisor.intake.weighed import WeighedTable, read_weighed
from advisor.lint.weighed import seen_of
from advisor.weigh.evaluate import evaluate
from advisor.weigh.records import Evaluation

LONG = os.environ.get("FEEDWRIGHT_LONG") == "1"
SAMPLES = ("healthy", "no-sheet", "asks-too-much")
KNEES = (340, 340, 340) if LONG else (40, 40, 40)
NARROWED = KNEES if LONG else (9, 9, 9)


@dataclass(frozen=True)
class Weighed:
    true: TrueMachine
    table: WeighedTable
    found: Evaluation


@functools.cache
def weighed(sample: str, count: int) -> tuple[Weighed, ...]:
    """Return simulated tests; machines that deliver nothing even slowly cannot be weighed."""
    return tuple(_weighed(sample, count))


def _weighed(sample: str, count: int) -> Iterator[Weighed]:
    rng = np.random.default_rng(SAMPLES.index(sample))
    for number in range(1, count + 1):
        true = true_machine(sample, number * 2047 // count)
        if true.knee < min(flows(sample)):
            continue
        table = read_weighed(weigh(list(flows(sample)), true.limits, rng).encode(), "t.csv")
        yield Weighed(true, table, evaluate(table, SETUP))


def allowed(count: int) -> tuple[float, float]:
    """Return how many of `count` may be covered: 85-95 %, in the quick run with chance around."""
    if LONG:
        return 0.85 * count, 0.95 * count
    return float(stats.binom.ppf(0.005, count, 0.85)), float(stats.binom.ppf(0.995, count, 0.95))


def test_the_interval_of_the_knee_covers_as_often_as_claimed() -> None:
    """The true flow at which delivery begins to fall; or it lies above where none is seen."""
    tests = [one for s, n in zip(SAMPLES, KNEES, strict=True) for one in weighed(s, n)]
    inside = sum(covers(one) for one in tests)
    low, high = allowed(len(tests))

    assert low <= inside <= high


def covers(one: Weighed) -> bool:
    knee = one.found.knee
    if knee is None:
        return one.true.knee >= one.found.intact
    return knee.low <= one.true.knee <= knee.high


def test_the_interval_of_the_knee_is_of_use() -> None:
    """Half of the bands are narrower than a quarter of the flow; nearly every fall is found."""
    tests = [one for s, n in zip(SAMPLES, KNEES, strict=True) for one in weighed(s, n)]
    found = [(one.true.knee, one.found.knee) for one in tests if one.found.knee is not None]
    widths = [(knee.high - knee.low) / true for true, knee in found]
    falls = [one for one in tests if one.true.knee < 0.8 * max(flows_of(one))]

    assert np.median(widths) < 0.25
    assert sum(one.found.knee is not None for one in falls) >= 0.97 * len(falls)


def flows_of(one: Weighed) -> list[float]:
    return [step.flow for step in one.found.steps]


def test_no_outlier_is_named_where_there_is_none() -> None:
    """False alarms in at most one test of fifty."""
    tests = [one for s, n in zip(SAMPLES, KNEES, strict=True) for one in weighed(s, n)]

    assert sum(bool(one.found.outliers) for one in tests) <= 0.02 * len(tests)


@functools.cache
def narrowed(sample: str, count: int) -> tuple[tuple[Weighed, Narrowing], ...]:
    return tuple(
        (
            one,
            narrowing.narrowed(machine(sample), [seen_of(one.found, one.table)])[1],
        )
        for one in weighed(sample, count)
    )


def all_narrowed() -> list[tuple[Weighed, Narrowing]]:
    return [pair for s, n in zip(SAMPLES, NARROWED, strict=True) for pair in narrowed(s, n)]


def test_the_calibrated_capacity_covers_as_often_as_claimed() -> None:
    """The true capacity of the machine; a test that is told to contradict keeps the old band."""
    made = all_narrowed()
    inside = sum(holds(one, told) for one, told in made)
    low, high = allowed(len(made))

    assert low <= inside <= high


def holds(one: Weighed, told: Narrowing) -> bool:
    band = told.after or told.before
    assert band is not None
    return band.low <= one.true.limits["capacity"] * 1e9 <= band.high


def test_the_calibrated_capacity_is_narrower() -> None:
    """In at least 95 % of the tests, and by half or more in half of them."""
    made = all_narrowed()
    narrower = [told.narrower or 0.0 for _, told in made]

    assert sum(part > 0.0 for part in narrower) >= 0.95 * len(made)
    assert np.median(narrower) > 0.5


def test_no_true_machine_is_called_impossible() -> None:
    """A machine of the ensemble can be explained by it: at most one test of fifty is not."""
    made = all_narrowed()

    assert sum(told.contradiction is not None for _, told in made) <= max(1, 0.02 * len(made))


@pytest.mark.parametrize("sample", SAMPLES)
def test_the_nominal_machine_lies_in_the_band(sample: str) -> None:
    """Sample 0 stands for those that fit."""
    made = narrowed(sample, NARROWED[SAMPLES.index(sample)])
    inside = [
        told.after.low <= told.after.value <= told.after.high for _, told in made if told.after
    ]

    assert sum(inside) >= 0.9 * len(inside)
