"""Means over a fixed time, against plain running sums on a fine grid of the same planned moves."""

from __future__ import annotations

import random

import numpy as np
import pytest

from advisor.prints.plan import Trapezoids
from advisor.prints.timed import Stretch, TimedMean

MM3 = 1e-9


def shapes(start: list, cruise: list, end: list, accel: list, length: list) -> Trapezoids:
    """Return trapezoids from their speeds (mm/s), accelerations (mm/s2) and lengths (mm)."""
    v0, v, v1, a, d = (np.array(x, float) * 1e-3 for x in (start, cruise, end, accel, length))
    rise, fall = (v * v - v0 * v0) / (2 * a), (v * v - v1 * v1) / (2 * a)
    level = d - rise - fall
    assert (level > -1e-12).all()
    level = np.maximum(level, 0.0)
    return Trapezoids(d, a, v0, v, v1, rise, level, (v - v0) / a, level / v, (v - v1) / a,
                      (v - v0) / a + level / v + (v - v1) / a)  # fmt: skip


def made_up(seed: int, count: int = 300) -> tuple[Trapezoids, np.ndarray, np.ndarray]:
    """Return moves of random speeds, the section of each (m2) and when each begins (s)."""
    rng = random.Random(seed)
    rows, begin, clock = [], [], 0.0
    for _ in range(count):
        cruise, accel = rng.uniform(5, 200), rng.choice((500, 3000, 20000))
        start, end = cruise * rng.choice((0, 0.3, 1)), cruise * rng.choice((0, 0.5, 1))
        least = (2 * cruise**2 - start**2 - end**2) / (2 * accel)
        rows.append((start, cruise, end, accel, least + rng.choice((1e-6, 1, 30)) * rng.random()))
    shape = shapes(*map(list, zip(*rows, strict=True)))
    for time in shape.time:
        clock += rng.choice((0, 0, 0, 0.01, 0.4))
        begin.append(clock)
        clock += time
    section = np.array([rng.choice((0.02, 0.08, 0.2)) for _ in rows]) * 1e-6
    return shape, section, np.array(begin)


def on_a_grid(shape: Trapezoids, section: np.ndarray, begin: np.ndarray, step: float):
    """Return moments and the flow at each (m3/s), one move at a time."""
    clock = np.arange(0.0, begin[-1] + shape.time[-1], step) + 0.5 * step
    flow = np.zeros(len(clock))
    for k in range(len(begin)):
        first, last = np.searchsorted(clock, (begin[k], begin[k] + shape.time[k]))
        t = clock[first:last] - begin[k]
        speed = np.minimum(shape.start[k] + shape.accel[k] * t, shape.cruise[k])
        slow = shape.end[k] + shape.accel[k] * (shape.time[k] - t)
        flow[first:last] = section[k] * np.minimum(speed, slow)
    return clock, flow


@pytest.mark.parametrize("lasts", [0.003, 0.04, 0.5, 10.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_means_agree_with_running_sums_on_a_fine_grid(seed: int, lasts: float) -> None:
    """Largest mean, and time above two flows by move, by numpy's cumulative sum of flow x step."""
    shape, section, begin = made_up(seed)
    step = 2e-4 if lasts > 0.01 else 2e-5
    clock, flow = on_a_grid(shape, section, begin, step)
    total = np.concatenate(([0.0], np.cumsum(flow) * step))
    back = max(round(lasts / step), 1)
    mean = (total[1:] - total[np.maximum(np.arange(len(clock)) + 1 - back, 0)]) / (back * step)
    moving = flow > 0.0
    best = mean[moving].max()
    limits = (0.5 * best, 0.8 * best)
    peak, over = TimedMean(limits).follow(
        Stretch.of(shape, np.arange(len(begin)), begin, section), lasts
    )
    assert peak.max() == pytest.approx(best, rel=0.01 if lasts < 0.01 else 2e-3)
    for k, limit in enumerate(limits):
        expected = step * np.count_nonzero(moving & (mean > limit))
        assert over[k].sum() == pytest.approx(expected, rel=0.02, abs=20 * step)
        assert (over[k] <= shape.time + 1e-12).all()


@pytest.mark.parametrize("lasts", [0.02, 0.7, 10.0])
def test_portions_do_not_matter(lasts: float) -> None:
    """All moves at once, or some at a time: the same time above, the same largest mean."""
    shape, section, begin = made_up(3, 500)
    limit = 4 * MM3
    one = TimedMean((limit,))
    _, over = one.follow(Stretch.of(shape, np.arange(500), begin, section), lasts)
    rng, first, parts = random.Random(4), 0, []
    many = TimedMean((limit,))
    while first < 500:
        last = min(first + rng.choice((1, 2, 40)), 500)
        row = np.arange(first, last)
        parts.append(many.follow(Stretch.of(shape, row, begin[row], section[row]), lasts)[1])
        first = last
    assert many.best == pytest.approx(one.best, rel=1e-9)
    assert np.concatenate(parts, axis=1) == pytest.approx(over, rel=1e-6, abs=1e-9)


def test_a_square_wave_by_hand() -> None:
    """1 s at 10 mm3/s, 1 s still, twenty times; started and stopped at once.

    Over 0.5 s the mean climbs from 0 to 10 in 0.5 s and stays: above 5 for 0.75 of each second.
    Over 2 s it reaches 5 at the end of each line, no more; over 4 s as well.
    """
    shape = shapes([100.0] * 20, [100.0] * 20, [100.0] * 20, [1e3] * 20, [100.0] * 20)
    section, begin = np.full(20, 0.1e-6), 2.0 * np.arange(20)
    for lasts, best, above in ((0.5, 10.0, 0.75), (1.0, 10.0, 0.5), (2.0, 5.0, 0.0)):
        mean = TimedMean((5.0 * MM3,))
        peak, over = mean.follow(Stretch.of(shape, np.arange(20), begin, section), lasts)
        assert peak.max() == pytest.approx(best * MM3, rel=1e-9)
        assert over[0] == pytest.approx(np.full(20, above), abs=1e-6)


def test_one_speed_up_by_hand() -> None:
    """From rest at 1000 mm/s2 for 0.1 s through 0.1 mm2: flow 100 t, volume 50 t2 (mm3, s).

    Over 0.04 s the mean at t is (50 t2 - 50 (t - 0.04)2) / 0.04 = 100 t - 2: 8 mm3/s at the end,
    above 4 mm3/s from t = 0.06 s on.
    """
    shape = shapes([0.0], [100.0], [100.0], [1000.0], [5.0])
    mean = TimedMean((4.0 * MM3,))
    _, over = mean.follow(Stretch.of(shape, np.arange(1), np.zeros(1), np.full(1, 0.1e-6)), 0.04)
    assert mean.best == pytest.approx(8.0 * MM3, rel=1e-9)
    assert over[0, 0] == pytest.approx(0.04, rel=1e-6)


def test_countless_short_moves_are_remembered_in_few() -> None:
    """60,000 moves of 50 us within a window of 10 s: what is kept is bounded, the mean exact to
    a part in a thousand (flow alternates, on average 6 mm3/s)."""
    count = 60_000
    shape = shapes([100.0] * count, [100.0] * count, [100.0] * count, [1e3] * count,
                   [0.005] * count)  # fmt: skip
    section = np.where(np.arange(count) % 2, 0.04e-6, 0.08e-6)
    begin = 5e-5 * np.arange(count)
    mean = TimedMean((1.0,))
    for first in range(0, count, 5000):
        row = np.arange(first, first + 5000)
        mean.follow(Stretch.of(shape, row, begin[row], section[row]), 10.0)
    assert mean.best == pytest.approx(6.0 * MM3 * 3.0 / 10.0, rel=1e-3)
    assert mean._past is not None
    assert len(mean._past) < 1 << 16
