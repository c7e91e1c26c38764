"""Winding and case temperatures against an independent computation and the heat balance itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from hypothesis import given, strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from advisor.physics import heat

COPPER = {"temperature_coefficient": 0.00393}  # per kelvin at 20 degC (IEC 60028, from memory)
ROOM = 298.15
RATED = {"rated_rise": 80.0, "rated_ambient": ROOM} | COPPER
MOTORS = {"A": (1.0, 2.4), "B": (1.0, 3.6), "C": (1.68, 1.65)}  # rated current, resistance


def rated_resistance(name: str) -> float:
    rated, resistance = MOTORS[name]
    return heat.thermal_resistance_from_rating(
        rated_current=rated, resistance_20c=resistance, **RATED
    )


@pytest.mark.parametrize(
    ("resistance", "current", "loss"),
    [
        (2.4, 1.0, 4.800),
        (2.4, 0.70711, 2.400),
        (1.65, 1.68, 9.314),
        (1.65, 1.18794, 4.657),
    ],
)
def test_cold_copper_loss(resistance, current, loss):
    """Both phases: 2 R I^2 whatever the microstep (Joule's law)."""
    found = heat.winding_loss(current, resistance_20c=resistance, temperature=293.15, **COPPER)

    assert found == pytest.approx(loss, abs=6e-4)


def test_loss_is_the_same_at_every_microstep():
    """The mean over a turn of the field equals the value at any angle."""
    angle = np.linspace(0.0, 2.0 * np.pi, 1001)
    loss = 2.4 * (1.3 * np.cos(angle)) ** 2 + 2.4 * (1.3 * np.sin(angle)) ** 2

    found = heat.winding_loss(
        1.3 / math.sqrt(2.0), resistance_20c=2.4, temperature=293.15, **COPPER
    )

    assert loss == pytest.approx(found)


@pytest.mark.parametrize(("name", "kelvin_per_watt"), [("A", 12.493), ("B", 8.329), ("C", 6.439)])
def test_thermal_resistance_from_the_rating(name, kelvin_per_watt):
    """80 K at rated current in both phases, 25 degC air (datasheet wording; own computation)."""
    assert rated_resistance(name) == pytest.approx(kelvin_per_watt, abs=6e-4)


@pytest.mark.parametrize(("name", "loss"), [("A", 6.403), ("C", 12.425)])
def test_hot_loss_at_the_rating(name, loss):
    """Loss with the copper at 105 degC (independent computation)."""
    rated, resistance = MOTORS[name]

    found = heat.winding_loss(rated, resistance_20c=resistance, temperature=378.15, **COPPER)

    assert found == pytest.approx(loss, abs=1.1e-3)


@every(
    ("share", "rises"),
    [
        (1.0, (80.00, 86.17, 90.79)),
        (math.sqrt(0.5), (34.66, 37.33, 39.33)),
        (0.8 * math.sqrt(0.5), (21.16, 22.79, 24.02)),
    ],
)
@every("name", ["A", "B", "C"])
def test_rise_on_the_mount_of_the_rating(name, share, rises):
    """Rise at 25, 45, 60 degC air: depends on the share of the rating only, not on the motor."""
    rated, resistance = MOTORS[name]

    found = heat.winding_rise(
        share * rated,
        resistance_20c=resistance,
        thermal_resistance=rated_resistance(name),
        ambient=np.array([25.0, 45.0, 60.0]) + 273.15,
        **COPPER,
    )

    assert found == pytest.approx(rises, abs=6e-3)


@pytest.mark.parametrize(
    ("current", "kelvin_per_watt", "rises"),
    [
        (0.5657, 20.0, (35.63, 39.06)),
        (0.5657, 25.0, (46.12, 50.56)),
        (0.5657, 28.0, (52.78, 57.86)),
        (0.5, 25.0, (34.68, 38.02)),
        (0.65, 25.0, (64.56, 70.78)),
    ],
)
def test_rise_on_a_printed_mount(current, kelvin_per_watt, rises):
    """Motor A at 25 and 50 degC air (independent computation, currents to four digits)."""
    found = heat.winding_rise(
        current,
        resistance_20c=2.4,
        thermal_resistance=kelvin_per_watt,
        ambient=np.array([298.15, 323.15]),
        **COPPER,
    )

    assert found == pytest.approx(rises, abs=6e-3)


@pytest.mark.parametrize(
    ("ambient", "winding", "currents"),
    [(25.0, (50.0, 70.0, 95.0), (0.6107, 0.7919, 0.9495)), (50.0, (70.0, 95.0), (0.5280, 0.7613))],
)
def test_current_for_a_winding_temperature(ambient, winding, currents):
    """Motor A on the rating's mount (independent computation)."""
    found = heat.current_for_rise(
        np.array(winding) - ambient,
        resistance_20c=2.4,
        thermal_resistance=rated_resistance("A"),
        ambient=ambient + 273.15,
        **COPPER,
    )

    assert found == pytest.approx(currents, abs=6e-5)


@pytest.mark.parametrize(
    ("case", "ambient", "current"), [(60.0, 25.0, 0.5531), (80.0, 50.0, 0.4970)]
)
def test_current_for_a_case_temperature(case, ambient, current):
    """Case rise 80 % of the winding's, 25 K/W (independent computation)."""
    air = {"ambient": ambient + 273.15}
    rise = heat.rise_for_case(case + 273.15, case_share=0.8, **air)

    found = heat.current_for_rise(
        rise, resistance_20c=2.4, thermal_resistance=25.0, **air, **COPPER
    )

    assert heat.case_temperature(rise, case_share=0.8, **air) == pytest.approx(case + 273.15)
    assert found == pytest.approx(current, abs=6e-5)


def test_rise_solves_the_heat_balance():
    """Fixed point of rise = resistance x loss at that temperature, by scipy.optimize.brentq."""

    def balance(rise: float) -> float:
        loss = heat.winding_loss(0.7, resistance_20c=3.6, temperature=310.0 + rise, **COPPER)
        return rise - 15.0 * loss

    found = heat.winding_rise(
        0.7, resistance_20c=3.6, thermal_resistance=15.0, ambient=310.0, **COPPER
    )

    assert found == pytest.approx(brentq(balance, 0.0, 1e4))


def test_rise_is_where_a_warming_motor_settles():
    """Heat balance in time by scipy.integrate.solve_ivp over twenty time constants."""
    capacity = 0.075 * 460.0

    def warming(_: float, rise: np.ndarray) -> np.ndarray:
        loss = heat.winding_loss(0.5657, resistance_20c=2.4, temperature=298.15 + rise, **COPPER)
        return (loss - rise / 25.0) / capacity

    run = solve_ivp(warming, (0.0, 20 * 25.0 * capacity), [0.0], rtol=1e-8)

    found = heat.winding_rise(
        0.5657, resistance_20c=2.4, thermal_resistance=25.0, ambient=298.15, **COPPER
    )
    assert found == pytest.approx(run.y[0, -1], rel=1e-5)


def test_runaway_has_no_steady_rise():
    """From a x Rth x 2 R I^2 = 1 on there is no steady temperature: inf."""
    limit = math.sqrt(1.0 / (0.00393 * 25.0 * 2.0 * 2.4))
    winding = {"resistance_20c": 2.4, "thermal_resistance": 25.0} | COPPER
    currents = limit * np.array([0.9, 0.999, 1.001, 3.0])

    assert list(np.isinf(heat.winding_rise(currents, ambient=ROOM, **winding))) == [
        False,
        False,
        True,
        True,
    ]


@given(st.floats(0.0, 150.0), st.floats(5.0, 40.0), st.floats(263.15, 353.15))
def test_current_and_rise_are_inverse(rise, kelvin_per_watt, ambient):
    """The current for a rise gives that rise."""
    winding = {
        "resistance_20c": 2.4,
        "thermal_resistance": kelvin_per_watt,
        "ambient": ambient,
    } | COPPER

    found = heat.winding_rise(heat.current_for_rise(rise, **winding), **winding)

    assert found == pytest.approx(rise, rel=1e-9, abs=1e-9)


def test_no_head_room_means_no_current():
    """Air warmer than the limit leaves nothing."""
    air = {"ambient": 340.0}
    rise = heat.rise_for_case(330.0, case_share=0.8, **air)

    found = heat.current_for_rise(
        rise, resistance_20c=2.4, thermal_resistance=25.0, **air, **COPPER
    )

    assert (rise, found) == (0.0, 0.0)


@pytest.mark.parametrize(("name", "mass", "seconds"), [("A", 0.075, 431), ("C", 0.280, 829)])
def test_thermal_time_constant(name, mass, seconds):
    """Resistance x mass x 460 J/(kg K) (independent computation)."""
    found = heat.thermal_time_constant(rated_resistance(name), mass=mass, specific_heat=460.0)

    assert found == pytest.approx(seconds, abs=0.6)


def test_the_rise_in_time_is_the_heat_balance_integrated() -> None:
    """scipy steps m c dT/dt = loss - T / Rth forward: warming, running away, and just between."""
    ohm, resistance, constant, copper, air = 2.4, 12.5, 430.0, 0.00393, 318.15
    even = math.sqrt(1.0 / (copper * resistance * 2.0 * ohm))  # no steady rise from here on
    for current in (0.3, 0.9, even, 1.2 * even):
        for time in (600.0, 3600.0):

            def slope(_: float, rise: list[float], current: float = current) -> list[float]:
                hot = ohm * (1.0 + copper * (air - 293.15 + rise[0]))
                return [(2.0 * hot * current**2 * resistance - rise[0]) / constant]

            stepped = solve_ivp(slope, (0.0, time), [0.0], rtol=1e-10, atol=1e-12)
            found = heat.rise_after(
                time,
                current,
                time_constant=constant,
                resistance_20c=ohm,
                thermal_resistance=resistance,
                ambient=air,
                temperature_coefficient=copper,
            )
            assert found == pytest.approx(stepped.y[0][-1], rel=1e-7), (current, time)


def test_a_winding_that_runs_away_has_no_end_and_no_nan() -> None:
    """Currents a hundred times too high: inf at last, never a warning."""
    currents = np.array([0.0, 1e-200, 1.0, 3.0, 30.0, 300.0])
    found = heat.rise_after(
        3600.0,
        currents,
        time_constant=430.0,
        resistance_20c=2.4,
        thermal_resistance=12.5,
        ambient=318.15,
        temperature_coefficient=0.00393,
    )
    assert not np.isnan(found).any()
    assert list(found) == sorted(found)
    assert found[0] == 0.0
    assert np.isinf(found[-1])
