"""Formulas from the rating to the push of the motor: current, heat, torque."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np

from advisor.base import Quantity
from advisor.machine.ensemble import quantile_of
from advisor.machine.graph import Formula
from advisor.physics import current, drive, heat, motor

__all__ = [
    "CURRENT",
    "HEAT",
    "LATER",
    "MOUNT_ABOVE",
    "PUSH",
    "RATING",
    "SAFE",
    "SOON",
    "WARMING",
    "WINDING_ABOVE",
]

_ROOT_TWO = math.sqrt(2.0)
_BOUNDS = ("metal_low", "metal_high", "bare_low", "bare_high")
# Share of likely machines above a limit at a safe current. 1 in 10 and 1 in 20 are promised; the
# ensemble tells those to about half a percent, so that they are kept by other draws too.
WINDING_ABOVE, MOUNT_ABOVE = 0.09, 0.04


def _rating_for_heat(*, rated: Quantity, basis: str) -> Quantity:
    """RMS current that heats to the rated rise; where it is unsure, the one that heats more."""
    return rated if basis == "rms" else current.rms_from_peak(rated)


def _current_of_winding(
    *, limit: Quantity, margin: Quantity, ambient: Quantity, **thermal: Quantity
) -> Quantity:
    rise = np.maximum(limit - margin - ambient, 0.0)
    return heat.current_for_rise(rise, ambient=ambient, **thermal)


def _current_of_mount(
    *, limit: Quantity, ambient: Quantity, share: Quantity, **thermal: Quantity
) -> Quantity:
    rise = heat.rise_for_case(np.maximum(limit, ambient), ambient=ambient, case_share=share)
    return heat.current_for_rise(rise, ambient=ambient, **thermal)


def _current_of_gears(
    *, limit: Quantity, ambient: Quantity, gear_share: Quantity, **thermal: Quantity
) -> Quantity:
    """Current at which the drive gear reaches `limit`; its rise is a share of the case's."""
    case_limit = ambient + np.maximum(limit - ambient, 0.0) / gear_share
    return _current_of_mount(limit=case_limit, ambient=ambient, **thermal)


def _safe(above: float) -> Callable[..., Quantity]:
    """Return a formula for the current at which a share of the machines is above its limit."""

    def formula(*, reached: Quantity, tolerance: Quantity | None) -> Quantity:
        set_to = np.asarray(reached if tolerance is None else reached / tolerance)
        if set_to.ndim == 0 or set_to.shape[-1] == 1:
            return reached if tolerance is None else reached / tolerance
        likely = set_to[..., 1:]  # the first is the typical machine
        found = quantile_of(likely, above, lower=True)
        return found if set_to.ndim > 1 else float(found.item())

    return formula


def _borne(*, share: Quantity, tolerance: Quantity | None, **reached: Quantity | None) -> Quantity:
    known = [one for one in reached.values() if one is not None]
    flowing = [one if tolerance is None else one / tolerance for one in known]
    borne: Quantity = np.minimum.reduce(np.broadcast_arrays(share, *flowing))
    return borne


def _winding_temperature(
    *, current_rms: Quantity, ambient: Quantity, **thermal: Quantity
) -> Quantity:
    return ambient + heat.winding_rise(current_rms, ambient=ambient, **thermal)


def _case_temperature(*, winding: Quantity, ambient: Quantity, share: Quantity) -> Quantity:
    return heat.case_temperature(winding - ambient, ambient=ambient, case_share=share)


def _thermal_resistance(
    *, mount_factor: Quantity, bare_factor: Quantity, **parts: Quantity | None
) -> Quantity:
    low, high, bare_low, bare_high = (parts.pop(name) for name in _BOUNDS)
    rating = {name: part for name, part in parts.items() if part is not None}
    calibrated = heat.thermal_resistance_from_rating(**rating)
    if low is None or high is None or bare_low is None or bare_high is None:
        return calibrated * mount_factor
    return heat.bounded_resistance(
        calibrated,
        mount_factor=mount_factor,
        metal=(low, high),
        bare=(bare_low, bare_high),
        bare_factor=bare_factor,
    )


def _time_constant(*, thermal_resistance: Quantity, **body: Quantity) -> Quantity:
    return heat.thermal_time_constant(thermal_resistance, **body)


def _case_after(
    *, time: float, share: Quantity, ambient: Quantity, current_rms: Quantity, **thermal: Quantity
) -> Quantity:
    rise = heat.rise_after(time, current_rms, ambient=ambient, **thermal)
    return heat.case_temperature(rise, ambient=ambient, case_share=share)


def _standstill_torque(*, current_rms: Quantity, torque_constant: Quantity) -> Quantity:
    return torque_constant * current_rms * _ROOT_TWO


def _force(
    *, torque: Quantity, detent: Quantity, share: Quantity, efficiency: Quantity, travel: Quantity
) -> Quantity:
    left = drive.usable_torque(
        torque, detent_torque=detent, usable_share=share, acceleration_torque=0.0
    )
    return drive.feed_force(left, gear_ratio=1.0, efficiency=efficiency, rotation_distance=travel)


RATING = (
    Formula(
        "motor.rating_as_rms",
        lambda *, rated: rated,
        {"rated": "motor.rated_current"},
        "{motor.rated_current}",
        "motor-rating-rms",
    ),
    Formula(
        "motor.rating_as_peak",
        lambda *, rated: current.rms_from_peak(rated),
        {"rated": "motor.rated_current"},
        "{motor.rated_current} / sqrt 2",
        "motor-rating-peak",
    ),
    Formula(
        "motor.rated_current_rms",
        lambda *, rated, basis: None if basis == "rms" else current.rated_rms(rated, basis),
        {"rated": "motor.rated_current", "basis": "motor.rating_basis"},
        "{motor.rated_current} / sqrt 2, the rating read as a peak",
    ),
    Formula(
        "motor.rated_current_rms",
        lambda *, rated, basis: current.rated_rms(rated, basis),
        {"rated": "motor.rated_current", "basis": "motor.rating_basis"},
        "{motor.rated_current}, the rating read as RMS",
    ),
    Formula(
        "motor.pole_pairs",
        lambda *, full_steps: full_steps / 4.0,
        {"full_steps": "motor.full_steps"},
        "{motor.full_steps} / 4",
    ),
)


def _current_factor(*, stated: Quantity, usual: Quantity, internal: Quantity | None) -> Quantity:
    """Return the current that flows over the current asked, if the usual resistor is fitted."""
    inside = 0.0 if internal is None else internal
    return (stated + inside) / (usual + inside)


_RESISTOR = (
    Formula(
        "driver.current_factor",
        _current_factor,
        {
            "stated": "driver.sense_resistor",
            "usual": "driver.usual_resistor",
            "internal": "driver.internal_resistance?",
        },
        "({driver.sense_resistor} + inside) / ({driver.usual_resistor} + inside)",
        "driver-two-range",
    ),
    Formula(
        "driver.heat_factor",
        lambda *, factor: factor**2,
        {"factor": "driver.current_factor"},
        "{driver.current_factor} squared",
    ),
)

_THERMAL = {
    "resistance_20c": "motor.resistance",
    "thermal_resistance": "motor.thermal_resistance",
    "temperature_coefficient": "model.copper_coefficient",
}

HEAT = (
    Formula(
        "motor.rating_for_heat",
        _rating_for_heat,
        {"rated": "motor.rated_current", "basis": "motor.rating_basis"},
        "{motor.rated_current}, over sqrt 2 unless {motor.rating_basis} is rms",
    ),
    Formula(
        "motor.thermal_resistance",
        _thermal_resistance,
        {
            "rated_current": "motor.rating_for_heat",
            "resistance_20c": "motor.resistance",
            "rated_rise": "motor.rated_rise",
            "rated_ambient": "model.rated_ambient",
            "temperature_coefficient": "model.copper_coefficient",
            "mount_factor": "motor.mount_factor",
            "bare_factor": "model.bare_factor",
            "metal_low": "motor.metal_resistance_low?",
            "metal_high": "motor.metal_resistance_high?",
            "bare_low": "motor.bare_resistance_low?",
            "bare_high": "motor.bare_resistance_high?",
        },
        "rated rise / (2 R I^2 at the rated rise) x mount factor, within what the motor's surface "
        "allows",
        "motor-surface",
    ),
    Formula(
        "motor.winding_current",
        _current_of_winding,
        {
            "limit": "motor.insulation_limit",
            "margin": "model.winding_margin",
            "ambient": "ambient.motor",
            **_THERMAL,
        },
        "current whose winding rise meets {motor.insulation_limit}, less {model.winding_margin}",
    ),
    Formula(
        "motor.mount_current",
        _current_of_mount,
        {
            "limit": "drive.mount_limit",
            "ambient": "ambient.motor",
            "share": "motor.case_share",
            **_THERMAL,
        },
        "current whose case rise meets {drive.mount_limit}",
    ),
    Formula(
        "motor.current_for_filament",
        _current_of_gears,
        {
            "limit": "material.drive_limit",
            "ambient": "ambient.motor",
            "share": "motor.case_share",
            "gear_share": "drive.gear_heat_share",
            **_THERMAL,
        },
        "current at which the drive gear softens the filament",
    ),
    Formula(
        "motor.current_by_share",
        lambda *, rated, share: current.derated_current(rated, share=share),
        {"rated": "motor.rated_current_rms", "share": "motor.derating_share"},
        "{motor.derating_share} x {motor.rated_current_rms}",
    ),
    Formula(
        "motor.borne_current",
        _borne,
        {
            "share": "motor.current_by_share",
            "winding": "motor.winding_current?",
            "mount": "motor.mount_current?",
            "tolerance": "driver.tolerance?",
        },
        "lowest of {motor.current_by_share}, {motor.winding_current} and {motor.mount_current}",
    ),
)

SAFE = (
    Formula(
        "motor.current_for_winding",
        _safe(WINDING_ABOVE),
        {"reached": "motor.winding_current", "tolerance": "driver.tolerance?"},
        "{motor.winding_current} of 1 in 10 machines like this one; 9 bear more",
    ),
    Formula(
        "motor.current_for_mount",
        _safe(MOUNT_ABOVE),
        {"reached": "motor.mount_current", "tolerance": "driver.tolerance?"},
        "{motor.mount_current} of 1 in 20 machines like this one; 19 bear more",
    ),
)

CURRENT = (
    *_RESISTOR,
    Formula(
        "motor.working_current",
        lambda *, applied: applied,
        {"applied": "motor.applied_current"},
        "{motor.applied_current}",
    ),
    Formula(
        "motor.working_current",
        lambda *, run: run,
        {"run": "motor.run_current"},
        "the set run current; the driver's rounding is not known",
    ),
    Formula(
        "motor.flowing_current",
        lambda *, working, tolerance: working if tolerance is None else working * tolerance,
        {"working": "motor.working_current", "tolerance": "driver.tolerance?"},
        "current at work x tolerance of the driver",
    ),
    Formula(
        "motor.heating_current",
        lambda *, flowing, floor: flowing if floor is None else np.maximum(flowing, floor),
        {"flowing": "motor.flowing_current", "floor": "driver.silent_floor?"},
        "{motor.flowing_current}; not less than {driver.silent_floor}",
    ),
    Formula(
        "motor.winding_temperature",
        _winding_temperature,
        {"current_rms": "motor.heating_current", "ambient": "ambient.motor", **_THERMAL},
        "air + thermal resistance x 2 R I^2, R at temperature",
    ),
    Formula(
        "motor.case_temperature",
        _case_temperature,
        {
            "winding": "motor.winding_temperature",
            "ambient": "ambient.motor",
            "share": "motor.case_share",
        },
        "{ambient.motor} + {motor.case_share} x ({motor.winding_temperature} - {ambient.motor})",
    ),
    Formula(
        "drive.gear_temperature",
        _case_temperature,
        {
            "winding": "motor.case_temperature",
            "ambient": "ambient.motor",
            "share": "drive.gear_heat_share",
        },
        "{ambient.motor} + {drive.gear_heat_share} x ({motor.case_temperature} - {ambient.motor})",
    ),
)


def _warmed(output: str, time: float, words: str) -> Formula:
    return Formula(
        output,
        functools.partial(_case_after, time=time),
        {
            "share": "motor.case_share",
            "ambient": "ambient.motor",
            "time_constant": "motor.time_constant",
            "current_rms": "motor.heating_current",
            **_THERMAL,
        },
        f"{{ambient.motor}} + {{motor.case_share}} x the winding's rise {words} after the start, "
        f"with {{motor.time_constant}} and warm copper counted",
    )


SOON, LATER = 600.0, 3600.0  # s: when a case is read after the current was set, and read again

WARMING = (
    Formula(
        "motor.time_constant",
        _time_constant,
        {
            "thermal_resistance": "motor.thermal_resistance",
            "mass": "motor.mass",
            "specific_heat": "motor.specific_heat",
        },
        "{motor.thermal_resistance} x {motor.mass} x {motor.specific_heat}",
    ),
    _warmed("motor.case_soon", SOON, "10 min"),
    _warmed("motor.case_later", LATER, "60 min"),
)


def _hot_resistance(
    *,
    resistance: Quantity,
    temperature: Quantity,
    limit: Quantity,
    coefficient: Quantity,
    path: Quantity,
) -> Quantity:
    """Resistance of a winding that still works: one hotter than its insulation bears is told of."""
    sound = np.minimum(temperature, limit)
    hot = motor.hot_resistance(resistance, sound, temperature_coefficient=coefficient)
    return hot + path


PUSH = (
    Formula(
        "motor.torque_constant",
        motor.torque_constant,
        {
            "holding_torque": "motor.holding_torque",
            "rated_current": "motor.rated_current",
            "phases_on": "motor.phases_on",
        },
        "{motor.holding_torque} / (sqrt 2 x {motor.rated_current}), where two phases are on",
        "holding-torque-convention",
    ),
    Formula(
        "motor.hot_resistance",
        _hot_resistance,
        {
            "resistance": "motor.resistance",
            "temperature": "motor.winding_temperature",
            "limit": "motor.insulation_limit",
            "coefficient": "model.copper_coefficient",
            "path": "driver.path_resistance",
        },
        "{motor.resistance} x (1 + {model.copper_coefficient} x "
        "({motor.winding_temperature}, at most {motor.insulation_limit}, - 20)) + "
        "{driver.path_resistance}",
    ),
    Formula(
        "motor.standstill_torque",
        _standstill_torque,
        {"current_rms": "motor.flowing_current", "torque_constant": "motor.torque_constant"},
        "{motor.torque_constant} x sqrt 2 x {motor.flowing_current}",
    ),
    Formula(
        "motor.corner_speed",
        motor.corner_speed,
        {
            "current_rms": "motor.flowing_current",
            "torque_constant": "motor.torque_constant",
            "resistance": "motor.hot_resistance",
            "inductance": "motor.inductance",
            "pole_pairs": "motor.pole_pairs",
            "voltage": "supply.voltage",
        },
        "speed at which back-EMF and inductance use up the supply voltage",
        "pull-out-phasor",
    ),
    Formula(
        "force.motor",
        _force,
        {
            "torque": "motor.standstill_torque",
            "detent": "motor.detent_torque",
            "share": "motor.usable_share",
            "efficiency": "drive.gear_efficiency",
            "travel": "drive.travel_per_motor_turn",
        },
        "{motor.usable_share} x ({motor.standstill_torque} - {motor.detent_torque}) x "
        "{drive.gear_efficiency} x 2 pi / {drive.travel_per_motor_turn}",
    ),
    Formula(
        "force.stall",
        lambda **parts: _force(share=1.0, **parts),
        {
            "torque": "motor.standstill_torque",
            "detent": "motor.detent_torque",
            "efficiency": "drive.gear_efficiency",
            "travel": "drive.travel_per_motor_turn",
        },
        "({motor.standstill_torque} - {motor.detent_torque}) x {drive.gear_efficiency} x 2 "
        "pi / {drive.travel_per_motor_turn}",
    ),
)
