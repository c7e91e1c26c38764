"""The same machine, but ...: what a changed machine shares, and that it is a fresh one's equal."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from held import held
from hypothesis import given, settings, strategies as st
from tiers import examples

from advisor.answers.asks import Asks
from advisor.answers.lint import check_config
from advisor.base import Fact, InputError, OriginKind, State
from advisor.catalog import load_catalog
from advisor.machine import LATE, Machine, each, machine_of, swept
from advisor.machine.ensemble import plausible
from advisor.machine.graph import Memory
from advisor.machine.sweep import BLOCK, renewed

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CHANGES: dict[str, Any] = {
    "motor.run_current": 0.41,
    "motor.rated_current": 0.9,
    "motor.class": "square-42-long",
    "drive.gear_ratio": 3.0,
    "drive.rotation_distance": 22e-3,
    "drive.mount": "abs",
    "hotend.melt_length": 25e-3,
    "hotend.class": "long",
    "filament.material": "petg",
    "nozzle.diameter": 0.6e-3,
    "supply.voltage": 12.0,
    "ambient.motor": 320.0,
    "motor.microsteps": 64.0,
}


@cache
def machine(sample: str, weighed: bool = False) -> Machine:
    asks = Asks(weighed=(str(SAMPLES / sample / "flow-test.csv"),) if weighed else ())
    checked = check_config(str(SAMPLES / sample / "printer.cfg"), asks)
    return next(iter(checked.machines.values()))


def same(one: Fact, other: Fact) -> bool:
    """Whether two facts are equal to the last byte, trace and all."""
    here, there = (np.asarray(held(fact)) for fact in (one, other))
    equal = np.array_equal(here, there) if here.dtype.kind != "f" else (
        here.tobytes() == there.tobytes()
    )  # fmt: skip
    bare = {"value": None}
    return equal and dataclasses.replace(one, **bare) == dataclasses.replace(other, **bare)


def fresh(changed: Machine) -> Machine:
    """The changed machine, worked out from nothing."""
    return machine_of(changed.inputs, load_catalog(), plausible())


@given(st.sampled_from(["healthy", "no-sheet", "over-driven"]),
       st.dictionaries(st.sampled_from(sorted(CHANGES)), st.booleans(), max_size=4))  # fmt: skip
@settings(max_examples=examples(4, 25, 25), deadline=None)
def test_a_changed_machine_is_a_fresh_one_to_the_last_byte(
    sample: str, chosen: dict[str, bool]
) -> None:
    """Whatever is stated otherwise, or no more: values, traces, states; in the same order."""
    changes = {name: CHANGES[name] if stated else None for name, stated in chosen.items()}
    made = machine(sample).with_(changes)
    other = fresh(made)
    assert list(made.facts) == list(other.facts)
    for name, fact in made.facts.items():
        assert same(fact, other.facts[name]), name


def test_back_again_is_the_machine_itself() -> None:
    """A change taken back gives the very facts there were, not equal ones."""
    first = machine("healthy")
    name = "hotend.melt_length"
    again = first.with_({name: 30e-3}).with_({name: first.inputs.stated.get(name)})
    assert all(again.facts[name] is fact for name, fact in first.facts.items())


@pytest.mark.parametrize(
    ("change", "new", "kept"),
    [
        ({"hotend.melt_length": 30e-3}, "flow.melt", "motor.winding_temperature"),
        ({"motor.run_current": 0.3}, "flow.torque", "flow.melt"),
        ({"nozzle.diameter": 0.6e-3}, "flow.melt", "force.grip"),
        ({"drive.bite_depth": 0.1e-3}, "force.grip", "flow.torque"),
    ],
)
def test_only_what_lies_downstream_is_new(change: dict[str, float], new: str, kept: str) -> None:
    """The rest is shared, object by object; a default or what cannot be had may follow untold."""
    first = machine("healthy")
    made = first.with_(change)
    assert made.facts[new] is not first.facts[new]
    assert made.facts[kept] is first.facts[kept]
    downstream = {*change}
    for name, fact in made.facts.items():
        follows = fact.origin.kind is OriginKind.DEFAULT or not fact.known
        if follows or downstream & set(fact.trace.inputs):
            downstream.add(name)
    different = {name for name, fact in made.facts.items() if fact is not first.facts.get(name)}
    assert different <= downstream


def test_what_is_not_wanted_is_left_out() -> None:
    """Less is worked out, and what is wanted is the same."""
    first = machine("healthy")
    part = first.with_({"hotend.melt_length": 30e-3}, wanted=("flow.melt",))
    whole = first.with_({"hotend.melt_length": 30e-3})
    assert "flow.capacity" not in part.facts
    assert same(part.facts["flow.melt"], whole.facts["flow.melt"])


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("hotend.melt_length", np.linspace(8e-3, 40e-3, 37)),
        ("motor.run_current", np.linspace(0.1, 0.6, 19)),
        ("drive.gear_ratio", np.linspace(2.0, 12.0, 5)),
        ("nozzle.diameter", np.linspace(0.2e-3, 1.0e-3, 21)),
    ],
)
def test_a_row_of_a_sweep_is_the_changed_machine(name: str, values: np.ndarray) -> None:
    """Sample by sample, across the border of a block too."""
    first, facts = machine("healthy"), ("flow.capacity", "flow.skip")
    found = swept(first, name, list(values), facts)
    assert first.ensemble.size * values.size > BLOCK or values.size < 19
    for place in (0, values.size // 2, values.size - 1):
        made = first.with_({name: float(values[place])})
        for fact in facts:
            assert found[fact].shape == (values.size, first.ensemble.size)
            np.testing.assert_allclose(found[fact][place], made.book.samples(fact), rtol=1e-12)


@pytest.mark.parametrize(
    ("name", "facts"),
    [
        ("motion.max_accel", ("motion.advance_full_share",)),
        ("motion.pressure_advance", ("motion.advance_full_share",)),
        ("motion.retract_speed", ("motion.retract_speed_share", "motion.retract_force")),
        (
            "motion.max_extrude_only_velocity",
            ("motion.extrude_only_speed_share", "motion.extrude_only_steady_force"),
        ),
        ("motion.max_extrude_only_accel", ("motion.extrude_only_force",)),
    ],
)
def test_what_hangs_on_a_setting_is_that_of_the_changed_machine(
    name: str, facts: tuple[str, ...]
) -> None:
    """At three values of it; and of what hangs on no such setting there is but one value."""
    first = machine("over-driven")
    now = first.book.nominal(name)
    assert now
    values = [now * share for share in (0.25, 0.5, 0.75)]
    found = renewed(first, name, values, (*facts, "flow.torque"))
    for place, value in enumerate(values):
        made = first.with_({name: value})
        for fact in (*facts, "flow.torque"):
            assert found[fact][place, 0] == pytest.approx(made.book.nominal(fact), rel=1e-12)
    assert np.unique(found[facts[0]]).size == len(values)
    assert np.unique(found["flow.torque"]).size == 1
    assert renewed(first, name, values, ["weighed.clean_flow"]) == {}


def test_a_sweep_of_nothing_and_of_what_is_not_known() -> None:
    """No rows, and no fact that cannot be had."""
    assert swept(machine("healthy"), "hotend.melt_length", [], ["flow.capacity"])[
        "flow.capacity"
    ].shape == (0, 2048)
    assert swept(machine("healthy"), "hotend.melt_length", [0.01], ["demand.asked_flow"]) == {}


def test_the_nominal_machine_alone_is_sample_0() -> None:
    """Of the weighed one too."""
    for one in (machine("healthy"), machine("healthy", weighed=True)):
        alone = one.nominal()
        for limit in ("melt", "grip", "torque"):
            expected = np.ravel(one.book.samples(f"flow.{limit}"))[0]
            assert alone.book.samples(f"flow.{limit}") == pytest.approx(expected, rel=1e-12)


def test_another_build_of_a_weighed_machine_draws_anew_what_its_class_settles() -> None:
    """And nothing else."""
    weighed = machine("healthy", weighed=True)
    other = weighed.with_({"motor.class": "square-42-long", "motor.holding_torque": None})
    plain = weighed.plain().with_({"motor.class": "square-42-long", "motor.holding_torque": None})
    for name, like in (("motor.holding_torque", plain), ("model.melt_factor", weighed)):
        np.testing.assert_array_equal(other.book.samples(name), like.book.samples(name))


def test_a_misspelt_fact_is_refused_with_a_hint() -> None:
    """When asked for, and when changed."""
    for ask in (
        lambda: machine("healthy").with_({"hotend.melt_lenght": 1e-2}),
        lambda: machine("healthy").fact("hotend.melt_lenght"),
    ):
        with pytest.raises(InputError, match=r"melt_lenght.*melt_length"):
            ask()
    assert machine("healthy").fact("macro.distance").state is State.MISSING


def test_the_memory_forgets_the_oldest_first_and_bears_it() -> None:
    """However little is remembered, what comes out is right."""
    few = Memory(most=0)
    made = [
        few.once(("x", i), None, lambda i=i: Fact.of("x", "", np.full(8, float(i))))
        for i in range(400)
    ]
    assert len(few.held) == 320
    assert few.once(("x", 399), None, lambda: made[0]) is made[399]
    assert few.once(("x", 0), None, lambda: made[1]) is made[1]


@pytest.mark.parametrize("sample", ["healthy", "no-sheet", "over-driven"])
@pytest.mark.parametrize("name", sorted(LATE))
def test_a_machine_of_a_sweep_is_the_changed_machine_to_the_last_byte(
    sample: str, name: str
) -> None:
    """Every fact asked for, across the border of a block; what hangs on no other is shared."""
    first, values = machine(sample), [0.005 + 0.002 * i for i in range(19)]
    asked = ("flow.capacity", "flow.skip", "force.at_capacity", "motion.retract_load")
    found = list(each(first, name, values, asked))
    assert len(found) == len(values) > BLOCK // first.ensemble.size
    for value, made in zip(values, found, strict=True):
        other = first.with_({name: value}, wanted=asked)
        shared = {n for n, fact in other.facts.items() if n not in LATE and n in made.facts}
        assert set(asked) <= shared
        assert all(same(made.facts[n], other.facts[n]) for n in shared)
        assert not {n for n in other.facts if n not in made.facts} & set(asked)
        assert held(made.fact(name)) == value
