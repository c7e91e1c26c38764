"""What weighed tests told of a machine holds for its other builds too, machine by machine."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from curve_machines import SAMPLES

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.curves.grip import AS_IT_IS, grip_report
from advisor.answers.curves.points import points_of, torques
from advisor.answers.curves.torque import torque_report
from advisor.answers.lint import check_config


@cache
def weighed(*tests: str) -> CheckedConfig:
    asks = Asks(
        sheet=str(SAMPLES / "healthy/hardware.yaml"),
        weighed=tuple(str(SAMPLES / "healthy" / test) for test in tests),
        asked="14mm3/s",
    )
    return check_config(str(SAMPLES / "healthy/printer.cfg"), asks)


def test_the_same_machine_worked_out_again_is_the_same() -> None:
    """Sample by sample, nominal one included; without the bench it is another ensemble."""
    checked = weighed("flow-test.csv")
    machine = checked.machines["extruder"]
    book, again, plain = machine.book, machine.with_({}).book, machine.plain().book

    for name in ("flow.melt", "flow.torque", "drive.bite_depth", "force.grip"):
        assert np.array_equal(again.samples(name), book.samples(name))
    assert not np.allclose(plain.samples("flow.melt"), book.samples("flow.melt"), atol=0.0)


def test_the_motor_that_is_there_serves_as_its_points_say() -> None:
    """Margin with its band and share of machines, as the weighed ensemble has them."""
    checked = weighed("flow-test.csv")
    book = checked.books["extruder"]
    report = torque_report(checked, "extruder")
    row = next(row for row in report.motors if row.present and row.voltage == 24.0)
    found = [torques(book, point) for point in points_of(book) if point.asked]
    ratios = np.stack(np.broadcast_arrays(*(x.usable / x.needed for x in found)))
    margin, fast = ratios.min(axis=0)[:, 0], max(np.max(x.speed_share) for x in found)

    assert fast < 0.6
    assert row.margin is not None
    assert row.margin.value == pytest.approx(margin[0], rel=1e-9)
    low, high = np.percentile(margin, [5, 95], method="nearest")
    assert (row.margin.low, row.margin.high) == pytest.approx((low, high), rel=1e-9)
    assert row.sure == np.mean(margin >= 1 / 1.01)


def test_another_hard_material_is_bitten_by_the_same_gears() -> None:
    """What the test told of the grip holds for PETG too; TPU is bitten deeper."""
    report = grip_report(weighed("flow-test.csv"), "extruder", materials=["petg", "tpu-95a"])
    plain = grip_report(weighed(), "extruder", materials=["petg", "tpu-95a"])
    rows, before = (
        {row.material: row for row in one.rows if row.gears == AS_IT_IS} for one in (report, plain)
    )

    assert len(rows) == 3
    assert rows["petg"].engaged_area == rows["pla"].engaged_area
    deeper = rows["tpu-95a"].engaged_area.value / rows["pla"].engaged_area.value
    assert deeper == pytest.approx(0.25 / 0.15, rel=0.2)
    for material in ("petg", "tpu-95a"):
        assert rows[material].grip != before[material].grip
