"""Torque against speed and the operating points, against independent figures and identities."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from tiers import examples, only_wide, wide

from advisor.answers.checked import CheckedConfig
from advisor.answers.curves.points import available, operating_points, points_of, torques
from advisor.answers.curves.torque import torque_report
from advisor.machine.graph import FactBook

WARM = {
    "motor.winding_temperature": 70.0,
    "driver.path_resistance": 0.45,
    "motor.usable_share": 0.7,
    "motion.retract_length": 20.0,
    "model.guide_force": 0.0,
    "model.retract_drag": 0.0,
    "drive.gear_inertia": 2.0,
}
MOTOR_A = {
    "motor.working_current": 0.5507, "motor.rotor_inertia": 10.0, "drive.gear_efficiency": 0.90,
}  # fmt: skip
MOTOR_C = {
    "motor.rated_current": 1.68, "motor.holding_torque": 0.4, "motor.resistance": 1.65,
    "motor.inductance": 3.2, "motor.detent_torque": 18.0, "motor.working_current": 0.9391,
    "motor.rotor_inertia": 54.0, "drive.gear_ratio": 50 / 17, "drive.rotation_distance": 22.7,
    "drive.gear_efficiency": 0.95,
}  # fmt: skip
BUDGETS = (  # changes, V, mm/s, m/s2; turns/s, pull-out, acceleration torque, left for the load
    (MOTOR_A, 24.0, 10.0, 0.374, 2.0170, 0.05507, 0.00048, 0.03457),
    (MOTOR_A, 24.0, 60.0, 5.0, 12.1019, 0.05507, 0.00635, 0.02870),
    (MOTOR_C, 24.0, 8.3, 0.374, 1.0754, 0.22360, 0.00165, 0.14227),
    (MOTOR_C, 12.0, 60.0, 5.0, 7.7740, 0.19219, 0.02208, 0.09985),
)


@pytest.mark.parametrize("row", BUDGETS)
def test_the_budget_of_a_retract_agrees_with_an_independent_computation(
    machine: Callable[..., FactBook], row: tuple[dict[str, float], float, *tuple[float, ...]]
) -> None:
    """Pull-out torque by the phasor form (Acarnley, Stepping Motors), reflected inertia, margin."""
    motor, voltage, speed, accel, turns, pull_out, effort, load = row
    book = machine({
        **WARM, **motor, "supply.voltage": voltage, "motion.retract_speed": speed,
        "motion.max_extrude_only_accel": accel * 1e3,
    })  # fmt: skip
    point = next(x for x in points_of(book) if x.name == "retract")
    found = torques(book, point)
    detent = float(np.ravel(book.samples("motor.detent_torque"))[0])
    assert point.speed[0, 0] == pytest.approx(turns, rel=1e-4)
    assert found.skip[0, 0] + detent == pytest.approx(pull_out, rel=2e-4)
    assert found.needed[0, 0] == pytest.approx(effort, abs=6e-6)  # to the digits given
    assert found.usable[0, 0] - found.needed[0, 0] == pytest.approx(load, rel=1e-3)


@pytest.mark.parametrize("name", ["healthy", "over-driven", "asks-too-much", "no-sheet"])
def test_points_agree_with_the_facts_the_rules_judge_by(
    checked: Callable[..., CheckedConfig], name: str
) -> None:
    """A retract needs more than there is where its pull available is below its load."""
    book = checked(name).books["extruder"]
    points = {point.name: point for point in points_of(book)}
    pairs = (("retract", "motion.retract"), ("extrude-only", "motion.extrude_only"))
    for point, fact in pairs:
        force, load = (book.samples(f"{fact}_{end}") for end in ("force", "load"))
        if point not in points or force is None:
            continue
        found = torques(book, points[point])
        short = np.broadcast_to(found.needed > found.usable, (2048, 1))[:, 0]
        np.testing.assert_array_equal(short, np.broadcast_to(np.asarray(force) < load, (2048,)))


def test_at_the_torque_limit_a_feed_needs_all_that_is_usable(
    machine: Callable[..., FactBook],
) -> None:
    """And at the flow where the motor skips, all there is."""
    for limit, which in (("flow.torque", "usable"), ("flow.skip", "skip")):
        book = machine()
        points = points_of(book, asked=book.samples(limit))
        found = torques(book, next(x for x in points if x.name == "asked"))
        np.testing.assert_allclose(found.needed, getattr(found, which), rtol=1e-6)


@settings(max_examples=examples(8, 25, 25), deadline=None)
@given(volts=st.floats(6.0, 60.0), more=st.floats(1.0, 2.0), turns=st.floats(0.0, 80.0))
def test_more_voltage_never_takes_torque(
    volts: float, more: float, turns: float, machine_of: Callable[..., FactBook]
) -> None:
    """Identity of the closed form: torque never falls with the supply, never rises with speed."""
    low, high = (machine_of({"supply.voltage": v}) for v in (volts, volts * more))
    speed = np.array([[turns, turns + 1.0]])
    at_low, at_high = (available(book, speed)[1] for book in (low, high))
    assert (at_high >= at_low - 1e-9).all()
    assert (at_low[:, 1] <= at_low[:, 0] + 1e-9).all()


@pytest.fixture(scope="module")
def machine_of(request: pytest.FixtureRequest) -> Callable[..., FactBook]:
    """The machine fixture for a whole module, as hypothesis asks for."""
    from advisor.base import Fact, Origin, OriginKind
    from advisor.base.units import parse_unit
    from advisor.catalog import load_catalog
    from advisor.machine.assemble import ExtruderInputs, build_facts
    from tests.facts.conftest import MACHINE

    catalog = load_catalog()

    def made(changes: dict[str, object]) -> FactBook:
        stated = {}
        for name, value in {**MACHINE, **changes}.items():
            unit = catalog.facts[name].unit
            samples = value if isinstance(value, str) else parse_unit(unit).to_si(value)
            stated[name] = Fact.of(name, unit, samples, origin=Origin(OriginKind.SHEET))
        return build_facts(ExtruderInputs("extruder", stated), catalog)

    return made


def test_a_report_has_lines_of_one_length_in_trade_units(
    checked: Callable[..., CheckedConfig],
) -> None:
    """Bands in order, the axis past the fastest point, the need inside the picture."""
    report = torque_report(checked("healthy"), "extruder")
    assert report.usable is not None
    assert report.skip is not None
    assert report.needed is not None
    for line in (report.usable, report.skip, report.needed):
        assert len(line.value) == len(line.low) == len(line.high) == len(report.speeds)
    assert all(a <= b <= c for a, b, c in zip(report.skip.low, report.skip.value,
                                              report.skip.high, strict=True))  # fmt: skip
    assert report.speeds[-1] > max(point.motor_speed.value for point in report.points)
    assert 2 <= report.needed_count < len(report.speeds)
    standstill = checked("healthy").books["extruder"].samples("motor.standstill_torque")
    detent = checked("healthy").books["extruder"].samples("motor.detent_torque")
    most = float(np.ravel(standstill)[0] - np.ravel(detent)[0]) * 1e3
    assert report.skip.value[0] == pytest.approx(most, rel=1e-6)


@wide
@only_wide
def test_only_what_is_asked_decides(checked: Callable[..., CheckedConfig]) -> None:
    """A modest ask is enough though the extrude-only limits alone would not be."""
    modest = torque_report(checked("healthy", "8mm3/s"), "extruder")
    assert modest.enough is True
    assert {x.name for x in modest.points if x.asked} == {"asked", "advance", "retract"}
    greedy = torque_report(checked("healthy", "30mm3/s"), "extruder")
    assert greedy.enough is False
    assert "melt zone" in greedy.remarks[0]


def test_a_machine_without_gears_says_so(machine: Callable[..., FactBook]) -> None:
    """No travel per motor turn: no operating point."""
    book = machine({"drive.rotation_distance": None, "drive.gear_ratio": None})
    assert operating_points(machine(), points_of(book)) == ()
