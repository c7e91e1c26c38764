"""Formulas of the firmware's limits, the operating points and what is asked."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from advisor.base import Quantity
from advisor.machine.graph import Formula
from advisor.physics import drive, motion, motor

__all__ = ["DEMAND", "MOTION", "RETRACT_PUSH"]

Parts: TypeAlias = "dict[str, Quantity]"
_FAR_PAST_CORNER = 100.0  # a share of the corner speed beyond which more says no more


def _peak_share(
    *, capacity: Quantity, area: Quantity, travel: Quantity, corner: Quantity, **advance: Quantity
) -> Quantity:
    peak = _advance_peak(capacity=capacity, asked=None, area=area, **advance)
    return _of_corner(speed=peak / travel, corner=corner)


def _of_corner(*, speed: Quantity, corner: Quantity) -> Quantity:
    share: Quantity = np.minimum(np.divide(speed, np.maximum(corner, 1e-9)), _FAR_PAST_CORNER)
    return share


def _advance_peak(
    *, capacity: Quantity, asked: Quantity | None, area: Quantity, **advance: Quantity
) -> Quantity:
    flow = capacity if asked is None else np.minimum(asked, capacity)
    return motion.advance_peak_speed(drive.filament_speed(flow, filament_area=area), **advance)


def _reached(
    *, speed: Quantity, length: Quantity | None, acceleration: Quantity | None
) -> Quantity:
    """Peak of a move that starts and ends at rest: it may be too short for its speed."""
    if length is None or acceleration is None:
        return speed
    peak: Quantity = np.minimum(speed, np.sqrt(length * acceleration))
    return peak


def _force_at(
    *,
    speed: Quantity,
    acceleration: Quantity,
    train: Parts,
    budget: Parts,
    winding: Parts,
) -> Quantity:
    torque = motor.pull_out_torque(speed, **winding)
    effort = drive.acceleration_torque(acceleration, **train)
    left = drive.usable_torque(torque, acceleration_torque=effort, **budget)
    return drive.feed_force(
        left,
        gear_ratio=train["gear_ratio"],
        efficiency=train["efficiency"],
        rotation_distance=train["rotation_distance"],
    )


def _operating_force(
    *,
    speed: Quantity,
    acceleration: Quantity,
    travel: Quantity,
    gear_ratio: Quantity | None,
    efficiency: Quantity,
    motor_inertia: Quantity,
    gear_inertia: Quantity,
    detent: Quantity,
    share: Quantity,
    **winding: Quantity,
) -> Quantity:
    ratio = 1.0 if gear_ratio is None else gear_ratio
    train: Parts = {
        "motor_inertia": motor_inertia,
        "gear_inertia": gear_inertia,
        "gear_ratio": ratio,
        "efficiency": efficiency,
        "rotation_distance": travel * ratio,
    }
    budget: Parts = {"detent_torque": detent, "usable_share": share}
    return _force_at(
        speed=speed, acceleration=acceleration, train=train, budget=budget, winding=winding
    )


_OPERATING = {
    "acceleration": "motion.max_extrude_only_accel",
    "travel": "drive.travel_per_motor_turn",
    "gear_ratio": "drive.gear_ratio?",
    "efficiency": "drive.gear_efficiency",
    "motor_inertia": "motor.rotor_inertia",
    "gear_inertia": "drive.gear_inertia",
    "detent": "motor.detent_torque",
    "share": "motor.usable_share",
    "current_rms": "motor.flowing_current",
    "torque_constant": "motor.torque_constant",
    "resistance": "motor.hot_resistance",
    "inductance": "motor.inductance",
    "pole_pairs": "motor.pole_pairs",
    "voltage": "supply.voltage",
}


def _speed(output: str, speed: str) -> Formula:
    return Formula(
        output,
        lambda *, speed, travel: speed / travel,
        {"speed": speed, "travel": "drive.travel_per_motor_turn"},
        f"{{{speed}}} / {{drive.travel_per_motor_turn}}",
    )


def _share(output: str, speed: str) -> Formula:
    return Formula(
        output,
        _of_corner,
        {"speed": speed, "corner": "motor.corner_speed"},
        f"{{{speed}}} / {{motor.corner_speed}}",
    )


def _usual(output: str, share: str) -> Formula:
    """Return a size of a usual line, where no profile states it."""
    return Formula(
        output,
        lambda *, nozzle, share: nozzle * share,
        {"nozzle": "nozzle.diameter", "share": share},
        f"{{nozzle.diameter}} x {{{share}}}",
    )


def _push(output: str, speed: str) -> Formula:
    return Formula(
        output,
        _operating_force,
        {"speed": speed, **_OPERATING},
        "(usable share x (pull-out torque at this speed - detent) - acceleration torque)"
        " x efficiency x 2 pi / filament per motor turn",
    )


def _steady(output: str, speed: str) -> Formula:
    """Return the push at a speed that is held, to compare with the same move speeding up."""
    inputs = {key: name for key, name in _OPERATING.items() if key != "acceleration"}
    return Formula(
        output,
        lambda **given: _operating_force(acceleration=0.0, **given),
        {"speed": speed, **inputs},
        "usable share x (pull-out torque at this speed - detent) x efficiency x 2 pi"
        " / filament per motor turn",
    )


def _load(output: str) -> Formula:
    return Formula(
        output,
        lambda *, guide, extra: guide + extra,
        {"guide": "force.path_drag", "extra": "model.retract_drag"},
        "{force.path_drag} + {model.retract_drag}",
    )


RETRACT_PUSH = _push("motion.retract_force", "motion.retract_motor_speed")

MOTION = (
    _usual("motion.line_width", "model.line_width_share"),
    _usual("motion.line_height", "model.line_height_share"),
    Formula(
        "motion.line_area",
        motion.bead_area,
        {"width": "motion.line_width", "height": "motion.line_height"},
        "{motion.line_width} x {motion.line_height}, rounded ends",
    ),
    Formula(
        "flow.firmware",
        lambda *, speed, section: motion.firmware_flow(max_speed=speed, max_cross_section=section),
        {"speed": "motion.max_velocity", "section": "motion.max_cross_section"},
        "{motion.max_velocity} x {motion.max_cross_section}",
    ),
    Formula(
        "flow.extrude_only",
        lambda *, speed, area: speed * area,
        {"speed": "motion.max_extrude_only_velocity", "area": "filament.area"},
        "{motion.max_extrude_only_velocity} x {filament.area}",
    ),
    Formula(
        "motion.advance_acceleration",
        lambda *, head, line, area: motion.filament_acceleration(
            head, bead_area=line, filament_area=area
        ),
        {"head": "motion.max_accel", "line": "motion.line_area", "area": "filament.area"},
        "{motion.max_accel} x {motion.line_area} / {filament.area}",
    ),
    Formula(
        "motion.advance_peak_speed",
        _advance_peak,
        {
            "capacity": "flow.capacity",
            "asked": "demand.asked_flow?",
            "area": "filament.area",
            "pressure_advance": "motion.pressure_advance",
            "filament_acceleration": "motion.advance_acceleration",
        },
        "filament speed at the flow + {motion.pressure_advance} x {motion.advance_acceleration}",
    ),
    _speed("motion.advance_motor_speed", "motion.advance_peak_speed"),
    _share("motion.advance_speed_share", "motion.advance_motor_speed"),
    Formula(
        "motion.advance_full_share",
        _peak_share,
        {
            "capacity": "flow.capacity",
            "area": "filament.area",
            "pressure_advance": "motion.pressure_advance",
            "filament_acceleration": "motion.advance_acceleration",
            "travel": "drive.travel_per_motor_turn",
            "corner": "motor.corner_speed",
        },
        "(filament speed at the capacity + {motion.pressure_advance}"
        " x {motion.advance_acceleration}) / {drive.travel_per_motor_turn}"
        " / {motor.corner_speed}",
    ),
    Formula(
        "motion.retract_peak_speed",
        _reached,
        {
            "speed": "motion.retract_speed",
            "length": "motion.retract_length?",
            "acceleration": "motion.max_extrude_only_accel?",
        },
        "retract speed, or what the length allows at the extrude-only acceleration",
    ),
    _speed("motion.retract_motor_speed", "motion.retract_peak_speed"),
    _share("motion.retract_speed_share", "motion.retract_motor_speed"),
    RETRACT_PUSH,
    _load("motion.retract_load"),
    _speed("profile.retract_motor_speed", "profile.retract_speed"),
    _share("profile.retract_speed_share", "profile.retract_motor_speed"),
    _push("profile.retract_force", "profile.retract_motor_speed"),
    _speed("motion.extrude_only_motor_speed", "motion.max_extrude_only_velocity"),
    _share("motion.extrude_only_speed_share", "motion.extrude_only_motor_speed"),
    _push("motion.extrude_only_force", "motion.extrude_only_motor_speed"),
    _steady("motion.extrude_only_steady_force", "motion.extrude_only_motor_speed"),
    _load("motion.extrude_only_load"),
    Formula(
        "motion.retract_step_rate",
        lambda *, speed, steps: motion.step_rate(speed, steps_per_length=steps),
        {"speed": "motion.retract_speed", "steps": "drive.steps_per_mm"},
        "{motion.retract_speed} x {drive.steps_per_mm}",
    ),
    Formula(
        "macro.push_flow",
        lambda *, speed, area: speed * area,
        {"speed": "macro.push_speed", "area": "filament.area"},
        "{macro.push_speed} x {filament.area}",
    ),
    Formula(
        "macro.line_section",
        lambda *, share, area: share * area,
        {"share": "macro.line_share", "area": "filament.area"},
        "{macro.line_share} x {filament.area}",
    ),
)

_ASKS = (("demand.asked_flow", "sustained"), ("demand.asked_push", "push"),
         ("demand.asked_heat", "heat"))  # fmt: skip

DEMAND = tuple(
    Formula(asked, lambda *, flow: flow, {"flow": name}, f"{{{name}}}")
    for asked, window in _ASKS
    for name in (
        "demand.stated_flow", f"demand.print_{window}", "demand.profile_flow",
        "demand.feature_flow",
    )
)  # fmt: skip
