"""The flow at which a force is reached: one equation for each limit of the chain.

* grip: `flow_where_force_is` of the usable share of the grip force; slip: of all of it;
* buckling: `flow_where_force_is` of the buckling force plus the guide force, because the guide's
  drag pulls above the gears and does not load the column;
* torque and skip: `torque_flow` with the usable share, and with a share of 1;
* capacity: `lowest` of the limits.

A limit whose force never exceeds the guide's drag is 0, and so is every limit where nothing melts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from advisor.base import frozen
from advisor.physics._arrays import Flag, Quantity, common_shape, ratio, select
from advisor.physics.drive import feed_force, usable_torque
from advisor.physics.melt import required_force
from advisor.physics.motor import corner_speed, pull_out_torque

__all__ = ["FlowLimit", "flow_where_force_is", "lowest", "motor_force", "torque_flow"]

Array = NDArray[np.float64]

MOST_FORCE = 1e9  # stands for a force without bound, [N]
ROOT_STEPS = 80
ROOT_TOLERANCE = 1e-11  # of the bracket's upper end

MOTOR_NAMES = (
    "current_rms",
    "torque_constant",
    "resistance",
    "inductance",
    "pole_pairs",
    "voltage",
)
TRAIN_NAMES = ("gear_ratio", "efficiency", "rotation_distance")
BUDGET_NAMES = ("detent_torque", "usable_share", "acceleration_torque")
HOTEND_NAMES = (
    "guide_force",
    "reference_force",
    "reference_flow",
    "exponent",
)


@frozen
class FlowLimit:
    """A flow limit [m3/s] and where it lies beyond the bracket.

    `flow` never exceeds the bracket; where `beyond` holds, the true limit is at or above it and
    `flow` is the bracket itself.
    """

    flow: Quantity
    beyond: Flag


def flow_where_force_is(
    force: Quantity,
    *,
    guide_force: Quantity,
    reference_force: Quantity,
    reference_flow: Quantity,
    exponent: Quantity,
    bracket: Quantity,
) -> FlowLimit:
    """Flow at which the hotend asks for a given force: the inverse of `melt.required_force`.

    Parameters
    ----------
    force : Quantity
        Force available; any, [N]
    guide_force : Quantity
        Drag of the way to the gears; 0 or more, [N]
    reference_force : Quantity
        Force on top of the drag at the reference flow; 0 or more, [N]
    reference_flow : Quantity
        Flow at which the reference force is asked, as `melt.reference_flow` gives it; 0 or more,
        [m3/s]
    exponent : Quantity
        Power of the flow near the limit; above 0, [-]
    bracket : Quantity
        Flow beyond which no limit is sought; above 0, [m3/s]

    Returns
    -------
    FlowLimit
        Flow, and where it lies beyond the bracket, [m3/s]

    References
    ----------
    Derived here: the inverse of the law of source feed-force-law.

    Examples
    --------
    >>> found = flow_where_force_is(
    ...     54.5, guide_force=4.5, reference_force=50.0, reference_flow=11e-9, exponent=2.8,
    ...     bracket=400e-9,
    ... )
    >>> f"{found.flow * 1e9:.2f} mm3/s, beyond the bracket: {bool(found.beyond)}"
    '11.00 mm3/s, beyond the bracket: False'
    """
    drive = np.minimum(np.maximum(force - guide_force, 0.0), MOST_FORCE)
    share = ratio(drive, reference_force, np.inf) ** (1.0 / exponent)
    melts = np.greater(reference_flow, 0.0)
    moves = melts & np.greater(drive, 0.0)
    return _held(select(moves, share * select(melts, reference_flow, 1.0), 0.0), bracket)


def motor_force(
    flow: Quantity,
    *,
    filament_area: Quantity,
    gear_ratio: Quantity,
    efficiency: Quantity,
    rotation_distance: Quantity,
    current_rms: Quantity,
    torque_constant: Quantity,
    resistance: Quantity,
    inductance: Quantity,
    pole_pairs: Quantity,
    voltage: Quantity,
    detent_torque: Quantity,
    usable_share: Quantity,
    acceleration_torque: Quantity = 0.0,
) -> Quantity:
    """Force the motor can put on the filament at a flow.

    Parameters
    ----------
    flow : Quantity
        Volumetric flow; 0 or more, [m3/s]
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]
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
    detent_torque : Quantity
        Detent torque, counted as a loss; 0 or more, [N m]
    usable_share : Quantity
        Share of the torque that may be used; 1 is the point of skipping; 0 to 1, [-]
    acceleration_torque : Quantity
        Torque that goes into speeding up the rotor and gears; 0 or more, [N m]

    Returns
    -------
    Quantity
        Force, never below zero, [N]

    References
    ----------
    As `motor.pull_out` and `drive.feed_force`.

    Examples
    --------
    >>> force = motor_force(
    ...     10e-9, filament_area=2.4053e-6, gear_ratio=9.5, efficiency=0.9025,
    ...     rotation_distance=47.1e-3, current_rms=0.566, torque_constant=0.0707, resistance=2.85,
    ...     inductance=1.8e-3, pole_pairs=50, voltage=24.0, detent_torque=0.005, usable_share=1.0,
    ... )
    >>> f"{force:.1f} N"
    '59.0 N'
    """
    torque = pull_out_torque(
        flow / filament_area * gear_ratio / rotation_distance,
        current_rms=current_rms,
        torque_constant=torque_constant,
        resistance=resistance,
        inductance=inductance,
        pole_pairs=pole_pairs,
        voltage=voltage,
    )
    left = usable_torque(
        torque,
        detent_torque=detent_torque,
        usable_share=usable_share,
        acceleration_torque=acceleration_torque,
    )
    return feed_force(
        left, gear_ratio=gear_ratio, efficiency=efficiency, rotation_distance=rotation_distance
    )


def torque_flow(
    *,
    filament_area: Quantity,
    gear_ratio: Quantity,
    efficiency: Quantity,
    rotation_distance: Quantity,
    current_rms: Quantity,
    torque_constant: Quantity,
    resistance: Quantity,
    inductance: Quantity,
    pole_pairs: Quantity,
    voltage: Quantity,
    detent_torque: Quantity,
    usable_share: Quantity,
    guide_force: Quantity,
    reference_force: Quantity,
    reference_flow: Quantity,
    exponent: Quantity,
    bracket: Quantity,
    acceleration_torque: Quantity = 0.0,
) -> FlowLimit:
    """Flow at which motor and hotend are level.

    Parameters
    ----------
    filament_area : Quantity
        Cross-section of the filament; above 0, [m2]
    gear_ratio : Quantity
        Motor turns per turn of the drive gear; above 0, [-]
    efficiency : Quantity
        Efficiency of the whole train; above 0, at most 1, [-]
    rotation_distance : Quantity
        Filament moved by one turn of the drive gear; above 0, [m]
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
    detent_torque : Quantity
        Detent torque, counted as a loss; 0 or more, [N m]
    usable_share : Quantity
        Share of the torque that may be used; 1 is the point of skipping; 0 to 1, [-]
    guide_force : Quantity
        Drag of the way to the gears; 0 or more, [N]
    reference_force : Quantity
        Force on top of the drag at the reference flow; 0 or more, [N]
    reference_flow : Quantity
        Flow at which the reference force is asked, as `melt.reference_flow` gives it; 0 or more,
        [m3/s]
    exponent : Quantity
        Power of the flow near the limit; above 0, [-]
    bracket : Quantity
        Flow beyond which no limit is sought; above 0, [m3/s]
    acceleration_torque : Quantity
        Torque that goes into speeding up the rotor and gears; 0 or more, [N m]

    Returns
    -------
    FlowLimit
        Flow, and where it lies beyond the bracket, [m3/s]

    Notes
    -----
    With the full torque the flow follows as in `flow_where_force_is`; where it lies below the
    corner speed, that is the answer. Only the rest is searched for.

    References
    ----------
    Derived here: the root by T. R. Chandrupatla, Adv. Eng. Software 28 (1997) 145-149.

    Examples
    --------
    >>> found = torque_flow(
    ...     filament_area=2.4053e-6, gear_ratio=9.5, efficiency=0.9025, rotation_distance=47.1e-3,
    ...     current_rms=0.566, torque_constant=0.070711, resistance=2.85, inductance=1.8e-3,
    ...     pole_pairs=50, voltage=24.0, detent_torque=0.005, usable_share=1.0, guide_force=4.5,
    ...     reference_force=50.0, reference_flow=11.142e-9, exponent=2.8, bracket=400e-9,
    ... )
    >>> f"{found.flow * 1e9:.2f} mm3/s"
    '11.49 mm3/s'
    """
    given: dict[str, Quantity] = dict(locals())  # every argument by its name
    motor = {name: given[name] for name in MOTOR_NAMES}
    train = {name: given[name] for name in TRAIN_NAMES}
    hotend = {name: given[name] for name in HOTEND_NAMES}
    torque = usable_torque(
        math.sqrt(2.0) * torque_constant * current_rms,
        **{name: given[name] for name in BUDGET_NAMES},
    )
    full = flow_where_force_is(feed_force(torque, **train), bracket=bracket, **hotend)
    speed = full.flow / filament_area * gear_ratio / rotation_distance
    slower = np.greater(speed, corner_speed(**motor))
    if not np.any(slower):
        return full
    return _searched(full, slower, given)


def lowest(flows: Sequence[Quantity]) -> tuple[Quantity, NDArray[np.intp]]:
    """Capacity and bottleneck: the smallest of several flow limits.

    Parameters
    ----------
    flows : Sequence[Quantity]
        The limits, in an order the caller knows; one or more, [m3/s]

    Returns
    -------
    tuple
        The smallest flow, and the place of the limit that sets it, [m3/s, -]

    References
    ----------
    Derived here: the weakest link.

    Examples
    --------
    >>> capacity, place = lowest([9.8e-9, 11.1e-9, 16.1e-9])
    >>> f"{capacity * 1e9:.1f} mm3/s, limit {place}"
    '9.8 mm3/s, limit 0'
    """
    stacked = np.stack(np.broadcast_arrays(*flows))
    return stacked.min(axis=0)[()], np.argmin(stacked, axis=0)


def _held(flow: Quantity, bracket: Quantity) -> FlowLimit:
    beyond: Flag = np.greater_equal(flow, bracket)
    return FlowLimit(np.minimum(flow, bracket), beyond)


def _searched(full: FlowLimit, slower: Flag, given: dict[str, Quantity]) -> FlowLimit:
    """Search the samples above the corner speed, between no flow and the full-torque answer."""
    spread = {name: value for name, value in given.items() if np.ndim(value)}
    shape, flat = common_shape(upper=full.flow, slower=np.asarray(slower, float), **spread)
    rest = flat.pop("slower") > 0.0
    flow = flat["upper"].copy()
    beyond = np.broadcast_to(full.beyond, shape).ravel().copy()
    part = {**given, **{name: flat[name][rest] for name in spread}}
    hotend = {name: part[name] for name in HOTEND_NAMES}
    motor = {
        name: part[name] for name in (*MOTOR_NAMES, *TRAIN_NAMES, *BUDGET_NAMES, "filament_area")
    }

    def surplus(at: Array) -> Array:
        return np.asarray(motor_force(at, **motor) - required_force(at, **hotend))

    upper = flat["upper"][rest]
    flow[rest] = _falling_root(surplus, upper)
    beyond[rest] &= flow[rest] >= upper
    return FlowLimit(flow.reshape(shape)[()], beyond.reshape(shape)[()])


def _falling_root(surplus: Callable[[Array], Array], upper: Array) -> Array:
    """Root of a falling function in 0..upper, by Chandrupatla's method on all samples at once.

    0 where the function is not above zero at 0, `upper` where it is not below zero there. Source:
    T. R. Chandrupatla, Adv. Eng. Software 28 (1997) 145-149.
    """
    b, a = upper, np.zeros_like(upper)
    fb, fa = surplus(b), surplus(a)
    open_ = (fa > 0.0) & (fb < 0.0)
    ends = np.where(fa <= 0.0, 0.0, upper)
    fa, fb = np.where(open_, fa, 1.0), np.where(open_, fb, -1.0)
    t = np.full_like(upper, 0.5)
    with np.errstate(all="ignore"):
        for _ in range(ROOT_STEPS):
            middle = a + t * (b - a)
            f_middle = np.where(open_, surplus(middle), 0.0)
            same = np.sign(f_middle) == np.sign(fa)
            c, fc = np.where(same, a, b), np.where(same, fa, fb)
            b, fb = np.where(same, b, a), np.where(same, fb, fa)
            a, fa = middle, f_middle
            best = np.where(np.abs(fa) < np.abs(fb), a, b)
            least = ROOT_TOLERANCE * upper / np.abs(b - a)
            if np.all((least > 0.5) | (f_middle == 0.0) | ~open_):
                break
            t = np.clip(_inverse_step(a, b, c, fa, fb, fc), least, 1.0 - least)
    return np.where(open_, best, ends)


def _inverse_step(a: Array, b: Array, c: Array, fa: Array, fb: Array, fc: Array) -> Array:
    """Inverse quadratic interpolation where it is safe, else the middle."""
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    safe = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
    step = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(safe & np.isfinite(step), step, 0.5)
