"""Moves of filament alone that the firmware slows; how it does is from memory of its limits.

The times are those of a trapezoid of speed from standstill to standstill (kinematics).
"""

from __future__ import annotations

import io
import math

import pytest
from every import every

from advisor.prints import MachineLimits, PrintReport, analyse


def _read(text: str, *, speed: float = math.inf, accel: float = math.inf) -> PrintReport:
    limits = MachineLimits(max_velocity=0.3, max_accel=4.0, max_extrude_only_velocity=speed,
                           max_extrude_only_accel=accel)  # fmt: skip
    lines = io.BytesIO((text.replace("/", "\n") + "\n").encode())
    return analyse(lines, limits=limits, filament_area=2.405e-6, melt_volume=30e-9)


def test_retracts_above_the_speed_limit_are_counted_with_the_fastest() -> None:
    """60 mm/s are asked three times, 70 once, at a limit of 25."""
    text = "M83/G1 X0 Y0 F6000/G1 E-0.5 F3600/G1 X9/G1 E0.5/G1 X0/G1 E-0.5/G1 X9/G1 E0.5 F4200"
    (one,) = _read(text, speed=0.025).slowed
    assert (one.kind, one.count, one.line) == ("speed", 4, 9)
    assert one.worse == pytest.approx(0.070)
    assert one.better == pytest.approx(0.025)


@every(
    "text, speed",
    [
        ("M83/G1 E-0.5 F1500/G1 E0.5", 0.025),  # just at the limit
        ("M83/G1 X0 Y0 F6000/G1 X50 E2 F9000", 0.025),  # a line is no move of filament alone
        ("M83/G1 X0 Y0 F6000/G1 X5 E-0.4 F6000", 0.025),  # nor is a wipe
        ("M83/G1 E-0.5 F3600/G1 E0.5", math.inf),
    ],
)
def test_what_is_not_slowed_is_not_told(text: str, speed: float) -> None:
    """Moves at the limit, with the head, or without any limit."""
    assert _read(text, speed=speed).slowed == ()


def test_a_low_acceleration_makes_a_retract_long() -> None:
    """Half a millimetre at 5 mm/s2: twice the root of 0.5 / 5, 0.632 s; 0.5 / 60 without."""
    (one,) = _read("M83/G1 E-0.5 F3600/G1 E0.5", accel=0.005).slowed
    assert (one.kind, one.count) == ("time", 2)
    assert one.worse == pytest.approx(2.0 * math.sqrt(0.5 / 5.0))
    assert one.better == pytest.approx(0.5 / 60.0)
    assert _read("M83/G1 E-0.5 F3600/G1 E0.5", accel=0.8).slowed == ()
    assert _read("M83/G1 E-90 F3600", accel=0.1).slowed == ()  # long anyway


def test_it_does_not_hang_on_the_blocks() -> None:
    """Read in blocks of a line or whole, it is the same."""
    text = "M83\nG1 X0 Y0 F6000\n" + "G1 E-0.5 F3600\nG1 X9 F6000\nG1 E0.5 F4200\nG1 X0 F6000\n" * 9
    limits = MachineLimits(max_velocity=0.3, max_accel=4.0, max_extrude_only_velocity=0.025,
                           max_extrude_only_accel=0.005)  # fmt: skip
    found = [
        analyse(io.BytesIO(text.encode()), limits=limits, filament_area=2.405e-6,
                melt_volume=30e-9, block_size=size).slowed
        for size in (20, 1 << 18)
    ]  # fmt: skip
    assert found[0] == found[1]
    assert [one.count for one in found[0]] == [18, 18]
