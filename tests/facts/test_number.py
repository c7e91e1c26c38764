"""What a fact holds: a number, a text, a flag; its nominal value and its band."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.base import Fact, State, Trace
from advisor.base.number import Flag, Number, Text, value_of


@pytest.mark.parametrize("size", [64, 257, 2048, 65536])
@pytest.mark.parametrize("share", [0.9, 0.5])
def test_a_band_holds_its_share_of_the_machines(size: int, share: float) -> None:
    """Reference: numpy.quantile, method "nearest" (Hyndman and Fan, 1996)."""
    samples = np.random.default_rng(size).normal(300.0, 9.0, size)
    band = Number(samples, "degC").band(share)
    ends = np.quantile(samples, [(1 - share) / 2, (1 + share) / 2], method="nearest")
    assert [band.low, band.high] == pytest.approx(list(ends - 273.15), rel=1e-12)
    assert band.value == samples[0] - 273.15


def test_what_samples_are_is_told_by_their_type() -> None:
    """A band as it was stated keeps its ends; a fact that is not known has no value."""
    assert value_of("pla", "") == Text("pla")
    assert value_of(True, "") == Flag(True)
    stated = Fact.of("a.x", "mm", (0.001, 0.002, 0.004)).number
    assert stated is not None
    assert (stated.nominal, stated.ends, stated.in_trade()) == (0.002, (0.001, 0.004), 2.0)
    assert Fact("a.x", state=State.MISSING).value is None
    assert Fact.of("a.x", "", "pla").nominal is None


def test_what_is_made_of_others_hangs_on_all_they_hang_on() -> None:
    """Traces are joined."""
    one = Fact.of("a.x", "mm", 1.0, trace=Trace(assumed=frozenset({"a.x"})))
    two = Fact.of(
        "a.y", "mm", 1.0, trace=Trace(modelled=frozenset({"b.z"}), defaulted=frozenset({"a.y"}))
    )
    trace = Trace.joined([one, two], "x + y", inputs=["a.x", "a.y"])
    assert trace == Trace(
        ("a.x", "a.y"), "x + y", one.trace.assumed, two.trace.modelled, two.trace.defaulted
    )


def test_numbers_are_equal_to_the_last_bit_or_not_at_all() -> None:
    """Samples, unit and ends count; nan is nan, and one sample is no array of one."""
    ten = np.linspace(0.0, 1.0, 10)
    assert Number(ten, "mm") == Number(ten.copy(), "mm")
    assert Number(np.array([np.nan, 1.0])) == Number(np.array([np.nan, 1.0]))
    different = (Number(ten, "m"), Number(np.nextafter(ten, 2.0), "mm"), Number(ten[:9], "mm"),
                 Number(0.0, "mm"), Text("mm"), None)  # fmt: skip
    assert all(Number(ten, "mm") != other for other in different)
    assert Number(1.0, "mm", (0.5, 2.0)) != Number(1.0, "mm")
    assert Number(0.0) != Number(np.array([0.0]))
    assert hash(Number(ten, "mm")) == hash(Number(ten.copy(), "mm"))


def test_every_value_answers_what_is_asked_of_it() -> None:
    """A number, a text and a flag are told apart by what they answer, not by their type."""
    number, no = Number(2.0, "mm"), Flag(False)
    asked = [(one.number, one.text, one.word, one.plain) for one in (number, Text("a"), no)]
    assert asked == [(number, None, None, 2.0), (None, "a", "a", "a"), (None, None, False, False)]
