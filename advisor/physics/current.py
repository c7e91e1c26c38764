"""What a driver really applies: ratings, registers and rounding.

Three kinds of chips: two sense ranges, a global scaler, and a reference resistor. The register is
chosen as the ini-style firmware chooses it, the current follows from the chip's own constants.
Voltages, constants and counts of a chip are arguments: the catalogue holds them. Firmware versions
differ in how they pick the range; the rule written here is named at each function.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from advisor.base import frozen
from advisor.physics._arrays import Quantity, ratio, select

__all__ = [
    "CurrentSetting",
    "derated_current",
    "global_scaler_applied",
    "global_scaler_full_scale",
    "global_scaler_setting",
    "largest_setting_not_above",
    "pwm_lower_current",
    "rated_rms",
    "reference_applied",
    "reference_full_scale",
    "reference_setting",
    "rms_from_peak",
    "two_range_applied",
    "two_range_full_scale",
    "two_range_setting",
]

RMS_SHARE = {"rms": 1.0, "peak": math.sqrt(0.5), "unsure": math.sqrt(0.5)}
SEARCH_FACTOR = 2.0  # settings up to this many times the limit are tried
SLACK = 1e-9  # relative, so that 0.80 is not above 0.8


@frozen
class CurrentSetting:
    """Registers a driver is given and the current that follows.

    `range` [-] indexes the chip's ranges as they were passed in, `scaler` [-] is the global
    scaler (0 where the chip has none), `step` [-] the current register, `current` [A] RMS.
    """

    range: Quantity
    scaler: Quantity
    step: Quantity
    current: Quantity


def rms_from_peak(current_peak: Quantity) -> Quantity:
    """RMS value of a sine of given amplitude.

    Parameters
    ----------
    current_peak : Quantity
        Amplitude; 0 or more, [A]

    Returns
    -------
    Quantity
        RMS value, [A]

    References
    ----------
    Derived here: the root mean square of a sine.

    Examples
    --------
    >>> f"{rms_from_peak(1.0):.4f} A"
    '0.7071 A'
    """
    return current_peak / math.sqrt(2.0)


def rated_rms(rated_current: Quantity, basis: str) -> Quantity:
    """RMS current that a rating allows, by the way the rating is read.

    Parameters
    ----------
    rated_current : Quantity
        Rated current per phase; 0 or more, [A]
    basis : str
        "rms", "peak" or "unsure"; unsure is read as peak, the careful side; one of three, [-]

    Returns
    -------
    Quantity
        RMS current, [A]

    Raises
    ------
    ValueError
        For another basis.

    References
    ----------
    Sources motor-rating-rms and motor-rating-peak of rules/sources.yaml.

    Examples
    --------
    >>> f"{rated_rms(1.68, 'unsure'):.3f} A"
    '1.188 A'
    """
    if basis not in RMS_SHARE:
        raise ValueError(f"basis must be one of {', '.join(RMS_SHARE)} (got {basis!r})")
    return rated_current * RMS_SHARE[basis]


def derated_current(rated_rms: Quantity, *, share: Quantity) -> Quantity:
    """Careful working current.

    Parameters
    ----------
    rated_rms : Quantity
        RMS current the rating allows; 0 or more, [A]
    share : Quantity
        Share of it to use; 0 to 1, [-]

    Returns
    -------
    Quantity
        RMS current, [A]

    References
    ----------
    Source derating-practice of rules/sources.yaml: common practice.

    Examples
    --------
    >>> f"{derated_current(0.7071, share=0.8):.4f} A"
    '0.5657 A'
    """
    return share * rated_rms


def two_range_full_scale(
    *, sense_resistor: Quantity, chip_voltages: Sequence[float], internal_resistance: Quantity
) -> tuple[Quantity, ...]:
    """Largest current of each range of a chip with two sense ranges.

    Parameters
    ----------
    sense_resistor : Quantity
        Sense resistor; above 0, [ohm]
    chip_voltages : Sequence[float]
        Full-scale sense voltage of the coarse and of the fine range; each above 0, [V]
    internal_resistance : Quantity
        Resistance of the chip in series with the sense resistor; 0 or more, [ohm]

    Returns
    -------
    tuple[Quantity, ...]
        RMS current at full scale, coarse range first, [A]

    References
    ----------
    Source driver-two-range of rules/sources.yaml: datasheets.

    Examples
    --------
    >>> scales = two_range_full_scale(
    ...     sense_resistor=0.11, chip_voltages=(0.325, 0.180), internal_resistance=0.02
    ... )
    >>> [f"{scale:.3f} A" for scale in scales]
    ['1.768 A', '0.979 A']
    """
    resistance = sense_resistor + internal_resistance
    return tuple(volts / resistance / math.sqrt(2.0) for volts in chip_voltages)


def two_range_setting(
    current: Quantity,
    *,
    sense_resistor: Quantity,
    firmware_voltages: Sequence[float],
    chip_voltages: Sequence[float],
    internal_resistance: Quantity,
    levels: int = 32,
) -> CurrentSetting:
    """Range, register and real current of a chip with two sense ranges.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    sense_resistor : Quantity
        Sense resistor; above 0, [ohm]
    firmware_voltages : Sequence[float]
        Full-scale voltage the firmware reckons with, coarse range first; each above 0, [V]
    chip_voltages : Sequence[float]
        Full-scale voltage of the chip, coarse range first; each above 0, [V]
    internal_resistance : Quantity
        Resistance of the chip in series with the sense resistor; 0 or more, [ohm]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    CurrentSetting
        Range 0 coarse or 1 fine, step, and RMS current, [-, A]

    Notes
    -----
    The register is the nearest step of the fine range; only where that is the last step, lies below
    what is asked, and the coarse range comes as near or nearer, the coarse range is taken. The
    current at rest has no say in it. The firmware reckons with its own rounded voltages, the chip
    applies its true ones.

    References
    ----------
    Source firmware-current of rules/sources.yaml: the firmware's public source as of August 2026;
    older versions kept the coarse range in the upper half of its scale.

    Examples
    --------
    >>> found = two_range_setting(
    ...     0.80, sense_resistor=0.11, internal_resistance=0.02,
    ...     firmware_voltages=(0.32, 0.18), chip_voltages=(0.325, 0.180),
    ... )
    >>> f"range {found.range:.0f}, step {found.step:.0f}, {found.current:.4f} A"
    'range 1, step 25, 0.7955 A'
    """
    scale = math.sqrt(2.0) * (sense_resistor + internal_resistance)
    steps = [_nearest_step(current * scale / volts, levels) for volts in firmware_voltages]
    reckoned = [
        (step + 1.0) / levels * volts / scale
        for step, volts in zip(steps, firmware_voltages, strict=True)
    ]
    coarse_nearer = np.abs(reckoned[0] - current) <= (reckoned[1] - current) * -(1.0 + SLACK)
    fine = (steps[1] < levels - 1) | ~coarse_nearer
    step = select(fine, steps[1], steps[0])
    volts = select(fine, chip_voltages[1], chip_voltages[0])
    return CurrentSetting(select(fine, 1.0, 0.0), 0.0, step, (step + 1.0) / levels * volts / scale)


def two_range_applied(
    current: Quantity,
    *,
    sense_resistor: Quantity,
    firmware_voltages: Sequence[float],
    chip_voltages: Sequence[float],
    internal_resistance: Quantity,
    levels: int = 32,
) -> Quantity:
    """Real current of a chip with two sense ranges: the current of `two_range_setting`.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    sense_resistor : Quantity
        Sense resistor; above 0, [ohm]
    firmware_voltages : Sequence[float]
        Full-scale voltage the firmware reckons with, coarse range first; each above 0, [V]
    chip_voltages : Sequence[float]
        Full-scale voltage of the chip, coarse range first; each above 0, [V]
    internal_resistance : Quantity
        Resistance of the chip in series with the sense resistor; 0 or more, [ohm]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    Quantity
        RMS current, [A]

    References
    ----------
    As `two_range_setting`.

    Examples
    --------
    >>> applied = two_range_applied(
    ...     0.80, sense_resistor=0.11, internal_resistance=0.02,
    ...     firmware_voltages=(0.32, 0.18), chip_voltages=(0.325, 0.180),
    ... )
    >>> f"{applied:.4f} A"
    '0.7955 A'
    """
    return two_range_setting(
        current,
        sense_resistor=sense_resistor,
        firmware_voltages=firmware_voltages,
        chip_voltages=chip_voltages,
        internal_resistance=internal_resistance,
        levels=levels,
    ).current


def global_scaler_full_scale(*, sense_resistor: Quantity, full_scale_voltage: Quantity) -> Quantity:
    """Largest current of a chip with a global scaler.

    Parameters
    ----------
    sense_resistor : Quantity
        Sense resistor; above 0, [ohm]
    full_scale_voltage : Quantity
        Sense voltage at full scale; above 0, [V]

    Returns
    -------
    Quantity
        RMS current, [A]

    References
    ----------
    Source driver-global-scaler of rules/sources.yaml: datasheets.

    Examples
    --------
    >>> f"{global_scaler_full_scale(sense_resistor=0.075, full_scale_voltage=0.325):.4f} A"
    '3.0641 A'
    """
    return full_scale_voltage / sense_resistor / math.sqrt(2.0)


def global_scaler_setting(
    current: Quantity,
    *,
    full_scale: Quantity,
    scaler_levels: int,
    scaler_minimum: int,
    levels: int = 32,
) -> CurrentSetting:
    """Scaler, register and real current of a chip with a global scaler.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    full_scale : Quantity
        RMS current at full scale; above 0, [A]
    scaler_levels : int
        Scaler that stands for full scale; 1 or more, [-]
    scaler_minimum : int
        Least scaler the chip accepts; 1 to `scaler_levels`, [-]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    CurrentSetting
        Range 0, scaler, step and RMS current, [-, A]

    Notes
    -----
    The scaler is the nearest one that gives the current at the top step, held between its minimum
    and full scale; the register then is the nearest step.

    References
    ----------
    Source driver-global-scaler of rules/sources.yaml: datasheets.

    Examples
    --------
    >>> found = global_scaler_setting(
    ...     1.0, full_scale=3.0641, scaler_levels=256, scaler_minimum=32
    ... )
    >>> f"scaler {found.scaler:.0f}, step {found.step:.0f}, {found.current:.4f} A"
    'scaler 84, step 31, 1.0054 A'
    """
    share = ratio(current, full_scale)
    nearest = np.trunc(share * scaler_levels + 0.5)
    scaler = np.minimum(np.maximum(nearest, scaler_minimum), scaler_levels)
    step = _nearest_step(share * scaler_levels / scaler, levels)
    applied = full_scale * scaler / scaler_levels * (step + 1.0) / levels
    return CurrentSetting(0.0, scaler, step, applied)


def global_scaler_applied(
    current: Quantity,
    *,
    full_scale: Quantity,
    scaler_levels: int,
    scaler_minimum: int,
    levels: int = 32,
) -> Quantity:
    """Real current of a chip with a global scaler: the current of `global_scaler_setting`.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    full_scale : Quantity
        RMS current at full scale; above 0, [A]
    scaler_levels : int
        Scaler that stands for full scale; 1 or more, [-]
    scaler_minimum : int
        Least scaler the chip accepts; 1 to `scaler_levels`, [-]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    Quantity
        RMS current, [A]

    References
    ----------
    As `global_scaler_setting`.

    Examples
    --------
    >>> applied = global_scaler_applied(
    ...     1.0, full_scale=3.0641, scaler_levels=256, scaler_minimum=32
    ... )
    >>> f"{applied:.4f} A"
    '1.0054 A'
    """
    return global_scaler_setting(
        current,
        full_scale=full_scale,
        scaler_levels=scaler_levels,
        scaler_minimum=scaler_minimum,
        levels=levels,
    ).current


def reference_full_scale(
    *, reference_resistor: Quantity, constants: Sequence[float]
) -> tuple[Quantity, ...]:
    """Largest current of each range of a chip with a reference resistor.

    Parameters
    ----------
    reference_resistor : Quantity
        Reference resistor; above 0, [ohm]
    constants : Sequence[float]
        Full-scale constant of each range, peak current times resistance; each above 0, [A ohm]

    Returns
    -------
    tuple[Quantity, ...]
        RMS current at full scale of each range, [A]

    References
    ----------
    Source driver-reference-resistor of rules/sources.yaml: datasheets.

    Examples
    --------
    >>> scales = reference_full_scale(reference_resistor=12e3, constants=(11750.0, 24e3, 36e3))
    >>> [f"{scale:.3f} A" for scale in scales]
    ['0.692 A', '1.414 A', '2.121 A']
    """
    return tuple(k / reference_resistor / math.sqrt(2.0) for k in constants)


def reference_setting(
    current: Quantity,
    *,
    reference_resistor: Quantity,
    constants: Sequence[float],
    scaler_levels: int,
    scaler_minimum: int,
    levels: int = 32,
) -> CurrentSetting:
    """Range, scaler, register and real current of a chip with a reference resistor.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    reference_resistor : Quantity
        Reference resistor; above 0, [ohm]
    constants : Sequence[float]
        Full-scale constant of each range, rising; peak current times resistance; each above 0, [A
        ohm]
    scaler_levels : int
        Scaler that stands for full scale; 1 or more, [-]
    scaler_minimum : int
        Least scaler the chip accepts; 1 to `scaler_levels`, [-]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    CurrentSetting
        Range, scaler, step and RMS current, [-, A]

    Notes
    -----
    The range is the smallest that reaches the current asked for, the largest if none does (from
    memory of the firmware's rule); scaler and register as in `global_scaler_setting`.

    References
    ----------
    Source driver-reference-resistor of rules/sources.yaml; the choice of range is from memory.

    Examples
    --------
    >>> found = reference_setting(
    ...     1.4, reference_resistor=12e3, constants=(11750.0, 24e3, 36e3),
    ...     scaler_levels=256, scaler_minimum=32,
    ... )
    >>> f"range {found.range:.0f}, scaler {found.scaler:.0f}, {found.current:.3f} A"
    'range 1, scaler 253, 1.398 A'
    """
    scales = reference_full_scale(reference_resistor=reference_resistor, constants=constants)
    chosen: Quantity = scales[-1]
    index: Quantity = float(len(scales) - 1)
    for place in range(len(scales) - 2, -1, -1):
        enough = current <= scales[place]
        chosen, index = select(enough, scales[place], chosen), select(enough, place, index)
    setting = global_scaler_setting(
        current,
        full_scale=chosen,
        scaler_levels=scaler_levels,
        scaler_minimum=scaler_minimum,
        levels=levels,
    )
    return CurrentSetting(index, setting.scaler, setting.step, setting.current)


def reference_applied(
    current: Quantity,
    *,
    reference_resistor: Quantity,
    constants: Sequence[float],
    scaler_levels: int,
    scaler_minimum: int,
    levels: int = 32,
) -> Quantity:
    """Real current of a chip with a reference resistor: the current of `reference_setting`.

    Parameters
    ----------
    current : Quantity
        RMS current asked for; 0 or more, [A]
    reference_resistor : Quantity
        Reference resistor; above 0, [ohm]
    constants : Sequence[float]
        Full-scale constant of each range, rising; peak current times resistance; each above 0, [A
        ohm]
    scaler_levels : int
        Scaler that stands for full scale; 1 or more, [-]
    scaler_minimum : int
        Least scaler the chip accepts; 1 to `scaler_levels`, [-]
    levels : int
        Number of steps of the current register; 1 or more, [-]

    Returns
    -------
    Quantity
        RMS current, [A]

    References
    ----------
    As `reference_setting`.

    Examples
    --------
    >>> applied = reference_applied(
    ...     1.4, reference_resistor=12e3, constants=(11750.0, 24e3, 36e3),
    ...     scaler_levels=256, scaler_minimum=32,
    ... )
    >>> f"{applied:.3f} A"
    '1.398 A'
    """
    return reference_setting(
        current,
        reference_resistor=reference_resistor,
        constants=constants,
        scaler_levels=scaler_levels,
        scaler_minimum=scaler_minimum,
        levels=levels,
    ).current


def largest_setting_not_above(
    limit: float,
    *,
    apply: Callable[[Quantity], Quantity],
    step: float = 0.01,
    ceiling: float | None = None,
) -> float | None:
    """Largest setting whose applied current is not above a limit.

    Parameters
    ----------
    limit : float
        RMS current that must not be exceeded; any, [A]
    apply : Callable
        Gives the applied RMS current for an array of settings; not falling with the setting, [-]
    step : float
        Settings are multiples of this; above 0, [A]
    ceiling : float or None
        No setting above this is tried; above 0 or None, [A]

    Returns
    -------
    float or None
        RMS current to set; None where even the least setting is too much, [A]

    Notes
    -----
    Rounding in the driver makes the applied current differ from the setting, so the setting may
    come out a little above the limit itself; give `ceiling` to rule that out. Where the driver is
    at full scale and still below the limit, every setting would do: then the largest one not above
    the limit is given.

    References
    ----------
    Derived here: a search over the settings.

    Examples
    --------
    >>> largest_setting_not_above(0.5657, apply=lambda asked: asked)
    0.56
    """
    count = math.floor(SEARCH_FACTOR * limit / step * (1.0 + SLACK))
    if count < 1:
        return None
    settings: NDArray[np.float64] = np.round(step * np.arange(1.0, count + 1.0), 9)
    fits = np.asarray(apply(settings)) <= limit * (1.0 + SLACK)
    if fits[-1]:
        ceiling = limit if ceiling is None else min(ceiling, limit)
    if ceiling is not None:
        fits &= settings <= ceiling * (1.0 + SLACK)
    found = np.flatnonzero(fits)
    return float(settings[found[-1]]) if found.size else None


def pwm_lower_current(
    *,
    voltage: Quantity,
    resistance: Quantity,
    blank_clocks: Quantity,
    pwm_per_clock: Quantity,
) -> Quantity:
    """Least current that a silent voltage chopper can regulate by itself.

    Parameters
    ----------
    voltage : Quantity
        Supply voltage; 0 or more, [V]
    resistance : Quantity
        Phase resistance; 0 or more, [ohm]
    blank_clocks : Quantity
        Blank time in clock cycles; 0 or more, [-]
    pwm_per_clock : Quantity
        PWM frequency as a share of the clock frequency; 0 to 1, [-]

    Returns
    -------
    Quantity
        Coil current, [A]

    Notes
    -----
    Blank time times PWM frequency is the least duty; the clock cancels.

    References
    ----------
    Source driver-silent-pwm of rules/sources.yaml: the worked example of the datasheet.

    Examples
    --------
    >>> least = pwm_lower_current(
    ...     voltage=24.0, resistance=5.0, blank_clocks=24.0, pwm_per_clock=2.0 / 1024.0
    ... )
    >>> f"{least:.3f} A"
    '0.225 A'
    """
    return blank_clocks * pwm_per_clock * voltage / resistance


def _nearest_step(share: Quantity, levels: int) -> Quantity:
    """Register nearest to a share of full scale: cut to whole after adding a half, then held."""
    nearest: Quantity = np.clip(np.trunc(levels * share - 1.0 + 0.5), 0.0, levels - 1.0)
    return nearest
