"""Heat of the motor: winding rise, case temperature and the current that keeps them in bounds.

Copper loss only, one thermal resistance from winding to air, one heat capacity. Absolute
temperatures are kelvin. It sets no limits: those of insulation, mount and filament come from the
catalogue.
"""

from __future__ import annotations

import math

import numpy as np

from advisor.physics._arrays import Quantity, ratio, select
from advisor.physics.motor import REFERENCE_TEMPERATURE

__all__ = [
    "bounded_resistance",
    "case_temperature",
    "current_for_rise",
    "rise_after",
    "rise_for_case",
    "thermal_resistance_from_rating",
    "thermal_time_constant",
    "winding_loss",
    "winding_rise",
]

_LAST = 500.0  # time constants of a winding that runs away, beyond which floats would end


def winding_loss(
    current_rms: Quantity,
    *,
    resistance_20c: Quantity,
    temperature: Quantity,
    temperature_coefficient: Quantity,
) -> Quantity:
    """Copper loss of both phases, the same at every microstep.

    Parameters
    ----------
    current_rms : Quantity
        Phase current, RMS of the sine; 0 or more, [A]
    resistance_20c : Quantity
        Phase resistance at 20 degC; 0 or more, [ohm]
    temperature : Quantity
        Winding temperature; about 200 to 500, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Loss, [W]

    References
    ----------
    Derived here: J. P. Joule's law. The coefficient: IEC 60028, from memory.

    Examples
    --------
    >>> loss = winding_loss(
    ...     1.0, resistance_20c=2.4, temperature=293.15, temperature_coefficient=0.00393
    ... )
    >>> f"{loss:.2f} W"
    '4.80 W'
    """
    warming = 1.0 + temperature_coefficient * (temperature - REFERENCE_TEMPERATURE)
    return 2.0 * resistance_20c * current_rms**2 * warming


def winding_rise(
    current_rms: Quantity,
    *,
    resistance_20c: Quantity,
    thermal_resistance: Quantity,
    ambient: Quantity,
    temperature_coefficient: Quantity,
) -> Quantity:
    """Steady rise of the winding over its surroundings, with the copper's own warming.

    Parameters
    ----------
    current_rms : Quantity
        Phase current, RMS of the sine; 0 or more, [A]
    resistance_20c : Quantity
        Phase resistance at 20 degC; above 0, [ohm]
    thermal_resistance : Quantity
        Winding to air; above 0, [K/W]
    ambient : Quantity
        Air temperature at the motor; above 0, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Temperature rise; inf where the winding runs away, [K]

    References
    ----------
    Derived here: heat balance, linear in the rise.

    Examples
    --------
    >>> rise = winding_rise(
    ...     0.5657, resistance_20c=2.4, thermal_resistance=25.0, ambient=298.15,
    ...     temperature_coefficient=0.00393,
    ... )
    >>> f"{rise:.2f} K"
    '46.12 K'
    """
    cold = thermal_resistance * 2.0 * resistance_20c * current_rms**2
    warming = 1.0 + temperature_coefficient * (ambient - REFERENCE_TEMPERATURE)
    left = np.maximum(1.0 - temperature_coefficient * cold, 0.0)
    return ratio(cold * warming, left, otherwise=math.inf)


def thermal_resistance_from_rating(
    *,
    rated_current: Quantity,
    resistance_20c: Quantity,
    rated_rise: Quantity,
    rated_ambient: Quantity,
    temperature_coefficient: Quantity,
) -> Quantity:
    """Thermal resistance that a rating implies: rated current in both phases gives the rated rise.

    Parameters
    ----------
    rated_current : Quantity
        Rated current per phase, both phases on; above 0, [A]
    resistance_20c : Quantity
        Phase resistance at 20 degC; above 0, [ohm]
    rated_rise : Quantity
        Winding rise of the rating; above 0, [K]
    rated_ambient : Quantity
        Air temperature of the rating; above 0, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Winding to air, [K/W]

    Notes
    -----
    A rating supposes a metal flange; a motor on a plastic mount has a larger resistance.

    References
    ----------
    Derived here: the same heat balance at the rating; source motor-table of rules/sources.yaml.

    Examples
    --------
    >>> resistance = thermal_resistance_from_rating(
    ...     rated_current=1.0, resistance_20c=2.4, rated_rise=80.0, rated_ambient=298.15,
    ...     temperature_coefficient=0.00393,
    ... )
    >>> f"{resistance:.3f} K/W"
    '12.493 K/W'
    """
    loss = winding_loss(
        rated_current,
        resistance_20c=resistance_20c,
        temperature=rated_ambient + rated_rise,
        temperature_coefficient=temperature_coefficient,
    )
    return rated_rise / loss


def bounded_resistance(
    calibrated: Quantity,
    *,
    mount_factor: Quantity,
    metal: tuple[Quantity, Quantity],
    bare: tuple[Quantity, Quantity],
    bare_factor: Quantity,
) -> Quantity:
    """Thermal resistance that a rating implies on a mount, within what the motor's surface allows.

    Parameters
    ----------
    calibrated : Quantity
        Winding to air on the rating's metal flange, by the rating; above 0, [K/W]
    mount_factor : Quantity
        Resistance on this mount over that on the flange; above 0, [-]
    metal : tuple of Quantity
        Lower and upper bound on a metal mount; lower end first, [K/W]
    bare : tuple of Quantity
        Lower and upper bound on a mount that carries no heat away; lower end first, [K/W]
    bare_factor : Quantity
        Mount factor from which on the bounds of a bare motor hold; above 1, [-]

    Returns
    -------
    Quantity
        Winding to air on this mount, [K/W]

    Notes
    -----
    What a rating means is often unsure by a factor of two; how much heat a body of known size gives
    off in still air is not. Between a metal mount and none the bounds are interpolated.

    References
    ----------
    Derived here; sources motor-surface and bare-motor-convection of rules/sources.yaml.

    Examples
    --------
    >>> found = bounded_resistance(
    ...     12.5, mount_factor=2.0, metal=(8.0, 20.0), bare=(15.0, 22.0), bare_factor=2.0
    ... )
    >>> f"{found:.1f} K/W"
    '22.0 K/W'
    """
    towards_bare = np.clip((mount_factor - 1.0) / (bare_factor - 1.0), 0.0, 1.0)
    low, high = (
        on_metal + towards_bare * (alone - on_metal)
        for on_metal, alone in zip(metal, bare, strict=True)
    )
    bounded: Quantity = np.minimum(np.maximum(calibrated * mount_factor, low), high)
    return bounded


def current_for_rise(
    rise: Quantity,
    *,
    resistance_20c: Quantity,
    thermal_resistance: Quantity,
    ambient: Quantity,
    temperature_coefficient: Quantity,
) -> Quantity:
    """Current that warms the winding by a given rise: the inverse of `winding_rise`.

    Parameters
    ----------
    rise : Quantity
        Rise of the winding over the air; any; below 0 as 0, [K]
    resistance_20c : Quantity
        Phase resistance at 20 degC; above 0, [ohm]
    thermal_resistance : Quantity
        Winding to air; above 0, [K/W]
    ambient : Quantity
        Air temperature at the motor; above 0, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        RMS current; 0 where no rise is allowed, [A]

    References
    ----------
    Derived here: the heat balance turned round.

    Examples
    --------
    >>> current = current_for_rise(
    ...     45.0, resistance_20c=2.4, thermal_resistance=12.493, ambient=298.15,
    ...     temperature_coefficient=0.00393,
    ... )
    >>> f"{current:.4f} A"
    '0.7919 A'
    """
    allowed = np.maximum(rise, 0.0)
    warming = 1.0 + temperature_coefficient * (ambient + allowed - REFERENCE_TEMPERATURE)
    current: Quantity = np.sqrt(allowed / (2.0 * resistance_20c * thermal_resistance * warming))
    return current


def case_temperature(rise: Quantity, *, ambient: Quantity, case_share: Quantity) -> Quantity:
    """Temperature of the motor's case.

    Parameters
    ----------
    rise : Quantity
        Rise of the winding over the air; 0 or more, [K]
    ambient : Quantity
        Air temperature at the motor; above 0, [K]
    case_share : Quantity
        Rise of the case as a share of the winding's; above 0, at most 1, [-]

    Returns
    -------
    Quantity
        Case temperature, [K]

    References
    ----------
    Derived here: definition of the share, which is common practice (source case-practice).

    Examples
    --------
    >>> f"{case_temperature(40.0, ambient=298.15, case_share=0.8) - 273.15:.1f} degC"
    '57.0 degC'
    """
    return ambient + case_share * rise


def rise_for_case(
    case_temperature: Quantity, *, ambient: Quantity, case_share: Quantity
) -> Quantity:
    """Winding rise at which the case reaches a temperature: the inverse of `case_temperature`.

    Parameters
    ----------
    case_temperature : Quantity
        Case temperature; above 0, [K]
    ambient : Quantity
        Air temperature at the motor; above 0, [K]
    case_share : Quantity
        Rise of the case as a share of the winding's; above 0, at most 1, [-]

    Returns
    -------
    Quantity
        Rise of the winding; 0 where the air alone is as warm, [K]

    References
    ----------
    As `case_temperature`.

    Examples
    --------
    >>> f"{rise_for_case(330.15, ambient=298.15, case_share=0.8):.1f} K"
    '40.0 K'
    """
    head_room: Quantity = np.maximum(case_temperature - ambient, 0.0)
    return head_room / case_share


def thermal_time_constant(
    thermal_resistance: Quantity, *, mass: Quantity, specific_heat: Quantity
) -> Quantity:
    """Time in which the rise covers 63 % of its way.

    Parameters
    ----------
    thermal_resistance : Quantity
        Winding to air; above 0, [K/W]
    mass : Quantity
        Mass of the motor; 0 or more, [kg]
    specific_heat : Quantity
        Mean specific heat of the motor; above 0, [J/(kg K)]

    Returns
    -------
    Quantity
        Time constant, [s]

    References
    ----------
    Derived here: one resistance, one heat capacity.

    Examples
    --------
    >>> f"{thermal_time_constant(12.493, mass=0.075, specific_heat=460.0):.0f} s"
    '431 s'
    """
    return thermal_resistance * mass * specific_heat


def rise_after(
    time: Quantity,
    current_rms: Quantity,
    *,
    time_constant: Quantity,
    resistance_20c: Quantity,
    thermal_resistance: Quantity,
    ambient: Quantity,
    temperature_coefficient: Quantity,
) -> Quantity:
    """Rise of the winding over its surroundings a time after a current was set, from cold.

    Parameters
    ----------
    time : Quantity
        Time since the current was switched on; 0 or more, [s]
    current_rms : Quantity
        Phase current that is held, RMS of the sine; 0 or more, [A]
    time_constant : Quantity
        Time constant without current; above 0, [s]
    resistance_20c : Quantity
        Phase resistance at 20 degC; above 0, [ohm]
    thermal_resistance : Quantity
        Winding to air; above 0, [K/W]
    ambient : Quantity
        Air temperature at the motor; above 0, [K]
    temperature_coefficient : Quantity
        Relative rise of resistance per kelvin, referred to 20 degC; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Temperature rise; large, at last inf, where the winding runs away, [K]

    Notes
    -----
    From m c dT/dt = 2 R I^2 (1 + a T) - T / Rth, which is linear in T. Warm copper heats more, so
    it takes longer than the time constant; where it heats more than the air takes away there is no
    steady rise, and the same solution grows without end.

    References
    ----------
    Derived here: the heat balance in time.

    Examples
    --------
    >>> rise = rise_after(
    ...     600.0, 0.5657, time_constant=431.0, resistance_20c=2.4, thermal_resistance=12.493,
    ...     ambient=298.15, temperature_coefficient=0.00393,
    ... )
    >>> f"{rise:.2f} K"
    '15.32 K'
    """
    cold = thermal_resistance * 2.0 * resistance_20c * current_rms**2
    warming = 1.0 + temperature_coefficient * (ambient - REFERENCE_TEMPERATURE)
    constants = (1.0 - temperature_coefficient * cold) * time / time_constant
    held = np.maximum(constants, -_LAST)
    share = ratio(-np.expm1(-held), held, otherwise=1.0)
    rise = cold * warming * time / time_constant * share
    return select(np.less(constants, -_LAST), math.inf, rise)
