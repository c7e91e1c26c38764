"""Beads, pressure advance, junctions, speed profiles and look-ahead."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from advisor.physics import drive, motion

AREA = math.pi / 4 * 1.75**2


def test_bead_is_a_rectangle_with_round_ends():
    """Line of 0.45 x 0.20 mm: straight part plus a full circle (geometry, by quadrature)."""
    width, height = 0.45, 0.20
    ends = 4 * quad(lambda y: math.sqrt(0.25 * height**2 - y**2), 0.0, height / 2)[0]

    found = motion.bead_area(width=width, height=height)

    assert found == pytest.approx((width - height) * height + ends, rel=1e-9)
    assert found == pytest.approx(0.0814159, rel=1e-6)


def test_a_tall_bead_is_a_rectangle():
    """Not wider than high: width x height; both forms at once."""
    found = motion.bead_area(width=np.array([0.2, 0.2, 0.45]), height=np.array([0.3, 0.2, 0.2]))

    assert found == pytest.approx([0.06, 0.04, 0.0814159], rel=1e-6)


def test_line_flow_is_speed_times_section_times_flow_ratio():
    """100 mm/s of a 0.45 x 0.20 line at 0.95: 7.7345 mm3/s."""
    found = motion.line_flow(100.0, width=0.45, height=0.20, flow_ratio=0.95)

    assert found == pytest.approx(7.73451, rel=1e-5)
    assert motion.firmware_flow(max_speed=300.0, max_cross_section=0.64) == pytest.approx(192.0)


@pytest.mark.parametrize(
    ("feed", "advance", "head", "width", "height", "accel", "peak"),
    [
        (10.0, 0.04, 10_000, 0.45, 0.20, 374.18, 24.967),
        (10.0, 0.06, 20_000, 0.50, 0.25, 1039.4, 72.36),
    ],
)
def test_pressure_advance_peak(feed, advance, head, width, height, accel, peak):
    """Peak filament speed, lines of width x height (independent computation)."""
    found = motion.filament_acceleration(head, bead_area=width * height, filament_area=AREA)

    speed = motion.advance_peak_speed(feed, pressure_advance=advance, filament_acceleration=found)
    assert found == pytest.approx(accel, rel=2e-5)
    assert speed == pytest.approx(peak, rel=2e-4)


@pytest.mark.parametrize(
    ("speed", "ratio", "distance", "turns"),
    [(24.967, 9.5, 47.1, 5.036), (24.967, 50 / 17, 22.7, 3.235), (72.36, 9.5, 47.1, 14.60)],
)
def test_motor_speed_at_the_peak(speed, ratio, distance, turns):
    """The same peaks in motor turns per second (independent computation)."""
    found = drive.motor_speed(speed, gear_ratio=ratio, rotation_distance=distance)

    assert found == pytest.approx(turns, rel=4e-4)


def test_step_rate():
    """60 mm/s at 690 steps per mm: 41 400 steps per second, either way round."""
    found = motion.step_rate(np.array([60.0, -60.0]), steps_per_length=690.0)

    assert list(found) == [41_400.0, 41_400.0]


def junction(cosine: float, length: float = 1e6, accel: float = 3000.0, scv: float = 5.0) -> float:
    deviation = motion.junction_deviation(scv, acceleration=accel)
    return float(
        motion.junction_speed_squared(
            cosine, junction_deviation=deviation, acceleration=accel, length=length
        )
    )


def test_a_right_angle_is_taken_at_the_square_corner_speed():
    """That is what the junction deviation is defined by."""
    assert math.sqrt(junction(0.0)) == pytest.approx(5.0)


@pytest.mark.parametrize("degrees", [5, 30, 60, 90, 120, 150, 179])
def test_junction_is_the_circle_that_deviates_so_far(degrees):
    """Circle touching both moves: its distance from the corner is the deviation (geometry)."""
    accel, turn = 3000.0, math.radians(degrees)
    deviation = float(motion.junction_deviation(5.0, acceleration=accel))
    half = (math.pi - turn) / 2.0

    radius = junction(math.cos(turn)) / accel

    assert radius / math.sin(half) - radius == pytest.approx(deviation, rel=1e-6)


def test_junction_edges():
    """Straight on: no cap. Back, or no acceleration: rest. Short moves: the centripetal limit."""
    assert junction(1.0) == math.inf
    assert junction(1.0 + 1e-9) == math.inf
    assert junction(-1.0) == 0.0
    assert junction(0.0, length=1e-3) == pytest.approx(0.5 * 1e-3 * 3000.0)
    assert motion.junction_deviation(5.0, acceleration=0.0) == 0.0
    assert junction(0.0, accel=0.0) == 0.0


def test_junction_caps_of_a_row():
    """Rest at both ends; cruise speeds cap a straight line; the slower corner wins."""
    caps = motion.junction_caps_squared(
        np.array([1.0, 0.0, 0.0]),
        cruise_speed=np.array([100.0, 60.0, 3.0, 200.0]),
        acceleration=np.full(4, 3000.0),
        length=np.full(4, 100.0),
        square_corner_speed=5.0,
    )

    assert caps == pytest.approx([0.0, 3600.0, 9.0, 9.0, 0.0])


def test_junction_takes_the_slower_of_two_accelerations():
    """A short neighbour caps by its own centripetal limit."""
    caps = motion.junction_caps_squared(
        np.array([0.0]),
        cruise_speed=np.array([100.0, 100.0]),
        acceleration=np.array([3000.0, 3000.0]),
        length=np.array([100.0, 1e-3]),
        square_corner_speed=5.0,
    )

    assert caps[1] == pytest.approx(0.5 * 1e-3 * 3000.0)


def by_loop(caps: np.ndarray, length: np.ndarray, accel: np.ndarray) -> np.ndarray:
    """The plain two passes: back so that every move can stop, forth so that it can get there."""
    speeds = caps.copy()
    for i in range(len(length) - 1, -1, -1):
        speeds[i] = min(speeds[i], speeds[i + 1] + 2 * accel[i] * length[i])
    for i in range(len(length)):
        speeds[i + 1] = min(speeds[i + 1], speeds[i] + 2 * accel[i] * length[i])
    return speeds


moves = st.integers(1, 60).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(0.0, 9e4), min_size=n + 1, max_size=n + 1),
        st.lists(st.floats(1e-4, 200.0), min_size=n, max_size=n),
        st.lists(st.floats(100.0, 20_000.0), min_size=n, max_size=n),
    )
)


@settings(deadline=None)
@given(moves)
def test_look_ahead_equals_the_plain_loop(drawn):
    """Running minima against the loop over moves."""
    caps, length, accel = (np.array(part) for part in drawn)

    found = motion.look_ahead_squared(caps, length=length, acceleration=accel)

    total = float(np.sum(2 * accel * length)) + float(caps.max())
    assert found == pytest.approx(by_loop(caps, length, accel), abs=1e-13 * total)


def test_look_ahead_is_reachable():
    """100 000 moves: under every cap, within reach both ways."""
    rng = np.random.default_rng(3)
    n = 100_000
    length, accel = rng.uniform(0.05, 5.0, n), np.full(n, 3000.0)
    caps = rng.uniform(0.0, 1e4, n + 1)
    caps[[0, -1]] = 0.0

    found = motion.look_ahead_squared(caps, length=length, acceleration=accel)

    assert np.all(found <= caps + 1e-5)
    assert np.all(np.abs(np.diff(found)) <= 2 * accel * length + 1e-5)
    assert found == pytest.approx(by_loop(caps, length, accel), abs=1e-5)


@given(
    st.floats(0.01, 200.0),
    st.floats(0.0, 300.0),
    st.floats(1.0, 300.0),
    st.floats(0.0, 300.0),
    st.floats(100.0, 20_000.0),
)
def test_trapezoid_covers_its_length(length, entry, cruise, leave, accel):
    """Speed integrated over the three parts is the length of the move."""
    entry = min(entry, cruise)
    leave = min(leave, cruise, math.sqrt(entry**2 + 2 * accel * length))
    entry = min(entry, math.sqrt(leave**2 + 2 * accel * length))

    found = motion.trapezoid(
        length,
        entry_speed=entry,
        cruise_speed=cruise,
        exit_speed=leave,
        acceleration=accel,
    )

    ramps = 0.5 * (entry + found.peak_speed) * found.accelerate_time
    ramps += 0.5 * (leave + found.peak_speed) * found.decelerate_time
    assert ramps + found.peak_speed * found.cruise_time == pytest.approx(length, rel=1e-6)
    assert found.peak_speed <= cruise * (1 + 1e-9)
    assert min(found.accelerate_time, found.cruise_time, found.decelerate_time) >= 0.0


def test_long_and_short_trapezoid():
    """100 mm at 100 mm/s and 1000 mm/s2: 0.1 + 0.9 + 0.1 s; 1 mm never gets past 31.6 mm/s."""
    found = motion.trapezoid(
        np.array([100.0, 1.0]),
        entry_speed=0.0,
        cruise_speed=100.0,
        exit_speed=0.0,
        acceleration=1000.0,
    )

    assert found.peak_speed == pytest.approx([100.0, math.sqrt(1000.0)])
    assert found.accelerate_time == pytest.approx([0.1, math.sqrt(1e-3)])
    assert found.cruise_time == pytest.approx([0.9, 0.0], abs=1e-12)
    assert found.decelerate_time == pytest.approx([0.1, math.sqrt(1e-3)])


def test_a_move_without_length_or_acceleration_takes_no_ramp():
    """No division by zero: nothing moves in no time; constant speed needs no ramps."""
    found = motion.trapezoid(
        np.array([0.0, 10.0]),
        entry_speed=np.array([0.0, 5.0]),
        cruise_speed=5.0,
        exit_speed=np.array([0.0, 5.0]),
        acceleration=np.array([1000.0, 0.0]),
    )

    assert list(found.accelerate_time) == [0.0, 0.0]
    assert list(found.cruise_time) == [0.0, 2.0]
