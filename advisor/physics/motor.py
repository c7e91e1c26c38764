"""Torque of a two-phase hybrid stepper against speed, in closed form.

The steady state of the two-phase motor under a current limit (the driver's setting) and a voltage
limit (the supply), maximised over the load angle; amplitude convention, K = pole pairs x flux.
Iron loss, saturation and mid-frequency resonance are left out: real curves fall off earlier.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from advisor.base import frozen
from advisor.physics._arrays import Flag, Quantity, ratio, select

__all__ = [
    "BOTH_LIMITED",
    "CURRENT_LIMITED",
    "NO_STEADY_STATE",
    "REGION_NAMES",
    "VOLTAGE_LIMITED",
    "PullOut",
    "corner_speed",
    "hot_resistance",
    "pull_out",
    "pull_out_torque",
    "rotor_frequency",
    "torque_constant",
    "warm_constant",
]

CURRENT_LIMITED, BOTH_LIMITED, VOLTAGE_LIMITED, NO_STEADY_STATE = range(4)
REGION_NAMES = ("current", "both", "voltage", "none")

REFERENCE_TEMPERATURE = 293.15  # 20 degC, where a winding's resistance is stated, [K]
STANDSTILL = 1e-9  # back-EMF as a share of the supply below which the motor counts as at rest


@frozen(eq=False)
class PullOut:
    """The operating point at which the load is largest; what is asked of it is worked out then.

    Of the border of {|i| <= I, |v| <= V}, walked from A by C to B: `full` says where the current
    alone limits, `by_voltage` where the voltage alone does, `lost` where there is no steady state;
    elsewhere both limit. Currents are amplitudes along and across the rotor's field, [A].
    """

    constant: Quantity  # torque per ampere of amplitude, [N m/A]
    limit: Quantity
    full: Flag
    by_voltage: Flag
    lost: Flag
    at_voltage: tuple[Quantity, Quantity]  # currents along and across, by the voltage alone
    both: tuple[Quantity, Quantity]  # the voltage along and across the impedance, by both, [V]
    lean: tuple[Quantity, Quantity]  # of the impedance: to resistance and to reactance, [-]
    admittance: Quantity  # [1/ohm]

    @property
    def torque(self) -> Quantity:
        """The torque, clamped at zero, [N m]."""
        return self.constant * np.maximum(self.i_q, 0.0)

    @property
    def i_q(self) -> Quantity:
        """The current across the rotor's field, which makes the torque, [A]."""
        (along, across), (lean_r, lean_x) = self.both, self.lean
        both = (along * lean_r + across * lean_x) * self.admittance
        i_q = select(self.full, self.limit, select(self.by_voltage, self.at_voltage[1], both))
        torque_current: Quantity = np.minimum(select(self.lost, 0.0, i_q), self.limit)
        return torque_current

    @property
    def i_d(self) -> Quantity:
        """The current along the rotor's field, [A]."""
        (along, across), (lean_r, lean_x) = self.both, self.lean
        both = (along * lean_x - across * lean_r) * self.admittance
        i_d = select(self.full, 0.0, select(self.by_voltage, self.at_voltage[0], both))
        return select(self.lost, 0.0, i_d)

    @property
    def region(self) -> NDArray[np.int_]:
        """What limits, as an index of `REGION_NAMES`."""
        by_one = np.where(self.by_voltage, VOLTAGE_LIMITED, BOTH_LIMITED)
        region = np.where(self.full, CURRENT_LIMITED, by_one)
        return np.where(self.lost, NO_STEADY_STATE, region)


def torque_constant(
    *, holding_torque: Quantity, rated_current: Quantity, phases_on: Quantity
) -> Quantity:
    """Torque per ampere of current amplitude, from the datasheet's holding torque.

    Parameters
    ----------
    holding_torque : Quantity
        Holding torque at rated current; 0 or more, [N m]
    rated_current : Quantity
        Rated current per phase; above 0, [A]
    phases_on : Quantity
        Phases energised in the rating, 1 or 2; 1 or 2, [-]

    Returns
    -------
    Quantity
        Torque constant, equal to the peak back-EMF per rad/s, [N m/A]

    Notes
    -----
    Holding torque is stated with both phases at rated current (usual) or with one; the two readings
    differ by the square root of two.

    References
    ----------
    Source holding-torque-convention of rules/sources.yaml.

    Examples
    --------
    >>> constant = torque_constant(holding_torque=0.55, rated_current=1.68, phases_on=2)
    >>> f"{constant:.4f} N m/A"
    '0.2315 N m/A'
    """
    root: Quantity = np.sqrt(phases_on)
    return holding_torque / (root * rated_current)


def warm_constant(torque_constant: Quantity, rise: Quantity, *, loss: Quantity) -> Quantity:
    """Torque constant of a motor whose magnets are warmer than when it was stated.

    Parameters
    ----------
    torque_constant : Quantity
        Torque per ampere of amplitude, cold; 0 or more, [N m/A]
    rise : Quantity
        How much warmer the rotor is; at least -100, at most 150, [K]
    loss : Quantity
        Share of the magnets' remanence lost per kelvin; 0 to 0.005, [1/K]

    Returns
    -------
    Quantity
        Torque per ampere of amplitude, warm, [N m/A]

    References
    ----------
    Source magnet-warmth of rules/sources.yaml.

    Examples
    --------
    >>> f"{warm_constant(0.0707, 40.0, loss=0.001):.4f} N m/A"
    '0.0679 N m/A'
    """
    return torque_constant * np.maximum(1.0 - loss * rise, 0.0)


def rotor_frequency(
    *,
    current_rms: Quantity,
    torque_constant: Quantity,
    pole_pairs: Quantity,
    inertia: Quantity,
) -> Quantity:
    """Frequency at which a rotor swings about its step: full steps at that rate excite it.

    Parameters
    ----------
    current_rms : Quantity
        Phase current, RMS of the sine; 0 or more, [A]
    torque_constant : Quantity
        Torque per ampere of amplitude; 0 or more, [N m/A]
    pole_pairs : Quantity
        Electrical periods per turn; above 0, [-]
    inertia : Quantity
        Of rotor and what turns with it; above 0, [kg m2]

    Returns
    -------
    Quantity
        Frequency, [1/s]

    References
    ----------
    Source rotor-frequency of rules/sources.yaml.

    Examples
    --------
    >>> found = rotor_frequency(
    ...     current_rms=0.30, torque_constant=0.0707, pole_pairs=50, inertia=10e-7
    ... )
    >>> f"{found:.0f} full steps a second"
    '195 full steps a second'
    """
    stiffness = pole_pairs * torque_constant * math.sqrt(2.0) * current_rms
    return np.sqrt(stiffness / inertia) / (2.0 * math.pi)


def hot_resistance(
    resistance_20c: Quantity, temperature: Quantity, *, temperature_coefficient: Quantity
) -> Quantity:
    """Winding resistance at a temperature.

    Parameters
    ----------
    resistance_20c : Quantity
        Phase resistance at 20 degC; 0 or more, [ohm]
    temperature : Quantity
        Winding temperature; about 200 to 500, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Phase resistance, [ohm]

    References
    ----------
    IEC 60028, from memory: source copper-coefficient of rules/sources.yaml.

    Examples
    --------
    >>> f"{hot_resistance(2.4, 343.15, temperature_coefficient=0.00393):.3f} ohm"
    '2.872 ohm'
    """
    return resistance_20c * (1.0 + temperature_coefficient * (temperature - REFERENCE_TEMPERATURE))


def pull_out(
    speed: Quantity,
    *,
    current_rms: Quantity,
    torque_constant: Quantity,
    resistance: Quantity,
    inductance: Quantity,
    pole_pairs: Quantity,
    voltage: Quantity,
) -> PullOut:
    """Largest torque the motor can carry at a steady speed, and the currents at that point.

    Parameters
    ----------
    speed : Quantity
        Motor speed in turns per second; its sign does not matter; any, [1/s]
    current_rms : Quantity
        Phase current the driver applies, RMS of the sine; 0 or more, [A]
    torque_constant : Quantity
        Torque per ampere of amplitude; 0 or more, [N m/A]
    resistance : Quantity
        Phase resistance with driver and leads; 0 or more, [ohm]
    inductance : Quantity
        Phase inductance; 0 or more, [H]
    pole_pairs : Quantity
        Electrical periods per turn; above 0, [-]
    voltage : Quantity
        Supply voltage at the driver; 0 or more, [V]

    Returns
    -------
    PullOut
        Torque, currents and region, each of the common shape of the arguments, [N m, A, -]

    Notes
    -----
    Current-limited up to the corner speed (torque constant x amplitude), then limited by current
    and voltage, then by voltage alone: there the hybrid-motor formula.

    References
    ----------
    P. P. Acarnley, Stepping Motors, 4th ed. (2002), from memory, for the voltage region; the rest
    is derived here.

    Examples
    --------
    >>> point = pull_out(
    ...     20.0, current_rms=0.566, torque_constant=0.1 / math.sqrt(2.0), resistance=2.4,
    ...     inductance=1.8e-3, pole_pairs=50, voltage=12.0,
    ... )
    >>> f"{point.torque * 1e3:.2f} mN m, limited by {REGION_NAMES[int(point.region)]}"
    '53.46 mN m, limited by both'
    """
    limit = math.sqrt(2.0) * current_rms
    turns = np.abs(speed)
    reactance = 2.0 * math.pi * pole_pairs * turns * inductance
    emf = 2.0 * math.pi * torque_constant * turns
    impedance: Quantity = np.hypot(resistance, reactance)
    admittance = ratio(1.0, impedance)
    lean_r, lean_x = resistance * admittance, reactance * admittance

    full = (reactance * limit) ** 2 + (resistance * limit + emf) ** 2 <= voltage**2
    q_voltage, d_voltage = (voltage - emf * lean_r) * admittance, -emf * lean_x * admittance
    at_rest = emf <= STANDSTILL * voltage
    by_voltage = at_rest | (d_voltage**2 + q_voltage**2 <= limit**2)

    reach = impedance * limit
    along = ratio((voltage - reach) * (voltage + reach) - emf**2, 2.0 * emf)
    along = np.minimum(np.maximum(along, -reach), reach)
    across: Quantity = np.sqrt((reach - along) * (reach + along))

    lost = ~(full | by_voltage) & (emf > voltage + reach)
    walked = (d_voltage, q_voltage), (along, across), (lean_r, lean_x)
    return PullOut(torque_constant, limit, full, by_voltage, lost, *walked, admittance)


def pull_out_torque(
    speed: Quantity,
    *,
    current_rms: Quantity,
    torque_constant: Quantity,
    resistance: Quantity,
    inductance: Quantity,
    pole_pairs: Quantity,
    voltage: Quantity,
) -> Quantity:
    """Largest torque the motor can carry at a steady speed: the torque of `pull_out` alone.

    Parameters
    ----------
    speed : Quantity
        Motor speed in turns per second; its sign does not matter; any, [1/s]
    current_rms : Quantity
        Phase current the driver applies, RMS of the sine; 0 or more, [A]
    torque_constant : Quantity
        Torque per ampere of amplitude; 0 or more, [N m/A]
    resistance : Quantity
        Phase resistance with driver and leads; 0 or more, [ohm]
    inductance : Quantity
        Phase inductance; 0 or more, [H]
    pole_pairs : Quantity
        Electrical periods per turn; above 0, [-]
    voltage : Quantity
        Supply voltage at the driver; 0 or more, [V]

    Returns
    -------
    Quantity
        Pull-out torque, never below zero, [N m]

    References
    ----------
    As `pull_out`.

    Examples
    --------
    >>> torque = pull_out_torque(
    ...     20.0, current_rms=0.566, torque_constant=0.1 / math.sqrt(2.0), resistance=2.4,
    ...     inductance=1.8e-3, pole_pairs=50, voltage=12.0,
    ... )
    >>> f"{torque * 1e3:.2f} mN m"
    '53.46 mN m'
    """
    return pull_out(
        speed,
        current_rms=current_rms,
        torque_constant=torque_constant,
        resistance=resistance,
        inductance=inductance,
        pole_pairs=pole_pairs,
        voltage=voltage,
    ).torque


def corner_speed(
    *,
    current_rms: Quantity,
    torque_constant: Quantity,
    resistance: Quantity,
    inductance: Quantity,
    pole_pairs: Quantity,
    voltage: Quantity,
) -> Quantity:
    """Speed up to which the full current can be driven, so that the torque is flat.

    Parameters
    ----------
    current_rms : Quantity
        Phase current the driver applies, RMS of the sine; 0 or more, [A]
    torque_constant : Quantity
        Torque per ampere of amplitude; 0 or more, [N m/A]
    resistance : Quantity
        Phase resistance with driver and leads; 0 or more, [ohm]
    inductance : Quantity
        Phase inductance; 0 or more, [H]
    pole_pairs : Quantity
        Electrical periods per turn; above 0, [-]
    voltage : Quantity
        Supply voltage at the driver; 0 or more, [V]

    Returns
    -------
    Quantity
        Corner speed in turns per second; 0 where the supply cannot drive the current even at
        rest, inf where there is neither inductance nor flux to hold it back, [1/s]

    References
    ----------
    Derived here: where the full current just meets the supply.

    Examples
    --------
    >>> speed = corner_speed(
    ...     current_rms=0.8 / math.sqrt(2.0), torque_constant=0.1 / math.sqrt(2.0), resistance=2.4,
    ...     inductance=1.8e-3, pole_pairs=50, voltage=24.0,
    ... )
    >>> f"{speed:.2f} turns/s"
    '35.67 turns/s'
    """
    amplitude = math.sqrt(2.0) * current_rms
    flux = torque_constant / pole_pairs
    drop = resistance * amplitude
    head_room = np.maximum(voltage**2 - drop**2, 0.0)
    stiffness = (inductance * amplitude) ** 2 + flux**2
    root = np.sqrt((drop * flux) ** 2 + stiffness * head_room)
    electrical = ratio(head_room, drop * flux + root, otherwise=math.inf)
    return select(voltage > drop, electrical, 0.0) / (2.0 * math.pi * pole_pairs)
