"""Numbers in messages: two or three digits, the unit, the band."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from every import every
from hypothesis import given, strategies as st

from advisor.base.units import parse_unit
from advisor.judge.render import figure, quantity


def spread(nominal: float, low: float, high: float) -> Any:
    """An ensemble whose 5-95 % band is low to high."""
    width = (high - low) / 18
    return np.concatenate(([nominal], np.linspace(low - width, high + width, 2001)))


@every(
    ("samples", "unit", "text"),
    [
        (0.5657, "A rms", "0.566 A RMS"),
        (0.85, "A rms", "0.85 A RMS"),
        (1.0, "A", "1 A"),
        (20.0, "m/s2", "20 m/s2"),
        (0.0, "mm/s", "0 mm/s"),
        (2.941176, "-", "2.94"),
        (0.0482, "%", "4.8 %"),
        (333.65, "degC", "60 degC"),
        (253.15, "degC", "-20 degC"),
        (math.inf, "mm3/s", "very high"),
        (math.nan, "mm3/s", "unknown"),
        (spread(22.77e-9, 17e-9, 30e-9), "mm3/s", "22.8 (17-30) mm3/s"),
        (spread(9.7e-9, 9.5e-9, 9.9e-9), "mm3/s", "9.7 (9.5-9.9) mm3/s"),
        (spread(334.4, 328.0, 343.0), "degC", "61 (55-70) degC"),
        (spread(0.1, -0.1, 0.3), "N", "0.1 (-0.1 to 0.3) N"),
        (spread(1.0, 1.0, 1.0), "A", "1 A"),
    ],
)
def test_quantities_are_written_for_people(samples: Any, unit: str, text: str) -> None:
    """Trade units, few digits, the band only where there is one."""
    assert quantity(samples, parse_unit(unit)) == text


def test_a_limit_beyond_the_bracket_has_an_open_band() -> None:
    """Infinite samples sort to the top; unknown ones do not count."""
    samples = np.concatenate((np.linspace(20e-9, 40e-9, 90), np.full(30, math.inf)))
    samples[0] = 30e-9
    samples[5] = math.nan

    assert quantity(samples, parse_unit("mm3/s")) == "30 (22 or more) mm3/s"


@given(st.floats(-1e12, 1e12, allow_nan=False), st.integers(1, 4))
def test_a_figure_is_right_to_its_digits(value: float, digits: int) -> None:
    """Plain decimals, no exponent, within half a unit of the last digit."""
    text = figure(value, digits)

    assert "e" not in text.lower()
    assert float(text) == pytest.approx(float(f"{value:.{digits - 1}e}"), rel=1e-9, abs=1e-9)
