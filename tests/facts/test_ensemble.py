"""The ensemble: a Latin hypercube that hangs on names alone."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import scipy
from hypothesis import given, strategies as st

from advisor.machine.ensemble import SIZE, nominal_of, order, plausible, quantile_of, spread
from advisor.machine.graph import FactBook

_MASK = (1 << 64) - 1


def _splitmix64(state: int, count: int) -> list[int]:
    """Plain-integer splitmix64 as published (Steele, Lea, Flood 2014), from memory."""
    out = []
    for _ in range(count):
        state = (state + 0x9E3779B97F4A7C15) & _MASK
        z = ((state ^ (state >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
        out.append(z ^ (z >> 31))
    return out


def test_the_order_is_the_rank_of_a_published_integer_sequence() -> None:
    """No random generator of numpy is behind it, so it is stable across versions."""
    import hashlib

    seed = int.from_bytes(hashlib.blake2b(b"motor.x", digest_size=8).digest(), "little")
    keys = _splitmix64(seed, 50)
    assert order("motor.x", 50).tolist() == sorted(range(50), key=keys.__getitem__)


@given(st.text(min_size=1, max_size=20))
def test_the_order_is_a_permutation(name: str) -> None:
    """Every stratum is used once."""
    assert np.array_equal(np.sort(order(name, 100)), np.arange(100))


def test_two_inputs_are_not_related() -> None:
    """The orders of different names do not correlate (scipy's Spearman rank test)."""
    names = ("motor.holding_torque", "hotend.melt_length", "model.grip_factor", "drive.free_gap")
    for i, first in enumerate(names):
        for second in names[i + 1 :]:
            assert abs(scipy.stats.spearmanr(order(first), order(second)).statistic) < 0.07


def test_a_band_holds_its_samples_and_its_median() -> None:
    """Nothing outside the band, the median typical, sample 0 the typical value."""
    samples = spread("x", low=1.0, typical=2.0, high=5.0)
    assert samples[0] == 2.0
    assert samples.shape == (SIZE,)
    assert (samples.min(), samples.max()) == pytest.approx((1.0, 5.0), abs=2e-3)
    assert np.median(samples) == pytest.approx(2.0, abs=2e-3)


@pytest.mark.parametrize("size", [64, 1024, SIZE, 10000])
def test_the_nominal_machine_is_the_same_at_every_size(size: int) -> None:
    """Sample 0 is typical, the rest the strata of the band, whatever their number."""
    samples = plausible(size).spread("x", low=1.0, typical=2.0, high=5.0)
    assert samples.shape == (size,)
    assert samples[0] == 2.0
    np.testing.assert_allclose(
        np.sort(plausible(size).quantiles("x")[1:]), (np.arange(size - 1) + 0.5) / (size - 1)
    )


def test_the_nominal_machine_can_be_had_alone() -> None:
    """An ensemble of one: sample 0 of the other."""
    assert nominal_of(plausible()).spread("x", low=1.0, typical=2.0, high=5.0).tolist() == [2.0]


def test_stating_one_input_leaves_the_others_as_they_were(
    machine: Callable[..., FactBook],
) -> None:
    """Comparisons are paired: the samples of other inputs do not move."""
    before, after = machine(), machine({"hotend.melt_length": None})
    assert np.ndim(after.facts["hotend.melt_length"].number.si) == 1
    for name in ("model.reference_force", "model.grip_factor", "drive.bite_depth"):
        assert np.array_equal(before.facts[name].number.si, after.facts[name].number.si)


def test_a_quantile_is_numpys_to_the_last_bit() -> None:
    """numpy.quantile, which loads more: one and many samples, rows, ends, shares on a place."""
    for shape in ((1,), (2,), (7,), (2047,), (2048,), (3, 2048)):
        samples = np.cos(np.arange(np.prod(shape)) ** 1.5).reshape(shape) * 1e-8
        for share in (0.0, 0.05, 0.09, 0.1, 0.25, 1.0 / 3.0, 0.5, 0.75, 0.9, 1.0):
            for lower, method in ((False, "linear"), (True, "lower")):
                due = np.quantile(samples, share, axis=-1, keepdims=True, method=method)
                found = quantile_of(samples, share, lower=lower)
                assert (found == due).all(), (shape, share, method)
    assert np.isnan(quantile_of(np.array([1.0, np.nan, 2.0]), 0.1)).all()
