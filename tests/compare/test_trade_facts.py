"""The facts of the trade come out of `compare` on the sample "gear-bench".

The facts themselves are common practice, no source. The figures beside them are an independent
computation of the whole chain from the closed forms (conduction into a cylinder: Carslaw and
Jaeger, Conduction of Heat in Solids; pull-out torque: Acarnley, Stepping Motors; columns: any text
on strength of materials) for the nominal values that the sheets state.
"""

from __future__ import annotations

import functools
from pathlib import Path

import pytest
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.build_records import Variant
from advisor.answers.builds.compare import compare

BENCH = Path(__file__).resolve().parents[2] / "samples/gear-bench"
SHEETS = ("hardware", "mid-twin", "small-twin", "small-twin-soft", "big-twin-soft", "short-zone")


@functools.cache
def rows() -> dict[str, Variant]:
    """Return the machines of the bench, side by side, by the name of their sheet."""
    paths = [str(BENCH / f"{name}.yaml") for name in SHEETS]
    report = compare(str(BENCH / "printer.cfg"), Asks(), sheets=paths)
    return dict(zip(SHEETS, report.variants, strict=True))


def value(row: Variant, name: str) -> float:
    band = getattr(row, name)
    assert band is not None
    return float(band.value)


def limit(row: Variant, name: str) -> float:
    """Return the flow at which one thing gives out."""
    flow = next(one.flow for one in row.limits if one.limit == name)
    assert flow is not None
    return flow


@wide
@only_wide
def test_a_pancake_with_big_twin_gears_delivers_to_the_low_twenties_and_then_skips() -> None:
    """Prints straight to about 24 mm3/s at its derated current; independent: 20.3, skip 23.8."""
    row = rows()["hardware"]
    assert value(row, "capacity") == pytest.approx(20.262, rel=5e-3)
    assert value(row, "skip") == pytest.approx(23.775, rel=5e-3)
    assert row.above_derated is False
    assert limit(row, "torque") == pytest.approx(20.262, rel=5e-3)


def test_middle_gears_at_a_lower_ratio_skip_at_about_the_same_flow() -> None:
    """7.5:1 on the same motor; independent: 23.8."""
    big, middle = rows()["hardware"], rows()["mid-twin"]
    assert value(middle, "skip") == pytest.approx(23.775, rel=5e-3)
    assert value(middle, "skip") == pytest.approx(value(big, "skip"), rel=0.05)
    assert value(middle, "capacity") == pytest.approx(20.259, rel=5e-3)


def test_small_twin_gears_on_a_full_size_motor_fall_off_by_grip() -> None:
    """Evenly to about 20 mm3/s, and the motor is not what gives out; independent: 19.8."""
    row = rows()["small-twin"]
    assert row.bottleneck == "grip"
    assert value(row, "capacity") == pytest.approx(19.799, rel=5e-3)
    assert limit(row, "torque") > 1.15 * limit(row, "grip")  # further than "about equal"


def test_the_full_size_motor_has_still_more_torque_at_its_own_current() -> None:
    """Set to what it bears, 0.94 A; independent at 0.950 A: usable 29.8, skips at 34.6."""
    report = compare(str(BENCH / "printer.cfg"), Asks(),
                     sheets=[str(BENCH / f"{n}.yaml") for n in ("hardware", "small-twin")],
                     vary=["motor.run_current=derated"])  # fmt: skip
    row = report.variants[3]
    assert row.above_derated is False
    assert limit(row, "torque") == pytest.approx(29.823, rel=0.02)
    assert value(row, "skip") == pytest.approx(34.649, rel=0.02)
    assert row.bottleneck == "grip"
    assert value(row, "capacity") == pytest.approx(19.799, rel=5e-3)


def test_soft_filament_gives_way_earlier_and_bigger_gears_do_better_on_it() -> None:
    """Independent: 16.9 in small gears, 19.7 in big ones."""
    hard, soft, big = (rows()[n] for n in ("small-twin", "small-twin-soft", "big-twin-soft"))
    assert value(soft, "capacity") == pytest.approx(16.914, rel=5e-3)
    assert value(big, "capacity") == pytest.approx(19.725, rel=5e-3)
    assert value(soft, "capacity") < value(big, "capacity") < value(rows()["hardware"], "capacity")
    assert value(soft, "capacity") < 0.9 * value(hard, "capacity")
    assert {soft.bottleneck, big.bottleneck} == {"grip"}


def test_a_short_melt_zone_melts_ten_to_twelve() -> None:
    """PLA through 0.4 mm from a zone of 12.5 mm; independent: it melts 11.14, delivered 9.79."""
    row = rows()["short-zone"]
    assert limit(row, "melt") == pytest.approx(11.142, rel=5e-3)
    assert 10.0 < limit(row, "melt") < 12.0
    assert value(row, "capacity") == pytest.approx(9.794, rel=5e-3)


def test_a_strong_drive_leaves_the_short_zone_as_what_gives_out() -> None:
    """Where neither gears nor motor give out the zone's 11.14 are what is delivered."""
    report = compare(
        str(BENCH / "printer.cfg"), Asks(), sheets=[str(BENCH / "short-zone.yaml")],
        vary=["drive.bite_depth=0.3mm", "motor.holding_torque=0.2Nm"],
    )  # fmt: skip
    grips, strong = report.variants
    assert (grips.bottleneck, strong.bottleneck) == ("torque", "melt")
    assert value(strong, "capacity") == pytest.approx(11.142, rel=5e-3)


def test_the_config_stays_the_first_machines_and_other_sheets_bring_their_gears() -> None:
    """Kinematics are the config's; only what another sheet would build in is taken from it."""
    mid = str(BENCH / "mid-twin.yaml")
    first = compare(str(BENCH / "printer.cfg"), Asks(), sheets=[mid], target="25mm3/s")
    assert [row.name for row in first.variants] == [mid]
    assert "the gear ratio is the config's; the sheet's would be 7.5" in first.variants[0].notes
    other = rows()["mid-twin"]
    assert "gear ratio 7.5 as the sheet says, not the config's 9.5" in other.notes
    assert rows()["hardware"].notes == ()
