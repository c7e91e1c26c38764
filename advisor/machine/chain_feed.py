"""Formulas of the gears, the grip and the free gap."""

from __future__ import annotations

import math

import numpy as np

from advisor.base import Quantity
from advisor.machine.graph import Formula
from advisor.physics import drive, grip

__all__ = ["FEED", "GEARS", "USUAL_GEARS"]

FOLDED_BELOW = 15e-3  # m a turn: a drive gear below 5 mm is none


def _steps(*, travel: Quantity, full_steps: Quantity, microsteps: Quantity) -> Quantity:
    return drive.steps_per_length(
        gear_ratio=1.0, rotation_distance=travel, full_steps=full_steps, microsteps=microsteps
    )


def _effective_radius(
    *, rotation_distance: Quantity, gear_ratio: Quantity | None
) -> Quantity | None:
    """None where the distance stands for a gear too thin to be one: a ratio is folded into it."""
    ungeared = gear_ratio is None or np.all(np.less_equal(gear_ratio, 1.0))
    if ungeared and np.all(np.less(rotation_distance, FOLDED_BELOW)):
        return None
    return drive.drive_radius(rotation_distance)


def _grip(
    *,
    yield_strength: Quantity,
    shear_share: Quantity,
    filament_diameter: Quantity,
    **parts: Quantity,
) -> Quantity:
    return grip.grip_force(
        shear_strength=yield_strength * shear_share,
        filament_radius=filament_diameter / 2.0,
        **parts,
    )


def _bitten(*, driven_gears: Quantity, diameter: Quantity, **bite: Quantity) -> Quantity:
    return driven_gears * grip.engaged_area(filament_radius=diameter / 2.0, **bite)


def _teeth(
    *, bite_depth: Quantity, radius: Quantity, pitch: Quantity, count: Quantity | None
) -> Quantity:
    chord = grip.engaged_chord(bite_depth, gear_radius=radius)
    teeth = 2.0 * math.pi * radius / pitch if count is None else count
    return grip.teeth_engaged(chord, tooth_count=teeth, gear_radius=radius)


GEARS = (
    Formula(
        "filament.area",
        lambda *, diameter: drive.filament_area(diameter),
        {"diameter": "filament.diameter"},
        "pi x {filament.diameter}^2 / 4",
    ),
    Formula(
        "drive.travel_per_motor_turn",
        drive.travel_per_motor_turn,
        {"gear_ratio": "drive.gear_ratio", "rotation_distance": "drive.rotation_distance"},
        "{drive.rotation_distance} / {drive.gear_ratio}",
    ),
    Formula(
        "drive.travel_per_motor_turn",
        lambda *, step, full_steps, microsteps: step * full_steps * microsteps,
        {
            "step": "drive.step_distance",
            "full_steps": "motor.full_steps",
            "microsteps": "motor.microsteps",
        },
        "{drive.step_distance} x {motor.full_steps} x {motor.microsteps}",
    ),
    Formula(
        "drive.effective_radius",
        _effective_radius,
        {"rotation_distance": "drive.rotation_distance", "gear_ratio": "drive.gear_ratio?"},
        "{drive.rotation_distance} / (2 pi)",
    ),
    Formula(
        "drive.effective_diameter",
        lambda *, rotation_distance: rotation_distance / math.pi,
        {"rotation_distance": "drive.rotation_distance"},
        "{drive.rotation_distance} / pi",
    ),
    Formula(
        "drive.steps_per_mm",
        _steps,
        {
            "travel": "drive.travel_per_motor_turn",
            "full_steps": "motor.full_steps",
            "microsteps": "motor.microsteps",
        },
        "{motor.full_steps} x {motor.microsteps} / {drive.travel_per_motor_turn}",
    ),
    Formula(
        "drive.gear_efficiency",
        lambda *, stage, stages: drive.train_efficiency(stage, stages=stages),
        {"stage": "drive.stage_efficiency", "stages": "drive.stages"},
        "{drive.stage_efficiency} ^ {drive.stages}",
    ),
    Formula(
        "drive.gear_radius",
        lambda *, diameter: diameter / 2.0,
        {"diameter": "drive.gear_diameter"},
        "{drive.gear_diameter} / 2",
    ),
    Formula(
        "drive.gear_radius",
        lambda *, radius: radius,
        {"radius": "drive.effective_radius"},
        "{drive.effective_radius}",
    ),
)

USUAL_GEARS = (  # of a class that is stated, where neither gear nor rotation distance is known
    Formula(
        "drive.gear_radius",
        lambda *, diameter: diameter / 2.0,
        {"diameter": "drive.usual_diameter"},
        "{drive.usual_diameter} / 2",
    ),
)

FEED = (
    Formula(
        "grip.engaged_area",
        _bitten,
        {
            "driven_gears": "drive.driven_gears",
            "engagement": "drive.bite_depth",
            "gear_radius": "drive.gear_radius",
            "diameter": "filament.diameter",
        },
        "{drive.driven_gears} x 2 pi x {drive.bite_depth} x "
        "sqrt({drive.gear_radius} x filament radius)",
        "grip-geometry",
    ),
    Formula(
        "drive.teeth_engaged",
        _teeth,
        {
            "bite_depth": "drive.bite_depth",
            "radius": "drive.gear_radius",
            "pitch": "drive.tooth_pitch",
            "count": "drive.tooth_count?",
        },
        "length of the bite over the tooth pitch",
        "grip-geometry",
    ),
    Formula(
        "force.grip",
        _grip,
        {
            "driven_gears": "drive.driven_gears",
            "fill": "model.tooth_fill",
            "yield_strength": "material.yield_strength",
            "shear_share": "material.shear_share",
            "engagement": "drive.bite_depth",
            "gear_radius": "drive.gear_radius",
            "filament_diameter": "filament.diameter",
            "correction": "model.grip_factor",
        },
        "driven gears x tooth fill x shear strength x area the gear bites into",
    ),
    Formula(
        "force.grip_usable",
        lambda *, grip_force, share: grip_force * share,
        {"grip_force": "force.grip", "share": "model.grip_share"},
        "{model.grip_share} x {force.grip}",
    ),
    Formula(
        "drive.tube_factor",
        drive.wrap_factor,
        {"friction": "model.tube_friction", "angle": "drive.tube_wrap"},
        "exp({model.tube_friction} x {drive.tube_wrap})",
        "tube-friction",
    ),
    Formula(
        "force.path_drag",
        lambda *, guide, per_length, length: guide + per_length * length,
        {
            "guide": "model.guide_force",
            "per_length": "model.tube_drag",
            "length": "drive.tube_length",
        },
        "{model.guide_force} + {model.tube_drag} x {drive.tube_length}",
        "tube-practice",
    ),
    Formula(
        "force.buckling",
        grip.buckling_force,
        {
            "modulus": "material.modulus",
            "yield_strength": "material.yield_strength",
            "diameter": "filament.diameter",
            "free_length": "drive.free_gap",
            "end_factor": "model.end_factor",
        },
        "Johnson below the slenderness limit, Euler above",
        "column-buckling",
    ),
)
