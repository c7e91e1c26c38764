"""Force against flow: its lines cross where the flow limits lie."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import scipy
from curve_machines import SAMPLES
from every import every
from scipy.optimize import brentq
from tiers import spread, wide

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.curves.force import PLACES, force_report, motor_forces, needed_force
from advisor.answers.curves.samples import column
from advisor.answers.lint import check_config
from advisor.machine.graph import FactBook

CONFIGS = sorted(str(path.relative_to(SAMPLES)) for path in SAMPLES.rglob("*.cfg"))
LONG = {"hotend.melt_length": 19.6, "hotend.split_length": 4.9, "hotend.channels": 3.0}
CROSSINGS = (
    ("standard zone", {}, "9.794 11.492 11.065 12.690 16.149", ""),
    ("split nozzle", LONG, "20.262 23.775 22.890 26.254 33.408", ""),
    ("PETG", {"filament.material": "petg", "hotend.temperature": 240.0},
     "10.426 12.233 10.786 12.404 15.850", ""),
    ("0.2 mm nozzle", {"nozzle.diameter": 0.2}, "2.624 3.079 2.965 3.400 4.327", ""),
)  # fmt: skip


@pytest.mark.parametrize(("changes", "flows", "beyond"), [row[1:] for row in CROSSINGS],
                         ids=[row[0] for row in CROSSINGS])  # fmt: skip
def test_the_lines_cross_where_an_independent_computation_has_the_limits(
    machine: Callable[..., FactBook], changes: dict[str, object], flows: str, beyond: str
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
    needed = scipy.interpolate.CubicSpline(report.flows, report.needed.value)
    count = len(report.flows)
    lines = (
        report.usable.value,
        report.stall.value,
        (report.grip_usable.value,) * count,
        (report.grip.value,) * count,
        (report.buckling.value,) * count,
    )
    end = report.flows[-1]
    told = list(map(float, flows.split()))
    assert [flow for flow in told if flow > end] == [float(x) for x in beyond.split()]
    for line, flow in zip(lines, told, strict=True):
        if flow > end:  # by more than twice the capacity: crosses at no place of the axis
            assert all(x > y for x, y in zip(line, report.needed.value, strict=True))
            continue
        given = scipy.interpolate.CubicSpline(report.flows, line)
        found = brentq(lambda x, given=given: float(needed(x) - given(x)), 0.1, end)
        assert found == pytest.approx(flow, rel=5e-3)


@pytest.mark.parametrize(
    ("changes", "grip", "folds"),
    [({}, 76.468, 141.322), ({"filament.material": "petg"}, 61.175, 112.579),
     ({"filament.diameter": 2.85}, 97.585, 379.769)],
)  # fmt: skip
def test_levels_are_those_of_an_independent_computation(
    machine: Callable[..., FactBook], changes: dict[str, object], grip: float, folds: float
) -> None:
    """Shear over the bite of crossed cylinders, 0.7 of it usable; columns: Johnson and Euler.

    The guide's drag of 4.5 N pulls above the gears and comes on top of what folds the gap.
    """
    report = force_report("extruder", machine(changes))
    assert report.grip is not None
    assert report.grip_usable is not None
    assert report.buckling is not None
    assert report.grip.value == pytest.approx(grip, rel=5e-3)
    assert report.grip_usable.value == pytest.approx(0.7 * grip, rel=5e-3)
    assert report.buckling.value == pytest.approx(folds + 4.5, rel=5e-3)


@wide
@every("config", spread(CONFIGS, 4))
def test_at_a_flow_limit_push_and_need_are_level_in_every_likely_machine(config: str) -> None:
    """Each of the five limits that a force sets, of each extruder of each sample.

    Over the whole ensemble and not only nominally; where a limit is 0, the least flow asks as much
    as there is. An extruder of which too little is known says so, and has no lines.
    """
    for name, book in check_config(str(SAMPLES / config), Asks()).books.items():
        report = force_report(name, book)
        assert bool(report.flows) != bool(report.lacking)
        if not report.flows:
            continue
        assert len(report.flows) == PLACES
        for limit, given in levels(book).items():
            flow = column(book, book.samples(limit))
            assert np.isfinite(flow).all()
            fed = flow > 0
            at = np.where(fed, flow, 1e-18)
            needed, there = needed_force(book, at), given(at)
            np.testing.assert_allclose(needed[fed], there[fed], rtol=1e-6, err_msg=limit)
            assert (needed[~fed] >= there[~fed] * (1 - 1e-9)).all(), limit


def levels(book: FactBook) -> dict[str, Callable[[np.ndarray], np.ndarray]]:
    """What there is at a flow, by the limit at which it is used up."""
    usable, grip = (column(book, book.samples(x)) for x in ("force.grip_usable", "force.grip"))
    folds = column(book, book.samples("force.buckling")) + column(
        book, book.samples("model.guide_force")
    )
    return {
        "flow.torque": lambda flow: motor_forces(book, flow)[0],
        "flow.skip": lambda flow: motor_forces(book, flow)[1],
        "flow.grip": lambda _: usable,
        "flow.slip": lambda _: grip,
        "flow.buckling": lambda _: folds,
    }


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
