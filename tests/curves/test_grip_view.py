"""The grip made visible: soft filament first, small gears first, figures of the bite."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from advisor.answers.checked import CheckedConfig
from advisor.answers.curve_records import GripReport, GripRow
from advisor.answers.curves.grip import AS_IT_IS, grip_report
from advisor.base import UsageError
from advisor.catalog import load_catalog
from advisor.machine.graph import FactBook
from advisor.physics.grip import grip_force
from advisor.report import grip_text

BITES = (  # in mm: gear radius, filament radius, bite; area in mm2; teeth of the gear, in the bite
    (4.0, 0.875, 0.15, 1.7632, 34, 2.1703 * 34 / (math.pi * 8)),
    (5.5, 0.875, 0.15, 2.0676, 40, 2.5515 * 40 / (math.pi * 11)),
    (4.0, 0.875, 0.20, 2.3510, 26, 2.4980 * 26 / (math.pi * 8)),
)


@pytest.mark.parametrize("row", BITES)
def test_bite_and_teeth_agree_with_an_independent_computation(
    machine: Callable[..., FactBook],
    nominal: Callable[[FactBook, str], float],
    row: tuple[float, ...],
) -> None:
    """Crossed cylinders at small depth, exact chord of a circle (plane geometry), one gear."""
    radius, _, depth, area, teeth, engaged = row
    book = machine({
        "drive.gear_diameter": 2 * radius, "drive.driven_gears": 1.0,
        "drive.bite_depth": depth, "drive.tooth_count": float(teeth),
    })  # fmt: skip
    assert nominal(book, "grip.engaged_area") == pytest.approx(area, rel=1e-4)
    assert nominal(book, "drive.teeth_engaged") == pytest.approx(engaged, rel=1e-4)


def test_pressure_is_push_over_bite(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """Newton over square millimetre is megapascal (SI)."""
    book = machine()
    pressure = nominal(book, "force.at_capacity") / nominal(book, "grip.engaged_area")
    assert nominal(book, "grip.tooth_pressure") == pytest.approx(pressure)
    used = nominal(book, "force.at_capacity") / nominal(book, "force.grip")
    assert nominal(book, "grip.share_in_use") == pytest.approx(used)
    assert used <= 0.7 + 1e-6


def _rows(report: GripReport, **wanted: object) -> list[GripRow]:
    return [row for row in report.rows if all(getattr(row, k) == v for k, v in wanted.items())]


@pytest.mark.parametrize("name", ["healthy", "over-driven"])
def test_soft_filament_gives_way_first_and_small_gears_first(
    checked: Callable[..., CheckedConfig], name: str
) -> None:
    """Common practice, no source; at one flow, in the same gears and of the same filament."""
    report = grip_report(checked(name, "8mm3/s"), "extruder")
    own = {row.material: row for row in _rows(report, gears=AS_IT_IS)}
    for soft, hard in (("tpu-85a", "tpu-95a"), ("tpu-95a", "pla-soft"), ("pla-soft", "pla")):
        assert own[soft].share.value > own[hard].share.value
        assert own[soft].marks >= own[hard].marks
    for material in own:
        by_size = {row.gears: row.share.value for row in _rows(report, material=material)}
        assert by_size["twin-small"] > by_size["twin-medium"] > by_size["twin-large"]
        assert by_size["single"] > by_size["twin-medium"]


def test_gears_of_another_size_bite_with_the_root_of_their_radius(
    checked: Callable[..., CheckedConfig],
) -> None:
    """Crossed cylinders: area goes with the root of the radius; twice the gears, twice the grip."""
    report = grip_report(checked("healthy", "8mm3/s"), "extruder", materials=["pla"])
    rows = {row.gears: row for row in _rows(report, material="pla")}
    here, large, single = (rows[name] for name in (AS_IT_IS, "twin-large", "single"))
    root = math.sqrt(large.gear_diameter / here.gear_diameter)
    assert large.grip.value / here.grip.value == pytest.approx(root, rel=1e-6)
    halved = math.sqrt(single.gear_diameter / here.gear_diameter) / 2
    assert single.grip.value / here.grip.value == pytest.approx(halved, rel=1e-6)


def test_the_machine_itself_is_told_as_its_limits_tell_it(
    checked: Callable[..., CheckedConfig],
) -> None:
    """Delivery falls where the flow limit says; the share of the ensemble is that of the rules."""
    config = checked("over-driven")
    report = grip_report(config, "extruder")
    own = next(row for row in report.rows if row.present)
    limit = next(x for x in config.report.extruders[0].limits if x.limit == "grip")
    assert own.grip_flow is not None
    assert own.grip_flow.value == pytest.approx(limit.flow)
    assert report.usable_share is not None
    assert own.share.value == pytest.approx(report.usable_share, rel=1e-3)


def test_only_the_materials_asked_for_stand_beside(
    checked: Callable[..., CheckedConfig],
) -> None:
    """The machine's own is always there; an unknown one is refused with a near name."""
    report = grip_report(checked("healthy"), "extruder", materials=["petg"])
    assert {row.material for row in report.rows} == {"pla", "petg"}
    with pytest.raises(UsageError, match="petg"):
        grip_report(checked("healthy"), "extruder", materials=["pegt"])


# Slip forces in N by spring balance on 3 mm stock, a hobby measurement series published in 2009:
# a 4 mm splined shaft and a 13 mm knurled wheel, on PCL, HDPE, ABS and PLA (the last one on the
# wheel: more than that). The yield strengths in MPa and the bite of 0.3 mm are from memory.
SLIPPED = {4.0: (24.5, 29.4, 49.0, 73.5), 13.0: (49.0, 98.1, 117.7, 122.6)}
YIELDS = (16.0, 26.0, 42.0, 60.0)


def test_the_band_of_the_grip_against_a_published_series() -> None:
    """Seven of the eight forces lie in the band of the grip factor; the typical figure is careful.

    The wheel on HDPE held 2.4 times the typical figure; the band ends at twice that.
    """
    model = load_catalog().model.numbers
    factor = model["model.grip_factor"]

    def force(size: float, strength: float, correction: float) -> float:
        return float(grip_force(
            driven_gears=1.0, fill=model["model.tooth_fill"].typical,
            shear_strength=model["material.shear_share"].typical * strength * 1e6,
            engagement=0.3e-3, gear_radius=size / 2e3, filament_radius=1.5e-3,
            correction=correction,
        ))  # fmt: skip

    inside = [
        force(size, strength, factor.low) <= seen <= force(size, strength, factor.high)
        for size, row in SLIPPED.items()
        for strength, seen in zip(YIELDS, row, strict=True)
    ]
    assert inside.count(True) >= 7


def test_the_text_claims_no_one_sided_error(checked: Callable[..., CheckedConfig]) -> None:
    """A known one-sided error belongs into the typical value, not into a remark."""
    report = grip_report(checked("healthy"), "extruder")
    shown = " ".join(grip_text.render(report, full=True).split())
    assert "never high" not in shown
    assert "about 20 mm\u00b3/s of hard filament" in shown
