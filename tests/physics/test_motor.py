"""Pull-out torque against tables, the time-domain motor and its own identities.

The closed form is checked three ways: values from an independent computation of the two-phase
model, an optimiser over the load angle, and an integration of the motor's differential equations.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from every import every
from hypothesis import assume, given, settings, strategies as st
from scipy.integrate import solve_ivp
from tiers import examples, spread, wide

from advisor.physics import motor

# rated current, holding torque, resistance, inductance: class values of three common motors
CLASSES = {
    "A": (1.0, 0.10, 2.4, 1.8e-3),
    "B": (1.0, 0.16, 3.6, 4.5e-3),
    "C": (1.68, 0.40, 1.65, 3.2e-3),
}


def drive_of(name: str, current: float, volts: float, **changes: float) -> dict[str, float]:
    rated, holding, resistance, inductance = CLASSES[name]
    machine = {
        "current_rms": current,
        "torque_constant": motor.torque_constant(
            holding_torque=holding, rated_current=rated, phases_on=2
        ),
        "resistance": resistance,
        "inductance": inductance,
        "pole_pairs": 50,
        "voltage": volts,
    }
    return machine | changes


def test_torque_constant_from_holding_torque():
    """0.55 N m at 1.68 A: 0.23149 N m/A, 0.16369 V s/rad RMS, 7.2725 V at 5 turns per second.

    The RMS back-EMF constant holding torque / (2 x rated current) is a driver datasheet formula.
    """
    constant = motor.torque_constant(holding_torque=0.55, rated_current=1.68, phases_on=2)

    assert constant == pytest.approx(0.23149, rel=1e-4)
    assert constant / math.sqrt(2.0) == pytest.approx(0.55 / (2 * 1.68))
    assert 2.0 * math.pi * 5.0 * constant == pytest.approx(7.2725, rel=1e-4)


def test_holding_torque_with_one_phase_on_means_a_stronger_motor():
    """The two conventions differ by the square root of two, sample by sample."""
    found = motor.torque_constant(holding_torque=0.1, rated_current=1.0, phases_on=np.array([1, 2]))

    assert found == pytest.approx([0.1, 0.1 / math.sqrt(2.0)])


@pytest.mark.parametrize(
    ("name", "currents", "torques"),
    [
        ("A", (1.0, 0.70711, 0.56569), (0.1000, 0.07071, 0.05657)),
        ("C", (1.68, 1.18794, 0.95035), (0.4000, 0.28284, 0.22627)),
    ],
)
def test_torque_at_rest_is_in_proportion_to_current(name, currents, torques):
    """Static torque at rated, peak-read and derated current (independent computation)."""
    found = motor.pull_out_torque(0.0, **drive_of(name, np.array(currents), 24.0))

    assert found == pytest.approx(torques, rel=1e-4)


HALF_DIGIT_A, HALF_DIGIT_NM = 5.1e-6, 5.1e-7  # the tables are printed to so many digits

PULL_OUT = [
    ("A", 0.566, 12, 2, "current", 0.0, 0.80044, 0.056600),
    ("A", 0.566, 12, 20, "both", -0.26293, 0.75603, 0.053459),
    ("A", 0.566, 12, 30, "both", -0.56985, 0.56213, 0.039748),
    ("A", 0.566, 12, 60, "both", -0.74392, 0.29546, 0.020892),
    ("B", 0.566, 12, 8, "both", -0.08690, 0.79571, 0.090025),
    ("B", 0.566, 12, 10, "both", -0.39121, 0.69833, 0.079007),
    ("B", 0.566, 12, 15, "voltage", -0.48875, 0.47493, 0.053732),
    ("B", 0.566, 24, 20, "both", -0.27797, 0.75063, 0.084924),
    ("B", 0.566, 24, 30, "voltage", -0.49923, 0.52148, 0.058999),
    ("C", 0.950, 12, 8, "both", -0.60784, 1.19813, 0.201716),
    ("C", 0.950, 12, 10, "both", -0.89441, 1.00251, 0.168781),
    ("C", 0.950, 12, 15, "voltage", -1.03979, 0.67728, 0.114026),
    ("C", 0.950, 24, 15, "both", -0.33287, 1.30161, 0.219138),
    ("C", 0.950, 24, 20, "both", -0.80106, 1.07857, 0.181586),
    ("C", 0.950, 24, 30, "voltage", -1.04910, 0.73719, 0.124112),
    ("C", 0.950, 24, 60, "voltage", -1.05146, 0.36898, 0.062120),
]


@every(("name", "current", "volts", "speed", "region", "i_d", "i_q", "torque"), PULL_OUT)
def test_pull_out_point(name, current, volts, speed, region, i_d, i_q, torque):
    """Region, currents and torque (independent computation of the two-phase hybrid model;

    voltage region: P. P. Acarnley, Stepping Motors, 4th ed., hybrid phasor model, from memory).
    """
    found = motor.pull_out(speed, **drive_of(name, current, volts))

    assert motor.REGION_NAMES[int(found.region)] == region
    assert found.i_d == pytest.approx(i_d, abs=HALF_DIGIT_A)
    assert found.i_q == pytest.approx(i_q, abs=HALF_DIGIT_A)
    assert found.torque == pytest.approx(torque, abs=HALF_DIGIT_NM)


def test_arrays_give_the_same_as_scalars():
    """All rows of the table at once, every argument an array."""
    columns = {key: [] for key in drive_of("A", 1.0, 1.0)}
    for name, current, volts, *_ in PULL_OUT:
        for key, value in drive_of(name, current, volts).items():
            columns[key].append(value)
    arguments = {key: np.array(values, float) for key, values in columns.items()}
    speeds = np.array([row[3] for row in PULL_OUT], float)

    found = motor.pull_out(speeds, **arguments)

    assert found.torque == pytest.approx([row[-1] for row in PULL_OUT], abs=HALF_DIGIT_NM)
    assert [motor.REGION_NAMES[i] for i in found.region] == [row[4] for row in PULL_OUT]
    assert np.array_equal(found.torque, motor.pull_out_torque(speeds, **arguments))


ROOT_TWO = math.sqrt(2.0)
CORNERS = [  # class, amplitude, cold, warm
    ("A", 0.8, (16.680, 35.667, 73.549), (15.619, 34.673, 72.587)),
    ("A", 1.0, (14.417, 31.208, 64.633), (13.291, 30.195, 63.676)),
    ("A", ROOT_TWO, (10.908, 24.231, 50.566), (9.670, 23.226, 49.670)),
    ("B", 0.8, (7.649, 16.726, 34.739), (7.048, 16.213, 34.268)),
    ("B", ROOT_TWO, (4.380, 10.279, 21.704), (3.619, 9.770, 21.301)),
    ("C", 1.344, (6.122, 13.152, 27.157), (5.606, 12.687, 26.716)),
    ("C", 1.68, (5.167, 11.247, 23.319), (4.623, 10.784, 22.895)),
    ("C", 1.68 * ROOT_TWO, (3.776, 8.477, 17.716), (3.166, 8.021, 17.330)),
]


@every(("name", "amplitude", "cold", "warm"), CORNERS)
def test_corner_speed(name, amplitude, cold, warm):
    """Corner speed at 12, 24, 48 V, cold and at 1.25 R + 0.45 ohm (independent computation)."""
    volts = np.array([12.0, 24.0, 48.0])
    resistance, current = CLASSES[name][2], amplitude / ROOT_TWO

    found = motor.corner_speed(**drive_of(name, current, volts))
    hot = motor.corner_speed(**drive_of(name, current, volts, resistance=1.25 * resistance + 0.45))

    assert found == pytest.approx(cold, abs=6e-4)
    assert hot == pytest.approx(warm, abs=6e-4)


def test_corner_speed_of_a_finer_motor():
    """A 0.9 degree motor of the same torque and winding turns slower (independent computation)."""
    found = motor.corner_speed(
        **drive_of("A", 0.8 / ROOT_TWO, np.array([12.0, 24.0]), pole_pairs=100)
    )

    assert found == pytest.approx([10.942, 22.909], abs=6e-4)


def test_torque_at_the_corner_speed_from_both_sides():
    """Motor C, 24 V, 0.95 A: 0.22619 N m just below and just above."""
    machine = drive_of("C", 0.95, 24.0)
    corner = motor.corner_speed(**machine)

    found = motor.pull_out(corner * np.array([1 - 1e-9, 1 + 1e-7]), **machine)

    assert list(found.region) == [motor.CURRENT_LIMITED, motor.BOTH_LIMITED]
    assert found.torque == pytest.approx([0.22619, 0.22619], abs=2.1e-6)
    assert found.torque[1] == pytest.approx(found.torque[0], rel=1e-9)


def scan(speed: float, machine: dict[str, float]) -> float:
    """Largest torque over dense scans of the current circle and of the voltage circle."""
    limit = math.sqrt(2.0) * machine["current_rms"]
    electrical = 2 * math.pi * machine["pole_pairs"] * speed
    flux = machine["torque_constant"] / machine["pole_pairs"]
    reactance, emf = electrical * machine["inductance"], electrical * flux
    angles = np.linspace(0.0, 2 * math.pi, 200_001)
    impedance = complex(machine["resistance"], reactance)
    on_current = limit * np.exp(1j * angles)
    on_voltage = (machine["voltage"] * np.exp(1j * angles) - 1j * emf) / impedance
    points = np.concatenate([on_current, on_voltage])
    volts = np.abs(impedance * points + 1j * emf)
    fits = (np.abs(points) <= limit * (1 + 1e-9)) & (volts <= machine["voltage"] * (1 + 1e-9))
    best = points.imag[fits].max() if fits.any() else 0.0
    return max(0.0, machine["torque_constant"] * float(best))


@wide
def test_closed_form_is_the_largest_torque_within_both_limits():
    """Against a dense scan of both limit circles for 20 (wide: 60) random motors and speeds."""
    rng = np.random.default_rng(7)
    seen = set()
    for _ in range(examples(20, 60, 60)):
        machine = {
            "current_rms": rng.uniform(0.2, 2.0),
            "torque_constant": rng.uniform(0.03, 0.3),
            "resistance": rng.uniform(0.5, 12.0),
            "inductance": rng.uniform(0.2e-3, 8e-3),
            "pole_pairs": rng.choice([50, 100]),
            "voltage": rng.uniform(5.0, 48.0),
        }
        speed = rng.uniform(0.0, 60.0)
        found = motor.pull_out(speed, **machine)
        seen.add(int(found.region))
        peak = math.sqrt(2.0) * machine["current_rms"] * machine["torque_constant"]

        assert found.torque == pytest.approx(scan(speed, machine), abs=1e-4 * peak)
    assert {motor.CURRENT_LIMITED, motor.BOTH_LIMITED, motor.VOLTAGE_LIMITED} <= seen


def simulated_pull_out(speed: float, machine: dict[str, float], inertia: float) -> float:
    """Load at which a simulated motor falls out of step: phase currents, rotor, rising load.

    A stiff sine current regulator (2000 V per amplitude) whose voltage vector is held to the
    supply, a slip damper of half the critical, a load that rises from 90 to 110 % of the closed
    form in 0.4 s: the rise during the slip makes the result up to 1.5 % too high.
    """
    limit = math.sqrt(2.0) * machine["current_rms"]
    constant, pole_pairs = machine["torque_constant"], machine["pole_pairs"]
    resistance, inductance = machine["resistance"], machine["inductance"]
    electrical, gain, flux = 2 * math.pi * pole_pairs * speed, 2000.0 / limit, constant / pole_pairs
    expected = float(motor.pull_out_torque(speed, **machine))
    damper = math.sqrt(inertia * pole_pairs * constant * limit)
    settle, ramp = 0.1, 0.4

    def load(t: float) -> float:
        return expected * (0.9 * min(t / settle, 1.0) + 0.2 * max(t - settle, 0.0) / ramp)

    def slopes(t: float, y: np.ndarray) -> tuple[float, ...]:
        a, b, lag, slip = y
        turn = electrical * t
        sine, cosine = math.sin(turn - lag), math.cos(turn - lag)
        volt_a = gain * (limit * math.cos(turn) - a)
        volt_b = gain * (limit * math.sin(turn) - b)
        held = min(1.0, machine["voltage"] / max(math.hypot(volt_a, volt_b), 1e-12))
        emf = (electrical - slip) * flux
        torque = constant * (b * cosine - a * sine)
        surplus = torque - load(t) + damper * slip / pole_pairs
        return (
            (held * volt_a - resistance * a + emf * sine) / inductance,
            (held * volt_b - resistance * b - emf * cosine) / inductance,
            slip,
            -pole_pairs * surplus / inertia,
        )

    def lost(t: float, y: np.ndarray) -> float:
        return y[2] - 2.2 * math.pi

    lost.terminal = True
    start = (limit, 0.0, 0.0, 0.0)
    run = solve_ivp(slopes, (0.0, settle + ramp), start, method="LSODA", events=lost, rtol=1e-4)
    return load(run.t_events[0][0]) if run.t_events[0].size else math.inf


@wide
@pytest.mark.parametrize(
    ("name", "current", "volts", "speed", "inertia"),
    spread(
        [
            ("C", 0.950, 24.0, 4.0, 5.4e-6),
            ("A", 0.566, 12.0, 20.0, 1.0e-6),
            ("B", 0.566, 24.0, 30.0, 1.6e-6),
        ],
        1,
    ),
)
def test_closed_form_against_the_motor_in_time(name, current, volts, speed, inertia):
    """scipy.integrate.solve_ivp of phase currents and rotor, one point in each region."""
    machine = drive_of(name, current, volts)

    found = simulated_pull_out(speed, machine, inertia)

    assert found == pytest.approx(float(motor.pull_out_torque(speed, **machine)), rel=0.015)


motors = st.fixed_dictionaries(
    {
        "current_rms": st.floats(0.05, 4.0),
        "torque_constant": st.floats(0.01, 0.6),
        "resistance": st.floats(0.2, 40.0),
        "inductance": st.floats(1e-5, 0.02),
        "pole_pairs": st.sampled_from([25, 50, 100]),
        "voltage": st.floats(3.0, 60.0),
    }
)


def peak_torque(machine: dict[str, float]) -> float:
    return math.sqrt(2.0) * machine["current_rms"] * machine["torque_constant"]


@settings(max_examples=examples(25, 150, 150), deadline=None)
@given(motors, st.floats(0.0, 200.0), st.floats(1.0, 3.0))
def test_torque_never_rises_with_speed(machine, speed, factor):
    """Faster is never stronger, and nothing beats torque constant x amplitude."""
    slow = motor.pull_out_torque(speed, **machine)
    fast = motor.pull_out_torque(speed * factor, **machine)

    assert 0.0 <= fast <= slow + 1e-9 * peak_torque(machine)
    assert slow <= peak_torque(machine) * (1.0 + 1e-12)


@settings(max_examples=examples(25, 150, 150), deadline=None)
@given(
    motors, st.floats(0.0, 200.0), st.floats(1.0, 3.0), st.sampled_from(["voltage", "current_rms"])
)
def test_torque_never_falls_with_voltage_or_current(machine, speed, factor, name):
    """More supply or more current never costs pull-out torque."""
    more = machine | {name: machine[name] * factor}

    weak = motor.pull_out_torque(speed, **machine)
    strong = motor.pull_out_torque(speed, **more)

    assert strong >= weak - 1e-9 * peak_torque(more)


@settings(max_examples=examples(25, 150, 150), deadline=None)
@given(motors)
def test_torque_is_continuous_at_the_corner(machine):
    """No step at the corner speed."""
    corner = motor.corner_speed(**machine)
    assume(corner > 1e-3)

    below, above = motor.pull_out_torque(corner * np.array([1 - 1e-7, 1 + 1e-7]), **machine)

    assert below == pytest.approx(peak_torque(machine), rel=1e-9)
    assert above == pytest.approx(below, rel=1e-4)


@settings(max_examples=examples(20, 100, 100), deadline=None)
@given(motors, st.floats(0.1, 200.0), st.floats(1.0, 2.0))
def test_current_does_not_matter_once_the_voltage_limits(machine, speed, factor):
    """In the voltage region a higher setting changes nothing."""
    found = motor.pull_out(speed, **machine)
    assume(int(found.region) == motor.VOLTAGE_LIMITED)

    more = motor.pull_out(speed, **(machine | {"current_rms": machine["current_rms"] * factor}))

    assert more.torque == found.torque


def test_supply_too_weak_for_the_current_at_rest():
    """Below R x I the current at rest is V / R, and the corner speed is zero."""
    machine = drive_of("B", 1.0, 3.0)

    found = motor.pull_out(0.0, **machine)

    assert found.i_q == pytest.approx(3.0 / 3.6)
    assert motor.corner_speed(**machine) == 0.0


def test_supply_exactly_at_the_drop_keeps_its_torque_near_rest():
    """Where V equals R x I to the last digit, rounding must not lose the torque."""
    for resistance, speed in itertools.product((0.7, 2.4, 3.3, 9.1), (0.0, 1e-15, 1e-9, 1e-4)):
        machine = drive_of("A", 0.7, 1.0, resistance=resistance)
        machine["voltage"] = resistance * 0.7 * math.sqrt(2.0)

        found = motor.pull_out_torque(speed, **machine)

        assert found == pytest.approx(peak_torque(machine), rel=1e-3)


@every(
    "change",
    [
        {"inductance": 0.0},
        {"torque_constant": 0.0},
        {"resistance": 0.0},
        {"voltage": 0.0},
        {"current_rms": 0.0},
        {"inductance": 0.0, "torque_constant": 0.0},
        {"inductance": 0.0, "resistance": 0.0},
        {"inductance": 0.0, "resistance": 0.0, "torque_constant": 0.0, "voltage": 0.0},
    ],
)
def test_missing_quantities_give_a_number_and_no_warning(change):
    """Nothing divides by zero; torque stays between zero and torque constant x amplitude."""
    machine = drive_of("A", 0.566, 12.0) | change
    speeds = np.array([0.0, 1e-12, 3.0, 1e4])

    found = motor.pull_out(speeds, **machine)

    for part in (found.torque, found.i_d, found.i_q):
        assert np.all(np.isfinite(part))
    assert np.all((found.torque >= 0.0) & (found.torque <= peak_torque(machine) * (1 + 1e-12)))
    assert not np.isnan(motor.corner_speed(**machine))


def test_direction_does_not_matter():
    """A retract turns backward with the same torque."""
    machine = drive_of("C", 0.95, 12.0)

    assert motor.pull_out_torque(-12.0, **machine) == motor.pull_out_torque(12.0, **machine)


def test_hot_resistance():
    """Copper gains 0.393 % per kelvin over 20 degC (IEC 60028 value)."""
    hot = motor.hot_resistance(2.4, np.array([293.15, 343.15]), temperature_coefficient=0.00393)

    assert hot == pytest.approx([2.4, 2.4 * (1 + 0.00393 * 50)])


def test_a_rotor_swings_about_its_step_as_often_as_the_integrated_one():
    """Small swings of J a'' = -T sin(50 a), integrated by scipy: the same period to 1 %."""
    constant, current, inertia = 0.0707, 0.3, 10e-7
    torque = constant * math.sqrt(2.0) * current
    start = 0.01 / 50

    def swing(_: float, state: np.ndarray) -> list[float]:
        return [state[1], -torque * math.sin(50 * state[0]) / inertia]

    def through_zero(_: float, state: np.ndarray) -> float:
        return float(state[0])

    made = solve_ivp(swing, (0.0, 0.05), [start, 0.0], events=through_zero, rtol=1e-9, atol=1e-12)
    half = np.diff(made.t_events[0])
    own = motor.rotor_frequency(
        current_rms=current, torque_constant=constant, pole_pairs=50, inertia=inertia
    )

    assert own == pytest.approx(1.0 / (2.0 * half.mean()), rel=0.01)


def test_a_warm_rotor_loses_what_its_magnets_do():
    """0.1 % per kelvin (data sheets of NdFeB magnets, from memory): 5 % at 50 K, never below 0."""
    assert motor.warm_constant(0.1, 50.0, loss=0.001) == pytest.approx(0.095)
    assert motor.warm_constant(0.1, 5000.0, loss=0.001) == 0.0
