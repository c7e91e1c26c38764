"""What a fact hangs on: stated, assumed, modelled, defaulted; and what stands where."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from held import held

from advisor.base import Fact, OriginKind, State
from advisor.catalog import Catalog
from advisor.inputs.dialect import load_dialect
from advisor.machine.assemble import ExtruderInputs, build_facts, merge_stated
from advisor.machine.graph import FactBook

Nominal = Callable[[FactBook, str], float]
Machine = Callable[..., FactBook]


def test_a_stated_machine_hangs_on_no_assumption(machine: Machine) -> None:
    """With machine and material stated, capacity hangs on the model alone."""
    capacity = machine().facts["flow.capacity"]
    assert capacity.trace.assumed == frozenset()
    assert "model.reference_force" in capacity.trace.modelled


@pytest.mark.parametrize(
    ("left_out", "named"),
    [
        ("hotend.melt_length", "hotend.melt_length"),
        ("motor.holding_torque", "motor.holding_torque"),
        ("motor.rated_current", "motor.rated_current"),
        ("filament.material", "filament.material"),
        ("hotend.temperature", "hotend.temperature"),
        ("nozzle.diameter", "nozzle.diameter"),
        ("drive.driven_gears", "drive.driven_gears"),
    ],
)
def test_what_nobody_states_is_named(machine: Machine, left_out: str, named: str) -> None:
    """Leaving out a part of the machine makes capacity hang on it."""
    assert named in machine({left_out: None}).facts["flow.capacity"].trace.assumed


def test_a_stated_class_is_no_assumption_but_its_rating_is(machine: Machine) -> None:
    """Ratings differ too much within a class to be taken from it."""
    book = machine(
        {"motor.class": "round-36", "motor.holding_torque": None, "motor.rated_current": None}
    )
    assert book.facts["motor.holding_torque"].trace.assumed == frozenset()
    assert book.facts["motor.rated_current"].trace.assumed == {"motor.rated_current"}


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [(9.5, "round-36"), (50 / 17, "square-42-short"), (1.0, "square-42-long")],
)
def test_the_gear_ratio_suggests_a_motor(machine: Machine, ratio: float, expected: str) -> None:
    """Without a class: 4 and more a round motor, less a short one, below 2 a long one."""
    book = machine({"drive.gear_ratio": ratio})
    assert held(book.facts["motor.class"]) == expected
    assert book.facts["motor.class"].origin.kind is OriginKind.CATALOGUE


def test_without_a_run_current_the_motor_is_taken_to_run_derated(
    machine: Machine, nominal: Nominal
) -> None:
    """The figure is there, and says what it hangs on."""
    book = machine({"motor.run_current": None})
    assert nominal(book, "motor.working_current") == pytest.approx(0.5657, abs=1e-4)
    assert "motor.run_current" in book.facts["motor.working_current"].trace.assumed
    assert "motor.run_current" in book.facts["flow.torque"].trace.assumed


def test_an_unreadable_value_is_never_replaced(
    catalog: Catalog, state: Callable[..., Fact]
) -> None:
    """A rotation distance that is no number leaves torque unknown, not reckoned with a guess."""
    broken = Fact("drive.rotation_distance", state=State.UNREADABLE)
    nozzle = Fact("nozzle.diameter", state=State.UNREADABLE)
    stated = {fact.name: fact for fact in (broken, nozzle, state("drive.gear_ratio", 5.0))}
    book = build_facts(ExtruderInputs("extruder", stated), catalog)
    assert book.facts["flow.torque"].state is State.UNREADABLE
    assert book.facts["nozzle.diameter"].state is State.UNREADABLE


def test_a_default_counts_as_known_unless_an_include_is_missing(
    catalog: Catalog, state: Callable[..., Fact]
) -> None:
    """The firmware applies it; but a setting in a missing file would replace it."""
    keys = [key for role in load_dialect().roles.values() for key in role.keys.values()]
    wanted = ("motor.full_steps", "motion.max_cross_section")
    defaults = {
        key.fact: key.default for key in keys if key.fact in wanted and key.default is not None
    }
    stated = {"nozzle.diameter": state("nozzle.diameter", 0.5)}
    whole = build_facts(ExtruderInputs("e", stated, defaults), catalog)
    holed = build_facts(ExtruderInputs("e", stated, defaults, incomplete=True), catalog)
    assert whole.facts["motor.full_steps"].origin.kind is OriginKind.DEFAULT
    assert whole.facts["motor.full_steps"].trace.assumed == frozenset()
    assert holed.facts["motor.full_steps"].trace.assumed == {"motor.full_steps"}
    assert np.ravel(whole.facts["motion.max_cross_section"].number.si)[0] == pytest.approx(1e-6)


def test_the_first_layer_wins_and_known_beats_unknown(state: Callable[..., Fact]) -> None:
    """Precedence of what is stated."""
    missing = Fact("nozzle.diameter", state=State.MISSING)
    first, second = state("nozzle.diameter", 0.4), state("nozzle.diameter", 0.6)
    assert merge_stated({"n": missing}, {"n": second})["n"] is second
    assert merge_stated({"n": first}, {"n": second})["n"] is first


def test_a_band_in_the_sheet_becomes_samples(catalog: Catalog, state: Callable[..., Any]) -> None:
    """``0.09..0.14 N m`` keeps its spread in the answer."""
    band = Fact.of("motor.holding_torque", "N m", (0.09, 0.115, 0.14))
    book = build_facts(ExtruderInputs("e", {"motor.holding_torque": band}), catalog)
    samples = held(book.facts["motor.holding_torque"])
    assert samples[0] == 0.115
    assert (samples.min(), samples.max()) == pytest.approx((0.09, 0.14), abs=1e-4)


def test_an_old_style_config_has_a_capacity_with_a_wider_band(
    machine: Machine, nominal: Nominal
) -> None:
    """With a step distance alone, size and stages of the gears are assumed, the travel is exact."""
    book = machine(
        {
            "drive.rotation_distance": None,
            "drive.gear_ratio": None,
            "drive.stages": None,
            "drive.step_distance": 0.002404,
        }
    )
    assert nominal(book, "drive.travel_per_motor_turn") == pytest.approx(0.002404 * 200 * 16)
    assert nominal(book, "flow.capacity") > 0.0
    assert "drive.gear_radius" in book.facts["flow.grip"].trace.modelled
