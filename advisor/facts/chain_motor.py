"""Formulas from the rating to the push of the motor: current, heat, torque."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from advisor.facts.graph import Formula
from advisor.physics import current, drive, heat, motor

__all__ = ["CURRENT", "HEAT", "PUSH", "RATING"]

_ROOT_TWO = math.sqrt(2.0)
# A winding that runs away has no steady temperature; beyond copper's melting point (1084.6 degC,
# CRC Handbook of Chemistry and Physics) there is no winding whose resistance could be asked for.
_COPPER_MELTS = 1357.77  # K


def _current_for_winding(*, limit: Any, margin: Any, ambient: Any, **thermal: Any) -> Any:
    rise = np.maximum(limit - margin - ambient, 0.0)
    return heat.current_for_rise(rise, ambient=ambient, **thermal)


def _current_for_case(*, limit: Any, ambient: Any, share: Any, **thermal: Any) -> Any:
    rise = heat.rise_for_case(np.maximum(limit, ambient), ambient=ambient, case_share=share)
    return heat.current_for_rise(rise, ambient=ambient, **thermal)


def _current_for_gears(*, limit: Any, ambient: Any, gear_share: Any, **thermal: Any) -> Any:
    """Current at which the drive gear reaches `limit`; its rise is a share of the case's."""
    case_limit = ambient + np.maximum(limit - ambient, 0.0) / gear_share
    return _current_for_case(limit=case_limit, ambient=ambient, **thermal)


def _winding_temperature(*, current_rms: Any, ambient: Any, **thermal: Any) -> Any:
    return ambient + heat.winding_rise(current_rms, ambient=ambient, **thermal)


def _case_temperature(*, winding: Any, ambient: Any, share: Any) -> Any:
    return heat.case_temperature(winding - ambient, ambient=ambient, case_share=share)


def _thermal_resistance(*, mount_factor: Any, **rating: Any) -> Any:
    return heat.thermal_resistance_from_rating(**rating) * mount_factor


def _standstill_torque(*, current_rms: Any, torque_constant: Any) -> Any:
    return torque_constant * current_rms * _ROOT_TWO


def _force(*, torque: Any, detent: Any, share: Any, efficiency: Any, travel: Any) -> Any:
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

_THERMAL = {
    "resistance_20c": "motor.resistance",
    "thermal_resistance": "motor.thermal_resistance",
    "temperature_coefficient": "model.copper_coefficient",
}

HEAT = (
    Formula(
        "motor.thermal_resistance",
        _thermal_resistance,
        {
            "rated_current": "motor.rated_current",
            "resistance_20c": "motor.resistance",
            "rated_rise": "motor.rated_rise",
            "rated_ambient": "model.rated_ambient",
            "temperature_coefficient": "model.copper_coefficient",
            "mount_factor": "motor.mount_factor",
        },
        "rated rise / (2 R I^2 at the rated rise) x mount factor",
    ),
    Formula(
        "motor.current_for_winding",
        _current_for_winding,
        {
            "limit": "motor.insulation_limit",
            "margin": "model.winding_margin",
            "ambient": "ambient.motor",
            **_THERMAL,
        },
        "current whose winding rise meets the insulation limit, less a margin",
    ),
    Formula(
        "motor.current_for_mount",
        _current_for_case,
        {
            "limit": "drive.mount_limit",
            "ambient": "ambient.motor",
            "share": "motor.case_share",
            **_THERMAL,
        },
        "current whose case rise meets the mount's limit",
    ),
    Formula(
        "motor.current_for_filament",
        _current_for_gears,
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
)

CURRENT = (
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
        "the run current asked for; the driver's rounding is not known",
    ),
    Formula(
        "motor.flowing_current",
        lambda *, working, tolerance: working if tolerance is None else working * tolerance,
        {"working": "motor.working_current", "tolerance": "driver.tolerance?"},
        "current in the chain x tolerance of the driver",
    ),
    Formula(
        "motor.winding_temperature",
        _winding_temperature,
        {"current_rms": "motor.flowing_current", "ambient": "ambient.motor", **_THERMAL},
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
)


def _hot_resistance(*, resistance: Any, temperature: Any, coefficient: Any, path: Any) -> Any:
    solid = np.minimum(temperature, _COPPER_MELTS)
    hot = motor.hot_resistance(resistance, solid, temperature_coefficient=coefficient)
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
            "coefficient": "model.copper_coefficient",
            "path": "driver.path_resistance",
        },
        "{motor.resistance} x (1 + {model.copper_coefficient} x "
        "({motor.winding_temperature} - 20)) + {driver.path_resistance}",
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
