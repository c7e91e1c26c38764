"""The study of the weighed test in little: ten machines a scenario, and how its table reads.

90 % is claimed; of ten machines a scenario, all taken together, chance allows what the binomial
distribution of scipy says around 85-95 %.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
import scipy
from tiers import WIDE, only_wide, spread, wide
from weighed_coverage import SCENARIOS, Count, odds_rows, rows, run

MACHINES, CAPACITIES = 10, 2
SOME = list(SCENARIOS) if WIDE else spread(list(SCENARIOS), 2)
CHOSEN = {name: SCENARIOS[name] for name in SOME}
pytestmark = wide


@functools.cache
def made(name: str) -> Count:
    return run(SCENARIOS[name], MACHINES, CAPACITIES)


@pytest.fixture(scope="module")
def counts() -> dict[str, Count]:
    return {name: made(name) for name in CHOSEN}


def allowed(count: int) -> tuple[float, float]:
    """Return how many of `count` may hold where 85-95 % do, but for one run of 200."""
    return float(scipy.stats.binom.ppf(0.0025, count, 0.85)), float(
        scipy.stats.binom.ppf(0.9975, count, 0.95)
    )


@wide
@only_wide
def test_the_interval_of_the_knee_holds_as_often_as_claimed(counts: dict[str, Count]) -> None:
    """All scenarios together: droops of 0 to 5 %, a misread mass, machines off the prior."""
    tests = [one for count in counts.values() for one in count.tests]
    low, _ = allowed(len(tests))

    assert len(tests) >= 0.8 * MACHINES * len(SCENARIOS)
    assert low <= sum(one.covered for one in tests)


def test_no_interval_reaches_below_half_its_middle_where_all_was_whole(
    counts: dict[str, Count],
) -> None:
    """Half the middle, or the fastest clean flow where that is less, is its low end at least."""
    for count in counts.values():
        for one in count.tests:
            knee = one.found.knee
            if knee is not None:
                assert knee.low >= min(0.5 * knee.value, one.found.clean or 0.0) * (1 - 1e-9)


def test_the_capacity_holds_as_often_as_claimed(counts: dict[str, Count]) -> None:
    """The true capacity lies in the band that the test leaves."""
    held = [count.capacities * len(count.narrowed) for count in counts.values()]
    low, _ = allowed(CAPACITIES * len(counts))

    assert sum(held) >= low


def test_no_mass_is_called_misread_where_none_is(counts: dict[str, Count]) -> None:
    """False alarms in at most one test of fifty, and what chance allows on top."""
    sound = [count for name, count in counts.items() if name != "misread"]
    tests = sum(len(count.tests) for count in sound)

    assert sum(count.flagged for count in sound) <= scipy.stats.binom.ppf(0.9975, tests, 0.02)


def test_a_test_makes_the_capacity_narrower(counts: dict[str, Count]) -> None:
    """Nearly every one; half of them by half of the band or more."""
    told = [one for count in counts.values() for _, one in count.narrowed]
    gains = [one.narrower or 0.0 for one in told]

    assert sum(gain > 0.0 for gain in gains) >= scipy.stats.binom.ppf(0.0025, len(gains), 0.95)
    assert np.median(gains) > 0.5


def test_no_true_machine_is_called_impossible(counts: dict[str, Count]) -> None:
    """A machine of the ensemble can be explained by it: at most one test of fifty is not."""
    tests = sum(len(count.narrowed) for count in counts.values())

    assert sum(count.impossible for count in counts.values()) <= scipy.stats.binom.ppf(
        0.9975, tests, 0.02
    )


def test_the_tables_have_a_line_for_each_scenario(counts: dict[str, Count]) -> None:
    """Title, number of tests and shares; the odds by how sure they are."""
    lines = list(rows(counts))
    odds = list(odds_rows([one for count in counts.values() for one in count.tests]))

    assert len(lines) == 1 + len(CHOSEN)
    for line, scenario in zip(lines[1:], CHOSEN.values(), strict=True):
        assert line.startswith(scenario.title)
    assert len(odds) >= 2
