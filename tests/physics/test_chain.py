"""The whole chain, from motor to nozzle, against an independent computation of ten machines.

Built here from the physics functions alone, with the material and machine numbers written out.
Agreement asked for: 0.5 %.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.physics import drive, grip, limits, melt, motor, viscosity

ZERO = 273.15
MOTORS = {  # rated A, holding N m, ohm, H, detent N m, applied A RMS
    "A": (1.0, 0.10, 2.4, 1.8e-3, 0.005, 0.566),
    "C": (1.68, 0.40, 1.65, 3.2e-3, 0.018, 0.950),
}
MATERIALS = {  # diffusivity mm2/s, kg/m3, J/(kg K), crystals J/kg, yield, modulus MPa, core degC
    "pla": (0.0700, 1240, 1800, 18.6e3, 60, 3000, 145),
    "pla-soft": (0.0709, 1220, 1800, 9.3e3, 40, 2200, 145),
    "petg": (0.0897, 1270, 1800, 0.0, 48, 2000, 160),
    "tpu-95a": (0.0893, 1210, 1850, 0.0, 9, 50, 150),
}
BASE = {
    "material": "pla",
    "wall": 220,
    "zone": (12.5, 0.0, 1),
    "bore": 0.4,
    "diameter": 1.75,
    "motor": "A",
    "ratio": 9.5,
    "stages": 2,
    "distance": 47.1,
    "volts": 24.0,
}
SPLIT = {"zone": (19.6, 4.9, 3)}
SMALL_GEARS = SPLIT | {"motor": "C", "ratio": 50 / 17, "stages": 1, "distance": 22.7}
COLUMNS = ("melt", "heater", "torque", "skip", "F_grip", "grip", "slip", "F_buckle", "buckling")
CAPACITY = ("torque", "grip", "buckling", "melt", "heater")

MACHINES = [
    ("standard zone", {}, "11.142 76.369 9.796 11.492 76.468 9.681 12.690 141.322 16.149", "grip"),
    (
        "long zone, split nozzle",
        SPLIT,
        "26.207 76.369 23.040 27.029 76.468 22.771 29.847 141.322 37.982",
        "grip",
    ),
    (
        "middle gear",
        SPLIT | {"ratio": 7.5, "distance": 37.2},
        "26.207 76.369 23.037 27.025 67.958 21.700 28.536 141.322 37.982",
        "grip",
    ),
    (
        "small gears, full-size motor",
        SMALL_GEARS,
        "26.207 76.369 33.912 39.392 53.086 19.561 25.940 141.322 37.982",
        "grip",
    ),
    (
        "small gears, soft filament",
        SMALL_GEARS | {"material": "pla-soft"},
        "26.544 79.624 34.348 39.898 35.391 16.495 22.350 94.396 33.307",
        "grip",
    ),
    (
        "big gears, soft filament",
        SPLIT | {"material": "pla-soft"},
        "26.544 79.624 23.337 27.377 50.979 19.468 25.860 94.396 33.307",
        "grip",
    ),
    (
        "petg",
        {"material": "petg", "wall": 240},
        "13.954 71.212 12.268 14.392 61.175 11.061 14.593 112.579 18.647",
        "grip",
    ),
    (
        "tpu 95a",
        {"material": "tpu-95a", "wall": 230},
        "14.361 76.271 12.626 14.811 11.470 3.830 7.105 17.605 9.892",
        "grip",
    ),
    (
        "0.2 mm nozzle",
        {"bore": 0.2},
        "11.142 76.369 7.548 9.774 76.468 7.387 11.225 141.322 15.139",
        "grip",
    ),
    (
        "2.85 mm filament",
        {"diameter": 2.85},
        "11.142 76.369 6.915 8.112 97.585 7.532 9.819 379.769 16.224",
        "torque",
    ),
]


def hotend(case: dict) -> tuple[float, float, dict[str, float]]:
    """Melt limit, heater limit, and the arguments of the force law."""
    diffusivity, density, heat, crystals, _, _, core = MATERIALS[case["material"]]
    length, split, channels = case["zone"]
    area = drive.filament_area(case["diameter"] * 1e-3)
    temperatures = {"wall_temperature": case["wall"] + ZERO, "inlet_temperature": 25.0 + ZERO}
    melts = melt.melt_flow(
        diffusivity=diffusivity * 1e-6,
        melt_length=melt.effective_melt_length(
            length * 1e-3, split_length=split * 1e-3, channels=channels
        ),
        critical_fourier=melt.critical_fourier(
            core_temperature=core + ZERO,
            bore=case["bore"] * 1e-3,
            reference_bore=0.4e-3,
            widest_bore=1.2e-3,
            bore_exponent=0.5,
            **temperatures,
        ),
    )
    heats = melt.heater_flow(
        heater_power=50.0,
        heat_loss=15.0,
        heat_per_volume=melt.heat_per_volume(
            density=density, specific_heat=heat, melting_enthalpy=crystals, **temperatures
        ),
    )
    law = {
        "guide_force": 4.5,
        "reference_force": 50.0 * area / drive.filament_area(1.75e-3),
        "melt_flow": melts,
        "exponent": 2.8,
        "bracket": 400e-9,
        "index": 0.37,
        "nozzle_coefficient": viscosity.nozzle_force_coefficient(
            bore=case["bore"] * 1e-3,
            reference_bore=0.4e-3,
            land_length=0.6e-3,
            consistency=12_000.0,
            index=0.37,
            filament_area=area,
            viscous_correction=2.0,
        ),
    }
    return melts, heats, law


def machine(case: dict) -> dict[str, float]:
    rated, holding, resistance, inductance, detent, current = MOTORS[case["motor"]]
    return {
        "filament_area": drive.filament_area(case["diameter"] * 1e-3),
        "gear_ratio": case["ratio"],
        "efficiency": drive.train_efficiency(0.95, stages=case["stages"]),
        "rotation_distance": case["distance"] * 1e-3,
        "current_rms": current,
        "torque_constant": motor.torque_constant(
            holding_torque=holding, rated_current=rated, phases_on=2
        ),
        "resistance": resistance + 0.45,
        "inductance": inductance,
        "pole_pairs": 50.0,
        "voltage": case["volts"],
        "detent_torque": detent,
    }


def forces(case: dict) -> tuple[float, float]:
    """Grip and buckling force."""
    *_, strength, modulus, _ = MATERIALS[case["material"]]
    holds = grip.grip_force(
        driven_gears=2,
        fill=0.5,
        shear_strength=0.66 * strength * 1e6,
        engagement=0.15e-3,
        gear_radius=drive.drive_radius(case["distance"] * 1e-3),
        filament_radius=case["diameter"] * 0.5e-3,
        correction=0.8,
    )
    folds = grip.buckling_force(
        modulus=modulus * 1e6,
        yield_strength=strength * 1e6,
        diameter=case["diameter"] * 1e-3,
        free_length=4e-3,
        end_factor=0.7,
    )
    return holds, folds


def chain(**changes: object) -> dict[str, float]:
    """Every limit in mm3/s and the two forces in N."""
    case = BASE | changes
    melts, heats, law = hotend(case)
    holds, folds = forces(case)
    at = limits.flow_where_force_is
    flows = {
        "melt": melts,
        "heater": heats,
        "torque": limits.torque_flow(usable_share=2 / 3, **machine(case), **law).flow,
        "skip": limits.torque_flow(usable_share=1.0, **machine(case), **law).flow,
        "grip": at(0.5 * holds, **law).flow,
        "slip": at(holds, **law).flow,
        "buckling": at(folds + law["guide_force"], **law).flow,
    }
    return {name: flow * 1e9 for name, flow in flows.items()} | {
        "F_grip": holds,
        "F_buckle": folds,
    }


@pytest.mark.parametrize(
    ("changes", "expected", "bottleneck"),
    [row[1:] for row in MACHINES],
    ids=[row[0] for row in MACHINES],
)
def test_chain(changes, expected, bottleneck):
    """Seven limits, two forces and the bottleneck of each machine."""
    found = chain(**changes)

    values = [float(found[name]) for name in COLUMNS]
    assert values == pytest.approx([float(text) for text in expected.split()], rel=1e-3)
    capacity, place = limits.lowest([found[name] for name in CAPACITY])
    assert CAPACITY[int(place)] == bottleneck
    assert capacity == found[bottleneck]


@pytest.mark.parametrize(
    ("changes", "limit", "flow"),
    [
        (SPLIT, "skip", 24.0),
        (SPLIT | {"ratio": 7.5, "distance": 37.2}, "skip", 24.0),
        (SMALL_GEARS, "grip", 20.0),
        ({}, "melt", 11.0),
    ],
)
def test_chain_against_the_trade(changes, limit, flow):
    """Common practice, no source: within a sixth of what such machines are said to do.

    A geared pancake on big twin gears skips at about 24 mm3/s through a split nozzle, and on
    mid-size gears at the same; small twin gears on a full-size motor give out at about 20; a
    12 mm zone melts 10 to 12 through 0.4 mm.
    """
    assert chain(**changes)[limit] == pytest.approx(flow, rel=1 / 6)


def test_small_gears_lose_more_on_soft_filament_than_big_ones():
    """Common practice, no source: soft filament costs grip, bigger gears hold it better."""
    small = chain(**SMALL_GEARS)["grip"], chain(**SMALL_GEARS, material="pla-soft")["grip"]
    big = chain(**SPLIT)["grip"], chain(**SPLIT, material="pla-soft")["grip"]

    assert small[1] < small[0]
    assert small[1] < big[1] < big[0]


@pytest.mark.parametrize("wall", [20.0, 145.0])
def test_a_cold_hotend_passes_nothing(wall):
    """At or below the core's temperature every limit of the hotend's resistance is 0."""
    found = chain(wall=wall)

    flows = [found[name] for name in ("melt", "torque", "skip", "grip", "slip", "buckling")]
    assert flows == [0.0] * 6
    assert np.isfinite(found["heater"])


@pytest.mark.parametrize(
    ("turn", "flow", "speed", "force"),
    [(0.09, 24.0, 2.013, 52.4), (0.10, 24.0, 2.013, 58.9), (0.14, 24.0, 2.013, 84.7)],
)
def test_stall_force_of_a_geared_pancake(turn, flow, speed, force):
    """Holding torque 0.09-0.14 N m at 0.566 A, 9.5:1, 47.1 mm, efficiency 0.9, less detent."""
    case = machine(BASE) | {"efficiency": 0.9}
    case["torque_constant"] = motor.torque_constant(
        holding_torque=turn, rated_current=1.0, phases_on=2
    )
    feed = drive.filament_speed(flow * 1e-9, filament_area=case["filament_area"])

    found = limits.motor_force(flow * 1e-9, usable_share=1.0, **case)

    turns = drive.motor_speed(feed, gear_ratio=9.5, rotation_distance=47.1e-3)
    assert turns == pytest.approx(speed, abs=6e-4)
    assert found == pytest.approx(force, abs=0.06)
    assert math.isclose(feed, 9.978e-3, rel_tol=1e-4)
