"""Other gears and other filament: as `compare` builds them, and as the flow limits count them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from curve_machines import SAMPLES
from every import every
from hypothesis import given, settings, strategies as st
from tiers import examples, only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.builds.machine import Build, changed
from advisor.answers.builds.vary import read_variation
from advisor.answers.checked import CheckedConfig
from advisor.answers.curve_records import LEVEL, GripRow
from advisor.answers.curves.grip import AS_IT_IS, grip_report
from advisor.answers.lint import check_config
from advisor.catalog import load_catalog
from advisor.machine.graph import FactBook

PULL = "drive: {measured_force: {force: 110 N, outcome: slipped}}"
GEARS = ("twin-small", "twin-medium", "twin-large")


def built(checked: CheckedConfig, change: str) -> FactBook:
    """The machine with one change, as `compare` builds it."""
    build = Build("machine", checked.machines["extruder"])
    return changed(build, read_variation(change, load_catalog())).book


def row_of(checked: CheckedConfig, material: str, gears: str) -> GripRow:
    rows = grip_report(checked, "extruder", materials=[material]).rows
    return next(row for row in rows if (row.material, row.gears) == (material, gears))


def like(row: GripRow, book: FactBook) -> None:
    """Grip and the flow at which delivery falls, with their bands, are those of `book`."""
    for band, name, scale in ((row.grip, "force.grip", 1.0), (row.grip_flow, "flow.grip", 1e9)):
        samples = np.asarray(book.samples(name)) * scale
        low, high = np.percentile(samples, [5, 95], method="nearest")
        assert band is not None
        assert (band.value, band.low, band.high) == pytest.approx(
            (samples.flat[0], low, high), rel=1e-6
        )


@pytest.fixture
def pulled(tmp_path: Path) -> CheckedConfig:
    """The healthy sample with a pull test in which the filament slipped at 110 N."""
    sheet = tmp_path / "hardware.yaml"
    sheet.write_text(f"base: {SAMPLES / 'healthy/hardware.yaml'}\n{PULL}\n", encoding="utf-8")
    asks = Asks(sheet=str(sheet), asked="12mm3/s", outside=SAMPLES / "healthy")
    return check_config(str(SAMPLES / "healthy/printer.cfg"), asks)


@every("gears", GEARS)
@every("name", ["healthy", "over-driven", "soft-filament"])
def test_gears_of_another_size_grip_as_compare_has_it(
    checked: Callable[..., CheckedConfig], name: str, gears: str
) -> None:
    """As with `--vary drive.gear_diameter`: the rotation distance that follows changes no grip."""
    config = checked(name, "8mm3/s")
    material = str(config.books["extruder"].text("filament.material"))
    row = row_of(config, material, gears)
    like(row, built(config, f"drive.gear_diameter={row.gear_diameter}mm"))


@pytest.mark.parametrize("material", ["petg", "tpu-95a", "pa6"])
def test_another_filament_is_gripped_as_compare_has_it(
    checked: Callable[..., CheckedConfig], material: str
) -> None:
    """`compare --vary filament.material=`: same strength, temperature and feed law."""
    config = checked("healthy", "8mm3/s")
    like(row_of(config, material, AS_IT_IS), built(config, f"filament.material={material}"))


def test_a_pull_test_tells_of_the_gears_and_the_filament_it_was_made_with(
    pulled: CheckedConfig,
) -> None:
    """110 N there, with no spread; everywhere else the reckoned grip with its whole band."""
    own = row_of(pulled, "pla", AS_IT_IS)
    assert (own.grip.value, own.grip.low, own.grip.high) == (110.0, 110.0, 110.0)
    like(own, pulled.books["extruder"])
    for gears in GEARS:
        row = row_of(pulled, "pla", gears)
        like(row, built(pulled, f"drive.gear_diameter={row.gear_diameter}mm"))
        assert row.grip.high > 2 * row.grip.low
    like(row_of(pulled, "petg", AS_IT_IS), built(pulled, "filament.material=petg"))
    assert "pull test" in " ".join(grip_report(pulled, "extruder").remarks)


def test_without_a_pull_test_nothing_is_said_of_one(checked: Callable[..., CheckedConfig]) -> None:
    """No remark."""
    assert grip_report(checked("healthy"), "extruder", materials=["pla"]).remarks == ()


@pytest.mark.parametrize("name", ["healthy", "over-driven", "no-sheet", "asks-too-much"])
def test_at_its_own_capacity_only_drag_marks_the_filament(
    checked: Callable[..., CheckedConfig], name: str
) -> None:
    """The capacity is never above the grip's limit: level with it, but where drag alone is more."""
    config = checked(name)
    book = config.books["extruder"]
    row = next(row for row in grip_report(config, "extruder", materials=["pla"]).rows
               if row.present)  # fmt: skip
    drag, usable = (book.samples(x) for x in ("model.guide_force", "force.grip_usable"))
    assert row.marks == np.mean(np.asarray(drag) > np.asarray(usable) * LEVEL)
    assert row.marks < 0.05
    assert row.grinds <= row.marks


@pytest.mark.parametrize("asked", ["9mm3/s", "14mm3/s", "20mm3/s"])
def test_shares_of_machines_are_those_in_which_the_flow_limits_are_passed(
    checked: Callable[..., CheckedConfig], asked: str
) -> None:
    """Marked above flow.grip, ground above flow.slip; a hundredth of push is some 0.4 % of flow."""
    config = checked("healthy", asked)
    book = config.books["extruder"]
    row = next(row for row in grip_report(config, "extruder", materials=["pla"]).rows
               if row.present)  # fmt: skip
    flow = float(asked.removesuffix("mm3/s")) * 1e-9
    marked, ground = (flow > np.asarray(book.samples(x)) for x in ("flow.grip", "flow.slip"))
    near = np.isclose(np.asarray(book.samples("flow.grip")), flow, rtol=5e-3)
    assert marked.mean() - near.mean() <= row.marks <= marked.mean()
    assert row.grinds == ground.mean()


@wide
@only_wide
@given(
    diameter=st.floats(5.5, 20.0), depth=st.floats(0.08, 0.30), gears=st.sampled_from([1, 2]),
    flow=st.floats(1.0, 15.0), material=st.sampled_from(["pla", "petg", "tpu-95a", "pc"]),
)  # fmt: skip
@settings(max_examples=examples(5, 12, 12), deadline=None)
def test_shares_are_consistent_and_a_better_bite_never_makes_them_worse(
    tmp_path_factory: pytest.TempPathFactory,
    diameter: float, depth: float, gears: int, flow: float, material: str,
) -> None:  # fmt: skip
    """Share is push over grip; a deeper bite, or more flow, moves it one way only."""

    def own(depth: float, flow: float) -> GripRow:
        sheet = tmp_path_factory.mktemp("sheets") / "hardware.yaml"
        sheet.write_text(
            f"drive: {{driven_gears: {gears}, gear_diameter: {diameter:.2f} mm, "
            f"bite_depth: {depth:.3f} mm}}\nfilament: {{material: {material}}}\n",
            encoding="utf-8",
        )
        asks = Asks(sheet=str(sheet), asked=f"{flow:.2f}mm3/s")
        report = grip_report(
            check_config(str(SAMPLES / "no-sheet/printer.cfg"), asks), "extruder",
            materials=[material],
        )  # fmt: skip
        row = next(row for row in report.rows if row.present)
        assert report.push is not None
        assert row.share.value == pytest.approx(report.push.value / row.grip.value, rel=1e-9)
        assert row.pressure.value == pytest.approx(
            report.push.value / row.engaged_area.value, rel=1e-9
        )
        return row

    base, deeper, faster = own(depth, flow), own(1.2 * depth, flow), own(depth, 1.3 * flow)
    assert 0.0 <= base.grinds <= base.marks <= 1.0
    assert base.share.low <= base.share.value <= base.share.high
    assert deeper.share.value < base.share.value < faster.share.value
    assert deeper.marks <= base.marks <= faster.marks
    assert base.grip_flow is not None
    assert deeper.grip_flow is not None
    assert deeper.grip_flow.value >= base.grip_flow.value
