"""Beads, pressure advance, step rates and junctions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from advisor.physics import motion

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


def test_step_rate():
    """60 mm/s at 690 steps per mm: 41 400 steps per second, either way round."""
    found = motion.step_rate(np.array([60.0, -60.0]), steps_per_length=690.0)

    assert list(found) == [41_400.0, 41_400.0]


def test_junction_is_the_circle_that_deviates_so_far():
    """The circle through a right angle at the square corner speed: geometry and v2 = a r.

    It touches both moves, so its centre lies on the bisector at r / sin 45 degrees from the corner.
    """
    accel, corner = 3000.0, 5.0
    radius = corner**2 / accel

    found = motion.junction_deviation(corner, acceleration=accel)

    assert found == pytest.approx(radius / math.sin(math.radians(45)) - radius, rel=1e-12)
    assert motion.junction_deviation(corner, acceleration=0.0) == 0.0
