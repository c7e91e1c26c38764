"""Force against flow: its lines cross where the flow limits lie."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from advisor.curves.force import force_report, motor_forces, needed_force
from advisor.facts.graph import FactBook
from advisor.lint.check import CheckedConfig

LONG = {"hotend.melt_length": 19.6, "hotend.split_length": 4.9, "hotend.channels": 3.0}
CROSSINGS = (
    ("standard zone", {}, "9.796 11.492 9.681 12.690 16.149"),
    ("split nozzle", LONG, "23.040 27.029 22.771 29.847 37.982"),
    ("PETG", {"filament.material": "petg", "hotend.temperature": 240.0},
     "12.268 14.392 11.061 14.593 18.647"),
    ("0.2 mm nozzle", {"nozzle.diameter": 0.2}, "7.548 9.774 7.387 11.225 15.139"),
)  # fmt: skip


@pytest.mark.parametrize(("changes", "flows"), [row[1:] for row in CROSSINGS],
                         ids=[row[0] for row in CROSSINGS])  # fmt: skip
def test_the_lines_cross_where_an_independent_computation_has_the_limits(
    machine: Callable[..., FactBook], changes: dict[str, object], flows: str
) -> None:
    """Crossings of the reported lines, found by scipy between their places, agree to 0.5 %.

    The limits were computed apart from this code from the closed forms (conduction into a
    cylinder: Carslaw and Jaeger; columns: Johnson and Euler).
    """
    report = force_report("extruder", machine(changes))
    assert report.needed is not None
    assert report.usable is not None
    assert report.stall is not None
    assert report.grip_usable is not None
    assert report.grip is not None
    assert report.buckling is not None
    needed = CubicSpline(report.flows, report.needed.value)
    count = len(report.flows)
    lines = (
        report.usable.value,
        report.stall.value,
        (report.grip_usable.value,) * count,
        (report.grip.value,) * count,
        (report.buckling.value,) * count,
    )
    for line, flow in zip(lines, map(float, flows.split()), strict=True):
        given = CubicSpline(report.flows, line)
        if flow > report.flows[-1]:
            continue
        found = brentq(lambda x, given=given: float(needed(x) - given(x)), 0.1, report.flows[-1])
        assert found == pytest.approx(flow, rel=5e-3)


@pytest.mark.parametrize("name", ["healthy", "over-driven", "soft-filament", "no-sheet"])
def test_at_a_flow_limit_push_and_need_are_level_in_every_likely_machine(
    checked: Callable[..., CheckedConfig], name: str
) -> None:
    """Torque and skip, over the whole ensemble and not only nominally."""
    book = checked(name).books["extruder"]
    for limit, which in (("flow.torque", 0), ("flow.skip", 1)):
        flow = np.asarray(book.samples(limit))[:, None]
        inside = np.isfinite(flow) & (flow > 0)
        needed = needed_force(book, np.where(inside, flow, 1e-9))
        given = motor_forces(book, np.where(inside, flow, 1e-9))[which]
        assert inside.any()
        np.testing.assert_allclose(needed[inside], given[inside], rtol=1e-6)


def test_the_axis_holds_what_is_near_the_capacity_and_not_the_heater(
    checked: Callable[..., CheckedConfig],
) -> None:
    """A heater that would do for 80 mm3/s does not squeeze the picture."""
    report = force_report("extruder", checked("healthy").books["extruder"])
    assert report.capacity is not None
    assert report.heater is not None
    assert report.capacity.high < report.flows[-1] < report.heater.value


def test_bands_hold_their_value_and_needs_rise(checked: Callable[..., CheckedConfig]) -> None:
    """5th percentile, nominal, 95th percentile in order; more flow needs more push."""
    report = force_report("extruder", checked("no-sheet").books["extruder"])
    for line in (report.needed, report.usable, report.stall):
        assert line is not None
        low, value, high = map(np.asarray, (line.low, line.value, line.high))
        assert (low <= value + 1e-9).all()
        assert (value <= high + 1e-9).all()
    assert report.needed is not None
    assert (np.diff(report.needed.value) > 0).all()


def test_what_is_not_known_is_said(machine: Callable[..., FactBook]) -> None:
    """Without gears there is no motor force; the sentence names what is lacking."""
    book = machine({"drive.rotation_distance": None, "drive.gear_ratio": None})
    report = force_report("extruder", book, {"drive.travel_per_motor_turn": "filament per turn"})
    assert report.flows == ()
    assert "filament per turn" in report.lacking[0]
