"""Facts over the ensemble become figures in trade units, with a 5-95 % band."""

from __future__ import annotations

import numpy as np
import pytest
from hand_made import figures
from held import made

from advisor.base import Figure, Figures, State
from advisor.report.numbers import bands

ENSEMBLE = np.concatenate(([3e-9], np.random.default_rng(1).normal(10e-9, 2e-9, 2047)))


def figure(name: str, unit: str, samples: object) -> Figure:
    return figures(made(name, unit, samples))[name]


def test_the_band_is_the_5th_to_95th_percentile_in_the_trade_unit() -> None:
    """numpy.percentile (nearest observation) is the judge; sample 0 is the value."""
    made = figure("flow.torque", "mm3/s", ENSEMBLE)
    low, high = np.percentile(ENSEMBLE, [5, 95], method="nearest") * 1e9

    assert (made.value, made.low, made.high) == pytest.approx((3.0, low, high), rel=1e-12)
    assert bands([made])["flow.torque"] == made.band


def test_the_samples_themselves_stay_as_they_are() -> None:
    """Reducing does not reorder the fact's own array."""
    before = ENSEMBLE.copy()
    assert figure("flow.torque", "mm3/s", ENSEMBLE).band is not None
    assert np.array_equal(before, ENSEMBLE)


@pytest.mark.parametrize(
    "samples", [0.0471, np.float64(0.0471), np.array(0.0471), np.array([0.0471])]
)
def test_a_fact_without_spread_has_equal_ends(samples: object) -> None:
    """A float, a numpy scalar and arrays of one entry all count as no spread."""
    made = figure("drive.rotation_distance", "mm", samples)
    assert made.value == made.low == made.high == pytest.approx(47.1)
    assert str(made) == "47.1 mm"


def test_samples_beyond_the_bracket_sort_to_the_top() -> None:
    """Infinite samples make the high end infinite and nothing else."""
    samples = np.concatenate(([1e-9], np.full(90, 2e-9), np.full(10, np.inf)))
    made = figure("flow.skip", "mm3/s", samples)
    assert (made.low, made.high) == pytest.approx((2.0, np.inf))


def test_words_flags_and_unknown_facts_have_no_band() -> None:
    """Only known numbers have a band; words and flags are told apart."""
    one = figures(
        made("motor.class", "", "round-36"),
        made("driver.interpolate", "", True),
        made("motor.run_current", "A rms", None, state=State.MISSING),
    )
    assert bands(one) == {}
    assert [figure.word for figure in one.values()] == ["round-36", True, None]
    assert [figure.value for figure in one.values()] == ["round-36", True, None]
    told = [str(figure) for figure in one.values()]
    assert told == ["round-36", "True", "not known (missing)"]


def test_a_temperature_is_shown_in_degrees_celsius() -> None:
    """0 degC is 273.15 K (SI brochure)."""
    made = figure("hotend.temperature", "degC", 493.15)
    assert made.value == pytest.approx(220.0)


def test_figures_are_a_mapping_that_prints_in_one_line() -> None:
    """A page of arrays would help nobody in a notebook."""
    held = Figures([figure("flow.torque", "mm3/s", ENSEMBLE)])
    assert repr(held) == "<Figures: 1 facts>"
    assert repr(held["flow.torque"]).startswith("<Figure flow.torque: 3 (")
    assert list(held) == ["flow.torque"]
