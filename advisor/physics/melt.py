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

from advisor.physics._arrays import Quantity, ratio, select
from advisor.physics._bessel import j0_zeros, j1

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
        Fourier number on the radius, [-]

    Returns
    -------
    Quantity
        (wall - centre)/(wall - inlet), 1 at the start, [-]
    """
    squared, centre = _series()
    value = _decay(np.maximum(fourier, CENTRE_STARTS), squared) @ centre
    clipped = np.minimum(np.maximum(value, 0.0), 1.0)
    return select(np.less(fourier, CENTRE_STARTS), 1.0, clipped)


def fourier_number(theta: Quantity) -> Quantity:
    """Fourier number at which a ratio is left at the centre: the inverse of `centre_ratio`.

    One term of the series up to a ratio of 0.5 (0.4 % high there, less below), the series with 20
    terms above.

    Parameters
    ----------
    theta : Quantity
        Ratio left at the centre; held between 1e-12 and 1 - 1e-6, [-]

    Returns
    -------
    Quantity
        Fourier number on the radius, [-]
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
        Temperature of the hotend's wall, [K]
    core_temperature : Quantity
        Temperature the core must reach, [K]
    inlet_temperature : Quantity
        Temperature of the filament as it comes in, [K]

    Returns
    -------
    Quantity
        Ratio; 0 where the wall is not above the core's temperature, never quite 1, [-]
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

    A wider nozzle passes a colder core: the number falls with a power of the bore, between the
    reference bore and the widest for which there is data. Beyond that one it typically stays; an
    exponent of its own carries how little is known there.

    Parameters
    ----------
    wall_temperature : Quantity
        Temperature of the hotend's wall, [K]
    core_temperature : Quantity
        Temperature the core must reach through the reference bore, [K]
    inlet_temperature : Quantity
        Temperature of the filament as it comes in, [K]
    bore : Quantity
        Nozzle bore, [m]
    reference_bore : Quantity
        Bore at and below which the core temperature holds, [m]
    widest_bore : Quantity
        Bore above which the number falls no further, [m]
    bore_exponent : Quantity
        Exponent by which the number falls with the bore, above zero, [-]
    wide_exponent : Quantity
        The same beyond the widest bore with data; 0 where the number stays, [-]

    Returns
    -------
    Quantity
        Fourier number on the radius; inf where the core never gets soft, [-]
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
        Thermal diffusivity, [m2/s]
    melt_length : Quantity
        Effective heated length, [m]
    critical_fourier : Quantity
        Fourier number the filament needs, [-]
    correction : Quantity
        Factor from model to practice, [-]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where the core never gets soft, [m3/s]
    """
    return correction * ratio(math.pi * diffusivity * melt_length, critical_fourier)


def scaled_melt_flow(
    measured: Quantity, *, model_here: Quantity, model_at_measurement: Quantity
) -> Quantity:
    """Carry a measured flow limit over to another temperature, material or nozzle.

    Parameters
    ----------
    measured : Quantity
        Flow limit that was measured, [m3/s]
    model_here : Quantity
        Modelled limit under the conditions of interest, [m3/s]
    model_at_measurement : Quantity
        Modelled limit under the conditions of the measurement, [m3/s]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where the model gives none for the measurement, [m3/s]
    """
    return measured * ratio(model_here, model_at_measurement)


def effective_melt_length(
    melt_length: Quantity, *, split_length: Quantity, channels: Quantity
) -> Quantity:
    """Length of a plain zone that heats as much as one whose end is split in channels.

    Parameters
    ----------
    melt_length : Quantity
        Whole heated length, the split part included, [m]
    split_length : Quantity
        Length of the split part; held between 0 and the whole, [m]
    channels : Quantity
        Parallel channels over that part, [-]

    Returns
    -------
    Quantity
        Effective length, an upper bound, [m]
    """
    split = np.minimum(np.maximum(split_length, 0.0), melt_length)
    length: Quantity = melt_length + (channels - 1.0) * split
    return length


def heated_length(length: Quantity, *, reference_length: Quantity, exponent: Quantity) -> Quantity:
    """Length of melt zone as it counts: a longer zone gains less than in proportion.

    Fitted to single-channel rows of a published table (Wuest et al., J. Manuf. Mater. Process. 10
    (2026) 233, table 1).

    Parameters
    ----------
    length : Quantity
        Effective heated length, [m]
    reference_length : Quantity
        Length of zone that counts in full, [m]
    exponent : Quantity
        Power of the length, 1 for a gain in proportion, [-]

    Returns
    -------
    Quantity
        Length to reckon with, [m]
    """
    counted: Quantity = reference_length * (length / reference_length) ** exponent
    return counted


def reference_flow(
    melt_flow: Quantity, *, bore: Quantity, reference_bore: Quantity, exponent: Quantity
) -> Quantity:
    """Flow at which a hotend asks for its reference force.

    The melt flow down to the reference bore; below it the bore itself resists, and the same force
    comes at less flow. The melt flow does not change with such a bore.

    Parameters
    ----------
    melt_flow : Quantity
        Flow up to which the core gets warm enough, [m3/s]
    bore, reference_bore : Quantity
        Diameter of this nozzle and of the reference, [m]
    exponent : Quantity
        Power of the bore below the reference, [-]

    Returns
    -------
    Quantity
        Volumetric flow, [m3/s]
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

    It goes with the filament's section and falls exponentially with temperature, as the viscosity
    of a melt does.

    Parameters
    ----------
    force : Quantity
        Force for the reference filament at the material's reference temperature, [N]
    filament_area, reference_area : Quantity
        Cross-section of this filament and of the reference one, [m2]
    wall_temperature : Quantity
        Temperature of the hotend's wall, [K]
    reference_temperature : Quantity
        Temperature the force is stated at, [K]
    sensitivity : Quantity
        Relative fall per kelvin, [1/K]

    Returns
    -------
    Quantity
        Force, [N]
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
        Density of the filament, [kg/m3]
    specific_heat : Quantity
        Mean specific heat over the way, [J/(kg K)]
    melting_enthalpy : Quantity
        Melting heat of the crystalline share, per mass of filament, [J/kg]
    wall_temperature, inlet_temperature : Quantity
        Temperature of the hotend's wall and of the incoming filament, [K]

    Returns
    -------
    Quantity
        Heat, 0 where the wall is not above the inlet, [J/m3]
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
        Power of the heater, as far as the firmware lets it, [W]
    heat_loss : Quantity
        Loss of the hot end at temperature, [W]
    heat_per_volume : Quantity
        Heat taken up by the filament, [J/m3]

    Returns
    -------
    Quantity
        Volumetric flow; 0 where nothing is heated or no power is left, [m3/s]
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
        Volumetric flow, [m3/s]
    guide_force : Quantity
        Drag of the way to the gears, [N]
    reference_force : Quantity
        Force on top of the drag at the reference flow, [N]
    reference_flow : Quantity
        Flow at which the reference force is asked, [m3/s]
    exponent : Quantity
        Power of the flow near the limit, [-]

    Returns
    -------
    Quantity
        Force; inf for any flow where nothing melts, [N]
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
