"""The safe current: what practice sets, how few motors are above a limit, the same for everyone.

The shares are counted by the bench of the study beside (`tests/studies/safe_current.py`), which
shares no code with the chain.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tiers import WIDE, spread, wide

from advisor.answers.derate_motor import derate
from advisor.base import Fact, Origin, OriginKind
from advisor.catalog import load_catalog
from advisor.machine.assemble import ExtruderInputs, build_facts
from advisor.machine.ensemble import nominal_of, plausible
from advisor.machine.graph import FactBook
from advisor.machine.set_current import exceeded

sys.path.insert(0, str(Path(__file__).parent.parent / "studies"))

import safe_current

MOTORS = safe_current.RATINGS if WIDE else safe_current.RATINGS[:1]
ROUND = {"motor.class": "round-36", "motor.rated_current": 1.0, "motor.rating_basis": "peak"}


def book_of(facts: Mapping[str, Any], size: int | None = None) -> FactBook:
    """The facts of a motor; None for the fixed ensemble."""
    catalog = load_catalog()
    stated = {
        name: Fact.of(name, catalog.facts[name].unit, value, origin=Origin(OriginKind.COMMAND))
        for name, value in {**ROUND, **facts}.items()
    }
    ensemble = None if size is None else plausible(size)
    if size == 1:
        ensemble = nominal_of(plausible())
    return build_facts(ExtruderInputs("extruder", stated), catalog, ensemble)


def typical(book: FactBook, name: str) -> float:
    return float(np.ravel(book.samples(name))[0])


@pytest.mark.parametrize("basis", ["peak", "unsure"])
def test_the_currents_of_the_trade(basis: str) -> None:
    """A 36 mm pancake of 1.0 A: 0.56 A on metal; 0.40 to 0.56 A on ABS or ASA in a warm chamber.

    Common practice, no source.
    """
    metal = derate("1.0A", basis=basis, mount="metal", ambient="25degC")
    assert metal.set_current == 0.56
    for mount in ("abs", "asa"):
        warm = derate("1.0A", basis=basis, mount=mount, ambient="45degC")
        assert warm.set_current is not None
        assert 0.40 <= warm.set_current <= 0.56
        assert warm.governed_by == "mount"


def test_what_the_rating_means_counts_for_heat() -> None:
    """RMS says that the full rating heats to the rated rise, a peak that 0.707 of it does."""
    rms, peak, unsure = (
        derate("1.0A", basis=basis, mount="petg", ambient="40degC").limits["winding"].value
        for basis in ("rms", "peak", "unsure")
    )
    assert unsure == peak < 0.95 * rms


def test_the_heat_stays_within_what_the_surface_allows() -> None:
    """A 36 mm round motor on a printed mount: 20 to 33 K/W, whatever its rating says.

    30.5 cm2 at 10 to 15 W/(m2 K), free convection with radiation (from memory).
    """
    for rated in (0.5, 1.0, 2.0):
        for basis in ("rms", "peak"):
            facts = {
                "motor.rated_current": rated, "motor.rating_basis": basis, "drive.mount": "abs",
                "motor.resistance": 2.4,
            }  # fmt: skip
            found = np.ravel(book_of(facts).samples("motor.thermal_resistance"))
            assert 20.0 <= found.min() <= found.max() <= 33.0


def test_a_published_case_temperature_is_within_reach() -> None:
    """A bare 42 mm motor of unknown rating at 0.707 A RMS in 14 degC air: case at 52 degC.

    Published on a workshop's blog (softsolder.com, machine shop). "Bare" is a mount that carries no
    heat away; the two full-size classes stand for the unknown rating.
    """
    cases = [
        np.ravel(
            book_of(
                {
                    "motor.class": name, "motor.rated_current": rated, "drive.mount": "pc",
                    "motor.rating_basis": "unsure", "ambient.motor": 287.15,
                    "motor.run_current": 0.707,
                }
            ).samples("motor.case_temperature")
        )
        - 273.15
        for name, rated in (("square-42-short", 1.0), ("square-42-long", 1.68))
    ]  # fmt: skip
    low, high = min(case.min() for case in cases), max(case.max() for case in cases)
    assert low < 52.0 < high
    assert abs(float(np.median(np.concatenate(cases))) - 52.0) < 15.0


def test_a_published_gear_temperature_is_within_reach() -> None:
    """A gear at 45 degC on the shaft of a motor at 52 degC, in a room of 20 to 28 degC.

    An owner's issue report of 2018; the room is not told.
    """
    single = load_catalog().category("drives")["single"].numbers["drive.gear_heat_share"]
    for room in (20.0, 28.0):
        assert single.low <= (45.0 - room) / (52.0 - room) <= single.high


def test_over_driven_motors_reach_the_published_case_temperatures() -> None:
    """Cases of 88 to 91 degC, then no torque, on over-driven full-size motors.

    Owners' reports: a forum in 2015; wp.realraum.at, tag firmware, 2016 (within 10 to 15 minutes).
    Neither current nor rating nor mount is told: here the whole rating, an RMS value, on metal.
    """
    for name, rated in (("square-42-short", 1.0), ("square-42-long", 1.68)):
        facts = {
            "motor.class": name, "motor.rated_current": rated, "motor.rating_basis": "rms",
            "motor.run_current": rated, "drive.mount": "metal", "ambient.motor": 298.15,
        }  # fmt: skip
        case = np.ravel(book_of(facts).samples("motor.case_temperature")) - 273.15
        assert case.min() < 88.0
        assert case.max() > 91.0


@pytest.fixture(scope="module")
def grid() -> list[safe_current.Row]:
    return list(safe_current.rows(count=8000, motors=MOTORS))


@wide
def test_few_motors_are_above_a_limit(grid: list[safe_current.Row]) -> None:
    """At most 1 in 10 above the winding's, 1 in 20 above the mount's own, anywhere on the grid.

    8000 motors each tell 5 % to a quarter of a percent (one standard deviation).
    """
    assert len(grid) == len(MOTORS) * 3 * 7 * 3
    assert max(row.winding for row in grid) <= 0.10 + 0.005
    assert max(row.case for row in grid) <= 0.05 + 0.005
    assert max(row.winding for row in grid) > 0.07  # and no more careful than promised
    assert max(row.case for row in grid) > 0.03


def test_everyone_is_told_the_same_current() -> None:
    """However many machines are asked for, and whether with or without a driver."""
    warm = {"drive.mount": "asa", "ambient.motor": 318.15, "driver.chip": "tmc2209"}
    names = ("derated_current", "set_current", "current_for_winding", "current_for_mount")
    told = {
        size: [typical(book_of(warm, size), f"motor.{name}") for name in names]
        for size in (None, 1, 64, 2048, 3000)
    }
    assert len({tuple(values) for values in told.values()}) == 1


def test_the_filament_sets_no_current() -> None:
    """PLA in a warm chamber is a warning of its own; the mount sets the current, as with ABS."""
    warm = {"mount": "petg", "ambient": "45degC"}
    pla, abs_ = (derate("1.0A", material=name, **warm) for name in ("pla", "abs"))
    assert pla.set_current == abs_.set_current
    assert pla.governed_by == "mount"
    assert "filament" not in pla.limits
    assert pla.gear_temperature is not None
    assert pla.filament_limit is not None
    assert pla.gear_temperature.value > pla.filament_limit.value


def test_a_mount_nobody_states_sets_no_limit() -> None:
    """It makes the motor cool less at most; a stated one can only lower the current."""
    unstated = derate("1.0A", ambient="25degC")
    assert "mount" not in unstated.limits
    assert unstated.set_current == 0.56
    for mount in ("metal", "pla", "petg", "abs", "asa", "pc"):
        stated = derate("1.0A", ambient="25degC", mount=mount).set_current
        assert stated is not None
        assert stated <= 0.56


@wide
@pytest.mark.parametrize("driver", spread([None, "tmc2209", "tmc5160", "tmc2240"], 2))
def test_nothing_set_is_above_a_limit_as_printed(driver: str | None) -> None:
    """Limits are printed in steps of 0.01 A, rounded down: so is what is set."""
    for rating in ("0.7A", "0.85A", "1.0A", "1.2A"):
        for mount in ("petg", "abs"):
            told = derate(rating, mount=mount, ambient="35degC", driver=driver)
            assert told.set_current is not None
            printed = min(math.floor(100 * one.value + 1e-7) for one in told.limits.values())
            assert round(100 * told.set_current) <= printed


SILENT = {
    "driver.chip": "tmc2209", "drive.mount": "petg", "ambient.motor": 298.15,
    "motor.run_current": 0.40, "supply.voltage": 24.0,
}  # fmt: skip


def test_in_silent_mode_its_floor_heats() -> None:
    """The shortest pulse of the voltage PWM drives 0.47 A peak into 2.4 ohm at 24 V and more.

    Formula of a driver's datasheet: blank time x PWM frequency x supply voltage / resistance.
    """
    plain, silent = (
        book_of({**SILENT, "driver.silent_threshold": speed}) for speed in (0.0, 50e-3)
    )
    floor = typical(silent, "driver.silent_low_current")
    assert floor > 0.40
    assert typical(plain, "motor.heating_current") == pytest.approx(0.40, rel=0.03)
    assert typical(silent, "motor.heating_current") == pytest.approx(floor)
    assert typical(silent, "motor.case_temperature") > typical(plain, "motor.case_temperature") + 5
    assert typical(silent, "motor.set_current") == typical(plain, "motor.set_current")


def test_a_silent_floor_beyond_a_limit_is_the_silent_modes_fault() -> None:
    """The set current is fine, so no lower one is asked for; what flows is too much."""
    silent = book_of({**SILENT, "driver.silent_threshold": 50e-3})
    assert typical(silent, "driver.silent_floor") > typical(silent, "motor.current_for_mount")
    assert silent.text("driver.silent_exceeds") == "motor mount"
    assert not silent.known("motor.exceeds")
    limit = exceeded(silent)
    assert limit is not None
    assert limit.name == "mount"
    plain = book_of({**SILENT, "driver.silent_threshold": 0.0})
    assert exceeded(plain) is None


@pytest.mark.parametrize("over", [1.0, 1.019, 1.03])
def test_a_hair_above_the_limit_is_told_to_nobody(over: float) -> None:
    """Within 2 % of the limit, or as it would be set, a current draws no finding."""
    facts = {"drive.mount": "abs", "ambient.motor": 318.15}
    most = typical(book_of({**facts, "motor.run_current": 0.3}), "motor.current_for_mount")
    book = book_of({**facts, "motor.run_current": most * over})
    assert (book.text("motor.exceeds") == "motor mount") == (over > 1.02)


def test_the_reading_to_stop_at_ends_at_the_limit() -> None:
    """A motor that reads it after 10 minutes ends an hour later where its mount softens.

    The same share of the rise of a first-order lag: 1 - exp(-t / tau), by hand for the typical one.
    """
    told = derate("1.0A", basis="peak", mount="abs", ambient="45degC")
    assert told.stop_reading is not None
    assert told.case_soon is not None
    assert told.case_later is not None
    assert told.time_constant is not None
    assert 10 * 60 < told.time_constant.value < 20 * 60  # about 15 minutes on plastic, the trade's
    assert told.case_soon.value < told.stop_reading < 92.5
    share = (told.case_soon.value - 45.0) / (told.case_later.value - 45.0)
    by_hand = 45.0 + (92.5 - 45.0) * share
    assert by_hand - 8.0 < told.stop_reading <= by_hand


def test_what_is_left_of_torque_goes_with_the_current() -> None:
    """Torque is proportional to the current below saturation (any text on step motors)."""
    told = derate("1.0A", basis="peak", mount="metal", ambient="25degC")
    assert told.torque_share == pytest.approx(0.56 * math.sqrt(2.0))
    assert told.torque_share is not None
    assert told.push_share is not None
    assert 0.9 * told.torque_share < told.push_share < told.torque_share
