"""What the reader of prints understands: words, modes, arcs, units, features, containers.

The meaning of the words is the common practice of G-code (RS-274 and its 3D-printing extensions),
from memory; lengths of arcs are checked against plain trigonometry.
"""

from __future__ import annotations

import gzip
import io
import math
import random

import gcodeparser
import numpy as np
import pytest
from every import every
from tiers import examples, spread, wide

from advisor.prints import MachineLimits, PrintReport, analyse, read_moves

LIMITS = MachineLimits(max_velocity=0.3, max_accel=5.0)
AREA = math.pi / 4.0 * 1.75e-3**2
HEAD = "G90\nM83\nG92 X0 Y0 Z0 E0\n"


def report(text: str | bytes, *, head: str = HEAD, block_size: int = 1 << 17) -> PrintReport:
    data = text if isinstance(text, bytes) else (head + text).encode()
    return analyse(
        io.BytesIO(data),
        limits=LIMITS,
        filament_area=AREA,
        melt_volume=2e-8,
        capacity=1e-8,
        skip=1.5e-8,
        block_size=block_size,
    )


def path_length(text: str, **given: str) -> float:
    """Length of all path, in mm."""
    return report(text, **given).path_length * 1e3


def volume(text: str, **given: str) -> float:
    """Volume extruded along paths, as mm of filament."""
    return report(text, **given).volume / AREA * 1e3


def test_a_line_has_its_length_and_filament() -> None:
    """3-4-5."""
    assert path_length("G1 X3 Y4 E0.5 F600\n") == pytest.approx(5.0)
    assert volume("G1 X3 Y4 E0.5 F600\n") == pytest.approx(0.5)


@every(
    ("text", "expected"),
    [
        ("G1 X10 E1\nG1 X10 Y10 E1\n", 20.0),
        ("G91\nG1 X10 E1\nG1 X10 E1\n", 20.0),
        ("G1 X10 E1\nG92 X0\nG1 X10 E1\n", 20.0),
        ("G20\nG1 X1 E0.1\n", 25.4),
        ("G20\nG21\nG1 X1 E0.1\n", 1.0),
        ("g1 x3 y4 e.5 f600\n", 5.0),
        ("G1 X-.5 E.1\n", 0.5),
        ("N10 G1 X10 E1*71\n", 10.0),
        ("G1 X10 E1 ; X99\n", 10.0),
        ("G1 X10 (X99) E1\n", 10.0),
        ("G0 X10\nG1 X20 E1\n", 20.0),
        ("G01 X10 E1\n", 10.0),
        ("  G1 X10 E1\r\n", 10.0),
        ("G1 X10 E1", 10.0),
    ],
)
def test_modes_units_and_spellings(text: str, expected: float) -> None:
    """Absolute and relative, zeros, inches, lower case, numbers without zero, comments, CRLF."""
    assert path_length(text) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("M82\nG92 E0\nG1 X10 E1\nG1 X20 E3\n", 3.0),
        ("M82\nG92 E5\nG1 X10 E6\nG92 E0\nG1 X20 E1\n", 2.0),
        ("G1 X10 E1\nG1 E-1\nG1 E1\nG1 X20 E1\n", 2.0),
        ("M221 S50\nG1 X10 E1\n", 0.5),
        ("G91\nG1 X10 E1\nG90\nM83\nG1 X20 E1\n", 2.0),
    ],
)
def test_filament_modes(text: str, expected: float) -> None:
    """Absolute and relative filament, its zero, retraction apart, flow factor."""
    assert volume(text) == pytest.approx(expected)


def test_filament_is_absolute_until_told() -> None:
    """Neither M82 nor M83: absolute, as the older prints have it."""
    assert volume("G1 X10 E1\nG1 X20 E3\n", head="G90\nG92 X0 Y0 Z0 E0\n") == pytest.approx(3.0)


def test_the_feed_holds_over_travel_retraction_and_lines_of_its_own() -> None:
    """F is modal: long moves at 20, 40 and again 40 mm/s."""
    text = "G1 F1200\nG1 X400 E10\nG1 F2400\nG0 X800\nG1 E-0.8\nG1 X1200 E10\n"
    moves = list(read_moves(io.BytesIO((HEAD + text).encode()), limits=LIMITS))
    speed = np.sqrt(np.concatenate([m.speed2 for m in moves])) * 1e3
    path = np.concatenate([m.path for m in moves])
    assert speed[path] == pytest.approx([20.0, 40.0, 40.0])


def test_a_quarter_arc_by_centre_and_by_radius() -> None:
    """pi/2 r, whether the centre or the radius is given."""
    quarter = math.pi / 2.0 * 10.0
    assert path_length("G3 X-10 Y10 I-10 J0 E1 F600\n") == pytest.approx(quarter, rel=2e-3)
    assert path_length("G2 X10 Y-10 R10 E1 F600\n") == pytest.approx(quarter, rel=2e-3)


def test_a_negative_radius_takes_the_long_way() -> None:
    """R below zero is the arc of more than half a turn."""
    long_way = 1.5 * math.pi * 10.0
    assert path_length("G2 X10 Y-10 R-10 E1 F600\n") == pytest.approx(long_way, rel=2e-3)


def test_a_full_circle_ends_where_it_began() -> None:
    """Only I and J: once round."""
    assert path_length("G2 I5 J0 E2 F600\n") == pytest.approx(2.0 * math.pi * 5.0, rel=2e-3)


def test_a_helix_is_longer_than_its_circle() -> None:
    """sqrt(circle^2 + rise^2)."""
    exact = math.hypot(2.0 * math.pi * 5.0, 3.0)
    assert path_length("G2 I5 J0 Z3 E2 F600\n") == pytest.approx(exact, rel=2e-3)


def test_an_arc_extrudes_its_filament_once() -> None:
    """However many pieces it is cut into."""
    assert volume("G3 X-10 Y10 I-10 J0 E1.25 F600\n") == pytest.approx(1.25, rel=1e-9)


def test_firmware_retraction_is_a_move_of_filament() -> None:
    """G10 and G11 take the time of the config's retraction, and no path."""
    limits = MachineLimits(
        max_velocity=0.3, max_accel=5.0, retract_length=0.8e-3, retract_speed=0.03,
        max_extrude_only_accel=1.5,
    )  # fmt: skip
    data = (HEAD + "G1 X10 E1 F600\nG10\nG1 X20\nG11\nG1 X30 E1\n").encode()
    made = analyse(io.BytesIO(data), limits=limits, filament_area=AREA, melt_volume=2e-8)
    plain = analyse(
        io.BytesIO(data.replace(b"G10\n", b"").replace(b"G11\n", b"")),
        limits=limits, filament_area=AREA, melt_volume=2e-8,
    )  # fmt: skip
    assert made.extrude_only_time > plain.extrude_only_time
    assert made.volume == pytest.approx(plain.volume)
    assert made.retract_peak_speed.value <= 0.03 + 1e-9


@pytest.mark.parametrize(
    ("command", "accel"),
    [
        ("M204 S500", 0.5),
        ("M204 P700 T900", 0.7),
        ("SET_VELOCITY_LIMIT ACCEL=800", 0.8),
        ("set_velocity_limit accel=800", 0.8),
    ],
)
def test_acceleration_commands(command: str, accel: float) -> None:
    """A print may lower the acceleration: the moves after it have that."""
    data = (HEAD + f"{command}\nG1 X100 E1 F6000\n").encode()
    (moves,) = read_moves(io.BytesIO(data), limits=LIMITS)
    assert moves.accel[-1] == pytest.approx(accel)


def test_the_speed_factor_scales_the_feed() -> None:
    """M220 S50 halves it."""
    data = (HEAD + "M220 S50\nG1 X100 E1 F6000\n").encode()
    (moves,) = read_moves(io.BytesIO(data), limits=LIMITS)
    assert math.sqrt(moves.speed2[-1]) == pytest.approx(0.05)


@pytest.mark.parametrize(
    "command", ["M900 K0.06", "M572 S0.06", "SET_PRESSURE_ADVANCE ADVANCE=0.06"]
)
def test_pressure_advance_commands_raise_the_filament_peak(command: str) -> None:
    """Speeding up adds advance x filament acceleration to the filament's speed."""
    text = "G1 X100 E4 F6000\n"
    assert (
        report(f"{command}\n{text}").extruder_peak_speed.value
        > report(text).extruder_peak_speed.value * 1.05
    )


def test_a_dwell_takes_its_time() -> None:
    """G4 P in ms, S in s."""
    base = report("G1 X10 E1 F600\n").time
    assert report("G1 X10 E1 F600\nG4 P1500\n").time - base == pytest.approx(1.5)
    assert report("G1 X10 E1 F600\nG4 S2\n").time - base == pytest.approx(2.0)


@pytest.mark.parametrize(
    "comment",
    [";TYPE:External perimeter", ";TYPE:WALL-OUTER", "; FEATURE: Outer wall"],
)
def test_features_of_several_styles_are_one(comment: str) -> None:
    """Each slicer's word for the outer wall is the same feature."""
    (feature,) = report(f"{comment}\nG1 X100 E4 F6000\n").features
    assert feature.feature == "outer-wall"
    assert feature.volume / AREA * 1e3 == pytest.approx(4.0)


def test_volume_by_feature_is_the_sum_of_its_filament() -> None:
    """Conserved to 1e-9, whatever the features and the blocks."""
    lines, sums = [], {"outer-wall": 0.0, "sparse-infill": 0.0}
    names = {"outer-wall": ";TYPE:External perimeter", "sparse-infill": ";TYPE:Internal infill"}
    x = 0.0
    for k in range(400):
        feature = "outer-wall" if (k // 7) % 2 else "sparse-infill"
        lines.append(names[feature])
        x += 1.0 + (k % 5)
        e = 0.031 + 0.0007 * (k % 11)
        lines.append(f"G1 X{x:.3f} E{e:.5f} F{1200 + 600 * (k % 9)}")
        sums[feature] += round(e, 5)
    made = report("\n".join(lines) + "\n")
    assert {f.feature: f.volume / AREA * 1e3 for f in made.features} == pytest.approx(
        sums, rel=1e-9
    )
    assert made.volume / AREA * 1e3 == pytest.approx(sum(sums.values()), rel=1e-9)
    assert made.time == pytest.approx(sum(f.time for f in made.features), rel=1e-9)


@wide
@pytest.mark.parametrize("size", spread([1, 7, 64, 1000, 1 << 20], 2))
def test_blocks_do_not_change_the_report(size: int) -> None:
    """A block of one byte gives the same as the whole file."""
    text = "".join(
        f";TYPE:{'Perimeter' if k % 3 else 'Internal infill'}\n"
        f"G1 X{(k * 37) % 90} Y{(k * 53) % 80} E{0.02 * (k % 9):.4f} F{1200 + 900 * (k % 7)}\n"
        f"{'G1 E-0.8 F2400' if k % 10 == 0 else ''}\n"
        for k in range(120)
    )
    one, other = report(text), report(text, block_size=size)
    assert one == other


def test_the_whole_time_is_its_parts() -> None:
    """Extruding, travel, filament alone and standstill."""
    made = report("G1 X50 E2 F3000\nG0 X0\nG1 E-1 F1800\nG4 P100\nG1 E1\nG1 X50 E2\n")
    parts = made.extruding_time + made.travel_time + made.extrude_only_time + made.pause_time
    assert made.time == pytest.approx(parts)
    assert min(made.extruding_time, made.travel_time, made.extrude_only_time) > 0.0


def test_a_long_move_takes_the_time_of_its_trapezoid() -> None:
    """s/v + v/a from rest to rest (any textbook); no cruise ratio."""
    limits = MachineLimits(max_velocity=1.0, max_accel=2.0, min_cruise_ratio=0.0)
    data = (HEAD + "G1 X300 E10 F6000\n").encode()
    made = analyse(io.BytesIO(data), limits=limits, filament_area=AREA, melt_volume=2e-8)
    assert made.time == pytest.approx(0.3 / 0.1 + 0.1 / 2.0)
    assert made.peak.value == pytest.approx(0.1 * 10.0 / 300.0 * AREA)


def test_gzip_is_read_as_it_is() -> None:
    """No unpacking by hand."""
    data = (HEAD + "G1 X3 Y4 E0.5 F600\n").encode()
    assert report(gzip.compress(data)).path_length == pytest.approx(report(data).path_length)


def test_agrees_with_an_independent_reader() -> None:
    """The registry's `gcodeparser` finds the same end points on words both understand."""
    text = HEAD + "".join(
        f"G1 X{k * 1.5:.3f} Y{(k * k) % 17:.3f} E{0.05 * k:.4f} F{1200 + k}\n" for k in range(1, 60)
    )
    at, length, filament = np.zeros(2), 0.0, 0.0
    for line in gcodeparser.parse_gcode_lines(text):
        if line.command == ("G", 1):
            to = np.array([line.params.get("X", at[0]), line.params.get("Y", at[1])])
            length += float(np.hypot(*(to - at)))
            filament += line.params.get("E", 0.0)
            at = to
    made = report(text.encode())
    assert made.path_length * 1e3 == pytest.approx(length, rel=1e-9)
    assert made.volume / AREA * 1e3 == pytest.approx(filament, rel=1e-9)


@wide
def test_comments_behind_moves_name_the_feature() -> None:
    """A known name behind a move holds from that move on; other words do not matter; a feature
    line between counts as well, whatever the comment before and after it."""
    rng = random.Random(11)
    names = {
        "external perimeter": "outer-wall",
        "perimeter": "inner-wall",
        "infill": "sparse-infill",
        "internal infill": "sparse-infill",
        "support material interface": "support-interface",
    }
    long = "a note of more than 32 letters in all"
    notes = [*names, "a", "move to first perimeter point", long]
    lines, sums, now, note = [], {}, None, ""
    for k in range(examples(800, 3000, 3000)):
        if rng.random() < 0.1:
            now = "skirt"
            lines.append(";TYPE:Skirt")
        if rng.random() < 0.3:
            note = rng.choice(notes)
        shown = rng.random() < 0.9
        now = names.get(note, now) if shown else now
        e = 0.01 + 0.001 * (k % 7)
        sums[now] = sums.get(now, 0.0) + e
        gap = "  " if rng.random() < 0.1 else " "  # a line that is not plain
        lines.append(f"G1{gap}X{k % 50 + 1} Y{k % 3} E{e:.3f}" + (f" ; {note}" if shown else ""))
    data = (HEAD + "G1 F3000\n" + "\n".join(lines) + "\n").encode()
    for size in (200, 5000, 1 << 18):
        made = report(data, block_size=size)
        found = {f.feature: f.volume / AREA * 1e3 for f in made.features}
        assert found == pytest.approx(sums, rel=1e-9)
