"""The push at which a machine gives way, and what pressure advance asks of its motor.

Checked against closed forms written out here: pull-out torque of a stepper from its phasor diagram
(Acarnley, Stepping Motors), work done by a drive gear, and a first-order advance (common practice,
no source).
"""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.build_records import CompareReport, Variant
from advisor.answers.builds.compare import compare
from advisor.answers.lint import check_config
from advisor.base import UsageError
from advisor.machine.graph import FactBook
from advisor.report import compare_text
from advisor.report.json import as_json

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
HEALTHY = str(SAMPLES / "healthy/printer.cfg")
BARE = str(SAMPLES / "no-sheet/printer.cfg")
BENCH = SAMPLES / "gear-bench"


def nominal(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    assert value is not None, name
    return value


def value(row: Variant, name: str) -> float:
    band = getattr(row, name)
    assert band is not None, name
    return float(band.value)


def test_the_push_at_skip_is_that_of_the_torque_at_the_speed_of_the_capacity() -> None:
    """By hand from the phasor diagram: (pull-out torque - detent) x efficiency x 2 pi / travel."""
    book = check_config(BARE, Asks()).books["extruder"]
    row = compare(BARE, Asks(), vary=["nozzle.diameter=0.4mm"]).variants[0]
    travel = nominal(book, "drive.travel_per_motor_turn")
    turns = nominal(book, "flow.capacity") / nominal(book, "filament.area") / travel
    omega = 2 * math.pi * turns * nominal(book, "motor.pole_pairs")
    resistance = nominal(book, "motor.hot_resistance")
    impedance = math.hypot(resistance, omega * nominal(book, "motor.inductance"))
    constant = nominal(book, "motor.torque_constant")
    emf = 2 * math.pi * turns * constant
    current = math.sqrt(2) * nominal(book, "motor.flowing_current")
    if emf + impedance * current > nominal(book, "supply.voltage"):
        pytest.fail("the case is past the corner speed: choose another")
    torque = constant * current - nominal(book, "motor.detent_torque")
    push = torque * nominal(book, "drive.gear_efficiency") * 2 * math.pi / travel
    assert value(row, "skip_push") == pytest.approx(push, rel=1e-6)
    assert value(row, "slip_push") == pytest.approx(nominal(book, "force.grip"), rel=1e-12)


def test_what_gives_way_first_has_the_lower_push() -> None:
    """Small gears at the big ones' ratio slip long before the motor skips; middle ones skip."""
    sheets = [str(BENCH / f"{name}.yaml") for name in ("small-twin", "mid-twin")]
    small, middle = compare(str(BENCH / "printer.cfg"), Asks(), sheets=sheets).variants
    assert value(small, "slip_push") < value(small, "skip_push") / 2
    assert value(middle, "skip_push") < value(middle, "slip_push")


def advances(*vary: str, asked: str | None = None) -> CompareReport:
    return compare(HEALTHY, Asks(asked=asked), vary=vary)


def test_acceleration_and_advance_move_the_peak_as_they_should() -> None:
    """Peak less feed goes with their product; the share of the corner speed with the peak."""
    accel = advances("motion.max_accel=2000mm/s2,8000mm/s2").variants[1:]
    feed = value(accel[0], "capacity") / (math.pi / 4 * 1.75**2)
    slow, fast = (value(row, "advance_peak") - feed for row in accel)
    assert fast == pytest.approx(4.0 * slow, rel=1e-6)
    time = advances("motion.pressure_advance=0.02s,0.06s").variants[1:]
    short, long = (value(row, "advance_peak") - feed for row in time)
    assert long == pytest.approx(3.0 * short, rel=1e-6)
    for row in (*accel, *time):
        other = accel[0]
        share = value(row, "advance_speed_share") / value(other, "advance_speed_share")
        assert share == pytest.approx(value(row, "advance_peak") / value(other, "advance_peak"))


def test_the_verdict_changes_where_lint_begins_to_tell_of_it() -> None:
    """Above 0.6 of the corner speed, as the rule `advance-peak-near-corner` says."""
    rows = advances("motion.pressure_advance=0.05..1.0s:20").variants
    assert {row.advance_inside for row in rows} == {True, False}
    for row in rows:
        assert row.advance_inside is (value(row, "advance_speed_share") <= 0.6)


def test_a_requested_flow_near_the_capacity_leaves_no_torque_for_the_peak() -> None:
    """What the motor can push is all that it has; half of it leaves enough."""
    near, half = (advances("motion.max_accel=20000mm/s2", asked=flow).variants[1]
                  for flow in ("13.5mm3/s", "6mm3/s"))  # fmt: skip
    assert value(near, "advance_speed_share") < 0.6
    assert near.advance_inside is False
    assert half.advance_inside is True


def test_without_an_advance_there_is_no_peak(tmp_path: Path) -> None:
    """None set: no figure, no verdict; set by a variation there is one."""
    text = Path(BARE).read_text(encoding="utf-8")
    config = tmp_path / "printer.cfg"
    config.write_text(re.sub(r"(?m)^pressure_advance: .*$", "", text), encoding="utf-8")
    plain, varied = compare(str(config), Asks(), vary=["motion.pressure_advance=0.05s"]).variants
    assert (plain.advance_peak, plain.advance_speed_share, plain.advance_inside) == (None,) * 3
    assert varied.advance_inside is not None
    off = compare(BARE, Asks(), vary=["motion.pressure_advance=0s"]).variants
    assert off[0].advance_peak is not None
    assert off[1].advance_peak is None
    with pytest.raises(UsageError):
        compare(BARE, Asks(), vary=["motion.pressure_advance=-1s"])


def test_rows_that_differ_are_in_the_table_and_the_rest_is_said_below_it() -> None:
    """Of an acceleration: the peak and its share, not the push; of gears the push."""
    shown = compare_text.render(advances("motion.max_accel=500mm/s2,20000mm/s2"))
    head = next(line for line in shown.splitlines() if "limits first" in line)
    assert head.split()[-4:] == ["peak", "mm/s", "of", "corner"]
    below = " ".join(shown.partition("the same in all:")[2].split())
    assert "push at skip/slip" in below
    sheets = [str(BENCH / f"{name}.yaml") for name in ("small-twin", "mid-twin")]
    bench = compare_text.render(compare(str(BENCH / "printer.cfg"), Asks(), sheets=sheets))
    assert "push N" in bench


def test_full_and_json_have_them_always() -> None:
    """Even where nothing differs."""
    report = compare(HEALTHY, Asks(), vary=["motor.run_current=0.56A"])
    full = compare_text.render(report, full=True)
    assert "Push and pressure advance" in full
    for row in json.loads(as_json(report))["variants"]:
        assert row["skip_push"]["unit"] == "N"
        assert row["slip_push"]["value"] > 0
        assert row["advance_peak"]["unit"] == "mm/s"
        assert row["advance_inside"] is True
