"""Flow limits: the closed form, the search, their edges and their speed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from hypothesis import given, settings, strategies as st
from scipy.optimize import brentq
from tiers import examples

from advisor.physics import limits, melt, motor

LAW = {"guide_force": 4.5, "reference_force": 50.0, "exponent": 2.8}
BRACKET = 400e-9
MACHINE = {
    "filament_area": math.pi / 4 * 1.75e-3**2,
    "gear_ratio": 9.5,
    "efficiency": 0.9025,
    "rotation_distance": 47.1e-3,
    "current_rms": 0.566,
    "torque_constant": 0.07071,
    "resistance": 2.85,
    "inductance": 1.8e-3,
    "pole_pairs": 50.0,
    "voltage": 24.0,
    "detent_torque": 0.005,
}


@pytest.mark.parametrize(
    ("force", "flow"), [(30.0, 9.166), (50.0, 11.000), (80.0, 13.010), (120.0, 15.038)]
)
def test_force_law_turned_round(force, flow):
    """11 mm3/s at 50 N, exponent 2.8, no guide (independent computation)."""
    found = limits.flow_where_force_is(
        force,
        guide_force=0.0,
        reference_force=50.0,
        reference_flow=11e-9,
        exponent=2.8,
        bracket=BRACKET,
    )

    assert found.flow * 1e9 == pytest.approx(flow, abs=6e-4)
    assert not found.beyond


@pytest.mark.parametrize(
    ("melts", "force", "heater", "by_force", "capacity"),
    [
        (10.996, 61.713, 68.8, 11.854, 10.996),
        (10.996, 20.570, 68.8, 8.007, 8.007),
        (14.027, 15.331, 67.0, 9.196, 9.196),
        (14.027, 4.637, 67.0, 6.000, 6.000),
        (14.263, 6.502, 69.9, 6.883, 6.883),
        (14.263, 1.855, 69.9, 4.398, 4.398),
    ],
)
def test_lowest_of_three_limits(melts, force, heater, by_force, capacity):
    """Melt, force and heater limits and their least (independent computation)."""
    found = limits.flow_where_force_is(
        force,
        guide_force=0.0,
        reference_force=50.0,
        reference_flow=melts,
        exponent=2.8,
        bracket=400.0,
    ).flow

    lowest, place = limits.lowest([melts, found, heater])

    assert found == pytest.approx(by_force, abs=1.1e-3)
    assert lowest == pytest.approx(capacity, abs=1.1e-3)
    assert [melts, found, heater][int(place)] == lowest


forces = st.floats(0.0, 400.0)
melts = st.floats(1e-10, 100e-9)


@settings(deadline=None)
@given(forces, melts)
def test_flow_gives_back_its_force(force, reference_flow):
    """required_force undoes flow_where_force_is inside the bracket."""
    law = LAW | {"reference_flow": reference_flow}

    found = limits.flow_where_force_is(force, bracket=BRACKET, **law)

    assert 0.0 <= found.flow <= BRACKET
    if found.beyond:
        assert melt.required_force(BRACKET, **law) <= force * (1 + 1e-9)
    elif force > 4.5:
        assert melt.required_force(found.flow, **law) == pytest.approx(force, rel=1e-9)
    else:
        assert found.flow == 0.0


@settings(deadline=None)
@given(forces, st.floats(0.0, 50.0), melts)
def test_more_force_or_melt_never_lowers_a_limit(force, more, reference_flow):
    """Limits rise with the force and with the flow the hotend takes it at."""

    def flow(force: float, reference_flow: float) -> float:
        law = LAW | {"reference_flow": reference_flow, "bracket": BRACKET}
        return float(limits.flow_where_force_is(force, **law).flow)

    base = flow(force, reference_flow) * (1 - 1e-9)

    assert flow(force + more, reference_flow) >= base
    assert flow(force, reference_flow * (1 + more)) >= base


def test_edges_of_a_force_limit():
    """No force, no melting: 0. No resistance or boundless force: the bracket, flagged."""
    found = limits.flow_where_force_is(
        np.array([0.0, 4.5, 60.0, 60.0, math.inf, 60.0]),
        guide_force=4.5,
        reference_force=np.array([50.0, 50.0, 50.0, 0.0, 50.0, 1e-9]),
        reference_flow=np.array([11e-9, 11e-9, 0.0, 11e-9, 11e-9, 11e-9]),
        exponent=2.8,
        bracket=BRACKET,
    )

    assert list(found.flow) == [0.0, 0.0, 0.0, BRACKET, BRACKET, BRACKET]
    assert list(found.beyond) == [False, False, False, True, True, True]


def torque(share: float, **changes: object) -> limits.FlowLimit:
    given = MACHINE | LAW | {"reference_flow": 26e-9, "bracket": BRACKET} | changes
    return limits.torque_flow(usable_share=share, **given)


def by_brentq(share: float, **changes: float) -> float:
    """The same question put to scipy.optimize.brentq, sample by sample."""
    given = MACHINE | LAW | {"reference_flow": 26e-9} | changes
    hotend = {k: given[k] for k in (*LAW, "reference_flow") if k in given}
    machine = {k: v for k, v in given.items() if k not in hotend}

    def surplus(flow: float) -> float:
        push = limits.motor_force(flow, usable_share=share, **machine)
        return float(push - melt.required_force(flow, **hotend))

    if surplus(0.0) <= 0.0:
        return 0.0
    return brentq(surplus, 0.0, BRACKET, xtol=1e-20, rtol=1e-12)


CASES = [
    {},
    {"voltage": 12.0},
    {"voltage": 5.0},
    {"voltage": 2.0},
    {"voltage": 12.0, "inductance": 9e-3},
    {"voltage": 5.0, "reference_flow": 90e-9},
    {"voltage": 8.0, "reference_flow": 6e-9},
    {"voltage": 6.0, "gear_ratio": 30.0},
    {"voltage": 1.0, "torque_constant": 0.3},
    {"acceleration_torque": 0.01},
    {"detent_torque": 0.06},
]


@every("share", [2 / 3, 1.0])
@every("changes", CASES)
def test_torque_flow_with_brentq(share, changes):
    """In the flat region, beyond the corner and beyond the supply: the same root."""
    found = torque(share, **changes)

    assert found.flow == pytest.approx(by_brentq(share, **changes), rel=1e-8, abs=1e-20)


def test_samples_are_solved_side_by_side():
    """All cases as one array: searched and closed-form samples do not disturb each other."""
    names = sorted({name for case in CASES for name in case})
    base = MACHINE | {"reference_flow": 26e-9}
    base["acceleration_torque"] = 0.0
    columns = {
        name: np.array([case.get(name, base[name]) for case in CASES], float) for name in names
    }

    found = torque(1.0, **columns)

    assert found.flow == pytest.approx(
        [float(torque(1.0, **case).flow) for case in CASES], rel=1e-8
    )
    given = {k: np.broadcast_to(v, len(CASES)) for k, v in (MACHINE | columns).items()}
    speed = found.flow / given["filament_area"] * given["gear_ratio"] / given["rotation_distance"]
    winding = (
        "current_rms",
        "torque_constant",
        "resistance",
        "inductance",
        "pole_pairs",
        "voltage",
    )
    searched = speed > motor.corner_speed(**{k: given[k] for k in winding})
    assert searched.any()
    assert not searched.all()


def test_torque_flow_keeps_the_shape_of_its_arguments():
    """A grid of voltages and shares comes back as a grid; a scalar as a scalar."""
    found = torque(np.array([[0.5], [1.0]]), voltage=np.array([3.0, 6.0, 24.0]))

    assert found.flow.shape == (2, 3)
    assert np.shape(found.beyond) == (2, 3)
    assert np.ndim(torque(1.0, voltage=3.0).flow) == 0


def test_edges_of_the_torque_limit():
    """Nothing melts, no supply, no current, no torque: 0 and no warning."""
    for change in (
        {"reference_flow": 0.0},
        {"voltage": 0.0},
        {"current_rms": 0.0},
        {"torque_constant": 0.0},
        {"usable": 0.0},
        {"detent_torque": 1.0},
    ):
        share = change.pop("usable", 1.0)
        found = torque(share, **change)
        assert found.flow == 0.0
        assert not found.beyond


def test_torque_beyond_the_bracket_is_said():
    """An open hotend on a strong drive: the bracket, and beyond; at its corner, not beyond."""
    found = torque(
        1.0, reference_flow=np.array([5e-6, 5e-6]), voltage=np.array([48.0, 4.0]), inductance=1e-3
    )

    assert list(found.beyond) == [True, False]
    assert found.flow[0] == BRACKET
    assert 0.0 < found.flow[1] < BRACKET


@settings(deadline=None, max_examples=examples(10, 60, 60))
@given(
    st.floats(3.0, 48.0),
    st.floats(0.1, 1.5),
    st.floats(1e-9, 200e-9),
    st.sampled_from(["voltage", "current_rms", "reference_flow"]),
    st.floats(1.0, 2.0),
)
def test_torque_limit_never_falls_with_more(volts, current, reference_flow, name, factor):
    """More supply, current or melt flow never lowers the torque limit."""
    given = {"voltage": volts, "current_rms": current, "reference_flow": reference_flow}

    less = torque(2 / 3, **given).flow
    more = torque(2 / 3, **(given | {name: given[name] * factor})).flow

    assert more >= less * (1 - 1e-8)


def test_skip_is_never_below_torque():
    """All of the torque reaches at least as far as the usable share."""
    volts = np.linspace(2.0, 48.0, 60)

    assert np.all(torque(1.0, voltage=volts).flow >= torque(2 / 3, voltage=volts).flow)


def test_motor_force_is_the_standstill_force_at_no_flow():
    """(K sqrt2 I - detent) G eta 2 pi / RD (statics)."""
    found = limits.motor_force(0.0, usable_share=1.0, **MACHINE)

    torque_left = 0.07071 * math.sqrt(2.0) * 0.566 - 0.005
    assert found == pytest.approx(torque_left * 9.5 * 0.9025 * 2 * math.pi / 47.1e-3)
