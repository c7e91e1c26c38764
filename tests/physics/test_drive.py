"""Gear train, forces, inertia and lag.

Reference values: independent computation with the formulas named at each table.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.physics import drive, motor

PANCAKE = {"motor_inertia": 1.0e-6, "gear_inertia": 2e-7, "efficiency": 0.9}
LONG = {"motor_inertia": 5.4e-6, "gear_inertia": 2e-7, "efficiency": 0.9}


def test_filament_area_is_that_of_a_circle():
    """1.75 mm filament has 2.40528 mm2 (geometry)."""
    assert drive.filament_area(1.75e-3) == pytest.approx(2.40528e-6, rel=1e-5)


@pytest.mark.parametrize(
    ("ratio", "distance", "speed", "turns"),
    [
        (9.5, 47.1, 60.0, 12.1019),
        (9.5, 47.1, 5.0, 1.0085),
        (50 / 17, 22.7, 60.0, 7.7740),
        (7.5, 34.0, 60.0, 13.2353),
    ],
)
def test_motor_speed_follows_from_ratio_and_rotation_distance(ratio, distance, speed, turns):
    """Turns per second of the motor at a feed speed (kinematics)."""
    found = drive.travel_per_motor_turn(gear_ratio=ratio, rotation_distance=distance * 1e-3)

    assert speed * 1e-3 / found == pytest.approx(turns, rel=1e-4)


def test_filament_speed_of_a_flow():
    """24 mm3/s of 1.75 mm filament run at 9.978 mm/s."""
    area = drive.filament_area(1.75e-3)

    speed = drive.filament_speed(24e-9, filament_area=area)

    assert speed == pytest.approx(9.978e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("ratio", "efficiency", "force"),
    [
        (57 / 11, 0.95, 49.23),
        (50 / 10, 0.95, 47.50),
        (50 / 17, 0.95, 27.94),
        (44 / 10, 0.95, 41.80),
        (37 / 7, 0.95, 50.21),
        (9.5765, 0.9025, 86.43),
        (7.5, 0.90, 67.50),
    ],
)
def test_feed_force_of_common_ratios(ratio, efficiency, force):
    """Force of 0.05 N m at a drive radius of 5 mm: F = T G eta / r (statics), and back."""
    train = {
        "gear_ratio": ratio,
        "efficiency": efficiency,
        "rotation_distance": 2.0 * math.pi * 5e-3,
    }

    found = drive.feed_force(0.05, **train)

    assert found == pytest.approx(force, rel=2e-4)
    assert drive.torque_for_force(found, **train) == pytest.approx(0.05)
    assert drive.drive_radius(train["rotation_distance"]) == pytest.approx(5e-3)


def test_steps_per_length_counts_microsteps():
    """200 full steps, 16 microsteps, 3:1 on 22.6789511 mm: 423.30 steps per mm."""
    found = drive.steps_per_length(
        gear_ratio=3.0, rotation_distance=22.6789511e-3, full_steps=200, microsteps=16
    )

    assert found == pytest.approx(200 * 16 * 3 / 22.6789511e-3)


def test_like_stages_count_by_power():
    """Two meshes of 0.95 have 0.9025 together, a direct drive loses nothing (definition)."""
    assert drive.train_efficiency(0.95, stages=2) == pytest.approx(0.9025)
    assert drive.train_efficiency(0.95, stages=0) == 1.0


@pytest.mark.parametrize(
    ("inertia", "ratio", "distance", "torques"),
    [
        (PANCAKE, 9.5, 47.1, (1.91, 6.35, 12.70)),
        (PANCAKE, 7.5, 34.0, (2.09, 6.96, 13.91)),
        (LONG, 50 / 17, 22.7, (6.63, 22.09, 44.17)),
    ],
)
def test_acceleration_torque(inertia, ratio, distance, torques):
    """Torque in mN m that 1.5, 5 and 10 m/s2 of filament take (rigid-body dynamics)."""
    found = drive.acceleration_torque(
        np.array([1.5, 5.0, 10.0]), gear_ratio=ratio, rotation_distance=distance * 1e-3, **inertia
    )

    assert found * 1e3 == pytest.approx(torques, abs=6e-3)


@pytest.mark.parametrize(
    ("load", "peak", "pole_pairs", "distance", "ratio", "lag", "mechanical", "length"),
    [
        (0.0200, 0.08, 50, 47.1, 9.5, 14.478, 0.2896, 0.00399),
        (0.0400, 0.08, 50, 47.1, 9.5, 30.000, 0.6000, 0.00826),
        (0.0566, 0.08, 50, 47.1, 9.5, 45.032, 0.9006, 0.01240),
        (0.0400, 0.08, 100, 28.4, 5.18, 30.000, 0.3000, 0.00457),
        (0.0600, 0.2263, 50, 22.7, 50 / 17, 15.375, 0.3075, 0.00659),
    ],
)
def test_filament_trails_the_command_under_load(
    load, peak, pole_pairs, distance, ratio, lag, mechanical, length
):
    """Sine torque curve: half the peak is 30 degrees electrical, a third of a full step.

    The half-peak figure is common in trade papers on open-loop step accuracy.
    """
    angle = drive.lag_angle(load, peak_torque=peak)

    assert math.degrees(angle) == pytest.approx(lag, abs=6e-4)
    assert math.degrees(angle / pole_pairs) == pytest.approx(mechanical, abs=6e-5)
    found = drive.filament_lag(
        angle, pole_pairs=pole_pairs, gear_ratio=ratio, rotation_distance=distance
    )
    assert found == pytest.approx(length, abs=6e-6)


def test_overload_lags_by_a_quarter_turn_and_never_more():
    """At or above the peak torque, or without any, the lag is 90 degrees; no load, no lag."""
    loads, peaks = np.array([0.1, 0.2, 0.0, 0.1]), np.array([0.1, 0.1, 0.0, 0.0])

    found = np.degrees(drive.lag_angle(loads, peak_torque=peaks))

    assert found == pytest.approx([90.0, 90.0, 0.0, 90.0])


@pytest.mark.parametrize(
    (
        "motor_name",
        "current",
        "volts",
        "speed",
        "train",
        "feed",
        "turns",
        "torque",
        "load",
        "force",
    ),
    [
        ("A", 0.5507, 24, 10.0, (47.1, 9.5, 0.90), 0.374, 2.0170, 0.05507, 0.03457, 39.434),
        ("A", 0.5507, 24, 60.0, (47.1, 9.5, 0.90), 5.0, 12.1019, 0.05507, 0.02870, 32.731),
        ("C", 0.9391, 24, 8.3, (22.7, 50 / 17, 0.95), 0.374, 1.0754, 0.22360, 0.14227, 110.026),
        ("C", 0.9391, 12, 60.0, (22.7, 50 / 17, 0.95), 5.0, 7.7740, 0.19219, 0.09985, 77.227),
    ],
)
def test_whole_torque_budget(
    motor_name, current, volts, speed, train, feed, turns, torque, load, force
):
    """Motor at 70 degC, 70 % usable, detent and acceleration off (independent computation)."""
    rating = {"A": (1.0, 0.10, 2.4, 1.8e-3, 1.0e-6), "C": (1.68, 0.40, 1.65, 3.2e-3, 5.4e-6)}
    detent = {"A": 0.005, "C": 0.018}[motor_name]
    rated, holding, resistance, inductance, inertia = rating[motor_name]
    distance, ratio, efficiency = train
    gears = {"gear_ratio": ratio, "rotation_distance": distance * 1e-3}
    hot = motor.hot_resistance(resistance, 343.15, temperature_coefficient=0.00393) + 0.45

    n = speed * 1e-3 / drive.travel_per_motor_turn(**gears)
    pull_out = motor.pull_out_torque(
        n,
        current_rms=current,
        torque_constant=motor.torque_constant(
            holding_torque=holding, rated_current=rated, phases_on=2
        ),
        resistance=hot,
        inductance=inductance,
        pole_pairs=50,
        voltage=volts,
    )
    accelerate = drive.acceleration_torque(
        feed, motor_inertia=inertia, gear_inertia=2e-7, efficiency=efficiency, **gears
    )
    left = drive.usable_torque(
        pull_out, detent_torque=detent, usable_share=0.7, acceleration_torque=accelerate
    )

    assert n == pytest.approx(turns, rel=1e-4)
    assert pull_out == pytest.approx(torque, rel=2e-4)
    assert left == pytest.approx(load, rel=5e-4)
    assert drive.feed_force(left, efficiency=efficiency, **gears) == pytest.approx(force, rel=5e-4)


def test_usable_torque_is_never_negative():
    """A motor weaker than its detent torque leaves nothing."""
    assert drive.usable_torque(0.004, detent_torque=0.005, usable_share=0.7) == 0.0
