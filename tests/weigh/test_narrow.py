"""Weighed tests narrow the ensemble: what fits stays, what contradicts is told."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from bench import weigh
from machines import SETUP, book, flows, inputs, machine, true_machine
from tiers import spread, wide

from advisor.answers.weighed import seen_of
from advisor.base import Band, Fact, OriginKind, Span
from advisor.catalog import load_catalog
from advisor.machine import machine_of
from advisor.machine.ensemble import SIZE, plausible
from advisor.machine.graph import FactBook
from advisor.weigh import fit as weighed
from advisor.weigh.fit import Narrowing, WeighedResult
from advisor.weigh.fit_points import first_loss, log_likelihood
from advisor.weigh.pool import FittedLine, Selection
from advisor.weigh.reader import read_weighed
from advisor.weigh.reading import evaluate
from advisor.weigh.weigh_data import weigh_numbers

NUMBERS = weigh_numbers("narrowing")


def seen(knee: float, spread_: float = 0.03, **more: object) -> WeighedResult:
    """Return a test whose delivery began to fall at `knee` mm3/s."""
    draws = np.sort(knee * 1e-9 * np.exp(np.linspace(-2, 2, 400) * spread_))
    band = Band(knee * 1e-9, float(draws[20]), float(draws[380]))
    return WeighedResult(Span("t.csv", 1), knee=band, draws=draws, fastest=1.3e-9 * knee, **more)  # type: ignore[arg-type]


def narrowed(sample: str, *tests: WeighedResult) -> tuple[FactBook, Narrowing]:
    made, told = weighed.narrowed(machine(sample).plain(), tests)
    return made.book, told


def nominal(made: FactBook, name: str) -> float:
    return float(np.ravel(made.samples(name))[0])


@wide
@pytest.mark.parametrize(
    ("sample", "knee"),
    spread([("healthy", 14.8), ("healthy", 9.0), ("healthy", 12.0), ("no-sheet", 8.0),
            ("no-sheet", 24.0), ("asks-too-much", 8.0)], 1),
)  # fmt: skip
def test_the_machines_that_stay_begin_to_lose_where_it_was_seen(sample: str, knee: float) -> None:
    """Nine of ten within the knee's scatter; the band narrower; sample 0 at the knee."""
    made, told = narrowed(sample, seen(knee))
    loss = first_loss(made)
    assert loss is not None
    assert told.before is not None
    assert told.after is not None

    assert told.contradiction is None
    assert told.effective >= 450
    assert np.mean(np.abs(np.log(loss * 1e9 / knee)) < 0.09) > 0.9
    assert loss[0] * 1e9 == pytest.approx(knee, rel=0.07)
    assert told.after.high - told.after.low < 0.5 * (told.before.high - told.before.low)
    assert told.after.low <= told.after.value <= told.after.high
    assert told.narrower == pytest.approx(
        1 - (told.after.high - told.after.low) / (told.before.high - told.before.low)
    )


def test_every_fact_is_still_that_of_one_machine() -> None:
    """Formulas hold for each picked machine: the capacity is its lowest limit.

    The typical one's is held at what was weighed, where that is less.
    """
    made, _ = narrowed("healthy", seen(14.8))
    names = ("torque", "grip", "buckling", "melt", "heater")
    limits = [np.broadcast_to(made.samples(f"flow.{name}"), (SIZE,)) for name in names]

    lowest = np.min(limits, axis=0)
    np.testing.assert_array_equal(made.samples("flow.capacity")[1:], lowest[1:])
    assert nominal(made, "flow.capacity") == pytest.approx(min(lowest[0], 14.8e-9))
    assert made.samples("flow.capacity").shape == (SIZE,)


def test_inputs_of_which_the_test_says_nothing_stay_nominal() -> None:
    """Current, heat and what else no flow test can see: the same nominal values as before."""
    made, _ = narrowed("healthy", seen(18.0))
    plain = book("healthy")

    for name in ("motor.derated_current", "motor.set_current", "motor.winding_temperature",
                 "ambient.room", "hotend.heater_power", "motor.rotor_inertia"):  # fmt: skip
        assert nominal(made, name) == pytest.approx(nominal(plain, name), rel=1e-12)
    assert nominal(made, "model.grip_factor") != nominal(plain, "model.grip_factor")


def test_narrowed_flows_are_measured_and_hang_on_no_assumption() -> None:
    """Origin measured with the place of the table; what was assumed counts as part of the model."""
    made, _ = narrowed("no-sheet", seen(8.0, last_without_skips=9e-9))
    plain = book("no-sheet").facts["flow.capacity"]
    capacity, knee = made.facts["flow.capacity"], made.facts["weighed.knee"]

    assert plain.trace.assumed
    assert capacity.origin.kind is OriginKind.MEASURED
    assert capacity.origin.at == Span("t.csv", 1)
    assert not capacity.trace.assumed
    assert plain.trace.assumed <= capacity.trace.modelled
    assert knee.origin.kind is OriginKind.MEASURED
    assert nominal(made, "weighed.knee") == pytest.approx(8e-9, rel=0.01)
    assert nominal(made, "weighed.last_without_skips") == pytest.approx(9e-9)
    assert made.facts["flow.heater"].origin.kind is not OriginKind.MEASURED


def test_a_skip_bounds_the_motor_from_both_sides() -> None:
    """Carried 15 without a skip, skipped at 17: the skip limit lies between, within its scatter."""
    made, told = narrowed(
        "healthy",
        seen(14.5, carried=15e-9, delivered=15e-9, first_skip=17e-9, last_without_skips=16e-9),
    )
    skip = np.broadcast_to(made.samples("flow.skip"), (SIZE,)) * 1e9

    assert told.contradiction is None
    assert np.mean((skip > 15 * 0.93) & (skip < 17 * 1.07)) > 0.85
    low, high = np.quantile(
        np.broadcast_to(book("healthy").samples("flow.skip"), (SIZE,)), (0.05, 0.95)
    )
    assert low * 1e9 < 13
    assert high * 1e9 > 20


def test_a_test_without_a_fall_is_a_bound() -> None:
    """All delivered up to 18: what loses well below is gone, above nothing is."""
    bound = WeighedResult(Span("t.csv", 1), fastest=18e-9, delivered=18e-9, carried=18e-9)
    made, told = narrowed("healthy", bound)
    loss = first_loss(made)
    plain = first_loss(book("healthy"))
    assert loss is not None
    assert plain is not None

    assert told.contradiction is None
    assert np.mean(loss < 16e-9) < 0.02
    above, before = np.median(loss[loss > 20e-9]), np.median(plain[plain > 20e-9])
    assert above == pytest.approx(before, rel=0.05)


@pytest.mark.parametrize(("knee", "less"), [(2.0, True), (60.0, False)])
def test_a_test_that_nothing_explains_is_told_and_not_used(knee: float, less: bool) -> None:
    """The limits stay as they were, and it is said whether it delivered more or less."""
    made, told = narrowed("healthy", seen(knee))
    plain = book("healthy")
    assert told.contradiction is not None
    assert told.contradiction.expected is not None

    assert told.contradiction.less is less
    assert told.contradiction.observed == pytest.approx(knee * 1e-9, rel=0.01)
    assert told.contradiction.expected.low < 14e-9 < told.contradiction.expected.high
    assert told.after is None
    assert told.narrower is None
    if less:  # what was weighed is never overruled upward
        assert nominal(made, "flow.capacity") <= told.contradiction.observed * (1 + 1e-9)
        assert made.samples("flow.capacity").max() <= 2.0e-9 * np.exp(2 * 0.03) * (1 + 1e-9)
        assert made.facts["flow.capacity"].origin.kind is OriginKind.MEASURED
    else:
        np.testing.assert_array_equal(made.samples("flow.capacity"), plain.samples("flow.capacity"))
        assert made.facts["flow.capacity"].origin.kind is not OriginKind.MEASURED
    np.testing.assert_array_equal(made.samples("flow.grip"), plain.samples("flow.grip"))


def test_skipping_far_too_early_is_told() -> None:
    """Delivery falls where expected, but the motor skips at a third of what it can carry."""
    _, told = narrowed("soft-filament", seen(4.0, first_skip=5e-9, carried=4e-9, delivered=4.4e-9))
    assert told.contradiction is not None
    assert told.contradiction.less


def test_two_tests_that_cannot_both_be_are_told() -> None:
    """Each can be explained, but on no machine both."""
    _, told = narrowed("healthy", seen(11.0), seen(19.0))
    assert told.contradiction is not None
    assert told.contradiction.seen is None


def test_two_tests_narrow_more_than_one() -> None:
    """The same knee weighed twice is surer."""
    _, once = narrowed("healthy", seen(15.0, 0.06))
    _, twice = narrowed("healthy", seen(15.0, 0.06), seen(15.2, 0.06))
    assert once.after is not None
    assert twice.after is not None

    assert twice.after.high - twice.after.low < once.after.high - once.after.low


def test_a_test_on_another_filament_tells_of_the_machine_but_not_of_this_filament() -> None:
    """Weighed with PETG, asked about PLA: narrower than before, wider than weighed with PLA."""
    petg = Fact.of("filament.material", "", "petg")
    hot = Fact.of("hotend.temperature", "degC", 513.15)
    other = dataclasses.replace(
        seen(16.0), conditions={"filament.material": petg, "hotend.temperature": hot}
    )
    made, told = narrowed("healthy", other)
    _, same = narrowed("healthy", seen(14.8))
    plain = book("healthy")
    assert told.before is not None
    assert told.after is not None
    assert same.after is not None

    width = told.after.high - told.after.low
    assert same.after.high - same.after.low < width < told.before.high - told.before.low
    assert made.text("filament.material") == "pla"
    strength = made.samples("material.yield_strength")
    assert strength[0] == pytest.approx(nominal(plain, "material.yield_strength"))
    assert strength.std() == pytest.approx(plain.samples("material.yield_strength").std(), rel=0.1)


def test_the_same_input_gives_the_same_bytes() -> None:
    """No generator, no clock."""
    first, _ = narrowed("healthy", seen(13.0))
    second, _ = narrowed("healthy", seen(13.0))

    for name, fact in first.facts.items():
        assert fact.value == second.facts[name].value, name


def test_unknown_limits_are_left_alone() -> None:
    """A config without gears: nothing is known, nothing is narrowed, nothing fails."""
    bare = dataclasses.replace(inputs("healthy"), stated={}, defaults={})
    made, told = weighed.narrowed(machine_of(bare, load_catalog()), [seen(12.0)])

    assert told.contradiction is None
    assert told.after is None
    assert made.book.known("weighed.knee")


def test_draws_are_ensembles_of_the_same_kind() -> None:
    """Each is a Latin hypercube of its own; number 0 is the ensemble itself."""
    band = {"low": 1.0, "typical": 2.0, "high": 5.0}
    plain = plausible().spread("x", **band)
    other = plausible(number=3).spread("x", **band)
    np.testing.assert_allclose(np.sort(other[1:]), np.sort(plain[1:]))
    assert (other[1:] != plain[1:]).any()
    chosen = Selection(np.full(SIZE, 3), np.arange(SIZE), {"x": 0.75})
    picked = chosen.ensemble.spread("x", **band)
    np.testing.assert_array_equal(picked[1:], other[1:])
    assert picked[0] == pytest.approx(3.5)
    line = FittedLine({"x": 0.75}, np.linspace(0, 2, SIZE)).ensemble.spread("x", **band)
    assert (line[0], line[-1]) == (pytest.approx(2.0), pytest.approx(5.0))
    np.testing.assert_array_equal(plausible(number=0).spread("x", **band), plain)


def test_the_likelihood_is_best_where_the_machine_is_as_seen() -> None:
    """Machines that lose at the knee score near 0, others fall off on both sides."""
    plain = book("healthy")
    loss = first_loss(plain)
    logs = log_likelihood(plain, seen(14.0), NUMBERS)
    assert loss is not None
    assert logs is not None
    near = np.abs(loss * 1e9 - 14.0) < 0.2

    assert logs[near].min() > -0.5
    assert logs[(loss > 17e-9) | (loss < 11.5e-9)].max() < -5.0
    assert logs.max() <= 0.05


def test_a_true_machine_is_found_again() -> None:
    """One true machine from end to end: table, evaluation, narrowing."""
    rng = np.random.default_rng(2)
    true = true_machine("healthy", 200)
    table = read_weighed(weigh(list(flows("healthy")), true.limits, rng).encode(), "t.csv")
    _, told = narrowed("healthy", seen_of(evaluate(table, SETUP), table))
    assert told.after is not None

    assert told.after.low <= true.limits["capacity"] * 1e9 <= told.after.high
    assert machine("healthy").book.known("flow.capacity")


@wide
@pytest.mark.parametrize("knee", spread([22.0, 11.0, 14.0, 18.0, 8.0], 1))
def test_a_weighed_limit_is_never_overruled_upward(knee: float) -> None:
    """The machine's typical capacity is at most the middle of what was weighed."""
    made, _ = narrowed("healthy", seen(knee))

    assert nominal(made, "flow.capacity") * 1e9 <= knee * (1 + 1e-9)


def test_another_temperature_holds_nothing_down() -> None:
    """A test that contradicts, done 30 K cooler than asked about, is no ceiling."""
    cold = Fact.of("hotend.temperature", "degC", 463.15)
    made, told = narrowed(
        "healthy", dataclasses.replace(seen(2.0), conditions={"hotend.temperature": cold})
    )
    plain = book("healthy")

    assert told.contradiction is not None
    np.testing.assert_array_equal(made.samples("flow.capacity"), plain.samples("flow.capacity"))


def test_tests_of_other_filaments_do_not_contradict_this_one() -> None:
    """PLA that falls at 14.8 and PETG at 70: no machine does both, and PLA's own test counts."""
    petg = Fact.of("filament.material", "", "petg")
    hot = Fact.of("hotend.temperature", "degC", 513.15)
    other = dataclasses.replace(
        seen(70.0), conditions={"filament.material": petg, "hotend.temperature": hot}
    )
    _, both = narrowed("healthy", seen(14.8), other)
    _, alone = narrowed("healthy", seen(14.8))

    assert both.contradiction is None
    assert both.after == alone.after


@pytest.mark.parametrize("knee", [2.0, 11.0])
def test_what_is_made_of_the_capacity_is_held_with_it(knee: float) -> None:
    """By hand: motor speed is flow over the filament's area and its travel per turn.

    A test that contradicts (2 mm3/s) holds all machines down, one that fits the typical one.
    """
    made, told = narrowed("healthy", seen(knee))
    plain = book("healthy")
    area, travel = (made.samples(n) for n in ("filament.area", "drive.travel_per_motor_turn"))

    assert (told.contradiction is not None) == (knee < 5)
    np.testing.assert_allclose(
        made.samples("motor.capacity_speed"),
        made.samples("flow.capacity") / area / travel,
        rtol=1e-12,
    )
    speed = "motor.capacity_speed"
    assert nominal(made, speed) < nominal(plain, speed)
    if knee < 5:  # a narrowed machine at its push limit pushes as hard at a lower flow
        for name in ("force.at_capacity", "grip.share_in_use", "grip.pressure"):
            assert nominal(made, name) < nominal(plain, name), name
    assert nominal(made, "profile.cap_setting") <= nominal(made, "flow.capacity")
