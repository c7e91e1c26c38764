"""The whole check, from text to answer, moves the way the physics does.

No reference values: each claim is an ordering that holds for any machine (torque of a stepper
grows with its current below saturation, J. Kenjo, Stepping Motors; a longer heated length melts
more, J. P. Holman, Heat Transfer; a hotter surrounding leaves a motor less room, IEC 60034-1).
Equal within 1e-9 counts as not lower. Every sample of the ensemble is compared, not the nominal
machine alone: the ensemble is paired.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st
from tiers import LONG, only_wide, wide

from advisor import Asks, Level
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check_config

few = settings(
    max_examples=150 if LONG else 4,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
CONFIG = """\
[printer]
kinematics: corexy
max_velocity: 300
max_accel: 4000
[extruder]
rotation_distance: {distance}
gear_ratio: {ratio}
microsteps: 16
nozzle_diameter: {nozzle}
filament_diameter: 1.75
max_temp: 300
pressure_advance: 0.03
[tmc2209 extruder]
run_current: {current:.3f}
sense_resistor: 0.110
"""
SHEET = """\
motor: {{class: {motor}, rated_current: {rated:.2f} A, rating_basis: peak}}
drive: {{driven_gears: 2, free_gap: {gap:.2f} mm, mount: {mount}}}
hotend: {{melt_length: {length:.2f} mm, heater_power: 60 W}}
filament: {{material: {material}, temperature: 235 degC}}
supply: {{voltage: {voltage:.1f} V}}
chamber: {chamber:.1f} degC
asked: {asked:.1f} mm3/s
"""
machines = st.fixed_dictionaries(
    {
        "distance": st.sampled_from((22.68, 26.36, 37.2, 47.09)),
        "ratio": st.sampled_from(("50:17", "7.5:1", "54:16", "1517:170", "44:10", "9:1")),
        "nozzle": st.sampled_from((0.25, 0.4, 0.6, 0.8)),
        "current": st.floats(0.15, 1.0),
        "motor": st.sampled_from(("round-36", "square-42-short", "square-42-long")),
        "rated": st.floats(0.6, 1.8),
        "gap": st.floats(1.0, 12.0),
        "mount": st.sampled_from(("pla", "petg", "abs", "metal")),
        "length": st.floats(8.0, 35.0),
        "material": st.sampled_from(("pla", "petg", "tpu-95a")),
        "voltage": st.sampled_from((12.0, 24.0, 48.0)),
        "chamber": st.floats(20.0, 55.0),
        "asked": st.floats(1.0, 40.0),
    }
)
Machine = dict[str, Any]


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    """A place for the files of all examples."""
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def checked(folder: Path, machine: Machine, **changes: Any) -> CheckedConfig:
    """Write the machine down as its owner would, and check it."""
    parts = {**machine, **changes}
    config, sheet = folder / "printer.cfg", folder / "hardware.yaml"
    config.write_text(CONFIG.format(**parts), encoding="utf-8")
    sheet.write_text(SHEET.format(**parts), encoding="utf-8")
    result = check_config(str(config), Asks())
    assert not result.report.errors
    return result


def samples(result: CheckedConfig, name: str) -> Any:
    """Return a fact of the extruder, in SI units."""
    fact = result.books["extruder"].facts[name]
    assert fact.known, name
    return np.asarray(fact.number.si)


def not_lower(more: Any, less: Any) -> bool:
    """Whether `more` is nowhere below `less`, rounding aside; none is negative, some are inf."""
    return bool(np.all(more >= less * (1.0 - 1e-9)))


@few
@given(machine=machines, gain=st.floats(1.05, 1.8))
def test_more_current_is_not_less_torque_and_not_less_heat(
    folder: Path, machine: Machine, gain: float
) -> None:
    """Standstill torque and winding temperature follow the current."""
    less = checked(folder, machine)
    more = checked(folder, machine, current=machine["current"] * gain)
    for name in ("motor.standstill_torque", "motor.winding_temperature", "motor.applied_current"):
        assert not_lower(samples(more, name), samples(less, name)), name
    assert np.array_equal(samples(more, "flow.melt"), samples(less, "flow.melt"))


@few
@given(machine=machines, gain=st.floats(1.02, 2.0))
def test_a_longer_melt_zone_melts_not_less(folder: Path, machine: Machine, gain: float) -> None:
    """And what the motor carries does not fall either: longer heating is softer filament."""
    less = checked(folder, machine)
    more = checked(folder, machine, length=machine["length"] * gain)
    assert not_lower(samples(more, "flow.melt"), samples(less, "flow.melt"))
    assert np.array_equal(
        samples(more, "motor.derated_current"), samples(less, "motor.derated_current")
    )


@wide
@only_wide
@few
@given(machine=machines, hotter=st.floats(0.5, 30.0))
def test_a_hotter_chamber_leaves_not_more_current(
    folder: Path, machine: Machine, hotter: float
) -> None:
    """Neither derated nor set current rises, and the winding is not cooler."""
    cool = checked(folder, machine)
    hot = checked(folder, machine, chamber=machine["chamber"] + hotter)
    name = "motor.derated_current"
    assert not_lower(samples(cool, name), samples(hot, name))
    name = "motor.winding_temperature"
    assert not_lower(samples(hot, name), samples(cool, name))


@few
@given(machine=machines, gain=st.floats(1.05, 3.0))
def test_a_longer_gap_folds_not_later(folder: Path, machine: Machine, gain: float) -> None:
    """Euler and Johnson columns both weaken with their length."""
    short = checked(folder, machine)
    long = checked(folder, machine, gap=machine["gap"] * gain)
    assert not_lower(samples(short, "flow.buckling"), samples(long, "flow.buckling"))


@few
@given(machine=machines, more=st.floats(0.5, 20.0))
def test_asking_more_is_never_judged_milder(folder: Path, machine: Machine, more: float) -> None:
    """No finding on what is asked goes away or turns milder when more is asked."""
    ranks = []
    for asked in (machine["asked"], machine["asked"] + more):
        found = checked(folder, machine, asked=asked).report.findings
        told = [f.level.rank for f in found if f.rule == "flow-asked-above-limits"]
        ranks.append(max(told, default=-1))
    assert ranks[1] >= ranks[0]


@few
@given(machine=machines)
def test_no_fix_raises_a_current_above_the_derated(folder: Path, machine: Machine) -> None:
    """It is lower than what stands there, and what the driver makes of it is not above derated."""
    result = checked(folder, machine)
    derated = float(np.ravel(samples(result, "motor.derated_current"))[0])
    fixes = [f.fix for f in result.report.findings if f.fix and f.fix.setting == "run_current"]
    for fix in fixes:
        assert fix.old is not None
        assert float(fix.new) < float(fix.old)
        mended = checked(folder, machine, current=float(fix.new))
        assert np.ravel(samples(mended, "motor.working_current"))[0] <= derated * (1 + 1e-9)


@few
@given(machine=machines)
def test_capacity_is_the_lowest_limit(folder: Path, machine: Machine) -> None:
    """In every sample, not only in the nominal machine."""
    result = checked(folder, machine)
    limits = ("torque", "grip", "buckling", "melt", "heater")
    lowest = np.min(np.broadcast_arrays(*(samples(result, f"flow.{x}") for x in limits)), axis=0)
    assert np.allclose(samples(result, "flow.capacity"), lowest, rtol=1e-12)
    assert np.all(samples(result, "flow.skip") >= samples(result, "flow.torque") * (1 - 1e-9))
    assert np.all(samples(result, "flow.slip") >= samples(result, "flow.grip") * (1 - 1e-9))


@few
@given(machine=machines, asked=st.floats(1.0, 400.0))
def test_an_assumption_never_makes_an_error(folder: Path, machine: Machine, asked: float) -> None:
    """Without a sheet no ask, however high, is an error."""
    config = folder / "alone.cfg"
    config.write_text(CONFIG.format(**machine), encoding="utf-8")
    sheet = folder / "hardware.yaml"
    sheet.unlink(missing_ok=True)
    report = check_config(str(config), Asks(asked=f"{asked:.1f} mm3/s")).report
    assert [f.rule for f in report.findings if f.level is Level.ERROR] == []
