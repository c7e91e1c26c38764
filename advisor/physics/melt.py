"""Heat into the filament, the flow it allows, and the force the hotend asks for.

The melting filament is a solid rod moving through a hot wall (plug flow, wall at set temperature):
the classic cylinder of Carslaw and Jaeger, Conduction of Heat in Solids, ch. 7. How warm the core
must get is an empirical choice and comes in as an argument, as do all materials' numbers.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from advisor.physics._arrays import Quantity, j0_zeros, j1, ratio, select

__all__ = [
    "centre_ratio",
    "critical_fourier",
    "effective_melt_length",
    "fourier_number",
    "heat_per_volume",
    "heated_length",
    "heater_flow",
    "melt_flow",
    "reference_flow",
    "reference_force",
    "required_force",
    "scaled_melt_flow",
    "softening_ratio",
]

HIGHEST_RATIO = 1.0 - 1e-6  # the core has hardly warmed: the flow stays finite
LOWEST_RATIO = 1e-12  # the core is all but at wall temperature
SERIES_ABOVE = 0.5  # above this ratio one term of the series is not enough
NEWTON_TERMS = 20
NEWTON_STEPS = 3
TABLE_SIZE = 600
TABLE_FOURIER = (0.012, 0.25)
CENTRE_STARTS = 0.005  # below, the centre has not felt the wall (1 - ratio under 1e-20)


def centre_ratio(fourier: Quantity) -> Quantity:
    """Share of the first temperature difference that is left at the centre of the rod.

    Parameters
    ----------
    fourier : Quantity
        Fourier number on the radius; 0 or more, [-]

    Returns
    -------
    Quantity
        (wall - centre)/(wall - inlet), 1 at the start, [-]

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), ch. 7, from memory.

    Examples
    --------
    >>> f"{centre_ratio(0.2):.6f}"
    '0.501487'
    """
    squared, centre = _series()
    value = _decay(np.maximum(fourier, CENTRE_STARTS), squared) @ centre
    clipped = np.minimum(np.maximum(value, 0.0), 1.0)
    return select(np.less(fourier, CENTRE_STARTS), 1.0, clipped)


def fourier_number(theta: Quantity) -> Quantity:
    """Fourier number at which a ratio is left at the centre: the inverse of `centre_ratio`.

    Parameters
    ----------
    theta : Quantity
        Ratio left at the centre; held between 1e-12 and 1 - 1e-6, [-]

    Returns
    -------
    Quantity
        Fourier number on the radius, [-]

    Notes
    -----
    One term of the series up to a ratio of 0.5 (0.4 % high there, less below), the series with 20
    terms above.

    References
    ----------
    As `centre_ratio`; its inverse is derived here.

    Examples
    --------
    >>> f"{fourier_number(0.8):.5f}"
    '0.11288'
    """
    share = np.clip(theta, LOWEST_RATIO, HIGHEST_RATIO)
    fourier = _one_term_fourier(share)
    early = np.greater(share, SERIES_ABOVE)
    if not np.any(early):
        return fourier
    exact = _newton(_table_fourier(np.maximum(share, SERIES_ABOVE)), share)
    return select(early, exact, fourier)


def softening_ratio(
    *, wall_temperature: Quantity, core_temperature: Quantity, inlet_temperature: Quantity
) -> Quantity:
    """Ratio that may be left at the centre when the core is soft enough to pass the nozzle.

    Parameters
    ----------
    wall_temperature : Quantity
        Temperature of the hotend's wall; above 0, [K]
    core_temperature : Quantity
        Temperature the core must reach; above 0, [K]
    inlet_temperature : Quantity
        Temperature of the filament as it comes in; above 0, [K]

    Returns
    -------
    Quantity
        Ratio; 0 where the wall is not above the core's temperature, never quite 1, [-]

    References
    ----------
    Derived here: definition. The core temperature: source core-temperature-choice, a choice.

    Examples
    --------
    >>> ratio_left = softening_ratio(
    ...     wall_temperature=493.15, core_temperature=418.15, inlet_temperature=298.15
    ... )
    >>> f"{ratio_left:.4f}"
    '0.3846'
    """
    head, span = wall_temperature - core_temperature, wall_temperature - inlet_temperature
    theta = ratio(head, np.maximum(span, 0.0), otherwise=HIGHEST_RATIO)
    held = np.clip(theta, LOWEST_RATIO, HIGHEST_RATIO)
    return select(np.greater(head, 0.0), held, 0.0)


def critical_fourier(
    *,
    wall_temperature: Quantity,
    core_temperature: Quantity,
    inlet_temperature: Quantity,
    bore: Quantity,
    reference_bore: Quantity,
    widest_bore: Quantity,
    bore_exponent: Quantity,
    wide_exponent: Quantity = 0.0,
) -> Quantity:
    """Fourier number the filament needs before the nozzle lets it pass.

    Parameters
    ----------
    wall_temperature : Quantity
        Temperature of the hotend's wall; above 0, [K]
    core_temperature : Quantity
        Temperature the core must reach through the reference bore; above 0, [K]
    inlet_temperature : Quantity
        Temperature of the filament as it comes in; above 0, [K]
    bore : Quantity
        Nozzle bore; above 0, [m]
    reference_bore : Quantity
        Bore at and below which the core temperature holds; above 0, [m]
    widest_bore : Quantity
        Bore above which the number falls no further; above 0, [m]
    bore_exponent : Quantity
        Exponent by which the number falls with the bore; above 0, [-]
    wide_exponent : Quantity
        The same beyond the widest bore with data; 0 where the number stays; 0 or more, [-]

    Returns
    -------
    Quantity
        Fourier number on the radius; inf where the core never gets soft, [-]

    Notes
    -----
    A wider nozzle passes a colder core: the number falls with a power of the bore, between the
    reference bore and the widest for which there is data. Beyond that one it typically stays; an
    exponent of its own carries how little is known there.

    References
    ----------
    Derived here: a fit, source melt-calibration of rules/sources.yaml.

    Examples
    --------
    >>> number = critical_fourier(
    ...     wall_temperature=493.15, core_temperature=418.15, inlet_temperature=298.15, bore=0.8e-3,
    ...     reference_bore=0.4e-3, widest_bore=1.2e-3, bore_exponent=0.65,
    ... )
    >>> f"{number:.4f}"
    '0.1572'
    """
    theta = softening_ratio(
        wall_temperature=wall_temperature,
        core_temperature=core_temperature,
        inlet_temperature=inlet_temperature,
    )
    wide = np.minimum(np.maximum(bore, reference_bore), widest_bore) / reference_bore
    beyond = np.maximum(bore / widest_bore, 1.0)
    fourier = fourier_number(theta) * wide**-bore_exponent * beyond**-wide_exponent
    return select(np.greater(theta, 0.0), fourier, math.inf)


def melt_flow(
    *,
    diffusivity: Quantity,
    melt_length: Quantity,
    critical_fourier: Quantity,
    correction: Quantity = 1.0,
) -> Quantity:
    """Flow up to which the core gets warm enough.

    Parameters
    ----------
    diffusivity : Quantity
        Thermal diffusivity; above 0, [m2/s]
    melt_length : Quantity
        Effective heated length; 0 or more, [m]
    critical_fourier : Quantity
        Fourier number the filament needs; above 0, [-]
    correction : Quantity
        Factor from model to practice; 0 or more, [-]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where the core never gets soft, [m3/s]

    References
    ----------
    Derived here: plug flow, Fo = pi alpha L / Q, with the series of `centre_ratio`.

    Examples
    --------
    >>> flow = melt_flow(diffusivity=7.5e-8, melt_length=12.5e-3, critical_fourier=0.25)
    >>> f"{flow * 1e9:.2f} mm3/s"
    '11.78 mm3/s'
    """
    return correction * ratio(math.pi * diffusivity * melt_length, critical_fourier)


def scaled_melt_flow(
    measured: Quantity, *, model_here: Quantity, model_at_measurement: Quantity
) -> Quantity:
    """Carry a measured flow limit over to another temperature, material or nozzle.

    Parameters
    ----------
    measured : Quantity
        Flow limit that was measured; 0 or more, [m3/s]
    model_here : Quantity
        Modelled limit under the conditions of interest; 0 or more, [m3/s]
    model_at_measurement : Quantity
        Modelled limit under the conditions of the measurement; 0 or more, [m3/s]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where the model gives none for the measurement, [m3/s]

    References
    ----------
    Derived here: proportion.

    Examples
    --------
    >>> flow = scaled_melt_flow(11e-9, model_here=12e-9, model_at_measurement=10e-9)
    >>> f"{flow * 1e9:.1f} mm3/s"
    '13.2 mm3/s'
    """
    return measured * ratio(model_here, model_at_measurement)


def effective_melt_length(
    melt_length: Quantity, *, split_length: Quantity, channels: Quantity
) -> Quantity:
    """Length of a plain zone that heats as much as one whose end is split in channels.

    Parameters
    ----------
    melt_length : Quantity
        Whole heated length, the split part included; 0 or more, [m]
    split_length : Quantity
        Length of the split part; held between 0 and the whole, [m]
    channels : Quantity
        Parallel channels over that part; 1 or more, [-]

    Returns
    -------
    Quantity
        Effective length, an upper bound, [m]

    References
    ----------
    Derived here: source split-channels of rules/sources.yaml.

    Examples
    --------
    >>> f"{effective_melt_length(19.6e-3, split_length=4.9e-3, channels=3) * 1e3:.1f} mm"
    '29.4 mm'
    """
    split = np.minimum(np.maximum(split_length, 0.0), melt_length)
    length: Quantity = melt_length + (channels - 1.0) * split
    return length


def heated_length(length: Quantity, *, reference_length: Quantity, exponent: Quantity) -> Quantity:
    """Length of melt zone as it counts: a longer zone gains less than in proportion.

    Parameters
    ----------
    length : Quantity
        Effective heated length; 0 or more, [m]
    reference_length : Quantity
        Length of zone that counts in full; above 0, [m]
    exponent : Quantity
        Power of the length, 1 for a gain in proportion; above 0, [-]

    Returns
    -------
    Quantity
        Length to reckon with, [m]

    Notes
    -----
    Fitted to single-channel rows of a published table.

    References
    ----------
    F. Wuest, A. Kattinger, J. Dahmen, D. Spiehl, C. Bonten, A. Blaeser, J. Manuf. Mater. Process.
    10(7) 233 (2026), doi 10.3390/jmmp10070233, table 1, read second-hand; the fit is derived here.

    Examples
    --------
    >>> f"{heated_length(25e-3, reference_length=12.5e-3, exponent=0.85) * 1e3:.2f} mm"
    '22.53 mm'
    """
    counted: Quantity = reference_length * (length / reference_length) ** exponent
    return counted


def reference_flow(
    melt_flow: Quantity, *, bore: Quantity, reference_bore: Quantity, exponent: Quantity
) -> Quantity:
    """Flow at which a hotend asks for its reference force.

    Parameters
    ----------
    melt_flow : Quantity
        Flow up to which the core gets warm enough; 0 or more, [m3/s]
    bore, reference_bore : Quantity
        Diameter of this nozzle and of the reference; above 0, [m]
    exponent : Quantity
        Power of the bore below the reference; above 0, [-]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]

    Notes
    -----
    The melt flow down to the reference bore; below it the bore itself resists, and the same force
    comes at less flow. The melt flow does not change with such a bore.

    References
    ----------
    Derived here: a fit, source fine-bores of rules/sources.yaml.

    Examples
    --------
    >>> f"{reference_flow(11e-9, bore=0.2e-3, reference_bore=0.4e-3, exponent=1.9) * 1e9:.2f} mm3/s"
    '2.95 mm3/s'
    """
    narrow: Quantity = np.minimum(bore / reference_bore, 1.0) ** exponent
    return melt_flow * narrow


def reference_force(
    force: Quantity,
    *,
    filament_area: Quantity,
    reference_area: Quantity,
    wall_temperature: Quantity,
    reference_temperature: Quantity,
    sensitivity: Quantity,
) -> Quantity:
    """Feed force a hotend asks for at its reference flow, for this filament and temperature.

    Parameters
    ----------
    force : Quantity
        Force for the reference filament at the material's reference temperature; 0 or more, [N]
    filament_area, reference_area : Quantity
        Cross-section of this filament and of the reference one; above 0, [m2]
    wall_temperature : Quantity
        Temperature of the hotend's wall; above 0, [K]
    reference_temperature : Quantity
        Temperature the force is stated at; above 0, [K]
    sensitivity : Quantity
        Relative fall per kelvin; 0 or more, [1/K]

    Returns
    -------
    Quantity
        Force, [N]

    Notes
    -----
    It goes with the filament's section and falls exponentially with temperature, as the viscosity
    of a melt does.

    References
    ----------
    Derived here: a fit, source feed-force-temperature of rules/sources.yaml.

    Examples
    --------
    >>> force = reference_force(
    ...     50.0, filament_area=2.4053e-6, reference_area=2.4053e-6, wall_temperature=503.15,
    ...     reference_temperature=493.15, sensitivity=0.03,
    ... )
    >>> f"{force:.2f} N"
    '37.04 N'
    """
    hotter = wall_temperature - reference_temperature
    at_temperature: Quantity = force * np.exp(-sensitivity * hotter)
    return at_temperature * filament_area / reference_area


def heat_per_volume(
    *,
    density: Quantity,
    specific_heat: Quantity,
    melting_enthalpy: Quantity,
    wall_temperature: Quantity,
    inlet_temperature: Quantity,
) -> Quantity:
    """Heat that a volume of filament takes up on its way to wall temperature.

    Parameters
    ----------
    density : Quantity
        Density of the filament; above 0, [kg/m3]
    specific_heat : Quantity
        Mean specific heat over the way; above 0, [J/(kg K)]
    melting_enthalpy : Quantity
        Melting heat of the crystalline share, per mass of filament; 0 or more, [J/kg]
    wall_temperature, inlet_temperature : Quantity
        Temperature of the hotend's wall and of the incoming filament; above 0, [K]

    Returns
    -------
    Quantity
        Heat, 0 where the wall is not above the inlet, [J/m3]

    References
    ----------
    Source heater-balance of rules/sources.yaml: enthalpy.

    Examples
    --------
    >>> heat = heat_per_volume(
    ...     density=1240.0, specific_heat=1800.0, melting_enthalpy=0.0, wall_temperature=483.15,
    ...     inlet_temperature=298.15,
    ... )
    >>> f"{heat / 1e9:.4f} J/mm3"
    '0.4129 J/mm3'
    """
    rise = wall_temperature - inlet_temperature
    heat = density * (specific_heat * rise + melting_enthalpy)
    return select(np.greater(rise, 0.0), heat, 0.0)


def heater_flow(
    *, heater_power: Quantity, heat_loss: Quantity, heat_per_volume: Quantity
) -> Quantity:
    """Flow up to which the heater holds the temperature.

    Parameters
    ----------
    heater_power : Quantity
        Power of the heater, as far as the firmware lets it; 0 or more, [W]
    heat_loss : Quantity
        Loss of the hot end at temperature; 0 or more, [W]
    heat_per_volume : Quantity
        Heat taken up by the filament; 0 or more, [J/m3]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where nothing is heated or no power is left, [m3/s]

    References
    ----------
    Source heater-balance of rules/sources.yaml.

    Examples
    --------
    >>> flow = heater_flow(heater_power=50.0, heat_loss=15.0, heat_per_volume=4.1292e8)
    >>> f"{flow * 1e9:.1f} mm3/s"
    '84.8 mm3/s'
    """
    return ratio(np.maximum(heater_power - heat_loss, 0.0), heat_per_volume)


def required_force(
    flow: Quantity,
    *,
    guide_force: Quantity,
    reference_force: Quantity,
    reference_flow: Quantity,
    exponent: Quantity,
) -> Quantity:
    """Feed force a hotend asks for at a flow: drag of the guide and the push of the melt.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow; 0 or more, [m3/s]
    guide_force : Quantity
        Drag of the way to the gears; 0 or more, [N]
    reference_force : Quantity
        Force on top of the drag at the reference flow; 0 or more, [N]
    reference_flow : Quantity
        Flow at which the reference force is asked; 0 or more, [m3/s]
    exponent : Quantity
        Power of the flow near the limit; above 0, [-]

    Returns
    -------
    Quantity
        Force; inf for any flow where nothing melts, [N]

    References
    ----------
    Derived here: source feed-force-law of rules/sources.yaml, joined from T. A. Osswald, J.
    Puentes, A. Kattinger, Additive Manufacturing 22 (2018), doi 10.1016/j.addma.2018.04.030, and
    others.

    Examples
    --------
    >>> force = required_force(
    ...     11e-9, guide_force=4.5, reference_force=50.0, reference_flow=11e-9, exponent=2.8
    ... )
    >>> f"{force:.1f} N"
    '54.5 N'
    """
    feed = np.maximum(flow, 0.0)
    with np.errstate(over="ignore"):
        melting = reference_force * ratio(feed, np.maximum(reference_flow, 0.0)) ** exponent
    blocked = np.greater(feed, 0.0) & ~np.greater(reference_flow, 0.0)
    return guide_force + select(blocked, math.inf, melting)


@cache
def _series() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Squared zeros of J0 and the weights of the centre."""
    zeros = j0_zeros()
    return zeros**2, 2.0 / (zeros * np.asarray(j1(zeros)))


def _decay(fourier: Quantity, squared_zeros: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(under="ignore"):
        decay: NDArray[np.float64] = np.exp(np.multiply.outer(-np.asarray(fourier), squared_zeros))
    return decay


def _one_term_fourier(theta: Quantity) -> Quantity:
    squared, centre = _series()
    fourier: Quantity = np.log(centre[0] / theta) / squared[0]
    return fourier


@cache
def _table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Fourier number over -1/ln(1 - ratio), in which it is all but a straight line."""
    fourier = np.linspace(*TABLE_FOURIER, TABLE_SIZE)
    return -1.0 / np.log1p(-np.asarray(centre_ratio(fourier))), fourier


def _table_fourier(theta: Quantity) -> Quantity:
    abscissa, fourier = _table()
    start: Quantity = np.interp(-1.0 / np.log1p(-theta), abscissa, fourier)
    return start


def _newton(fourier: Quantity, theta: Quantity) -> Quantity:
    """Refine a Fourier number on the first terms of the series."""
    squared, centre = (part[:NEWTON_TERMS] for part in _series())
    for _ in range(NEWTON_STEPS):
        decay = _decay(fourier, squared)
        fourier = fourier + (decay @ centre - theta) / (decay @ (centre * squared))
    return fourier
