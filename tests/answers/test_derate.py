"""Derating a rating, against published ratings arithmetic and the heat law.

Sources: RMS of a sine is its amplitude over the root of two (any text); two-range driver chips
round the current to steps of (CS+1)/32 (driver datasheets, current setting); class B insulation
is 130 degC (IEC 60085). The share of 0.8 is common practice, no source.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from every import every

from advisor.answers.derate_motor import derate
from advisor.base import UsageError


def test_one_ampere_peak_is_0_566_rms_derated() -> None:
    """0.8 x 1.0 / sqrt 2 = 0.5657 A, set as 0.56 A; from the definition of RMS."""
    report = derate("1.0A", basis="peak")
    assert report.derated_current.value == pytest.approx(0.8 / math.sqrt(2.0))
    assert report.set_current == 0.56
    assert report.rated_current_rms.value == pytest.approx(1.0 / math.sqrt(2.0))
    assert report.peak_amplitude == pytest.approx(0.56 * math.sqrt(2.0))


def test_unsure_reads_as_peak_and_says_so() -> None:
    """The cautious reading, named as an assumption."""
    report = derate("1.0A")
    assert report.set_current == derate("1.0A", basis="peak").set_current
    assert any("peak" in sentence for sentence in report.assumptions)


def test_rms_takes_the_rating_as_it_stands() -> None:
    """0.8 of 1 A, with a metal mount that does not bind."""
    assert derate("1.0A", basis="rms", mount="metal").set_current == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("asked", "applied"), [("tmc2209", 0.5507), ("tmc5160", None), ("tmc2240", None)]
)
def test_the_driver_never_applies_more_than_derated(asked: str, applied: float | None) -> None:
    """The rounding of each kind of chip stays at or under the derated current.

    0.5507 A is (17+1)/32 x 0.180 V / 0.13 ohm / sqrt 2 by the datasheet's formula.
    """
    report = derate("1.0A", driver=asked)
    assert report.applied_current is not None
    assert report.applied_current.value <= report.derated_current.value * (1 + 1e-9)
    if applied is not None:
        assert report.applied_current.value == pytest.approx(applied, abs=1e-4)
        by_formula = 18 / 32 * 0.180 / (0.110 + 0.020) / math.sqrt(2.0)
        assert report.applied_current.value == pytest.approx(by_formula)


def test_a_hot_chamber_leaves_no_current_for_a_pla_mount() -> None:
    """Air at 60 degC is above the 50 degC a PLA mount bears: no setting, and the reason."""
    report = derate("1.0A", mount="pla", ambient="60 degC")
    assert report.set_current is None
    assert report.no_setting is not None
    assert "mount" in report.no_setting


def test_the_winding_law_is_the_square() -> None:
    """On the rating's own mount an RMS rating of 1.0 A on 2.4 ohm calibrates 12.49 K/W.

    Independent computation of dT = Rth 2 R I^2 (1 + a (T - 20)) with Rth from 80 K at 25 degC and
    copper's 0.00393 per kelvin at 20 degC (IEC 60028, from memory), solved for dT by hand.
    """
    report = derate("1.0A", basis="rms", mount="metal", ambient="25 degC", driver=None)
    assert report.set_current == 0.8
    assert report.winding_temperature is not None
    copper, resistance = 0.00393, 2.4
    per_watt = 80.0 / (2.0 * resistance * (1.0 + copper * 85.0))
    cold = per_watt * 2.0 * resistance * 0.8**2
    rise = cold * (1.0 + copper * 5.0) / (1.0 - copper * cold)
    assert report.winding_temperature.value - 25.0 == pytest.approx(rise, rel=5e-3)


def test_a_share_can_be_a_percentage() -> None:
    """``--share 70%`` and ``--share 0.7`` are one thing."""
    assert derate("1A", share="70%").set_current == derate("1A", share="0.7").set_current == 0.49


@every(
    ("arguments", "words"),
    [
        ({"rating": "1.0 V"}, "'A'"),
        ({"rating": "one"}, "one"),
        ({"rating": "-1A"}, "out of range"),
        ({"rating": "0A"}, "out of range"),
        ({"rating": "1e9A"}, "out of range"),
        ({"rating": "1A", "basis": "mean"}, "unknown basis"),
        ({"rating": "1A", "mount": "wood"}, "unknown motor mount"),
        ({"rating": "1A", "driver": "tmc2290"}, "did you mean"),
        ({"rating": "1A", "share": "2"}, "out of range"),
        ({"rating": "1A", "sense_resistor": "0.1"}, "needs its driver"),
        ({"rating": "1A", "driver": "tmc2209", "sense_resistor": "0"}, "out of range"),
        ({"rating": "1A", "driver": "tmc2660"}, "--sense-resistor"),
        ({"rating": "1A", "ambient": "45 K"}, "degC"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(arguments: dict[str, Any], words: str) -> None:
    """Each mistake names itself and what was expected."""
    with pytest.raises(UsageError) as caught:
        derate(**arguments)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
