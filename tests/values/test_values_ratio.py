"""Gear ratios: teeth by stages."""

from __future__ import annotations

from fractions import Fraction

import pytest
from every import every
from hypothesis import given, strategies as st
from strategies import many

from advisor.data.values import Ratio, parse_ratio, why_no_ratio


@every(
    ("text", "stages"),
    [
        ("50:10", ((50.0, 10.0),)),
        ("9:1", ((9.0, 1.0),)),
        ("50:17", ((50.0, 17.0),)),
        ("1517:170", ((1517.0, 170.0),)),
        ("7.5:1", ((7.5, 1.0),)),
        ("1:1", ((1.0, 1.0),)),
        ("44:7, 37:17", ((44.0, 7.0), (37.0, 17.0))),
        ("45:14,37:17", ((45.0, 14.0), (37.0, 17.0))),
        ("107.000:16, 60:16", ((107.0, 16.0), (60.0, 16.0))),
        (" 50 : 17 ", ((50.0, 17.0),)),
        ("5e1:1.7e1", ((50.0, 17.0),)),
        ("50:17,", ((50.0, 17.0),)),
    ],
)
def test_ratio_is_read_by_stages(text: str, stages: tuple[tuple[float, float], ...]) -> None:
    """One stage or several, whole or broken teeth, blanks anywhere."""
    assert parse_ratio(text) == Ratio(stages)


@every(
    ("text", "reason"),
    [
        ("", "malformed"),
        ("3.0", "malformed"),
        ("????", "malformed"),
        ('"50:17"', "malformed"),
        ("50/17", "malformed"),
        ("50:17:2", "malformed"),
        ("50:17 44:7", "malformed"),
        ("50:17, 3", "malformed"),
        ("a:b", "malformed"),
        ("{{ ratio }}", "malformed"),
        ("-50:17", "malformed"),
        ("-50:-17", "malformed"),
        ("nan:1", "malformed"),
        ("1e999:1", "malformed"),
        ("1e300:1e-300", "malformed"),
        ("5_0:17", "malformed"),
        ("0:17", "zero"),
        ("50:0", "zero"),
        ("50:17, 0:1", "zero"),
        ("50:", "missing-part"),
        (":17", "missing-part"),
        (":", "missing-part"),
        ("50:17, :1", "missing-part"),
    ],
)
def test_what_is_no_ratio_is_named(text: str, reason: str) -> None:
    """A bare number is no ratio, zero teeth are none, and a missing part is told."""
    assert parse_ratio(text) is None
    assert why_no_ratio(text) == reason


teeth = st.integers(1, 2000)


@many
@given(st.lists(st.tuples(teeth, teeth), min_size=1, max_size=4))
def test_product_is_the_product_of_fractions(stages: list[tuple[int, int]]) -> None:
    """Against exact arithmetic of the standard library's fractions."""
    ratio = parse_ratio(", ".join(f"{driven}:{driving}" for driven, driving in stages))
    exact = Fraction(1)
    for driven, driving in stages:
        exact *= Fraction(driven, driving)

    assert ratio is not None
    assert ratio.product == pytest.approx(float(exact), rel=1e-14)


@many
@given(st.text(alphabet="0123456789:,. -e+", max_size=16))
def test_any_text_is_a_ratio_or_has_a_reason(text: str) -> None:
    """A ratio is positive and finite; everything else has one of three reasons."""
    ratio = parse_ratio(text)

    if ratio is None:
        assert why_no_ratio(text) in ("malformed", "zero", "missing-part")
    else:
        assert ratio.product > 0.0


@many
@given(st.text(alphabet="0123456789:,. -e+", max_size=16))
def test_ratio_is_what_a_split_at_comma_and_colon_gives(text: str) -> None:
    """Against splitting by hand and float(), the way the firmware's lists are read."""
    parts = text.split(",")
    parts = parts[:-1] if len(parts) > 1 and not parts[-1].strip() else parts
    try:
        pairs = [tuple(map(float, part.split(":"))) for part in parts]
    except ValueError:
        pairs = [()]
    sound = all(len(pair) == 2 and min(pair) > 0.0 for pair in pairs)
    ratio = parse_ratio(text)

    if sound and ratio is None:  # only where the product leaves the range of a float
        assert "e" in text
    elif ratio is not None:
        assert list(ratio.stages) == pairs


def test_long_text_is_no_ratio() -> None:
    """Nobody has a hundred stages."""
    assert parse_ratio("50:17," * 100) is None
    assert why_no_ratio("5" * 1_000_000) == "malformed"
