"""How numbers are written for people."""

from __future__ import annotations

import math

import pytest
from every import every
from hypothesis import given, strategies as st

from advisor.base import Band
from advisor.report.numbers import band, case_degrees, figure, flow, quantity, share


@every(
    ("value", "text"),
    [
        (0.0, "0"), (24.0, "24"), (9.681, "9.68"), (22.771, "22.8"), (0.5657, "0.566"),
        (1234.5, "1230"), (0.00123, "0.00123"), (-3.14159, "-3.14"), (99.96, "100"),
    ],
)  # fmt: skip
def test_figures_have_three_significant_digits(value: float, text: str) -> None:
    """Three digits carry; trailing zeros and exponents do not appear."""
    assert figure(value) == text


@given(st.floats(min_value=1e-9, max_value=1e12), st.integers(2, 4))
def test_a_figure_is_within_half_a_unit_of_its_last_digit(value: float, digits: int) -> None:
    """The text is the number to the promised digits (Python's own %g formatting agrees)."""
    assert math.isclose(float(figure(value, digits)), float(f"{value:.{digits}g}"), rel_tol=1e-9)


@pytest.mark.parametrize(
    ("value", "text"),
    [(9.681, "9.7"), (24.0, "24.0"), (141.3, "141"), (0.356, "0.36"), (math.inf, "very high")],
)
def test_flows_have_one_decimal_as_they_are_set(value: float, text: str) -> None:
    """A slicer's flow is set to a tenth of a mm3/s."""
    assert flow(value) == text


def test_a_wide_band_takes_a_digit_from_the_value() -> None:
    """A third digit of 9.68 would pretend where the band is 6.1 to 14."""
    assert band(Band(9.68, 6.12, 14.04), "mm3/s") == "9.7 mm3/s (6.1 to 14)"
    assert band(Band(0.5657, 0.561, 0.572), "A rms") == "0.566 A RMS (0.561 to 0.572)"
    assert band(Band(24.0, 24.0, 24.0), "V") == "24 V"


def test_units_always_stand_beside_the_number() -> None:
    """RMS amperes are named so; a plain number has no unit."""
    assert quantity(0.566, "A rms") == "0.566 A RMS"
    assert quantity(9.5, "-") == "9.5"


@pytest.mark.parametrize(
    ("part", "text"),
    [(0.0, "0 %"), (0.001, "1 %"), (0.934, "93 %"), (0.9999, "99 %"), (1.0, "100 %")],
)
def test_a_share_is_never_rounded_to_all_or_nothing(part: float, text: str) -> None:
    """Only certainty reads 100 %, only impossibility 0 %."""
    assert share(part) == text


def test_no_case_is_told_that_no_motor_survives() -> None:
    """Windings of motors are of class B, 130 degC, to H, 180 degC (IEC 60085, from memory)."""
    assert case_degrees(Band(96.0, 80.0, 108.0)) == "96"
    assert case_degrees(Band(150.0, 120.0, 190.0)) == "150"
    assert case_degrees(Band(320.0, 250.0, math.inf)) == "over 150"
    assert case_degrees(Band(math.inf, 250.0, math.inf)) == "over 150"
    assert case_degrees(None) == "-"
