"""Available and needed torque against published tables, worked examples and the limits of lint."""

from __future__ import annotations

import math

import numpy as np
import pytest
from curve_machines import machine, nominal, sample
from tiers import spread, wide

from advisor.answers.curves.points import Point, available, operating_points, points_of, torques
from advisor.answers.curves.samples import column

# Independent computation of the phasor model of the two-phase hybrid motor (P. P. Acarnley,
# Stepping Motors, 4th ed., from memory), winding cold: motor, A RMS, V, turns/s, pull-out N m
PULL_OUT = [
    ("A", 0.566, 12, 2, 0.056600), ("A", 0.566, 12, 20, 0.053459), ("A", 0.566, 12, 60, 0.020892),
    ("B", 0.566, 12, 8, 0.090025), ("B", 0.566, 12, 15, 0.053732), ("B", 0.566, 24, 20, 0.084924),
    ("B", 0.566, 24, 30, 0.058999), ("C", 0.950, 12, 10, 0.168781), ("C", 0.950, 24, 15, 0.219138),
    ("C", 0.950, 24, 30, 0.124112), ("C", 0.950, 24, 60, 0.062120),
]  # fmt: skip


@pytest.mark.parametrize(("motor", "current", "volts", "speed", "torque"), PULL_OUT)
def test_skip_torque_is_pull_out_less_detent(
    motor: str, current: float, volts: float, speed: float, torque: float
) -> None:
    """The curve's two lines at a table's speeds: all of it less detent, and 0.7 of that."""
    cold = {"A": 2.4, "B": 3.6, "C": 1.65}[motor]
    book = machine(motor, supply__voltage=volts, motor__flowing_current=current,
                   motor__hot_resistance=cold)  # fmt: skip
    usable, skip = available(book, np.array([[float(speed)]]))
    detent = {"A": 0.005, "B": 0.010, "C": 0.018}[motor]

    assert skip[0, 0] + detent == pytest.approx(torque, abs=6e-7)  # to the digits of the table
    assert usable[0, 0] == pytest.approx(0.7 * (torque - detent), abs=6e-7)


@pytest.mark.parametrize(
    ("holding", "force"), [(0.09, 52.4), (0.10, 58.9), (0.12, 71.8), (0.14, 84.7)]
)
def test_a_geared_pancake_at_24_mm3_per_s(holding: float, force: float) -> None:
    """2.013 turns/s, all of the torque left; stall force less detent by independent computation.

    9.5 : 1, 47.1 mm, 0.566 A RMS, efficiency 0.9: figures of common practice, no source.
    """
    book = machine("A", motor__holding_torque=holding, motor__flowing_current=0.566,
                   supply__voltage=24, demand__stated_flow=24.0)  # fmt: skip
    (point,) = (x for x in operating_points(book, points_of(book)) if x.name == "asked")

    assert point.motor_speed.value == pytest.approx(2.013, rel=1e-3)
    assert point.filament_speed.value == pytest.approx(9.978, rel=1e-4)
    assert point.left.value == pytest.approx(1.0)
    stall = point.skip.value * 1e-3 * 9.5 * 0.9 * 2 * math.pi / 47.1e-3
    assert stall == pytest.approx(force, rel=2e-3)


@pytest.mark.parametrize(
    ("motor", "current", "volts", "corner"),
    [("A", 0.56569, 12, 16.680), ("A", 0.56569, 24, 35.667), ("B", 0.56569, 24, 16.726),
     ("C", 0.95035, 24, 13.152), ("C", 0.95035, 48, 27.157)],
)  # fmt: skip
def test_the_speed_share_is_taken_of_the_corner_speed(
    motor: str, current: float, volts: float, corner: float
) -> None:
    """Corner speeds by independent computation, winding cold."""
    cold = {"A": 2.4, "B": 3.6, "C": 1.65}[motor]
    book = machine(motor, supply__voltage=volts, motor__flowing_current=current,
                   motor__hot_resistance=cold)  # fmt: skip
    point = Point("x", "x", column(book, corner), np.zeros((1, 1)))
    assert torques(book, point).speed_share[0, 0] == pytest.approx(1.0, rel=1e-4)
    assert torques(book, point).left[0, 0] == pytest.approx(1.0, rel=1e-4)


MACHINES = [("healthy", True), ("asks-too-much", True), ("mixed-up", True), ("no-sheet", False)]


@wide
@pytest.mark.parametrize(("name", "profile"), spread(list(MACHINES), 2))
def test_the_torque_limit_of_the_flow_is_where_the_lines_cross(name: str, profile: bool) -> None:
    """In every likely machine: at flow.torque a feed needs the usable torque, at flow.skip all."""
    book = sample(name, profile).books["extruder"]
    for limit, torque in (("flow.torque", "usable"), ("flow.skip", "skip")):
        flow = column(book, book.samples(limit))
        shown = points_of(book, asked=flow[:, 0])
        (feed,) = (torques(book, x) for x in shown if x.name == "asked")
        inside = np.isfinite(flow) & (flow > 0.0)
        assert inside.mean() > 0.9
        assert feed.needed[inside] == pytest.approx(getattr(feed, torque)[inside], rel=1e-6)


@pytest.mark.parametrize("asked", ["6mm3/s", "12mm3/s", "18mm3/s"])
def test_a_feed_needs_too_much_where_the_flow_is_above_its_limit(asked: str) -> None:
    """The same verdict as the flow limits give, machine by machine."""
    book = sample("healthy", asked=asked).books["extruder"]
    (feed,) = (torques(book, x) for x in points_of(book) if x.name == "asked")
    flow = column(book, book.samples("demand.asked_flow"))

    assert np.array_equal(
        feed.needed > feed.usable, flow > column(book, book.samples("flow.torque"))
    )
    assert np.array_equal(feed.needed > feed.skip, flow > column(book, book.samples("flow.skip")))


MOVES = {
    "retract": ("motion.retract_force", "motion.retract_load"),
    "profile-retract": ("profile.retract_force", "motion.retract_load"),
    "extrude-only": ("motion.extrude_only_force", "motion.extrude_only_load"),
}


@pytest.mark.parametrize(("name", "profile"), MACHINES)
def test_a_move_needs_too_much_where_lint_finds_too_little_force(name: str, profile: bool) -> None:
    """Torque at the motor and force at the filament are one budget, seen from its two ends."""
    book = sample(name, profile).books["extruder"]
    seen = 0
    for point in points_of(book):
        force, load = (book.samples(fact) for fact in MOVES.get(point.name, ("none", "none")))
        if force is None or load is None:
            continue
        found = torques(book, point)
        seen += 1
        clear = np.abs(column(book, force) / column(book, load) - 1.0) > 1e-9
        enough = column(book, force) >= column(book, load)
        assert np.array_equal((found.needed <= found.usable)[clear], enough[clear])
    assert seen >= 1


def test_some_of_those_moves_are_too_much() -> None:
    """So that the test above sees both sides."""
    book = sample("asks-too-much", True).books["extruder"]
    force, load = (book.samples(name) for name in MOVES["extrude-only"])
    assert 0.05 < np.mean(np.asarray(force) < np.asarray(load)) < 0.95


def test_pressure_advance_adds_its_speed_to_the_feed() -> None:
    """v + K a with a = head acceleration x line / filament section, by hand; at most the capacity.

    The push is that of the flow, as the melt averages the peak out; speeding up comes on top.
    """
    book = sample("healthy", asked="10mm3/s").books["extruder"]
    points = {point.name: point for point in points_of(book)}
    area = math.pi / 4 * 1.75e-3**2
    rate = nominal(book, "motion.max_accel") * nominal(book, "motion.line_area") / area
    travel = 45.2e-3 / 9

    turning = (10e-9 / area + 0.035 * rate) / travel
    assert points["advance"].speed[0, 0] == pytest.approx(turning, rel=1e-9)
    below = column(book, book.samples("flow.capacity")) >= 10e-9
    assert below.mean() > 0.5
    assert points["advance"].push[below] == pytest.approx(points["asked"].push[below])
    assert points["advance"].push[~below] == pytest.approx(points["capacity"].push[~below])
    slow, fast = (torques(book, points[name]).needed[0, 0] for name in ("asked", "advance"))
    inertia = nominal(book, "motor.rotor_inertia") + nominal(book, "drive.gear_inertia") / (
        81 * nominal(book, "drive.gear_efficiency")
    )
    assert fast - slow == pytest.approx(inertia * 2 * math.pi * rate / travel, rel=1e-9)


def test_pressure_advance_counts_where_a_flow_is_asked_or_its_speed_is_past_the_corner() -> None:
    """On top of a capacity that the torque sets it would always be too much."""

    def counted(name: str, asked: str | None = None) -> bool:
        book = sample(name, asked=asked).books["extruder"]
        (point,) = (x for x in points_of(book) if x.name == "advance")
        assert point.reached
        return point.asked

    assert not counted("healthy")
    assert counted("healthy", "10mm3/s")
    assert counted("asks-too-much")  # 19 turns/s, its corner speed is 17


def test_limits_and_passing_peaks_are_not_asked() -> None:
    """With a flow asked the capacity is no ask; without one it stands for it."""
    told = {x.name: x.asked for x in points_of(sample("asks-too-much", True).books["extruder"])}
    assert told == {
        "capacity": False, "asked": True, "advance": True, "retract": True, "extrude-only": False,
    }  # fmt: skip
    alone = {x.name: x.asked for x in points_of(sample("healthy").books["extruder"])}
    assert alone["capacity"]
    assert not alone["extrude-only"]
