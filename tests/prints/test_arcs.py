"""Arcs and helices against trigonometry and against their chords in the plain planner."""

from __future__ import annotations

import io
import math
import random

import numpy as np
import plain
import pytest
from every import every

from advisor.prints import MachineLimits, PrintReport, analyse, read_moves

AREA = math.pi / 4.0 * 1.75e-3**2
HEAD = "G90\nM83\nG92 X0 Y0 Z0 E0\nG1 F6000\n"
LIMITS = MachineLimits(max_velocity=0.3, max_accel=3.0, max_extrude_only_velocity=0.06,
                       max_extrude_only_accel=1.5)  # fmt: skip


def report(text: str) -> PrintReport:
    data = io.BytesIO((HEAD + text).encode())
    return analyse(data, limits=LIMITS, filament_area=AREA, melt_volume=2e-8)


@every(
    ("text", "turn", "radius", "rise"),
    [
        ("G2 X10 Y-10 I10 J0", 1.5 * math.pi, 10.0, 0.0),
        ("G3 X10 Y-10 I10 J0", 0.5 * math.pi, 10.0, 0.0),
        ("G2 X20 Y0 I10 J0", math.pi, 10.0, 0.0),
        ("G2 I5 J5", 2.0 * math.pi, math.hypot(5.0, 5.0), 0.0),
        ("G3 Z2 I3 J0 P1", 2.0 * math.pi, 3.0, 2.0),
        ("G3 Z2 I3 J0 P4", 8.0 * math.pi, 3.0, 2.0),
        ("G2 X10 Y-10 R10", 0.5 * math.pi, 10.0, 0.0),
        ("G2 X10 Y-10 R-10", 1.5 * math.pi, 10.0, 0.0),
        ("G3 X20 Y0 R10", math.pi, 10.0, 0.0),
        ("G18\nG3 X10 Z10 I10 K0", 0.5 * math.pi, 10.0, 0.0),  # from z to x, ISO 841 axes
        ("G19\nG2 Y10 Z10 J0 K10", 1.5 * math.pi, 10.0, 0.0),
        ("G91\nG2 X10 Y-10 I10 J0", 1.5 * math.pi, 10.0, 0.0),
        ("G20\nG2 I1 J0", 2.0 * math.pi, 25.4, 0.0),
    ],
)
def test_the_length_of_an_arc_is_exact(text: str, turn: float, radius: float, rise: float) -> None:
    """sqrt((angle x radius)^2 + rise^2), in every plane, by centre and by radius, to 1e-12."""
    made = report(text + " E1\n")

    assert made.path_length * 1e3 == pytest.approx(math.hypot(turn * radius, rise), rel=1e-12)
    assert not made.notes


def test_pieces_point_along_the_arc() -> None:
    """Quarter circle from (0, 0) about (10, 0): it leaves along +y and comes in along +x."""
    data = io.BytesIO((HEAD + "G1 Y-30 E1\nG1 Y0 E1\nG2 X10 Y10 I10 J0 E1\nG1 X40 E1\n").encode())
    (moves,) = read_moves(data, limits=LIMITS)
    half = 0.25 * math.pi / math.floor(math.pi * 5.0)  # half the turn between two pieces

    enter = [axis[2] for axis in moves.enter]
    leave = [axis[-2] for axis in moves.leave]
    assert enter == pytest.approx([math.sin(half), math.cos(half), 0.0], rel=1e-12)
    assert leave == pytest.approx([math.cos(half), math.sin(half), 0.0], rel=1e-12)
    assert len(moves) == 3 + math.floor(math.pi * 5.0)


@pytest.mark.parametrize("text", ["G2 X10 Y0 I30 J0", "G2 X50 Y0 R10", "G3 X10 I0 J0", "G2 X10 Y5"])
def test_an_arc_that_does_not_fit_is_its_chord_and_told(text: str) -> None:
    """No circle about the centre meets the end: the straight line, with a note."""
    made = report(text + " E1\n")
    to = plain.WORD.findall(text)
    chord = math.hypot(*(float(v) for c, v in to if c in "XY"))

    assert [(n.kind, n.line) for n in made.notes] == [("arc-not-closed", 5)]
    assert made.path_length * 1e3 == pytest.approx(chord)


def chords(rng: random.Random) -> tuple[str, str]:
    """Return walls of lines and arcs, and the same with arcs as the firmware's 1 mm chords."""
    arcs, lines, x, y, heading = [], [], 0.0, 0.0, 0.0
    for _ in range(60):
        way = rng.uniform(0.5, 20.0)
        x, y = x + way * math.cos(heading), y + way * math.sin(heading)
        arcs.append(f"G1 X{x:.9f} Y{y:.9f} E{0.04 * way:.9f}")
        lines.append(arcs[-1])
        radius, turn = rng.uniform(1.0, 40.0), rng.choice((-1, 1)) * rng.uniform(0.2, 2.0)
        sense = math.copysign(1.0, turn)
        cx, cy = x - sense * radius * math.sin(heading), y + sense * radius * math.cos(heading)
        length = radius * abs(turn)
        count = max(math.floor(length), 1)
        begin = math.atan2(y - cy, x - cx)
        i, j = cx - x, cy - y
        for k in range(1, count + 1):
            at = begin + turn * k / count
            x, y = cx + radius * math.cos(at), cy + radius * math.sin(at)
            lines.append(f"G1 X{x:.9f} Y{y:.9f} E{0.04 * length / count:.9f}")
        name = "G3" if turn > 0.0 else "G2"
        words = f"X{x:.9f} Y{y:.9f} I{i:.9f} J{j:.9f} E{0.04 * length:.9f}"
        arcs.append(f"{name} {words}")
        heading += turn
    return "\n".join(arcs) + "\n", "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", range(5))
def test_an_arc_is_planned_like_its_chords(seed: int) -> None:
    """The plan of an arc is that of the firmware's chords but for the length of the chords:
    time to 1 %, peak flow to 3 % (a chord is shorter than its arc, so its flow is higher)."""
    arcs, lines = chords(random.Random(seed))
    made = report(arcs)
    limits = plain.PlainLimits()
    moves = plain.read(HEAD + lines, limits)
    plain.plan(moves, limits)

    assert made.time == pytest.approx(sum(map(plain.lasts, moves)), rel=1e-2)
    peak = max(m.r * m.cruise for m in moves) * AREA * 1e-3
    assert made.peak.value == pytest.approx(peak, rel=3e-2)


def test_many_long_arcs_stay_bounded() -> None:
    """Arcs of many pieces come out a bounded number at once."""
    text = HEAD + "G2 I30000 J0 E1\n" * 3000
    sizes = [len(moves) for moves in read_moves(io.BytesIO(text.encode()), limits=LIMITS)]

    assert sum(sizes) == 64 * 3000
    assert max(sizes) <= 1 << 15


def test_a_tight_bend_is_taken_slowly() -> None:
    """On a circle of long cruise the speed stays within sqrt(a r) (centripetal acceleration) but
    for what the head gains between two corners of the firmware's chords."""
    (moves,) = read_moves(io.BytesIO((HEAD + "G2 I4 J0 E1\n").encode()), limits=LIMITS)
    assert np.sqrt(moves.corner2[1:]).max() <= math.sqrt(3.0 * 4e-3)
