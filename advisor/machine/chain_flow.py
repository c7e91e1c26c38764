"""Formulas of the melt zone, the heater and the flow limits."""

from __future__ import annotations

import numpy as np

from advisor.base import Quantity
from advisor.machine.graph import Formula
from advisor.physics import drive, grip, limits, melt

__all__ = ["BRACKET", "HOTEND_INPUTS", "LIMIT_FLOWS", "MELT", "MOTOR_INPUTS"]

_LEAST_AREA, _LEAST_FORCE = 1e-12, 1e-9  # m2, N; below these there is no grip to speak of
BRACKET = 400e-9  # m3/s: flows beyond this are not solved for, the answer then says so


def _inlet(*, ambient: Quantity, softening: Quantity) -> Quantity:
    return np.minimum(ambient, softening)


def _wall(*, temperature: Quantity, highest: Quantity, credit: Quantity) -> Quantity:
    return np.minimum(temperature, highest + credit)


def _effective_length(
    *, melt_length: Quantity, channels: Quantity, split_length: Quantity | None, gain: Quantity
) -> Quantity:
    if np.all(np.equal(channels, 1.0)):
        return melt_length
    if split_length is None:
        return melt_length * gain
    split = np.minimum(split_length, melt_length)
    return melt.effective_melt_length(melt_length, split_length=split, channels=channels)


def _heater_flow(*, power: Quantity, share: Quantity, loss: Quantity, **heat: Quantity) -> Quantity:
    return melt.heater_flow(
        heater_power=power * share, heat_loss=loss, heat_per_volume=melt.heat_per_volume(**heat)
    )


def _measured_melt(*, measured: Quantity, here: Quantity, there: Quantity) -> Quantity:
    return melt.scaled_melt_flow(measured, model_here=here, model_at_measurement=there)


def _reference_force(
    *, force: Quantity, diameter: Quantity, tube: Quantity, **parts: Quantity
) -> Quantity:
    """Push at the gears: the tube's bends hold back in proportion to what goes through."""
    area = drive.filament_area(diameter)
    return tube * melt.reference_force(force, reference_area=area, **parts)


def _open_ended(limit: limits.FlowLimit) -> Quantity:
    """The flow, infinite where it lies beyond the bracket."""
    return np.where(limit.beyond, np.inf, limit.flow)[()]


def _flow_at(*, force: Quantity, extra: Quantity = 0.0, **hotend: Quantity) -> Quantity:
    return _open_ended(limits.flow_where_force_is(force + extra, bracket=BRACKET, **hotend))


def _motor_flow(*, travel: Quantity, **parts: Quantity) -> Quantity:
    return _open_ended(
        limits.torque_flow(gear_ratio=1.0, rotation_distance=travel, bracket=BRACKET, **parts)
    )


def _capacity(**flows: Quantity | None) -> Quantity:
    return limits.lowest([flow for flow in flows.values() if flow is not None])[0]


_FOURIER = {
    "wall_temperature": "hotend.wall_temperature",
    "core_temperature": "material.core_temperature",
    "inlet_temperature": "hotend.inlet_temperature",
    "bore": "nozzle.diameter",
    "reference_bore": "model.reference_bore",
    "widest_bore": "model.widest_bore",
    "bore_exponent": "model.nozzle_exponent",
    "wide_exponent": "model.wide_bore_exponent",
}
HOTEND_INPUTS = {
    "guide_force": "force.path_drag",
    "reference_force": "hotend.reference_force",
    "reference_flow": "hotend.reference_flow",
    "exponent": "model.force_exponent",
}
MOTOR_INPUTS = {
    "filament_area": "filament.area",
    "efficiency": "drive.gear_efficiency",
    "travel": "drive.travel_per_motor_turn",
    "current_rms": "motor.flowing_current",
    "torque_constant": "motor.torque_constant",
    "resistance": "motor.hot_resistance",
    "inductance": "motor.inductance",
    "pole_pairs": "motor.pole_pairs",
    "voltage": "supply.voltage",
    "detent_torque": "motor.detent_torque",
}

MELT = (
    Formula(
        "hotend.inlet_temperature",
        _inlet,
        {"ambient": "ambient.motor", "softening": "material.softening_temperature"},
        "{ambient.motor}, at most {material.softening_temperature}",
    ),
    Formula(
        "hotend.wall_temperature",
        _wall,
        {
            "temperature": "hotend.temperature",
            "highest": "material.nozzle_high",
            "credit": "model.temperature_credit",
        },
        "{hotend.temperature}, at most {material.nozzle_high} + {model.temperature_credit}",
    ),
    Formula(
        "hotend.effective_melt_length",
        _effective_length,
        {
            "melt_length": "hotend.melt_length",
            "channels": "hotend.channels",
            "split_length": "hotend.split_length?",
            "gain": "hotend.split_gain",
        },
        "melt length + (channels - 1) x split length",
        "split-channels",
    ),
    Formula(
        "hotend.heated_length",
        lambda *, length, **zone: melt.heated_length(length, **zone),
        {
            "length": "hotend.effective_melt_length",
            "reference_length": "model.reference_length",
            "exponent": "model.length_exponent",
        },
        "{model.reference_length} x ({hotend.effective_melt_length} / {model.reference_length})^"
        "{model.length_exponent}",
        "melt-calibration",
    ),
    Formula(
        "model.critical_fourier",
        melt.critical_fourier,
        _FOURIER,
        "Fourier number at which the core reaches its flowing temperature",
        "cylinder-conduction",
    ),
    Formula(
        "hotend.model_melt_flow",
        melt.melt_flow,
        {
            "diffusivity": "material.diffusivity",
            "melt_length": "hotend.heated_length",
            "critical_fourier": "model.critical_fourier",
            "correction": "material.melt_factor",
        },
        "pi x {material.diffusivity} x {hotend.heated_length} / "
        "{model.critical_fourier} x {material.melt_factor}",
        "cylinder-conduction",
    ),
    Formula(
        "flow.melt",
        _measured_melt,
        {
            "measured": "hotend.measured_flow",
            "here": "hotend.model_melt_flow",
            "there": "hotend.model_flow_at_measurement",
        },
        "{hotend.measured_flow} x {hotend.model_melt_flow} / {hotend.model_flow_at_measurement}",
    ),
    Formula(
        "flow.melt",
        lambda *, modelled: modelled,
        {"modelled": "hotend.model_melt_flow"},
        "pi x {material.diffusivity} x {hotend.heated_length} / "
        "{model.critical_fourier} x {material.melt_factor}",
        "cylinder-conduction",
    ),
    Formula(
        "flow.heater",
        _heater_flow,
        {
            "power": "hotend.heater_power",
            "share": "hotend.max_power",
            "loss": "hotend.heat_loss",
            "density": "material.density",
            "specific_heat": "material.specific_heat",
            "melting_enthalpy": "material.crystal_heat",
            "wall_temperature": "hotend.temperature",
            "inlet_temperature": "hotend.inlet_temperature",
        },
        "(heater power x share allowed - loss) / heat per volume",
    ),
    Formula(
        "hotend.reference_force",
        _reference_force,
        {
            "force": "model.reference_force",
            "filament_area": "filament.area",
            "diameter": "model.reference_diameter",
            "wall_temperature": "hotend.wall_temperature",
            "reference_temperature": "material.reference_temperature",
            "sensitivity": "model.force_temperature",
            "tube": "drive.tube_factor",
        },
        "{model.reference_force} x {filament.area} / area of {model.reference_diameter} filament "
        "x exp(-{model.force_temperature} x ({hotend.wall_temperature} - "
        "{material.reference_temperature})) x {drive.tube_factor}",
        "feed-force-temperature",
    ),
    Formula(
        "hotend.reference_flow",
        lambda *, flow, **bores: melt.reference_flow(flow, **bores),
        {
            "flow": "flow.melt",
            "bore": "nozzle.diameter",
            "reference_bore": "model.reference_bore",
            "exponent": "model.fine_bore_exponent",
        },
        "{flow.melt}; below {model.reference_bore} x (bore / {model.reference_bore})^"
        "{model.fine_bore_exponent}",
        "fine-bores",
    ),
)

LIMIT_FLOWS = (
    Formula(
        "flow.torque",
        _motor_flow,
        {"usable_share": "motor.usable_share", **MOTOR_INPUTS, **HOTEND_INPUTS},
        "flow at which {force.motor} (less at speed) equals the push needed",
    ),
    Formula(
        "flow.skip",
        lambda **parts: _motor_flow(usable_share=1.0, **parts),
        {**MOTOR_INPUTS, **HOTEND_INPUTS},
        "flow at which {force.stall} (less at speed) equals the push needed",
    ),
    Formula(
        "flow.grip",
        _flow_at,
        {"force": "force.grip_usable", **HOTEND_INPUTS},
        "flow at which {force.grip_usable} equals the push needed",
    ),
    Formula(
        "flow.slip",
        _flow_at,
        {"force": "force.grip", **HOTEND_INPUTS},
        "flow at which {force.grip} equals the push needed",
    ),
    Formula(
        "flow.buckling",
        _flow_at,
        {"force": "force.buckling", "extra": "model.guide_force", **HOTEND_INPUTS},
        "flow at which the push on the free filament equals {force.buckling}",
    ),
    Formula(
        "flow.capacity",
        _capacity,
        {name: f"flow.{name}" for name in ("torque", "grip", "buckling", "melt", "heater")},
        "lowest of {flow.torque}, {flow.grip}, {flow.buckling}, {flow.melt}, {flow.heater}",
    ),
    Formula(
        "force.at_capacity",
        melt.required_force,
        {"flow": "flow.capacity", **HOTEND_INPUTS},
        "{force.path_drag} + {hotend.reference_force} x ({flow.capacity} / "
        "{hotend.reference_flow})^{model.force_exponent}",
        "feed-force-law",
    ),
    Formula(
        "motor.capacity_speed",
        lambda *, flow, area, travel: flow / area / travel,
        {
            "flow": "flow.capacity",
            "area": "filament.area",
            "travel": "drive.travel_per_motor_turn",
        },
        "{flow.capacity} / {filament.area} / {drive.travel_per_motor_turn}",
    ),
    Formula(
        "grip.pressure",
        lambda *, force, area: grip.filament_pressure(force, filament_area=area),
        {"force": "force.at_capacity", "area": "filament.area"},
        "{force.at_capacity} / {filament.area}",
    ),
    Formula(
        "grip.tooth_pressure",
        lambda *, force, area: force / np.maximum(area, _LEAST_AREA),
        {"force": "force.at_capacity", "area": "grip.engaged_area"},
        "{force.at_capacity} / {grip.engaged_area}",
    ),
    Formula(
        "grip.share_in_use",
        lambda *, force, most: force / np.maximum(most, _LEAST_FORCE),
        {"force": "force.at_capacity", "most": "force.grip"},
        "{force.at_capacity} / {force.grip}",
    ),
)
