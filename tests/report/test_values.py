"""Facts over the ensemble become a value with a 5-95 % band."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.model import Fact, State
from advisor.report.values import bands, word_of

ENSEMBLE = np.concatenate(([3e-9], np.random.default_rng(1).normal(10e-9, 2e-9, 2047)))


def test_the_band_is_the_5th_to_95th_percentile_in_the_trade_unit() -> None:
    """numpy.percentile (nearest observation) is the judge; sample 0 is the value."""
    table = bands([Fact("flow.torque", "mm3/s", ENSEMBLE)])
    low, high = np.percentile(ENSEMBLE, [5, 95], method="nearest") * 1e9

    made = table["flow.torque"]
    assert (made.value, made.low, made.high) == pytest.approx((3.0, low, high), rel=1e-12)


def test_the_samples_themselves_stay_as_they_are() -> None:
    """Reducing does not reorder the fact's own array."""
    before = ENSEMBLE.copy()
    bands([Fact("flow.torque", "mm3/s", ENSEMBLE)])
    assert np.array_equal(before, ENSEMBLE)


@pytest.mark.parametrize(
    "samples", [0.0471, np.float64(0.0471), np.array(0.0471), np.array([0.0471])]
)
def test_a_fact_without_spread_has_equal_ends(samples: object) -> None:
    """A float, a numpy scalar and arrays of one entry all count as no spread."""
    made = bands([Fact("drive.rotation_distance", "mm", samples)])["drive.rotation_distance"]
    assert made.value == made.low == made.high == pytest.approx(47.1)


def test_samples_beyond_the_bracket_sort_to_the_top() -> None:
    """Infinite samples make the high end infinite and nothing else."""
    samples = np.concatenate(([1e-9], np.full(90, 2e-9), np.full(10, np.inf)))
    made = bands([Fact("flow.skip", "mm3/s", samples)])["flow.skip"]
    assert (made.low, made.high) == pytest.approx((2.0, np.inf))


def test_words_flags_and_unknown_facts_have_no_band() -> None:
    """Only known numbers have a band; words and flags are told apart."""
    facts = [
        Fact("motor.class", "", "round-36"),
        Fact("driver.interpolate", "", True),
        Fact("driver.flags", "", np.array([True, False])),
        Fact("motor.run_current", "A rms", state=State.MISSING),
    ]
    assert bands(facts) == {}
    assert [word_of(fact) for fact in facts] == ["round-36", True, True, None]


def test_a_temperature_is_shown_in_degrees_celsius() -> None:
    """0 degC is 273.15 K (SI brochure)."""
    made = bands([Fact("hotend.temperature", "degC", 493.15)])["hotend.temperature"]
    assert made.value == pytest.approx(220.0)
