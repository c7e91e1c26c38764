"""What a fact holds: a number, a text, a flag; its nominal value and its band."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.model import Fact, State, Trace
from advisor.number import Flag, Number, Text, value_of


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
    stated = Fact("a.x", "mm", (0.001, 0.002, 0.004)).number
    assert stated is not None
    assert (stated.nominal, stated.ends, stated.in_trade()) == (0.002, (0.001, 0.004), 2.0)
    assert Fact("a.x", "mm", state=State.MISSING).value is None
    assert Fact("a.x", "", "pla").nominal is None


def test_what_is_made_of_others_hangs_on_all_they_hang_on() -> None:
    """Traces are joined."""
    one = Fact("a.x", "mm", 1.0, assumed=frozenset({"a.x"}))
    two = Fact("a.y", "mm", 1.0, modelled=frozenset({"b.z"}), defaulted=frozenset({"a.y"}))
    trace = Trace.joined([one, two], "x + y", inputs=["a.x", "a.y"])
    assert trace == Trace(("a.x", "a.y"), "x + y", one.assumed, two.modelled, two.defaulted)
