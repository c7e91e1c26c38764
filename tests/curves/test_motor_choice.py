"""What a motor must have to serve: at the answer it does, a little less of it does not."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq
from tiers import spread, wide

from advisor.answers.checked import CheckedConfig
from advisor.answers.curves.needs import motor_needs
from advisor.answers.curves.points import points_of, torques
from advisor.answers.curves.torque import torque_report
from advisor.machine.graph import FactBook

SUPPLIES = (12.0, 24.0, 48.0)
FAST = {
    "motion.retract_speed": 60.0, "motion.retract_length": 5.0,
    "motion.max_extrude_only_accel": 5000.0, "motor.rotor_inertia": 10.0,
    "motor.usable_share": 2 / 3, "demand.stated_flow": 9.0,
    "motor.winding_temperature": 70.0, "driver.path_resistance": 0.45,
}  # fmt: skip


def _serves(book: FactBook) -> bool:
    """Whether every asked point lies within usable torque and the fastest in what is trusted."""
    trusted = float(np.ravel(book.samples("model.speed_share_trusted"))[0])
    for point in points_of(book):
        found = torques(book, point)
        if not point.asked:
            continue
        if found.needed[0, 0] > found.usable[0, 0] or found.speed_share[0, 0] > trusted:
            return False
    return True


@wide
@pytest.mark.parametrize("voltage", spread([12.0, 24.0, 48.0], 1))
def test_at_the_answer_a_motor_serves_and_just_beyond_it_does_not(
    machine: Callable[..., FactBook], voltage: float
) -> None:
    """Half a percent of room: it serves; one percent less torque or more inductance: not."""
    base = machine(FAST)
    need = next(x for x in motor_needs(base, points_of(base), SUPPLIES) if x.voltage == voltage)
    assert need.holding_torque is not None
    assert need.inductance is not None
    torque, inductance = need.holding_torque.value / 1e3, need.inductance.value
    detent = 5.0 * torque / 0.1

    def with_motor(more: float, less: float) -> FactBook:
        return machine({
            **FAST, "supply.voltage": voltage, "motor.holding_torque": torque * more,
            "motor.detent_torque": detent * more, "motor.inductance": inductance * less,
        })  # fmt: skip

    assert _serves(with_motor(1.002, 0.995))
    assert not _serves(with_motor(0.99, 0.995))
    assert not _serves(with_motor(1.002, 1.01))


def test_the_inductance_agrees_with_a_root_found_by_scipy(
    machine: Callable[..., FactBook],
) -> None:
    """The voltage equation of a phase at the corner speed, solved numerically.

    Source of the equation: the steady state of the two-phase motor, Acarnley, Stepping Motors,
    4th ed. (from memory): |V| = |R I + j w L I + e| with the EMF in phase with the current.
    """
    book = machine(FAST)
    need = next(x for x in motor_needs(book, points_of(book), SUPPLIES) if x.voltage == 24.0)
    assert need.holding_torque is not None
    assert need.inductance is not None
    resistance = 2.4 * (1 + 0.00393 * 50.0) + 0.45
    amplitude = math.sqrt(2.0) * 0.566
    turns = 60.0 / (47.1 / 9.5) / 0.6
    emf = 2 * math.pi * turns * need.holding_torque.value / 1e3 / math.sqrt(2.0)
    electrical = 2 * math.pi * 50 * turns

    def surplus(inductance: float) -> float:
        return abs(complex(resistance * amplitude + emf, electrical * inductance * amplitude)) - 24

    found = brentq(surplus, 0.0, 0.1)
    assert need.inductance.value == pytest.approx(found * 1e3, rel=1e-4)


def test_more_voltage_leaves_room_for_more_inductance(machine: Callable[..., FactBook]) -> None:
    """About in proportion: the corner speed of a current goes with the supply."""
    book = machine(FAST)
    low, middle, high = motor_needs(book, points_of(book), SUPPLIES)
    assert low.inductance is not None
    assert middle.inductance is not None
    assert high.inductance is not None
    assert low.inductance.value < middle.inductance.value < high.inductance.value
    assert high.inductance.value / middle.inductance.value == pytest.approx(2.0, rel=0.1)
    assert low.holding_torque == middle.holding_torque == high.holding_torque


def test_a_speed_no_motor_reaches_at_12_volt_is_said(machine: Callable[..., FactBook]) -> None:
    """Resistance and EMF alone use the supply up."""
    base = machine({**FAST, "motion.retract_speed": 400.0, "motion.retract_length": 500.0})
    need = next(x for x in motor_needs(base, points_of(base), SUPPLIES) if x.voltage == 12.0)
    assert need.inductance is None
    assert need.why_none is not None
    assert "supply" in need.why_none


def test_every_class_is_judged_at_its_own_current(
    checked: Callable[..., CheckedConfig],
) -> None:
    """A pancake at 0.57 A at most, a full-size motor at more; the stronger has the margin."""
    report = torque_report(checked("healthy", "10mm3/s"), "extruder")
    rows = {(row.motor, row.voltage): row for row in report.motors}
    assert {voltage for _, voltage in rows} == {12.0, 24.0, 48.0}
    round_, long_ = rows["round-36", 24.0], rows["square-42-long", 24.0]
    assert round_.working_current is not None
    assert long_.working_current is not None
    assert round_.working_current.value < 0.5657 < long_.working_current.value
    assert round_.margin is not None
    assert long_.margin is not None
    assert long_.margin.value > round_.margin.value
    assert round_.speed_share is not None
    assert long_.speed_share is not None
    assert long_.speed_share.value > round_.speed_share.value
    assert rows["square-42-long", 12.0].serves is False
