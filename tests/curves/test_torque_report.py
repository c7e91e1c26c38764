"""The report as a whole: its lines, shares and verdicts are those of all likely machines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from curve_machines import SAMPLES, machine, nominal, sample
from hypothesis import given, settings, strategies as st
from tiers import examples, only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.curve_records import TorqueReport
from advisor.answers.curves.points import LEVEL, points_of, torques
from advisor.answers.curves.samples import band_line, column
from advisor.answers.curves.torque import torque_report
from advisor.answers.lint import check_config


def report_of(name: str, asked: str | None = None, profile: bool = False) -> TorqueReport:
    return torque_report(sample(name, profile, asked), "extruder")


@settings(max_examples=examples(8, 50, 50), deadline=None)
@given(seed=st.integers(0, 2**32 - 1), size=st.integers(20, 400), places=st.integers(1, 5))
def test_a_band_line_is_the_nominal_value_between_percentiles(
    seed: int, size: int, places: int
) -> None:
    """numpy's nearest-rank percentiles, place by place; sample 0 is the value."""
    values = np.random.default_rng(seed).lognormal(size=(size, places))
    line = band_line(values, "mN m")
    for found, percent in ((line.low, 5), (line.high, 95)):
        expected = np.percentile(values, percent, axis=0, method="nearest") * 1e3
        assert found == pytest.approx(expected)
    assert line.value == pytest.approx(values[0] * 1e3)


@wide
@pytest.mark.parametrize("name", spread(["healthy", "asks-too-much", "mixed-up", "no-sheet"], 1))
def test_the_line_of_a_feed_is_what_a_point_at_that_flow_needs(name: str) -> None:
    """Two ways to the same torque: along the axis, and as an operating point."""
    report = report_of(name)
    book = sample(name).books["extruder"]
    area, travel = (nominal(book, x) for x in ("filament.area", "drive.travel_per_motor_turn"))
    assert report.needed is not None
    assert report.usable is not None
    for place in (1, 2, 5):
        flow = np.full(2048, report.speeds[place] * travel * area)
        (feed,) = (torques(book, x) for x in points_of(book, asked=flow) if x.name == "asked")
        assert report.needed.value[place] == pytest.approx(feed.needed[0, 0] * 1e3, rel=1e-9)
        assert report.usable.value[place] == pytest.approx(feed.usable[0, 0] * 1e3, rel=1e-9)
        assert report.filament_speeds[place] == pytest.approx(flow[0] / area * 1e3, rel=1e-9)


@wide
@pytest.mark.parametrize("name", spread(["healthy", "asks-too-much", "mixed-up"], 1))
def test_the_line_of_a_feed_ends_where_it_leaves_the_picture(name: str) -> None:
    """Its last place is the last within a seventh above the torque there is."""
    report = report_of(name)
    assert report.needed is not None
    assert report.skip is not None
    top, last = 1.15 * max(report.skip.value), report.needed_count
    assert report.needed.value[last - 1] <= top < report.needed.value[last]


@wide
@pytest.mark.parametrize(
    "name", spread(["healthy", "asks-too-much", "mixed-up", "no-sheet", "ugly"], 1)
)
def test_the_axis_reaches_past_every_point_and_a_near_corner_speed(name: str) -> None:
    """It ends at a round number; a corner speed at most twice the fastest point is on it."""
    report = report_of(name)
    end = report.speeds[-1]
    fastest = max(point.motor_speed.value for point in report.points)
    assert report.corner_speed is not None
    assert end >= 1.15 * fastest
    if report.corner_speed.value <= 2 * fastest:
        assert end >= 1.15 * report.corner_speed.value
    assert float(f"{end:.2g}") == pytest.approx(end)
    assert end <= 1.7 * 1.15 * max(2 * fastest, 1.0)


def test_the_shares_are_those_of_the_ensemble() -> None:
    """How many likely machines need more than is usable, and more than there is."""
    book = sample("healthy", asked="15.2mm3/s").books["extruder"]
    report = report_of("healthy", "15.2mm3/s")
    for point, shown in zip(points_of(book), report.points, strict=True):
        found = torques(book, point)
        assert shown.too_much == np.mean(found.needed > found.usable * LEVEL)
        assert shown.skips == np.mean(found.needed > found.skip * LEVEL)
        assert shown.skips <= shown.too_much
    feed = next(shown for shown in report.points if shown.name == "asked")
    assert 0.0 < feed.skips < feed.too_much


def test_between_usable_and_skip_torque_it_is_not_enough() -> None:
    """The margin is there for the spread of motors: using it up is too much."""
    book = sample("healthy", asked="15.2mm3/s").books["extruder"]
    assert nominal(book, "flow.torque") < 15.2e-9 < nominal(book, "flow.skip")
    assert report_of("healthy", "15.2mm3/s").enough is False


def test_the_speed_of_pressure_advance_counts_even_where_its_torque_does_not() -> None:
    """No retract, no ask: the fastest thing the motor does is the pressure-advance peak."""
    report = report_of("no-sheet")
    advance = next(point for point in report.points if point.name == "advance")
    assert not advance.asked
    assert {need.fastest for need in report.needs} == {"advance"}
    present = next(row for row in report.motors if row.present and row.voltage == 24.0)
    assert present.speed_share is not None
    assert present.speed_share.value == pytest.approx(advance.speed_share.value, rel=0.02)


@wide
@only_wide
def test_a_class_serves_up_to_the_trusted_share_of_its_corner_speed() -> None:
    """0.6: between it and the limit of 0.9 a motor does not serve, however strong."""
    between = 0
    for name, asked in (("healthy", None), ("over-driven", None), ("mixed-up", "9mm3/s")):
        for row in report_of(name, asked).motors:
            assert row.margin is not None
            assert row.speed_share is not None
            slow = row.speed_share.value <= 0.6
            assert row.serves is (slow and row.margin.value >= 1 / LEVEL)
            between += 0.6 < row.speed_share.value < 0.9 and row.margin.value > 1.0
    assert between >= 2


@wide
@only_wide
def test_beyond_the_melt_zone_a_motor_is_looked_for_that_reaches_it() -> None:
    """The need at 24 mm3/s is the one at the melt zone's own limit: more is no motor's matter."""
    book = sample("asks-too-much", asked="24mm3/s").books["extruder"]
    melt = nominal(book, "flow.melt") * 1e9
    far, near = (report_of("asks-too-much", asked) for asked in ("24mm3/s", f"{melt:.9g}mm3/s"))
    for one, other in zip(far.needs[1:], near.needs[1:], strict=True):
        assert one.holding_torque is not None
        assert other.holding_torque is not None
        assert one.holding_torque.value == pytest.approx(other.holding_torque.value, rel=1e-6)


def test_what_was_measured_of_a_motor_is_not_told_of_another(tmp_path: Path) -> None:
    """A case measured hot lowers the current of the motor it was measured on alone."""
    text = (SAMPLES / "healthy/hardware.yaml").read_text()
    reports = []
    for number, line in enumerate(("", _MEASURED)):
        path = tmp_path / f"hardware-{number}.yaml"
        path.write_text(text.replace("motor:\n", f"motor:\n{line}", 1))
        checked = check_config(str(SAMPLES / "healthy/printer.cfg"), Asks(sheet=str(path)))
        assert not checked.report.errors
        reports.append(torque_report(checked, "extruder"))
    for plain, hot in zip(*(report.motors for report in reports), strict=True):
        assert plain.working_current is not None
        assert hot.working_current is not None
        lower = hot.working_current.value < 0.9 * plain.working_current.value
        assert lower is plain.present, plain.motor


_MEASURED = "  measured_case: {temperature: 110 degC, current: 0.56 A, ambient: 23 degC}\n"


def test_a_flow_that_nothing_melts_at_leaves_the_report_whole() -> None:
    """Infinite needs are told as such and break nothing."""
    book = machine("A", motor__run_current=0.5, demand__stated_flow=5.0, hotend__temperature=120.0)
    feed = next(x for x in points_of(book) if x.name == "asked")
    assert np.isinf(torques(book, feed).needed[0, 0])
    assert np.isfinite(column(book, book.samples("motor.corner_speed"))).all()
