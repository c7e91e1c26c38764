"""Pushes of filament alone as flow, and what the firmware stops a print at.

The flow of a push is its speed times the filament's cross-section (geometry); what the firmware
refuses is from memory of its checks.
"""

from __future__ import annotations

import dataclasses
import io
import math

import pytest

from advisor.prints import MachineLimits, PrintReport, analyse

AREA = math.pi / 4.0 * 1.75e-3**2
MELT = 30e-9  # m3, 12.5 mm of filament
LIMITS = MachineLimits(
    max_velocity=0.3,
    max_accel=4.0,
    max_extrude_only_distance=0.05,
    max_cross_section=0.64e-6,
    nozzle_diameter=0.4e-3,
    max_temperature=558.15,
    min_extrude_temperature=443.15,
)


def _read(text: str, **more: object) -> PrintReport:
    lines = text.replace("/", "\n") + "\n"
    return analyse(io.BytesIO(lines.encode()), limits=LIMITS, filament_area=AREA,
                   capacity=10e-9, melt_volume=MELT, **more)  # fmt: skip


def test_a_file_of_pushes_asks_the_flow_of_its_speed() -> None:
    """10 mm/s of filament of 1.75 mm are 24.05 mm3/s."""
    read = _read("M83/G1 E40 F600/G1 E40/G1 E40")
    assert read.peak.value == pytest.approx(10e-3 * AREA)
    assert read.volume == pytest.approx(0.120 * AREA)
    assert read.extruding_time == pytest.approx(12.0, rel=0.01)
    assert read.extrude_only_time == 0.0
    assert read.time == pytest.approx(read.extruding_time)


@pytest.mark.parametrize(
    "text",
    [
        "G1 E-30 F1800/G1 E30 F1800",  # drawn back and pushed again
        "G1 E10 F1800",  # a prime
        "G1 X0 Y0 F6000/G1 E-0.8 F1800/G1 X50/G1 E0.8/G1 X0/G1 E-0.8/G1 E0.8",
        "T1/G1 E45 F1500/G1 E45",  # a load after a change of tool
        "G1 E-40 F3000/G1 E-40/T1/G1 E40/G1 E40",
    ],
)
def test_what_is_no_new_plastic_or_a_prime_is_no_flow(text: str) -> None:
    """Nothing is told of retracts, primes and loads."""
    read = _read(f"M83/{text}")
    assert read.volume == 0.0
    assert read.peak.value == 0.0


def test_a_push_behind_a_retract_counts_where_it_is_mostly_new() -> None:
    """Of 40 mm after a retract of 2 mm 38 are new."""
    assert _read("M83/G1 E-2 F1800/G1 E40 F600").peak.value == pytest.approx(10e-3 * AREA)
    assert _read("M83/G1 E-30 F1800/G1 E40 F600").peak.value == 0.0


def test_small_pushes_in_a_row_are_one() -> None:
    """Those beyond what the melt zone holds count; a line ends the row."""
    five = "/".join(["G1 E5 F600"] * 4)
    assert _read(f"M83/{five}").volume == pytest.approx(0.010 * AREA)
    line = "G1 X20 Y20 F6000/G1 X40 Y20 E1"
    alone = _read(f"M83/{line}").volume
    broken = _read(f"M83/{line}/G1 E10 F600/G1 X20 E1/G1 E10 F600").volume
    assert broken == pytest.approx(2 * alone)


def test_the_verdict_on_pushes_does_not_depend_on_blocks() -> None:
    """The state is handed on from block to block."""
    text = "M83/" + "/".join(["G1 E5 F600", "G1 E-2 F1800", "G1 E9 F600", "G1 E8"] * 40)
    whole, cut = _read(text), _read(text, block_size=64)
    assert whole.volume == pytest.approx(cut.volume)
    assert whole.extruding_time == pytest.approx(cut.extruding_time)
    assert whole.volume > 0.0


@pytest.mark.parametrize(
    ("text", "kind", "line", "asked"),
    [
        ("M83/G1 E40/G1 E60", "distance", 3, 0.060),
        ("M83/G1 E-60 F1800", "distance", 2, 0.060),
        ("M83/G1 X0 Y0 Z1/G1 X5 E4", "section", 3, 4 / 5 * AREA),
        ("M109 S320/M83/G1 E4", "hot", 1, 593.15),
        ("M104 S120/M109 S150/M83/G1 E4", "cold", 2, 423.15),
    ],
)
def test_what_the_firmware_refuses_is_told(text: str, kind: str, line: int, asked: float) -> None:
    """With its first line and the largest ask."""
    (one,) = _read(text).refused
    assert (one.kind, one.count, one.line) == (kind, 1, line)
    assert one.asked == pytest.approx(asked)


@pytest.mark.parametrize(
    "text",
    [
        "M83/G1 E50 F600",  # at the limit
        "M83/G1 X0 Y0 Z1/G1 X0.1 E0.1",  # thick, but next to no filament
        "M83/G1 X0 Y0 Z1/G1 X100 E25",  # 0.6 mm2
        "M83/G1 X0 Y0 Z1/G1 X5 E-4 F1800",  # a wipe
        "M109 S210/M104 S0/M83/G1 E4",
        "M104 S120/G1 X10 Y10",  # nothing is extruded
    ],
)
def test_what_it_lets_through_is_not(text: str) -> None:
    """Neither at a limit nor below it."""
    assert _read(text).refused == ()


def test_without_limits_nothing_is_refused() -> None:
    """A machine whose limits are not known stops nothing."""
    free = MachineLimits(max_velocity=0.3, max_accel=4.0)
    assert dataclasses.replace(free).max_cross_section == math.inf
    text = b"M83\nM109 S500\nG1 E900 F600\n"
    read = analyse(io.BytesIO(text), limits=free, filament_area=AREA, melt_volume=MELT)
    assert read.refused == ()


def test_the_first_move_states_the_position() -> None:
    """Nothing is lost by it; where it moves filament, that is told."""
    assert _read("M83/G1 X10 Y10 Z0.2 F6000/G1 X50 E1").notes == ()
    (note,) = _read("M83/G1 X10 Y10 Z0.2 E1 F6000").notes
    assert note.kind == "unknown-start"


def test_an_old_comment_on_its_own_line_names_the_feature() -> None:
    """As in prints of a slicer of old: the name alone, for the lines below."""
    read = _read(
        "M83/G1 X0 Y0 Z1 F3000/; outer perimeter/G1 X50 E1/; solid layer/G1 X0 E1/"
        "; be quick/G1 X9 E1"
    )
    assert {one.feature: one.moves for one in read.features} == {"outer-wall": 1, "solid-infill": 2}
